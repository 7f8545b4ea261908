//! Many photos in one go: photos a minute with one and two workers, peak memory, and the size of the log.
//!
//! ```text
//! cargo bench --bench batch -- [COUNT [FILE.jpg]]
//! ```
//!
//! COUNT copies (200) of a shipped photo, or of FILE, each made another photo by a quantisation table nobody uses, are read into a
//! new home by the program itself. Their vial is read as ammonia at C. Nothing is asserted about time: machines differ.

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

fn main() {
    let args: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with("--")).collect();
    let count: u32 = args.first().and_then(|n| n.parse().ok()).unwrap_or(200);
    let shipped = include_bytes!("../fixtures/photos/demo/sunday.jpg").to_vec();
    let photo = args.get(1).map_or(shipped, |path| std::fs::read(path).expect("the photo can be read"));
    let dir = tempfile::tempdir().expect("a folder for the photos");
    let photos = dir.path().join("photos");
    std::fs::create_dir(&photos).expect("a folder for the photos");
    for i in 0..count {
        std::fs::write(photos.join(format!("{i:05}.jpg")), distinct(&photo, i)).expect("room for the photos");
    }
    println!("{count} photos of {} kB", photo.len() / 1000);
    for workers in ["1", "2"] {
        let home = dir.path().join(format!("home-{workers}"));
        run(&home, &["demo", "--into", &home.display().to_string()]);
        let log = || std::fs::metadata(home.join("log.db")).map_or(0, |m| m.len());
        let before = log();
        let words = ["read", &photos.display().to_string(), "C=ammonia", "--twins", "--no-keep", "--workers", workers];
        let (took, peak) = run(&home, &words);
        println!(
            "{workers} workers: {:.1} s, {:.0} photos a minute, peak memory {peak} MB, log {} bytes a reading",
            took.as_secs_f64(),
            f64::from(count) * 60.0 / took.as_secs_f64(),
            (log().saturating_sub(before)) / u64::from(count)
        );
        let (took, _) =
            run(&home, &["read", &photos.display().to_string(), "--tank", "shelf-60", "--workers", workers]);
        println!("  looked through again, all known: {:.1} s", took.as_secs_f64());
    }
}

/// The same picture as another photo: a table with the number `i` in it, which no component uses, goes in behind the first marker.
fn distinct(jpeg: &[u8], i: u32) -> Vec<u8> {
    let mut table = [1u8; 64];
    for (k, byte) in i.to_be_bytes().into_iter().enumerate() {
        table[2 * k] = 1 + (byte >> 4);
        table[2 * k + 1] = 1 + (byte & 15);
    }
    [&jpeg[..2], &[0xff, 0xdb, 0, 67, 3], &table, &jpeg[2..]].concat()
}

/// Runs the program to its end; gives the time it took and its peak memory in MB where the system tells it.
fn run(home: &Path, words: &[&str]) -> (Duration, u64) {
    let begun = Instant::now();
    let mut command = Command::new(env!("CARGO_BIN_EXE_tintline"));
    command.args(words).env("TINTLINE_HOME", home).stdout(Stdio::null()).stderr(Stdio::null());
    let mut child = command.spawn().expect("the program starts");
    let mut peak = 0;
    while child.try_wait().expect("the program can be waited for").is_none() {
        let status = std::fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap_or_default();
        let own = status.lines().find_map(|l| l.strip_prefix("VmHWM:")?.split_whitespace().next()?.parse::<u64>().ok());
        peak = peak.max(own.unwrap_or(0) / 1000);
        std::thread::sleep(Duration::from_millis(5));
    }
    (begun.elapsed(), peak)
}
