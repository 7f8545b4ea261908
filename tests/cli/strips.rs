//! Strips from the calibration to the log: one photo gives the readings of all pads.

use super::wire::{LogList, ReadDone};
use crate::support::House;
use crate::support::shot::{DYE, STRIP, Shot};

const KITS: [&str; 2] = ["home/kits/strips/", "home/photos/"];

/// What the pads show of nitrite, nitrate and pH.
fn pads(nitrite: f64, nitrate: f64, ph: f64) -> [[f64; 3]; 3] {
    let red = |x: f64| [0, 1, 2].map(|c| DYE[c] * x + [0.03, 0.05, 0.10][c]);
    let turns = |x: f64| [0.05 + 0.25 * (x - 6.0), 0.12 + 0.06 * (x - 6.0), 0.90 - 0.35 * (x - 6.0)];
    [red(nitrite), red(nitrate / 10.0), turns(ph)]
}

fn measures() -> String {
    STRIP.map(|x| x.to_string()).join(",")
}

/// A house with a kit of strips of three tests, made from strips of known water, and the tank `hall`.
fn stripped(measures: &str) -> House {
    let house = House::new();
    let go = |args: &[&str], touches: &[&str]| house.run(args).touches(touches).go();
    house.lay("empty.jpg", Shot::new().jpeg()).lay("empty2.jpg", Shot::new().retake().jpeg());
    go(&["tank", "add", "hall", "--water", "fresh", "--zone", "Europe/Berlin"], &["home/log.db"]);
    go(&["card", "enrol", "empty.jpg", "empty2.jpg"], &["home/cards/card/", "home/photos/"]);
    go(&["kit", "new", "strips", "--strip", measures], &KITS[..1]);
    for (pad, (test, unit)) in
        [("nitrite", "mg/L NO2-"), ("nitrate", "mg/L NO3-"), ("pH", "pH")].into_iter().enumerate()
    {
        let pad = (pad + 1).to_string();
        go(&["kit", "add-test", "strips", test, "--unit", unit, "--water", "fresh", "--pad", &pad], &KITS[..1]);
    }
    house
}

fn calibrated() -> House {
    let house = stripped(&measures());
    let known =
        [(0.0, 0.0, 6.0), (0.0, 0.0, 6.4), (0.5, 10.0, 6.8), (1.0, 25.0, 7.2), (2.0, 50.0, 7.6), (5.0, 100.0, 8.0)];
    for (i, (nitrite, nitrate, ph)) in known.into_iter().enumerate() {
        let file = format!("known-{i}.jpg");
        let shot = Shot::new().strip(6.0 * i as f64 - 15.0, &pads(nitrite, nitrate, ph));
        house.lay(&file, (0..i).fold(shot, |s, _| s.retake()).jpeg());
        let words = [format!("nitrite={nitrite}"), format!("nitrate={nitrate}"), format!("pH={ph}")];
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        house.run(&[&["kit", "add", "strips", "--photo", &file], &words[..]].concat()).touches(&KITS).go();
    }
    house
}

#[test]
fn every_pad_is_read_in_its_place_at_any_angle_and_either_way_round() {
    let house = calibrated();
    for (i, degrees) in [0.0, 30.0, -30.0, 180.0, 150.0, 210.0].into_iter().enumerate() {
        let (file, at) = (format!("tank-{i}.jpg"), format!("2026:03:0{} 18:30:00", i + 1));
        let shot = Shot::new().strip(degrees, &pads(1.5, 40.0, 7.0)).taken(&at, Some("+01:00"));
        house.lay(&file, (0..i + 20).fold(shot, |s, _| s.retake()).jpeg());
        let said: ReadDone =
            house.run(&["read", "--json", "--no-keep", &file, "--kit", "strips"]).touches(&["home/log.db"]).go().json();
        let samples = &said.photos[0].samples;
        let value = |n: usize| samples[n].value.unwrap_or_else(|| panic!("{degrees}°: {samples:?}"));
        assert_eq!(samples.len(), 3);
        // A quarter of the distance between neighbouring standards: 1 to 2, 25 to 50, 6.8 to 7.2.
        assert!((value(0) - 1.5).abs() < 0.25, "{degrees}°: nitrite {}", value(0));
        assert!((value(1) - 40.0).abs() < 6.25, "{degrees}°: nitrate {}", value(1));
        assert!((value(2) - 7.0).abs() < 0.1, "{degrees}°: pH {}", value(2));
    }
    // All pads of a strip are one sample of water.
    let all = house.run(&["log", "--json"]).go().json::<LogList>().readings;
    assert_eq!(all.len(), 18);
}

#[test]
fn measures_that_do_not_fit_are_refused_with_what_to_do() {
    // A pitch of 11 mm: no strip in the photo has its pads so.
    let house = stripped("90,6,5,11,4.5");
    house.lay("known.jpg", Shot::new().strip(4.0, &pads(2.0, 50.0, 7.0)).jpeg());
    house
        .run(&["kit", "add", "strips", "--photo", "known.jpg", "nitrite=2", "--no-keep"])
        .exit(3)
        .out_has("[strip-unclear]")
        .out_has("the strip's measures")
        .go();
}
