//! Usual places: learnt, said, named, forgotten; and the next standard.

use super::furnished;
use super::wire::{KitAdded, KitChecked, LogHistory, LogList, PlaceChanged, PlaceList, ReadDone, UsualPlace};
use crate::support::House;
use crate::support::shot::Shot;

const NEW: [&str; 2] = ["home/log.db", "home/photos/"];

/// Far enough from the standards' light to be another place, and not so far as to be in doubt.
const LAMP: f64 = 0.06;

/// Lays photos of the same vial, taken a day apart, in a light.
fn shots(house: &House, name: &str, days: std::ops::Range<u32>, change: impl Fn(Shot) -> Shot) {
    for day in days {
        let taken = format!("2026:03:{:02} 18:00:00", day);
        let mut shot = Shot::new().taken(&taken, Some("+01:00")).dyed("B", 0.4);
        (0..day).for_each(|_| shot = shot.clone().retake());
        house.lay(&format!("{name}{day}.jpg"), change(shot).jpeg());
    }
}

fn read(house: &House, args: &[&str], or: i32) -> UsualPlace {
    let args = [&["read"], args, &["B=nitrite", "--json"]].concat();
    let mut said = house.run(&args).touches(&NEW).or_exit(or).go().json::<ReadDone>();
    said.photos.remove(0).place.expect("a place")
}

fn places(house: &House) -> Vec<(Option<String>, usize, usize)> {
    let list = house.run(&["log", "place", "--json"]).go().json::<PlaceList>();
    list.places.into_iter().map(|p| (p.name, p.swatches, p.seen)).collect()
}

#[test]
fn a_reading_says_where_it_was_made() {
    let house = furnished();
    assert_eq!(places(&house), [(None, 6, 0)], "all standards were photographed in one light");
    let here = read(&house, &["tank.jpg"], 0);
    let called = "the place of your swatches of 2026-02-01";
    assert_eq!((here.called.as_deref(), here.name.as_deref()), (Some(called), None));
    assert!(here.calibrated && here.kit_off.unwrap() < 0.03 && here.off == here.kit_off, "{here:?}");
    assert_eq!((here.swatches, here.seen, here.side.as_deref()), (6, 0, Some("even")));
    // Two photos by the lamp: the second one knows of the first.
    shots(&house, "lamp", 5..8, |s| s.lamp(LAMP));
    let lamp = read(&house, &["lamp5.jpg"], 0);
    let (off, kit_off) = (lamp.off, lamp.kit_off.unwrap());
    assert!(!lamp.calibrated && off.is_none() && (0.072..0.12).contains(&kit_off), "{lamp:?}");
    assert_eq!((lamp.called.as_deref(), lamp.seen, lamp.swatches), (None, 0, 0));
    assert!(lamp.text.contains("not seen before") && lamp.text.contains("would narrow its readings"), "{}", lamp.text);
    let again = read(&house, &["lamp6.jpg"], 0);
    assert!(again.off.unwrap() < 0.03 && again.seen == 1, "{again:?}");
    assert!(again.text.contains("seen once besides"), "{}", again.text);
    // A place that was merely seen does not narrow: the third reading there is as wide as the first.
    let log = house.run(&["log", "--json"]).go().json::<LogList>();
    let foreign = |i: usize| log.readings[i].findings.iter().filter(|f| f.code == "light-foreign").count();
    assert_eq!([0, 1, 2].map(foreign), [0, 1, 1]);
    // The log tells it too, each photo left out of its own count.
    let said: Vec<_> = log.readings.iter().map(|r| r.place.as_ref().unwrap().seen).collect();
    assert_eq!(said, [0, 1, 1]);
    assert_eq!(places(&house), [(None, 6, 1), (None, 0, 2)]);
    // Of one entry in words.
    let entry = &log.readings[2].id[28..];
    let text = house.run(&["log", "history", entry]).out_has("Place: a place without a name (light 0.").go().out;
    assert_eq!(text.matches("Place:").count(), 1, "{text}");
    let history = house.run(&["log", "history", entry, "--json"]).go().json::<LogHistory>();
    assert!(history.entries.iter().any(|e| e.place.is_some()));
    // And the table keeps what was said when it was read.
    let csv = house.run(&["log", "export", "csv"]).go().out;
    assert_eq!(csv.matches(called).count(), 1, "{csv}");
}

#[test]
fn light_from_another_side_is_said() {
    let house = furnished();
    // The standards again, with light from the left.
    for (name, a, c) in [("l1", 0.0, 2.0), ("l2", 1.0, 5.0)] {
        house.lay(&format!("{name}.jpg"), Shot::new().dyed("A", a).dyed("C", c).slope(-0.5).jpeg());
    }
    house.run(&["kit", "new", "left"]).touches(&["home/kits/left/"]).go();
    house
        .run(&["kit", "add-test", "left", "nitrite", "--unit", "mg/L NO2-", "--water", "marine"])
        .touches(&["home/kits/left/"])
        .go();
    for (photo, a, c) in [("l1.jpg", "A=nitrite:0", "C=nitrite:2"), ("l2.jpg", "A=nitrite:1", "C=nitrite:5")] {
        let touches = ["home/kits/left/", "home/photos/"];
        house.run(&["kit", "add", "left", "--photo", photo, a, c]).touches(&touches).go();
    }
    shots(&house, "side", 5..6, |s| s.slope(0.5));
    let place = read(&house, &["side5.jpg", "--kit", "left"], 0);
    assert_eq!((place.calibrated, place.side.as_deref()), (true, Some("right")));
    assert!(place.text.ends_with("now with light from the right, then with light from the left)."), "{}", place.text);
    shots(&house, "same", 6..7, |s| s.slope(-0.4));
    let place = read(&house, &["same6.jpg", "--kit", "left"], 0);
    assert!(place.side.as_deref() == Some("left") && !place.text.contains("then with"), "{place:?}");
}

#[test]
fn places_are_named_renamed_and_forgotten() {
    let house = furnished();
    shots(&house, "lamp", 5..9, |s| s.lamp(LAMP));
    let named = read(&house, &["lamp5.jpg", "--place", " desk  lamp "], 0);
    assert_eq!((named.name.as_deref(), named.seen), (Some("desk lamp"), 0));
    assert!(named.text.starts_with("desk lamp (light 0."), "{}", named.text);
    let log = house.run(&["log", "--json"]).go().json::<LogList>();
    // Known by its light from then on, without a word.
    assert_eq!(read(&house, &["lamp6.jpg"], 0).name.as_deref(), Some("desk lamp"));
    // The same light by another name keeps its own, and that is said.
    let args = ["read", "lamp7.jpg", "B=nitrite", "--place", "sink"];
    let text = house.run(&args).touches(&NEW).out_has("Place: desk lamp").go().out;
    assert!(
        text.contains("not named 'sink'. To rename that place: tintline log place name 'desk lamp' sink"),
        "{text}"
    );
    // Renamed by its name, by a reading made there, by its number.
    let change = |args: &[&str]| {
        let args = [&["log", "place"], args, &["--json"]].concat();
        house.run(&args).touches(&["home/log.db"]).go().json::<PlaceChanged>()
    };
    change(&["name", "DESK lamp", "sink"]);
    assert_eq!(places(&house), [(None, 6, 0), (Some("sink".into()), 0, 3)]);
    change(&["name", &log.readings[0].id[28..], "shelf"]);
    let done = change(&["name", "1", "window"]);
    assert_eq!((done.did.as_str(), done.name.as_deref()), ("named", Some("window")));
    assert_eq!(places(&house), [(Some("window".into()), 6, 0), (Some("shelf".into()), 0, 3)]);
    let here = read(&house, &["tank.jpg"], 0);
    assert!(here.calibrated && here.text.starts_with("window (light 0."), "{here:?}");
    // What cannot be.
    let wrong = |args: &[&str], code: &str| {
        house.run(&[&["log", "place"], args].concat()).exit(2).err_has(code).go();
    };
    wrong(&["name", "shelf", "Window"], "[place-taken]");
    wrong(&["name", "cellar", "x"], "[place-unknown]");
    wrong(&["name", "9", "x"], "[place-unknown]");
    wrong(&["name", "0", "x"], "[place-unknown]");
    wrong(&["name", "shelf", "77"], "[place-name]");
    wrong(&["name", "shelf", " "], "[place-name]");
    let args = ["read", "lamp8.jpg", "B=nitrite", "--place", "12"];
    house.run(&args).exit(2).err_has("[place-name]").go();
    // Forgotten: readings there do not count any more, swatches do.
    change(&["forget", "shelf"]);
    let gone = change(&["forget", "window"]);
    assert_eq!((gone.did.as_str(), gone.name), ("forgotten", None));
    assert_eq!(places(&house), [(None, 6, 0)]);
    assert_eq!(house.run(&["log"]).go().out.lines().count(), 4, "the readings stay");
    // Taken back.
    house.run(&["log", "undo", &gone.entry[24..]]).touches(&["home/log.db"]).go();
    assert_eq!(places(&house), [(Some("window".into()), 6, 1)]);
    // A new photo there is of a new place.
    assert_eq!(read(&house, &["lamp8.jpg"], 0).seen, 0);
}

#[test]
fn a_standard_at_the_other_place_is_asked_for_and_narrows() {
    let house = furnished();
    let check = |house: &House| house.run(&["kit", "check", "--json"]).exit(3).go().json::<KitChecked>();
    let before = check(&house);
    let own = &before.places[0];
    assert_eq!((before.places.len(), own.photos, own.read, own.kit_off), (1, 3, 0, Some(0.0)));
    assert_eq!(
        own.tests.iter().map(|t| (t.test.as_str(), &t.values[..])).collect::<Vec<_>>(),
        [("nitrite", &[0.0, 1.0, 2.0, 3.0, 5.0][..])]
    );
    assert_eq!(
        (own.side.as_deref(), own.from.as_deref(), own.to.as_deref()),
        (Some("even"), Some("2026-02-01"), Some("2026-02-01"))
    );
    assert!(own.spread < 0.03, "{own:?}");
    // Read by a lamp four times out of five, at 0.4 mg/L: it wants a standard there, and about there on the scale.
    shots(&house, "lamp", 5..10, |s| s.lamp(LAMP));
    read(&house, &["tank.jpg"], 0);
    for day in 5..9 {
        read(&house, &[&format!("lamp{day}.jpg"), "--place", "desk lamp"], 0);
    }
    let checked = check(&house);
    let lamp = &checked.places[1];
    assert_eq!((lamp.called.as_str(), lamp.photos, lamp.read, lamp.tests.len()), ("desk lamp", 0, 4, 0));
    let next = checked.next.unwrap();
    assert_eq!((next.test.as_str(), next.value, next.place, next.why.as_str()), ("nitrite", 0.25, Some(2), "place"));
    assert!((0.4..0.75).contains(&next.narrower) && next.then[1] < next.now[1], "{next:?}");
    let text = house.run(&["kit", "check"]).exit(3).out_has("4 photos read there").go().out;
    let line = text.lines().last().unwrap();
    let begin = "Next standard: nitrite 0.25 mg/L NO2- at desk lamp: 4 photos read there, and the kit has no standard in that light.";
    assert!(line.starts_with(begin), "{line}");
    // It is made, and called by its place; then readings there are at home, and narrower by about what was said.
    let width = |house: &House| {
        let log = house.run(&["log", "--json"]).go().json::<LogList>();
        let last = log.readings.last().unwrap();
        (last.upper.unwrap() - last.lower.unwrap(), last.place.as_ref().unwrap().calibrated)
    };
    let (wide, at_home) = width(&house);
    assert!(!at_home);
    house.lay("low.jpg", Shot::new().taken("2026:03:20 12:00:00", Some("+01:00")).dyed("B", 0.25).lamp(LAMP).jpeg());
    let touches = ["home/kits/home/", "home/photos/", "home/log.db"];
    let args = ["kit", "add", "home", "B=nitrite:0.25", "--photo", "low.jpg", "--place", "Desk lamp", "--json"];
    // The name is known: nothing new is logged.
    let added = house.run(&args).touches(&touches[..2]).go().json::<KitAdded>();
    assert_eq!(added.place.as_deref(), Some("Desk lamp"));
    let there = read(&house, &["lamp9.jpg"], 0);
    assert!(there.calibrated && there.swatches == 1 && there.name.as_deref() == Some("desk lamp"), "{there:?}");
    let (narrow, at_home) = width(&house);
    assert!(at_home && narrow < 0.9 * wide, "{narrow} {wide}");
    assert_ne!(check(&house).next.map(|n| n.why).as_deref(), Some("place"));
}
