//! Reading that is broken off: killed at any moment, out of room, stopped by Ctrl-C. No reading is lost and none doubled.

use super::week::{PHOTOS, standing, week};
use super::wire::LogHistory;
use crate::support::House;
use std::collections::BTreeMap;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use tintline::log::Log;

/// Starts the program in a house.
pub fn start(house: &House, args: &[&str]) -> Child {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tintline"));
    command.args(args);
    within(house, &mut command).spawn().unwrap()
}

fn within<'c>(house: &House, command: &'c mut Command) -> &'c mut Command {
    command.current_dir(house.path("desk")).env("TINTLINE_HOME", house.path("home")).env("TZ", "Europe/Berlin");
    command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped())
}

/// Waits until something is so, or the program has ended.
pub fn wait_for(mut so: impl FnMut() -> bool, child: &mut Child) {
    let begun = Instant::now();
    while !so() && child.try_wait().unwrap().is_none() {
        assert!(begun.elapsed() < Duration::from_secs(120), "it never came");
        std::thread::sleep(Duration::from_millis(1));
    }
}

fn readings(house: &House) -> usize {
    Log::open(&house.path("home/log.db")).unwrap().readings(&Default::default()).unwrap().len()
}

/// How many entries of each kind were ever written.
fn written(house: &House) -> BTreeMap<String, usize> {
    let history = house.run(&["log", "history", "--last", "100000", "--json"]).go().json::<LogHistory>();
    let mut out = BTreeMap::new();
    history.entries.into_iter().for_each(|e| *out.entry(e.kind).or_default() += 1);
    out
}

/// Hashes of kept originals, by name; half-written ones have no name of their own.
fn kept(house: &House) -> Vec<(String, u64)> {
    let list = std::fs::read_dir(house.path("home/photos")).unwrap().map(Result::unwrap);
    let list = list.map(|e| (e.file_name().to_string_lossy().to_string(), e.metadata().unwrap().len()));
    let mut out: Vec<_> = list.filter(|(name, _)| !name.starts_with('.')).collect();
    out.sort();
    out
}

/// What an unbroken run comes to.
fn unbroken() -> House {
    let house = week();
    house.run(&["read", "week"]).touches(&["home/log.db", "home/photos/"]).go();
    house
}

/// Reads what is left and compares.
fn finish(house: &House, whole: &House, what: &str) {
    let mut rest = Command::new(env!("CARGO_BIN_EXE_tintline"));
    let rest = within(house, rest.args(["read", "week"])).output().unwrap();
    assert_eq!(rest.status.code(), Some(0), "{what}: {}", String::from_utf8_lossy(&rest.stderr));
    assert_eq!(standing(house), standing(whole), "{what}");
    assert_eq!(written(house), written(whole), "{what}");
    assert_eq!(kept(house), kept(whole), "{what}");
}

#[test]
fn killed_at_many_moments_it_loses_nothing_and_doubles_nothing() {
    let whole = unbroken();
    assert_eq!(standing(&whole).len(), PHOTOS);
    let (mut moments, mut midway) = (0, 0);
    for reached in 0..PHOTOS {
        for pause in [0, 4, 23] {
            let house = week();
            let mut child = start(&house, &["read", "week", "--workers", "2"]);
            wait_for(|| readings(&house) >= reached, &mut child);
            std::thread::sleep(Duration::from_millis(pause));
            // SIGKILL: nothing of the program runs after it.
            let _ = child.kill();
            child.wait().unwrap();
            midway += usize::from((1..PHOTOS).contains(&readings(&house)));
            finish(&house, &whole, &format!("killed {pause} ms after reading {reached}"));
            moments += 1;
        }
    }
    assert!(moments >= 20 && midway >= 10, "{midway} of {moments} were killed midway");
}

#[test]
fn out_of_room_it_says_so_and_finishes_later() {
    let whole = unbroken();
    let mut full = 0;
    // No file may grow beyond so many blocks of 512 bytes: what a full disk does, also for the superuser.
    for (blocks, more) in [(16, ""), (64, "--no-keep"), (128, "--no-keep"), (256, "--no-keep"), (512, "--no-keep")] {
        let house = week();
        let shell = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" read week {more}");
        let mut command = Command::new("sh");
        let done = within(&house, command.args(["-c", &shell, env!("CARGO_BIN_EXE_tintline")])).output().unwrap();
        let err = String::from_utf8_lossy(&done.stderr);
        match done.status.code() {
            Some(0) => {}
            Some(4) => {
                assert!(err.starts_with("error: "), "{err}");
                full += 1;
            }
            other => panic!("exit code {other:?} with {blocks} blocks: {err}"),
        }
        // Whatever was said to be logged is.
        assert!(readings(&house) <= PHOTOS);
        let mut rest = Command::new(env!("CARGO_BIN_EXE_tintline"));
        let rest = within(&house, rest.args(["read", "week"])).output().unwrap();
        assert_eq!(rest.status.code(), Some(0), "{blocks}: {}", String::from_utf8_lossy(&rest.stderr));
        assert_eq!((standing(&house), written(&house)), (standing(&whole), written(&whole)), "{blocks} blocks");
    }
    assert!(full >= 2, "room ran out only {full} times");
}

#[test]
fn ctrl_c_ends_it_cleanly_and_the_rest_is_read_later() {
    let whole = unbroken();
    let house = week();
    let mut child = start(&house, &["read", "week", "--workers", "1"]);
    wait_for(|| readings(&house) >= 2, &mut child);
    crate::support::signal("INT", child.id());
    let done = child.wait_with_output().unwrap();
    let (out, err) = (String::from_utf8_lossy(&done.stdout), String::from_utf8_lossy(&done.stderr));
    assert_eq!((done.status.code(), err.as_ref()), (Some(130), ""), "{out}");
    assert!(out.contains("Stopped. What was read is logged"), "{out}");
    let logged = readings(&house);
    assert!((2..PHOTOS).contains(&logged) && out.contains(&format!("{logged} readings logged")), "{logged}: {out}");
    finish(&house, &whole, "Ctrl-C");
}
