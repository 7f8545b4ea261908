//! The README says what the program does: its table of commands is made from `--help`, its pictures are there and small, its
//! links lead somewhere.
//!
//! After a change of the commands: `WRITE_README=1 cargo test --test outside readme`.

use crate::support::House;
use std::path::PathBuf;
use tintline::finding::Code;

const BEGIN: &str = "<!-- commands: made from --help by tests/readme.rs -->\n";
const END: &str = "<!-- end of commands -->\n";

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn readme() -> String {
    std::fs::read_to_string(root().join("README.md")).unwrap()
}

/// What `-h` says of a command.
#[derive(Default)]
struct Help {
    usage: String,
    about: String,
    /// Names and abouts of the commands below it.
    commands: Vec<(String, String)>,
    /// Own arguments and options, then those for all commands.
    own: Vec<(String, String)>,
    common: Vec<(String, String)>,
}

fn help(house: &House, path: &[String]) -> Help {
    let words: Vec<&str> = path.iter().map(String::as_str).chain(["-h"]).collect();
    // Wide enough that no line is broken.
    let said = house.run(&words).env("COLUMNS", "2000").go().out;
    let mut help = Help { about: said.lines().next().unwrap().to_string(), ..Help::default() };
    let mut section = "";
    for line in said.lines() {
        if let Some(usage) = line.strip_prefix("Usage: ") {
            help.usage = usage.to_string();
        } else if line.ends_with(':') && !line.starts_with(' ') {
            section = line;
        } else if line.is_empty() {
            section = "";
        } else if !section.is_empty() {
            let entry = line.trim_start();
            let (name, text) = entry.split_once("  ").unwrap_or((entry, ""));
            assert!(section == "Options:" || !text.is_empty(), "nothing is said about {name} in: {said}");
            let entry = (name.to_string(), text.trim().to_string());
            match section {
                "Commands:" => help.commands.push(entry),
                "Arguments:" => help.own.push(entry),
                "Options:" if name.contains("--help") || name.contains("--version") => {}
                "Options:" => help.own.push(entry),
                "For all commands:" => help.common.push(entry),
                other => panic!("the README's table knows no section '{other}' of: {said}"),
            }
        }
    }
    assert!(!help.usage.is_empty() && !help.about.is_empty(), "{said}");
    help
}

fn cell(text: &str) -> String {
    text.replace('|', "\\|")
}

fn rows(house: &House, path: &[String], out: &mut Vec<String>) {
    let help = help(house, path);
    let runs = help.commands.is_empty() || !help.own.is_empty();
    if runs {
        out.push(format!("| **`{}`** | {} |", path.join(" "), cell(&help.about)));
        out.extend(help.own.iter().map(|(name, text)| format!("| &emsp;`{}` | {} |", cell(name), cell(text))));
    }
    for (name, _) in &help.commands {
        rows(house, &[path, std::slice::from_ref(name)].concat(), out);
    }
}

fn table(house: &House) -> String {
    let first = help(house, &[]);
    let mut out = vec!["| command | what it does |".to_string(), "| --- | --- |".to_string()];
    first.commands.iter().for_each(|(name, _)| rows(house, std::slice::from_ref(name), &mut out));
    out.push("| **for all commands** | |".to_string());
    out.extend(first.common.iter().map(|(name, text)| format!("| &emsp;`{}` | {} |", cell(name), cell(text))));
    out.join("\n") + "\n"
}

#[test]
fn its_table_of_commands_is_what_help_says() {
    let text = readme();
    let (before, rest) = text.split_once(BEGIN).expect("the mark where the table begins");
    let (written, after) = rest.split_once(END).expect("the mark where the table ends");
    let made = table(&House::new());
    if std::env::var_os("WRITE_README").is_some() {
        std::fs::write(root().join("README.md"), format!("{before}{BEGIN}\n{made}\n{END}{after}")).unwrap();
        return;
    }
    for verb in ["read", "log", "log undo", "log export", "tank add", "kit add", "card print", "card enrol", "demo"] {
        assert!(made.contains(&format!("| **`{verb}`** |")), "{verb} in {made}");
    }
    for (made, written) in made.lines().zip(written.trim().lines()) {
        assert_eq!(made, written, "left is what --help says; WRITE_README=1 cargo test --test outside readme");
    }
    assert_eq!(made.lines().count(), written.trim().lines().count(), "WRITE_README=1 cargo test --test outside readme");
}

#[test]
fn the_table_of_findings_is_what_codes_declare() {
    const BEGIN: &str = "<!-- findings: made from finding.rs by tests/readme.rs -->\n";
    const END: &str = "<!-- end of findings -->\n";
    let text = std::fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let (before, rest) = text.split_once(BEGIN).expect("the mark where the table begins");
    let (written, after) = rest.split_once(END).expect("the mark where the table ends");
    let word = |yes: bool| if yes { "yes" } else { "no" };
    let mut rows =
        vec!["| finding | may reassure, as a note | may alarm |".to_string(), "| --- | --- | --- |".to_string()];
    let row = |c: &Code| format!("| `{}` | {} | {} |", c.as_str(), word(c.reassures()), word(c.alarms()));
    rows.extend(Code::ALL.iter().map(row));
    if std::env::var_os("WRITE_README").is_some() {
        let made = rows.join("\n");
        std::fs::write(root().join("DEVELOPERS.md"), format!("{before}{BEGIN}\n{made}\n\n{END}{after}")).unwrap();
        return;
    }
    let written: Vec<&str> = written.trim().lines().collect();
    assert_eq!(written, rows, "WRITE_README=1 cargo test --test outside readme");
}

#[test]
fn it_names_the_two_commands_and_every_exit_code() {
    let text = readme();
    assert!(text.contains("\ncargo run --release -- demo\n") && text.contains("\ntests/run\n"));
    let ci = std::fs::read_to_string(root().join(".ci/run")).unwrap();
    assert!(ci.ends_with("\ntests/run\n"), "the check that a change must pass ends with the README's command");
    let said = House::new().run(&["--help"]).go().out;
    let codes = said.lines().find_map(|l| l.strip_prefix("Exit codes: ")).unwrap().trim_end_matches('.');
    for code in codes.split(", ") {
        let (number, meaning) = code.split_once(' ').unwrap();
        assert!(text.contains(&format!("| {number} | {meaning}")), "exit code {number}, {meaning}");
    }
}

#[test]
fn its_pictures_and_links_are_there() {
    for file in ["README.md", "DEVELOPERS.md"] {
        let text = std::fs::read_to_string(root().join(file)).unwrap();
        let mut links = 0;
        for link in text.split("](").skip(1).map(|rest| rest.split(')').next().unwrap()) {
            if link.starts_with("http") || link.starts_with('#') {
                continue;
            }
            let path = root().join(link.split('#').next().unwrap());
            assert!(path.exists(), "{file}: {link} leads nowhere");
            links += 1;
            if [".png", ".jpg"].iter().any(|e| link.ends_with(e)) {
                let bytes = std::fs::read(&path).unwrap();
                assert!(bytes.len() <= 120_000, "{link} has {} bytes", bytes.len());
                image::load_from_memory(&bytes).unwrap_or_else(|e| panic!("{link}: {e}"));
            }
        }
        assert!(links > 3, "{file} has only {links} links: is the test looking at the right thing?");
    }
}
