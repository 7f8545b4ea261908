//! The whole way from nothing to a reading by text alone: no step needs an eye for colour, each says what comes next.

use super::wire::ReadDone;
use crate::support::House;
use crate::support::shot::Shot;

/// The command that a text names after `lead`, as the words of a shell.
fn named(text: &str, lead: &str) -> Vec<String> {
    let line = text.lines().find(|l| l.contains(lead)).unwrap_or_else(|| panic!("no '{lead}' in {text}"));
    let command = &line[line.find("tintline ").unwrap_or_else(|| panic!("no command in {line}"))..];
    let (mut words, mut quoted) = (vec![String::new()], false);
    for c in command.chars() {
        match c {
            '\'' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            c => words.last_mut().unwrap().push(c),
        }
    }
    words.retain(|w| !w.is_empty());
    words.remove(0);
    words
}

/// Runs the command named in a text, with words of its own put in.
fn follow(house: &House, text: &str, lead: &str, put: &[(&str, &str)], touches: &[&str]) -> String {
    let mut words = named(text, lead);
    for (from, to) in put {
        assert!(words.iter().any(|w| w.contains(from)), "no {from} in {words:?}");
        words.iter_mut().for_each(|w| *w = w.replace(from, to));
    }
    let args: Vec<&str> = words.iter().map(String::as_str).collect();
    house.run(&args).touches(touches).go().out
}

#[test]
fn a_kit_is_calibrated_and_read_by_following_the_text() {
    let house = House::new();
    house.lay("empty-1.jpg", Shot::new().jpeg()).lay("empty-2.jpg", Shot::new().retake().jpeg());
    // Ammonia's dye takes red and blue, nitrite's green: two hues.
    let green = |v: f64| [0.02 + 0.30 * v, 0.03 + 0.04 * v, 0.30 + 0.10 * v];
    for (i, v) in [0.0, 1.0, 2.0, 4.0].into_iter().enumerate() {
        let retaken = |shot: Shot| (0..i).fold(shot, |s, _| s.retake());
        house.lay(&format!("nitrite-{i}.jpg"), retaken(Shot::new().dyed("B", v)).jpeg());
        house.lay(&format!("ammonia-{i}.jpg"), retaken(Shot::new().vial("B", green(v))).jpeg());
    }
    let kit = ["home/kits/drops/", "home/photos/"];
    let start = ["kit", "start", "drops", "nitrite=mg/L NO2-", "ammonia=mg/L NH3-N"];
    let said = house.run(&start).touches(&["home/kits/drops/"]).go().out;
    assert!(said.contains("1. Print the card"), "{said}");
    let put = [("PHOTO", "empty-1.jpg")];
    let said = follow(&house, &said, "card enrol", &put, &["home/cards/card/", "home/photos/"]);
    assert!(said.contains("Enrolled the card") && said.contains("tintline kit start"), "{said}");
    let said = house.run(&["kit", "start", "drops"]).go().out;
    assert!(said.contains("1. Lay the card flat") || said.contains("standards"), "{said}");
    // Standards of one's own serve as well as printed shades, and the text says so.
    for test in ["nitrite", "ammonia"] {
        for (i, v) in [0.0, 1.0, 2.0, 4.0].into_iter().enumerate() {
            let word = format!("B={test}:{v}");
            let photo = format!("{test}-{i}.jpg");
            let added = house.run(&["kit", "add", "drops", &word, "--photo", &photo]).touches(&kit).go().out;
            // Number and words for the colour, and the next step.
            assert!(added.contains("yellow") || v > 0.0, "{added}");
            assert_eq!(named(&added, "What comes next"), ["kit", "start", "drops"]);
        }
    }
    let said = follow(&house, "What comes next: tintline kit start drops", "next", &[], &[]);
    assert!(said.contains("It needs nothing more"), "{said}");
    let checked = house.run(&named(&said, "check it").iter().map(String::as_str).collect::<Vec<_>>()).go().out;
    // The order is the program's to check: spacing and each standard on the curve of the others.
    assert!(checked.contains("ΔE00") && checked.contains("standards") && !checked.contains("Doubt"), "{checked}");
    house.run(&["tank", "add", "shelf", "--water", "fresh", "--zone", "UTC"]).touches(&["home/log.db"]).go();
    let photo = Shot::new().dyed("B", 3.0).taken("2026:03:05 12:00:00", Some("+00:00"));
    house.lay("water.jpg", photo.jpeg());
    let put = [("PHOTO", "water.jpg")];
    let read = follow(&house, &said, "Read with it", &put, &["home/log.db", "home/photos/"]);
    assert!(read.contains("mg/L NO2-") && read.contains(" to "), "{read}");

    // Whoever cannot tell the two hues apart is told which test it is.
    let args = ["read", "water.jpg", "B=ammonia", "--dry-run", "--again", "--json"];
    let done = house.run(&args).exit(3).go().json::<ReadDone>();
    let refusal = &done.photos[0].samples[0].refusal;
    assert!(refusal[0].sentence.contains("It fits nitrite better than ammonia."), "{refusal:?}");
}
