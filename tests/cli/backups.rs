//! `log backup` and `log restore`.

use super::furnished;
use super::wire::{LogBackedUp, LogList, LogRestored};
use crate::support::House;
use sha2::{Digest, Sha256};

const LOG: [&str; 1] = ["home/log.db"];

/// A house with a reading from a kept photo, an event, a kit and a card; and its backup.
fn backed_up() -> (House, LogBackedUp, Vec<u8>) {
    let house = furnished();
    house.run(&["read", "tank.jpg", "B=nitrite"]).touches(&["home/log.db", "home/photos/"]).go();
    house.run(&["event", "add", "wc", "30%", "--at", "2026-03-01 20:00"]).touches(&LOG).go();
    std::fs::write(house.path("home/labels.toml"), "a later room's file").unwrap();
    let done = house.run(&["log", "backup", "all.zip", "--json"]).touches(&["desk/all.zip"]).go().json::<LogBackedUp>();
    let bytes = std::fs::read(house.path("desk/all.zip")).unwrap();
    (house, done, bytes)
}

/// Every file below a folder, by its path.
fn files(root: &std::path::Path) -> Vec<String> {
    fn walk(root: &std::path::Path, dir: &std::path::Path, out: &mut Vec<String>) {
        for entry in std::fs::read_dir(dir).unwrap() {
            let path = entry.unwrap().path();
            match path.is_dir() {
                true => walk(root, &path, out),
                false => out.push(path.strip_prefix(root).unwrap().display().to_string()),
            }
        }
    }
    let mut out = Vec::new();
    walk(root, root, &mut out);
    out.retain(|f| !f.ends_with(".lock"));
    out.sort();
    out
}

#[test]
fn a_backup_holds_everything_and_comes_back() {
    let (house, done, bytes) = backed_up();
    assert_eq!((done.bytes, done.sha256), (bytes.len() as u64, format!("{:x}", Sha256::digest(&bytes))));
    let before = files(&house.path("home"));
    assert_eq!(done.files, before.len());
    assert!(before.iter().any(|f| f.starts_with("photos/")) && before.iter().any(|f| f.starts_with("kits/")));
    let new = House::new();
    new.lay("all.zip", &bytes);
    let back = new.run(&["log", "restore", "all.zip", "--json"]).touches(&["home/"]).go().json::<LogRestored>();
    assert_eq!((back.added.len(), back.same, back.kept.len(), back.log_added), (before.len(), 0, 0, None));
    assert_eq!(files(&new.path("home")), before);
    for file in before.iter().filter(|f| *f != "log.db") {
        let read = |h: &House| std::fs::read(h.path("home").join(file)).unwrap();
        assert!(read(&house) == read(&new), "{file}");
    }
    let json = |h: &House| h.run(&["log", "export", "json"]).go().out;
    assert_eq!(json(&house), json(&new));
    // What was restored works: the same photo is known, the kit reads on.
    new.run(&["read", "--again"]).out_has("in the log already").go();
}

#[test]
fn into_a_home_with_files_only_what_is_missing() {
    let (house, _, _) = backed_up();
    let same = house.run(&["log", "restore", "all.zip", "--json"]).go().json::<LogRestored>();
    assert_eq!((same.added.len(), same.kept.len(), same.log_added), (0, 0, Some(0)));
    // Later changes stay; what was lost comes back; what differs is named and left.
    house.run(&["log", "add", "pH=7.4"]).touches(&LOG).go();
    std::fs::write(house.path("home/labels.toml"), "changed since").unwrap();
    std::fs::remove_dir_all(house.path("home/photos")).unwrap();
    let back = house.run(&["log", "restore", "all.zip", "--json"]).exit(3).touches(&["home/photos/"]).go();
    let back = back.json::<LogRestored>();
    assert!(back.added.len() >= 4 && back.added.iter().all(|f| f.starts_with("photos/")), "{back:?}");
    assert_eq!((back.kept, back.log_added), (vec!["labels.toml".to_string()], Some(0)));
    assert_eq!(std::fs::read_to_string(house.path("home/labels.toml")).unwrap(), "changed since");
    assert_eq!(house.run(&["log", "--json"]).go().json::<LogList>().readings.len(), 2);
    // A log of its own takes in the entries.
    let other = House::new();
    other.run(&["tank", "add", "hall", "--water", "fresh"]).touches(&LOG).go();
    other.lay("all.zip", std::fs::read(house.path("desk/all.zip")).unwrap());
    let back = other.run(&["log", "restore", "all.zip", "--json"]).touches(&["home/"]).go().json::<LogRestored>();
    assert!(back.log_added.unwrap() >= 6 && back.log_present == Some(0), "{back:?}");
    other.run(&["tank", "list"]).out_has("hall").out_has("reef").go();
}

#[test]
fn a_torn_or_foreign_file_restores_nothing() {
    let (_, _, bytes) = backed_up();
    let new = House::new();
    let refused = |name: &str, content: &[u8], code: &str| {
        new.lay(name, content);
        new.run(&["log", "restore", name]).exit(1).err_has(code).go();
        assert!(!new.path("home").exists(), "{name} left something behind");
    };
    for part in 1..20 {
        refused("torn.zip", &bytes[..bytes.len() * part / 20], "[backup-foreign]");
    }
    // One bit, in the middle of a photo or a kit: found by its hash or the archive's own sum.
    for at in [bytes.len() / 3, bytes.len() / 2, bytes.len() * 2 / 3] {
        let mut bent = bytes.clone();
        bent[at] ^= 4;
        refused("bent.zip", &bent, "[backup-damaged]");
    }
    refused("text.zip", b"not an archive", "[backup-foreign]");
    refused("empty.zip", b"", "[backup-foreign]");
    new.run(&["log", "restore", "gone.zip"]).exit(1).err_has("[backup-file]").go();
}

#[test]
fn a_backup_overwrites_nothing_and_lies_elsewhere() {
    let (house, _, bytes) = backed_up();
    house.run(&["log", "backup", "all.zip"]).exit(2).err_has("[backup-exists]").go();
    house.run(&["log", "backup", "../home/all.zip"]).exit(2).err_has("[backup-inside-home]").go();
    house.run(&["log", "backup", "no/all.zip"]).exit(4).err_has("[backup-file]").go();
    assert_eq!(std::fs::read(house.path("desk/all.zip")).unwrap(), bytes);
    let empty = House::new();
    empty.run(&["log", "backup", "all.zip"]).exit(2).err_has("[backup-empty]").go();
}
