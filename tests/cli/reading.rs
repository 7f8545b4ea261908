//! `read`: photos that can be read.

use super::furnished;
use super::wire::{LogList, ReadDone};
use crate::support::shot::Shot;

const NEW: [&str; 2] = ["home/log.db", "home/photos/"];

#[test]
fn a_photo_is_read_logged_and_kept() {
    let house = furnished();
    let said = house.run(&["read", "tank.jpg", "B=nitrite", "--json"]).touches(&NEW).go().json::<ReadDone>();
    let photo = &said.photos[0];
    assert_eq!((photo.file.as_str(), photo.tank.as_deref()), ("tank.jpg", Some("reef")));
    let taken = photo.taken.as_ref().unwrap();
    assert_eq!(
        (taken.at.as_str(), taken.source.as_str(), taken.certainty.as_str()),
        ("2026-03-01T18:30:00+01:00", "exif-offset", "sure")
    );
    assert_eq!(
        (photo.kit.as_ref().unwrap().name.as_str(), photo.card.as_ref().unwrap().name.as_str()),
        ("home", "card")
    );
    let sample = &photo.samples[0];
    assert_eq!((sample.station.as_str(), sample.analyte.as_str(), sample.unit.as_str()), ("B", "nitrite", "mg/L NO2-"));
    // Drawn as 3 mg/L, between standards drawn as 2, 3 and 5.
    let (value, lower, upper) = (sample.value.unwrap(), sample.lower.unwrap(), sample.upper.unwrap());
    assert_eq!(sample.status, "measured");
    assert!(lower < 3.0 && 3.0 < upper && (2.5..3.5).contains(&value), "{}", sample.text);
    assert!((0.0..1.0).contains(&sample.detection_limit.unwrap()) && sample.limit.is_none());
    assert_eq!((sample.log.did.as_str(), sample.log.stands, sample.log.apart.len()), ("added", true, 0));
    // The original lies where it says, byte for byte.
    let kept = std::fs::read(photo.kept.as_ref().unwrap()).unwrap();
    assert_eq!(kept, std::fs::read(house.path("desk/tank.jpg")).unwrap());
    let name = format!("home/photos/{}.jpg", photo.photo.as_ref().unwrap());
    assert!(house.path(&name).exists(), "{name}");
    let log = house.run(&["log", "--json"]).go().json::<LogList>();
    let reading = &log.readings[0];
    assert_eq!(
        (reading.id.as_str(), reading.value, reading.text.as_str()),
        (sample.log.entry.as_str(), Some(value), sample.text.as_str())
    );
    assert_eq!(
        (reading.taken.at.as_str(), reading.station.as_deref(), reading.origin.as_str()),
        ("2026-03-01T18:30:00+01:00", Some("B"), "photo")
    );
}

#[test]
fn text_says_value_interval_and_what_became_of_it() {
    let house = furnished();
    let said =
        house.run(&["read", "tank.jpg", "local.jpg", "b=NO2", "--tank", "REEF", "--kit", "home"]).touches(&NEW).go();
    let lines: Vec<&str> = said.out.lines().collect();
    assert_eq!(lines[0], "tank.jpg: tank 'reef', 2026-03-01 18:30");
    assert!(
        lines[1].starts_with("  B  nitrite  ") && lines[1].contains(" mg/L NO2- (") && lines[1].contains(" to "),
        "{}",
        lines[1]
    );
    assert!(lines.contains(&"local.jpg: tank 'reef', 2026-03-02 18:30"), "{}", said.out);
    assert!(lines.contains(&"2 readings logged."), "{}", said.out);
    let list = house.run(&["log"]).go().out;
    assert!(list.lines().count() == 2 && list.starts_with("2026-03-01 18:30  reef  nitrite  "), "{list}");
}

#[test]
fn times_come_from_the_camera_the_zone_the_keeper_or_the_file() {
    let house = furnished();
    let taken = |photo: &str, more: &[&str]| {
        let args = [&["read", photo, "B=nitrite", "--json"], more].concat();
        let said = house.copy().run(&args).touches(&NEW).go().json::<ReadDone>();
        let t = said.photos.into_iter().next().unwrap().taken.unwrap();
        (t.at, t.source, t.certainty)
    };
    let is = |at: &str, source: &str, certainty: &str| (at.to_string(), source.to_string(), certainty.to_string());
    assert_eq!(taken("local.jpg", &[]), is("2026-03-02T18:30:00+01:00", "tank-zone", "sure"));
    assert_eq!(taken("tank.jpg", &["--clock-offset", "-1h"]), is("2026-03-01T17:30:00+01:00", "exif-offset", "unsure"));
    assert_eq!(taken("silent.jpg", &["--at", "2026-03-04 07:15"]), is("2026-03-04T07:15:00+01:00", "keeper", "sure"));
    assert_eq!(taken("tank.jpg", &["--at", "2026-07-04T07:15Z"]), is("2026-07-04T07:15:00+00:00", "keeper", "sure"));
    let (_, source, certainty) = taken("silent.jpg", &["--file-time"]);
    assert_eq!((source.as_str(), certainty.as_str()), ("file", "unsure"));
}

#[test]
fn no_photo_is_dated_without_a_word() {
    let house = furnished();
    let silent = ["read", "silent.jpg", "B=nitrite"];
    house.run(&silent).exit(1).err_has("silent.jpg does not say when it was taken [time-missing]").err_has("--at").go();
    let said =
        house.run(&["read", "silent.jpg", "B=nitrite", "--json"]).exit(1).err_has("--at").go().json::<ReadDone>();
    assert_eq!(said.photos[0].error.as_ref().unwrap().code, "time-missing");
    assert_eq!(said.photos[0].photo.as_ref().map(String::len), Some(64));
    // Of several, the one is set aside and the others are read.
    let several = ["read", "silent.jpg", "tank.jpg", "B=nitrite"];
    house
        .run(&several)
        .exit(3)
        .err_has("[time-missing]")
        .out_has("1 reading logged, 1 photo set aside.")
        .touches(&NEW)
        .go();
}

#[test]
fn what_cannot_be_read_is_logged_as_that_and_never_as_none() {
    let house = furnished();
    let args = ["read", "bare.jpg", "A=nitrite", "B=ammonia", "--json"];
    let said = house.run(&args).exit(3).touches(&NEW).go().json::<ReadDone>();
    for sample in &said.photos[0].samples {
        assert_eq!(
            (sample.status.as_str(), sample.value, sample.limit, sample.text.as_str()),
            ("refused", None, None, "not read")
        );
        assert_eq!(sample.refusal[0].code, "card-missing");
        assert!(sample.refusal[0].remedy.as_ref().unwrap().contains("retake"));
    }
    let said = house.copy().run(&["read", "bare.jpg", "A=nitrite", "B=ammonia"]).exit(3).out_has("2 not read.").go();
    assert_eq!(
        said.out.matches("[card-missing]").count(),
        1,
        "a reason for the whole photo is said once: {}",
        said.out
    );
    house.run(&["log", "--status", "refused"]).out_has("not read: card-missing").go();
    // A vial that is not there, and a test without swatches.
    let args = ["read", "tank.jpg", "B=nitrite", "D=nitrite", "--json"];
    let said = house.run(&args).exit(3).touches(&NEW).go().json::<ReadDone>();
    assert_eq!(said.photos[0].samples[1].refusal[0].code, "sample-missing");
    let said = house.run(&["read", "local.jpg", "B=ammonia", "--json"]).exit(3).touches(&NEW).go().json::<ReadDone>();
    assert_eq!(said.photos[0].samples[0].refusal[0].code, "curve-thin");
}

#[test]
fn a_dilution_multiplies_value_interval_and_limit() {
    let house = furnished();
    let read = |word: &str| {
        let said = house.copy().run(&["read", "tank.jpg", word, "--json"]).touches(&NEW).go().json::<ReadDone>();
        said.photos.into_iter().next().unwrap().samples.remove(0)
    };
    let (plain, diluted) = (read("B=nitrite"), read("B=nitrite:1+4"));
    assert_eq!(diluted.dilution_added, Some(4.0));
    let pairs = [
        (plain.value, diluted.value),
        (plain.lower, diluted.lower),
        (plain.upper, diluted.upper),
        (plain.detection_limit, diluted.detection_limit),
    ];
    for (one, five) in pairs {
        let (one, five) = (one.unwrap(), five.unwrap());
        assert!((five - 5.0 * one).abs() <= 1e-9 * five, "{one} {five}");
    }
    assert!(diluted.text.ends_with(", diluted 1+4"), "{}", diluted.text);
}

#[test]
fn tests_made_for_other_water_cast_doubt() {
    let house = furnished();
    let touched = ["home/kits/home/"];
    let toml = house.run(&["kit", "show", "--toml"]).go().out;
    house.lay("kit.toml", toml.replacen("matrix = \"both\"", "matrix = \"fresh\"", 1));
    house.run(&["kit", "import", "kit.toml"]).touches(&touched).out_has("Changed").go();
    let said = house
        .run(&["read", "tank.jpg", "B=nitrite"])
        .touches(&NEW)
        .out_has("B: Doubt: The test 'nitrite' is made for fresh water")
        .go();
    assert!(said.out.contains(", in doubt"), "{}", said.out);
    house.run(&["log"]).out_has(", in doubt").go();
}

#[test]
fn the_card_is_the_kits_own_and_another_casts_doubt() {
    let house = furnished();
    house
        .run(&["card", "enrol", "empty.jpg", "--name", "second"])
        .touches(&["home/cards/second/"])
        .out_has("second")
        .go();
    let own = house.copy().run(&["read", "tank.jpg", "B=nitrite", "--json"]).touches(&NEW).go().json::<ReadDone>();
    assert_eq!(own.photos[0].card.as_ref().unwrap().name, "card");
    house
        .run(&["read", "tank.jpg", "B=nitrite", "--card", "second"])
        .touches(&NEW)
        .out_has("[card-other]")
        .out_has(", in doubt")
        .go();
    house
        .run(&["read", "tank.jpg", "B=nitrite", "--card", "third"])
        .exit(2)
        .err_has("there are: card, second [name-unknown]")
        .go();
}

#[test]
fn originals_are_kept_while_there_is_room() {
    let house = furnished();
    house
        .run(&["read", "tank.jpg", "B=nitrite", "--no-keep"])
        .touches(&["home/log.db"])
        .out_has("1 reading logged.")
        .go();
    let full = house.run(&["read", "local.jpg", "B=nitrite", "--photo-space", "0"]).touches(&["home/log.db"]).go();
    assert!(
        full.out.contains("The original is not kept: kept photos have reached the 0.0 GB set for them."),
        "{}",
        full.out
    );
    let env = house
        .run(&["read", "local.jpg", "B=nitrite", "--json"])
        .env("TINTLINE_PHOTO_SPACE", "0")
        .go()
        .json::<ReadDone>();
    assert_eq!(env.photos[0].kept, None);
    // Photos of standards and of the card were the first.
    let kept = house.run(&["read", "local.jpg", "B=nitrite"]).touches(&["home/photos/"]).go();
    assert!(!kept.out.contains("Originals"), "{}", kept.out);
    std::fs::remove_dir_all(house.path("home/photos")).unwrap();
    house.run(&["read", "local.jpg", "B=nitrite"]).touches(&["home/photos/"]).out_has("--no-keep keeps none.").go();
}

#[test]
fn overlays_are_drawn_beside_what_was_read() {
    let house = furnished();
    let touched = ["home/log.db", "home/photos/", "desk/o.png"];
    house
        .run(&["read", "tank.jpg", "B=nitrite", "--overlay", "o.png"])
        .touches(&touched)
        .out_has("Overlay: o.png")
        .go();
    assert_eq!(image::open(house.path("desk/o.png")).unwrap().width(), 1120, "the photo's own width");
    std::fs::create_dir(house.path("desk/drawn")).unwrap();
    let args = ["read", "tank.jpg", "local.jpg", "B=nitrite", "--overlay", "drawn"];
    let touched = ["home/log.db", "home/photos/", "desk/drawn/tank.overlay.png", "desk/drawn/local.overlay.png"];
    house.run(&args).touches(&touched).go();
    // What cannot work is said before anything is read.
    house.run(&["read", "silent.jpg", "tank.jpg", "B=nitrite", "--overlay", "o.png"]).exit(2).err_has("[usage]").go();
    house
        .run(&["read", "tank.jpg", "B=nitrite", "--overlay", "o.gif"])
        .exit(2)
        .err_has("[overlay-unknown-ending]")
        .go();
}

#[test]
fn the_same_photo_under_another_name_is_the_same() {
    let house = furnished();
    house.run(&["read", "tank.jpg", "B=nitrite"]).touches(&NEW).go();
    // The same picture without its camera data: galleries strip it.
    let stripped = Shot::new().dyed("B", 3.0).jpeg();
    assert_ne!(stripped, std::fs::read(house.path("desk/tank.jpg")).unwrap());
    house.lay("copy.jpg", stripped);
    house.run(&["read", "copy.jpg", "B=nitrite"]).out_has("in the log already").out_has("1 in the log before.").go();
}
