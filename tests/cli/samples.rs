//! Several photos of one vial, read in any order: one line in the log.

use super::furnished;
use super::wire::{LogList, Reading};
use crate::support::House;
use crate::support::shot::Shot;

/// A house with three photos of one vial on the desk, two minutes apart, and a fourth of another sample, an hour later.
fn four() -> House {
    let house = furnished();
    let shot = |minute: &str, n: usize| {
        let shot = Shot::new().dyed("B", 3.0).taken(&format!("2026:03:01 {minute}:00"), Some("+01:00"));
        (0..n).fold(shot, |s, _| s.retake()).jpeg()
    };
    house.lay("one.jpg", shot("18:30", 3)).lay("two.jpg", shot("18:32", 4)).lay("three.jpg", shot("18:34", 5));
    house.lay("four.jpg", shot("19:30", 6));
    house
}

fn read(house: &House, photos: &[&str]) {
    let args = [&["read", "--no-keep"], photos, &["B=nitrite"]].concat();
    house.run(&args).touches(&["home/log.db"]).go();
}

fn list(house: &House) -> Vec<Reading> {
    house.run(&["log", "--json"]).go().json::<LogList>().readings
}

#[test]
fn one_answer_whatever_the_order() {
    let answers = |rounds: &[&[&str]]| {
        let house = four();
        rounds.iter().for_each(|photos| read(&house, photos));
        let all = list(&house);
        all.into_iter().map(|r| (r.text, r.value, r.lower, r.upper, r.taken.at, r.photos.len())).collect::<Vec<_>>()
    };
    let at_once = answers(&[&["one.jpg", "two.jpg", "three.jpg", "four.jpg"]]);
    assert_eq!(at_once.iter().map(|a| a.5).collect::<Vec<_>>(), [3, 0]);
    assert_eq!(at_once[0].4, "2026-03-01T18:30:00+01:00");
    assert!((at_once[0].1.unwrap() - 3.0).abs() < 0.3, "{at_once:?}");
    assert_eq!(answers(&[&["four.jpg"], &["three.jpg"], &["one.jpg"], &["two.jpg"]]), at_once);
    assert_eq!(answers(&[&["two.jpg", "one.jpg"], &["four.jpg", "three.jpg"]]), at_once);
}

#[test]
fn the_log_shows_one_line_and_keeps_every_photo() {
    let house = four();
    read(&house, &["one.jpg", "two.jpg", "three.jpg"]);
    house.run(&["log"]).out_has(", from 3 photos").go();
    assert_eq!(list(&house).len(), 1);
    assert_eq!(house.run(&["log", "--all", "--json"]).go().json::<LogList>().readings.len(), 3);
    let csv = house.run(&["log", "export", "csv"]).go().out;
    assert_eq!(csv.lines().count(), 2, "a header and one sample: {csv}");
    // Never narrower than the noise of three photos alone would make it.
    let all = list(&house).remove(0);
    let singles = house.run(&["log", "--all", "--json"]).go().json::<LogList>().readings;
    let width = |r: &Reading| r.upper.unwrap() - r.lower.unwrap();
    let narrowest = singles.iter().map(width).fold(f64::MAX, f64::min);
    assert!(width(&all) > 0.9 * narrowest, "{} {narrowest}", width(&all));
    // The keeper's word joins a photo of another hour.
    let entry = all.id;
    let args = ["read", "--no-keep", "four.jpg", "B=nitrite", "--sample", &entry];
    house.run(&args).touches(&["home/log.db"]).go();
    let all = list(&house);
    assert_eq!((all.len(), all[0].photos.len()), (1, 4));
}
