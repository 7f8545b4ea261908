//! `log merge`: two logs become one, each entry once.

use super::furnished;
use super::wire::{LogList, LogMerged};
use crate::support::House;

const LOG: [&str; 1] = ["home/log.db"];
const NEW: [&str; 2] = ["home/log.db", "home/photos/"];

/// Two houses of one tank that went their own ways: both read `tank.jpg`, one with a dilution, each one photo more.
fn two() -> (House, House) {
    let (one, other) = (furnished(), furnished());
    one.run(&["read", "tank.jpg", "B=nitrite"]).touches(&NEW).go();
    one.run(&["read", "local.jpg", "B=nitrite"]).touches(&NEW).go();
    other.run(&["read", "tank.jpg", "B=nitrite:1+4"]).touches(&NEW).go();
    other.run(&["read", "silent.jpg", "B=nitrite", "--at", "2026-03-05 18:00"]).touches(&NEW).go();
    (one, other)
}

fn stands(house: &House) -> Vec<(String, String)> {
    let log = house.run(&["log", "--json"]).go().json::<LogList>();
    log.readings.into_iter().map(|r| (r.taken.at, r.text)).collect()
}

#[test]
fn merged_both_ways_and_twice_two_logs_say_the_same() {
    let (one, other) = two();
    let (a, b) = (one.copy(), other.copy());
    let from = |house: &House| house.path("home").display().to_string();
    let dry = a.run(&["log", "merge", &from(&other), "--dry-run", "--json"]).go().json::<LogMerged>();
    assert!(dry.dry_run && dry.readings == 2 && dry.added >= 5, "{dry:?}");
    let done = a.run(&["log", "merge", &from(&other), "--json"]).touches(&LOG).go().json::<LogMerged>();
    assert_eq!((done.added, done.readings, done.present), (dry.added, dry.readings, dry.present));
    b.run(&["log", "merge", &from(&one)]).touches(&LOG).out_has("2 readings among them").go();
    let said = stands(&a);
    assert_eq!(said.len(), 3, "the vial that both read counts once: {said:?}");
    assert_eq!(said, stands(&b));
    // The one read last stands, which was the diluted one.
    assert!(said[0].1.ends_with("diluted 1+4"), "{said:?}");
    // Again, and into each other: nothing changes.
    a.run(&["log", "merge", &from(&other)]).out_has("0 entries added").go();
    a.run(&["log", "merge", &from(&b)]).touches(&LOG).go();
    b.run(&["log", "merge", &from(&a)]).out_has("0 entries added").go();
    assert_eq!((stands(&a), stands(&b)), (said.clone(), said));
}

#[test]
fn a_log_is_merged_from_its_home_its_file_or_its_export() {
    let (one, other) = two();
    let file = other.path("home/log.db").display().to_string();
    let export = one.path("desk/other.json").display().to_string();
    other.run(&["log", "export", "json", "--out", &export]).go();
    let (a, b) = (one.copy(), one.copy());
    a.run(&["log", "merge", &file]).touches(&LOG).go();
    b.run(&["log", "merge", "other.json"]).touches(&LOG).go();
    assert_eq!(stands(&a), stands(&b));
    // The other log was only read: nothing lies beside it, and its own readings stand.
    let beside: Vec<_> = std::fs::read_dir(other.path("home")).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert!(
        !beside.iter().any(|n| n.to_string_lossy().contains("-wal") || n.to_string_lossy().contains("-shm")),
        "{beside:?}"
    );
    assert_eq!(stands(&other).len(), 2);
}

#[test]
fn what_is_no_log_of_ours_is_refused() {
    let (one, _) = two();
    one.lay("text.db", "hello").lay("odd.json", "{}");
    one.run(&["log", "merge", "gone"]).exit(1).err_has("[file-unusable]").go();
    one.run(&["log", "merge", "text.db"]).exit(1).err_has("[import-format]").go();
    one.run(&["log", "merge", "odd.json"]).exit(1).err_has("[import-format]").go();
    // Another tank of the same name is not silently taken for this one.
    let stranger = House::new();
    stranger.run(&["tank", "add", "reef", "--water", "marine"]).touches(&LOG).go();
    one.run(&["log", "merge", &stranger.path("home").display().to_string()]).exit(2).err_has("[tank-taken]").go();
}
