//! `read` on photos that the log knows: never a double, never replaced unasked.

use super::furnished;
use super::wire::{LogList, ReadDone, Sample};
use crate::support::House;
use crate::support::shot::Shot;

const LOG: [&str; 1] = ["home/log.db"];

/// A house in which `tank.jpg` has been read.
fn read_once() -> House {
    let house = furnished();
    house.run(&["read", "tank.jpg", "B=nitrite"]).touches(&["home/log.db", "home/photos/"]).go();
    house
}

fn one(house: &House, args: &[&str], touches: &[&str]) -> Sample {
    let args = [&["read", "--json"], args].concat();
    let said = house.run(&args).touches(touches).go().json::<ReadDone>();
    assert_eq!((said.photos.len(), said.photos[0].samples.len()), (1, 1));
    said.photos.into_iter().next().unwrap().samples.remove(0)
}

/// Adds a standard, so that the kit is another revision.
fn better_kit(house: &House) {
    house.lay("four.jpg", Shot::new().dyed("D", 4.0).jpeg());
    let args = ["kit", "add", "--photo", "four.jpg", "D=nitrite:4", "--no-keep"];
    house.run(&args).touches(&["home/kits/home/"]).out_has("1 swatch added").go();
}

#[test]
fn a_second_reading_writes_nothing_and_says_so() {
    let house = read_once();
    house
        .run(&["read", "tank.jpg", "B=nitrite"])
        .out_has("in the log already")
        .out_has("0 readings logged, 1 in the log before.")
        .go();
    let same = one(&house, &["tank.jpg", "B=nitrite"], &[]);
    assert_eq!((same.log.did.as_str(), same.log.stands), ("same", true));
    assert_eq!(one(&house, &["tank.jpg", "--again"], &[]).log.did, "same");
}

#[test]
fn another_kit_replaces_a_reading_only_when_asked_to() {
    let house = read_once();
    let before = house.run(&["log", "--json"]).go().json::<LogList>().readings.remove(0);
    better_kit(&house);
    let left = one(&house, &["tank.jpg", "B=nitrite"], &[]);
    assert_eq!(
        (left.log.did.as_str(), left.log.apart.as_slice(), left.log.stands),
        ("left", &["kit".to_string()][..], false)
    );
    assert_eq!(left.log.entry, before.id);
    house
        .run(&["read", "tank.jpg", "B=nitrite"])
        .out_has("not logged; in the log, with another kit: ")
        .out_has("--again")
        .go();
    let new = one(&house, &["tank.jpg", "B=nitrite", "--again"], &LOG);
    assert_eq!((new.log.did.as_str(), new.log.replaces.as_ref(), new.log.stands), ("replaced", Some(&before.id), true));
    let list = house.run(&["log", "--all", "--json"]).go().json::<LogList>();
    let standing: Vec<&str> = list.readings.iter().map(|r| r.standing.as_str()).collect();
    assert_eq!(standing, ["superseded", "current"]);
    house.run(&["log", "history", &before.id]).out_has("reread of").go();
}

#[test]
fn again_needs_neither_photo_nor_stations() {
    let house = read_once();
    house.run(&["read", "local.jpg", "B=nitrite", "--no-keep"]).touches(&LOG).go();
    better_kit(&house);
    std::fs::remove_file(house.path("desk/tank.jpg")).unwrap();
    // Only what is kept and in the log: neither photos of standards, nor one that was not kept.
    let said = house.run(&["read", "--again"]).touches(&LOG).out_has("in place of ").out_has("1 reading logged.").go();
    assert!(said.out.starts_with("photo ") && said.out.contains(": tank 'reef', 2026-03-01 18:30"), "{}", said.out);
    house.run(&["read", "--again", "--tank", "reef"]).out_has("0 readings logged, 1 in the log before.").go();
    house.run(&["read", "--again", "B=nitrite"]).exit(2).err_has("there is no photo to read").go();
    house.run(&["read", "--again", "silent.jpg"]).exit(1).err_has("[photo-not-logged]").go();
    house.run(&["tank", "add", "hall", "--water", "fresh"]).touches(&LOG).out_has("hall").go();
    house.run(&["read", "--again", "--tank", "hall"]).out_has("0 readings logged.").go();
}

#[test]
fn a_dilution_forgotten_is_not_lost_in_a_double() {
    let house = read_once();
    let left = one(&house, &["tank.jpg", "B=nitrite:1+1"], &[]);
    assert_eq!((left.log.did.as_str(), left.log.apart.as_slice()), ("left", &["dilution".to_string()][..]));
    let new = one(&house, &["tank.jpg", "B=nitrite:1+1", "--again"], &LOG);
    assert_eq!((new.log.did.as_str(), new.dilution_added), ("replaced", Some(1.0)));
    let list = house.run(&["log", "--json"]).go().json::<LogList>();
    assert_eq!((list.readings.len(), list.readings[0].dilution_added), (1, Some(1.0)));
    // Said once, it is known.
    assert_eq!(one(&house, &["tank.jpg", "--again"], &[]).log.did, "same");
}

#[test]
fn a_photo_is_of_one_tank() {
    let house = read_once();
    house.run(&["tank", "add", "hall", "--water", "fresh"]).touches(&LOG).out_has("hall").go();
    house
        .run(&["read", "local.jpg", "B=nitrite"])
        .exit(2)
        .err_has("hall, reef [name-ambiguous]")
        .err_has("--tank")
        .go();
    let said = house
        .run(&["read", "tank.jpg", "B=nitrite", "--tank", "hall"])
        .exit(1)
        .err_has("as of reef [photo-other-tank]")
        .go();
    let undo = said.err.lines().last().unwrap().split("tintline ").nth(1).unwrap();
    house.run(&undo.split(' ').collect::<Vec<_>>()).touches(&LOG).out_has("Undone").go();
    let new = one(&house, &["tank.jpg", "B=nitrite", "--tank", "hall"], &LOG);
    assert_eq!(new.log.did, "added");
    house.run(&["log", "--tank", "hall"]).out_has("hall  nitrite").go();
    house.run(&["log", "--tank", "reef"]).out_has("No readings.").go();
}
