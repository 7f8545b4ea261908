//! Makes the archive to hand on: `cargo run --release --example release [FOLDER]`.
//!
//! Builds the program in the release profile, and packs it, stripped, with the man pages, the shells' completions (both made from the one
//! definition of the options), README and licences into `tintline-VERSION-TARGET.tar.gz`; by default in `target/`. The same sources give
//! the same archive: entries are in a fixed order with fixed times and owners.

use clap::Command;
use clap_complete::{Shell, generate};
use flate2::{Compression, GzBuilder};
use std::io::{Result, Write};
use std::path::{Path, PathBuf};
use std::process;
use tar::{Builder, Header};

fn main() -> Result<()> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = std::env::args_os().nth(1).map_or_else(|| root.join("target"), PathBuf::from);
    std::fs::create_dir_all(&folder)?;
    let program = build(root)?;
    let name = format!("tintline-{}-{}", env!("CARGO_PKG_VERSION"), target()?);
    let path = folder.join(format!("{name}.tar.gz"));
    let zipped = GzBuilder::new().mtime(0).write(std::fs::File::create(&path)?, Compression::best());
    let mut archive = Builder::new(zipped);
    let mut put = |inside: &str, mode: u32, bytes: &[u8]| -> Result<()> {
        let mut header = Header::new_gnu();
        header.set_size(bytes.len() as u64);
        header.set_mode(mode);
        archive.append_data(&mut header, format!("{name}/{inside}"), bytes)
    };
    let ending = std::env::consts::EXE_SUFFIX;
    put(&format!("tintline{ending}"), 0o755, &program)?;
    for text in
        ["README.md", "LICENSE-APACHE", "LICENSE-MIT", "fixtures/pictures/card.png", "fixtures/pictures/read.jpg"]
    {
        put(text, 0o644, &std::fs::read(root.join(text))?)?;
    }
    let whole = tintline::faces::cli::command();
    for (file, page) in man_pages(&whole)? {
        put(&format!("man/man1/{file}"), 0o644, &page)?;
    }
    for shell in [Shell::Bash, Shell::Elvish, Shell::Fish, Shell::PowerShell, Shell::Zsh] {
        let mut script = Vec::new();
        generate(shell, &mut whole.clone(), "tintline", &mut script);
        let file = clap_complete::Generator::file_name(&shell, "tintline");
        put(&format!("completions/{file}"), 0o644, &script)?;
    }
    archive.into_inner()?.finish()?.flush()?;
    println!("{}", path.display());
    Ok(())
}

/// The program without its symbols.
fn build(root: &Path) -> Result<Vec<u8>> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let built = process::Command::new(cargo)
        .args(["build", "--release", "--locked", "--bin", "tintline"])
        .env("CARGO_PROFILE_RELEASE_STRIP", "symbols")
        .current_dir(root)
        .status()?;
    if !built.success() {
        return Err(std::io::Error::other("the program could not be built"));
    }
    let folder = std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| root.join("target"), PathBuf::from);
    std::fs::read(folder.join("release").join(format!("tintline{}", std::env::consts::EXE_SUFFIX)))
}

/// What the compiler builds for here.
fn target() -> Result<String> {
    let said = process::Command::new("rustc").arg("-vV").output()?;
    let said = String::from_utf8_lossy(&said.stdout).to_string();
    let host = said.lines().find_map(|l| l.strip_prefix("host: "));
    Ok(host.ok_or_else(|| std::io::Error::other("rustc does not say for what it builds"))?.to_string())
}

/// A page for the program and one for each command.
fn man_pages(whole: &Command) -> Result<Vec<(String, Vec<u8>)>> {
    let mut pages = Vec::new();
    let mut open = vec![(String::new(), whole.clone())];
    while let Some((before, command)) = open.pop() {
        let name =
            if before.is_empty() { command.get_name().to_string() } else { format!("{before}-{}", command.get_name()) };
        let below = command.get_subcommands().filter(|c| c.get_name() != "help").cloned();
        open.extend(below.map(|c| (name.clone(), c)));
        let mut page = Vec::new();
        clap_mangen::Man::new(command.display_name(name.clone()))
            .title(name.to_uppercase())
            .date("")
            .render(&mut page)?;
        pages.push((format!("{name}.1"), page));
    }
    pages.sort();
    Ok(pages)
}
