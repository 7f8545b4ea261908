//! `log correct`: the keeper's own judgement, beside what the photo said.

use super::furnished;
use super::wire::{LogCorrected, LogHistory, LogList, StatusShown};
use crate::support::House;

const LOG: [&str; 1] = ["home/log.db"];

/// A house in which a photo showed nitrite 3 mg/L, with its entry.
fn alarmed() -> (House, String) {
    let house = furnished();
    house.run(&["read", "--no-keep", "tank.jpg", "B=nitrite"]).touches(&LOG).go();
    let entry = house.run(&["log", "--json"]).go().json::<LogList>().readings.remove(0).id;
    (house, entry)
}

fn correct(house: &House, args: &[&str]) -> LogCorrected {
    house.run(&[&["log", "correct", "--json"], args].concat()).touches(&LOG).go().json()
}

#[test]
fn both_are_shown_everywhere_and_an_undo_brings_the_photo_back() {
    let (house, entry) = alarmed();
    let said = correct(&house, &[&entry, "0,5 (0.25 to 1)", "--reason", "the lamp was red"]).reading;
    assert_eq!(
        (said.value, said.lower, said.upper, said.origin.as_str()),
        (Some(0.5), Some(0.25), Some(1.0), "correction")
    );
    let before = said.instead_of.unwrap();
    assert!((before.value.unwrap() - 3.0).abs() < 0.3, "{before:?}");
    house.run(&["log"]).out_has("0.50 mg/L NO2- (0.25 to 1.00), corrected; before: ").go();
    let listed = house.run(&["log", "--json"]).go().json::<LogList>().readings.remove(0);
    assert_eq!(listed.instead_of.unwrap().text, before.text);
    house
        .run(&["log", "history", &entry])
        .out_has("the lamp was red")
        .out_has(&before.text)
        .out_has("by the keeper")
        .go();
    let history: LogHistory = house.run(&["log", "history", &entry, "--json"]).go().json();
    assert_eq!(history.entries.iter().filter(|e| e.says.is_some()).count(), 2);
    assert!(house.run(&["log", "export", "csv"]).go().out.contains(&before.text));
    // Back again.
    house.run(&["log", "undo", &said.id]).touches(&LOG).out_has("stands in its place").go();
    let back = house.run(&["log", "--json"]).go().json::<LogList>().readings.remove(0);
    assert_eq!((back.id, back.origin.as_str(), back.instead_of.is_none()), (entry, "photo", true));
}

#[test]
fn a_judgement_by_eye_is_good_for_one_shade_and_a_nought_is_below_the_first() {
    let (house, entry) = alarmed();
    // The kit's standards, 0 1 2 3 5, are the shades.
    let said = correct(&house, &[&entry, "2", "--reason", "by eye"]).reading;
    assert_eq!((said.value, said.lower, said.upper), (Some(2.0), Some(1.0), Some(3.0)));
    let said = correct(&house, &[&entry, "0", "--reason", "by eye"]).reading;
    assert_eq!(
        (said.status.as_str(), said.limit, said.text.as_str()),
        ("not-detected", Some(1.0), "not detected (below 1 mg/L NO2-)")
    );
    let said = correct(&house, &[&entry, "0", "--reason", "by eye", "--first-shade", "0.25"]).reading;
    assert_eq!((said.limit, said.value), (Some(0.25), None));
}

#[test]
fn an_alarm_lasts_until_a_new_sample() {
    let (house, entry) = alarmed();
    let nitrite = || {
        let shown: StatusShown = house.run(&["status", "--json"]).go().json();
        let line = shown.tanks[0].danger.lines.iter().find(|l| l.hazard == "nitrite").expect("a line");
        (line.level.clone(), line.statement.text.clone())
    };
    let (before, _) = nitrite();
    assert_ne!(before, "none");
    correct(&house, &[&entry, "0", "--reason", "it looks clear to me", "--first-shade", "0.25"]);
    let (level, text) = nitrite();
    assert_eq!(level, before);
    assert!(text.contains("corrected by hand to not detected") && text.contains("a new sample must show"), "{text}");
    // A new sample settles it.
    house.run(&["log", "add", "nitrite=<0.25 mg/L NO2-"]).touches(&LOG).go();
    assert_eq!(nitrite().0, "none");
}

#[test]
fn a_worse_judgement_counts_at_once() {
    let house = furnished();
    house.run(&["log", "add", "nitrite=<0.25 mg/L NO2-", "--at", "2026-03-01 18:30"]).touches(&LOG).go();
    let entry = house.run(&["log", "--json"]).go().json::<LogList>().readings.remove(0).id;
    correct(&house, &[&entry, "5 (4 to 6)", "--reason", "a slip of the key"]);
    let shown: StatusShown = house.run(&["status", "--json"]).go().json();
    let line = shown.tanks[0].danger.lines.iter().find(|l| l.hazard == "nitrite").unwrap();
    assert_eq!(line.level, "danger", "marine: {}", line.statement.text);
}

#[test]
fn what_cannot_be_meant_is_refused() {
    let (house, entry) = alarmed();
    let go = |args: &[&str], code: &str| {
        house.run(&[&["log", "correct"], args].concat()).exit(2).err_has(code).go();
    };
    go(&[&entry, "much", "--reason", "x"], "[amount-malformed]");
    go(&[&entry, "0.5 °C", "--reason", "x"], "[");
    go(&[&entry, "0.5"], "--reason");
    go(&["ffff", "0.5", "--reason", "x"], "ffff");
    go(&[&entry, "0.5", "--reason", "  "], "[");
}
