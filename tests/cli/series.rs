//! `kit series`, and titrations by hand.

use super::furnished;
use super::wire::{Failed, KitSeries, KitShown, LogAdded, LogList};
use crate::support::House;
use crate::support::shot::Shot;

/// Photos of a sample of 4 mg/L nitrite: undiluted, 1+1 and 1+3.
fn photographed() -> House {
    let house = furnished();
    for (file, value) in [("d0.jpg", 4.0), ("d1.jpg", 2.0), ("d2.jpg", 1.0)] {
        house.lay(file, Shot::new().dyed("B", value).jpeg());
    }
    house
}

const SERIES: [&str; 9] =
    ["kit", "series", "home", "nitrite", "B=1+0,1+1,1+3", "--photo", "d0.jpg", "--photo", "d1.jpg"];

#[test]
fn a_series_finds_its_level_by_the_kits_own_standards() {
    let house = photographed();
    let args = [&SERIES[..], &["--photo", "d2.jpg", "--json"]].concat();
    let added = house.run(&args).touches(&["home/kits/home/", "home/photos/"]).go().json::<KitSeries>();
    assert!(added.anchors >= 1, "{added:?}");
    assert!(
        (added.level - 4.0).abs() < 2.0 * added.level_sd && added.level_sd < 1.0,
        "{} {}",
        added.level,
        added.level_sd
    );
    let said: Vec<f64> = added.photos.iter().map(|p| p.standards[0].value).collect();
    assert!((said[1] / said[0] - 0.5).abs() < 1e-3 && (said[2] / said[0] - 0.25).abs() < 1e-3, "{said:?}");
    let shown = house.run(&["kit", "show", "--json"]).go().json::<KitShown>();
    let last = &shown.swatches[0].swatches[6..];
    assert_eq!(last.iter().map(|s| s.value).collect::<Vec<_>>(), said);
    assert!(last.iter().all(|s| s.value_sd.unwrap() > 0.02 * s.value), "{last:?}");
}

#[test]
fn a_level_that_is_known_is_taken() {
    let house = photographed();
    let args = [&SERIES[..], &["--photo", "d2.jpg", "--known", "4±0.2", "--within", "0"]].concat();
    house.run(&args).touches(&["home/kits/home/", "home/photos/"]).out_has("holds 4 ± 0.2 mg/L NO2-, as said").go();
    house.run(&["kit", "show"]).out_has("2 ± 0.1").go();
}

#[test]
fn what_is_no_series_is_refused_and_writes_nothing() {
    let house = photographed();
    let run = |words: &[&str], code: &str| {
        let error = house.run(&[&["kit", "series", "--json"], words].concat()).exit(2).err_has(code).go();
        assert_eq!(error.json::<Failed>().error.code, code);
    };
    let three = ["--photo", "d0.jpg", "--photo", "d1.jpg", "--photo", "d2.jpg"];
    run(&[&["nitrite", "B=1+0,1+1"][..], &three].concat(), "sample-malformed");
    run(&[&["nitrite", "B=1,1/2,1/4"][..], &three].concat(), "dilution-malformed");
    run(&[&["nitrite", "B=1+0,1/2,1/4"][..], &three].concat(), "dilution-ambiguous");
    run(&[&["nitrite", "E=1+0,1+1,1+3"][..], &three].concat(), "sample-malformed");
    run(&[&["nitrite"][..], &three].concat(), "sample-malformed");
    run(&[&["ammonia", "B=1+0,1+1,1+3"][..], &three].concat(), "series-no-anchor");
    run(&[&["pH", "B=1+0,1+1,1+3"][..], &three].concat(), "series-bounded");
    run(&[&["nitrite", "B=1+0,1+1", "--known", "4"][..], &three[..4]].concat(), "series-too-few");
    run(&[&["nitrite", "B=1+0,1+1,1+3", "--known", "0"][..], &three].concat(), "series-value");
    run(&[&["iron", "B=1+0,1+1,1+3"][..], &three].concat(), "test-unknown");
}

#[test]
fn titrations_are_counted() {
    let house = House::new();
    house.run(&["tank", "add", "hall", "--water", "fresh"]).touches(&["home/log.db"]).go();
    let add = |args: &[&str]| house.run(&[&["log", "add", "--json"], args].concat()).touches(&["home/log.db"]).go();
    let kh = add(&["KH=7 drops", "--drop", "1 dKH"]).json::<LogAdded>().readings.remove(0);
    assert_eq!((kh.text.as_str(), kh.lower, kh.upper), ("7.0 dH (6.0 to 8.0)", Some(6.0), Some(8.0)));
    let calcium = ["calcium=0.84 mL", "--ml", "500 mg/L", "--division", "0.02"];
    let calcium = add(&calcium).json::<LogAdded>().readings.remove(0);
    assert_eq!((calcium.lower.map(f64::round), calcium.upper.map(f64::round)), (Some(410.0), Some(430.0)));
    let none = ["gh=0 drops", "--drop", "1 dH", "--dilution", "1+1"];
    let none = add(&none).json::<LogAdded>().readings.remove(0);
    assert_eq!((none.status.as_str(), none.value, none.limit), ("not-detected", None, Some(2.0)));
    // Out, and in again.
    let csv = house.run(&["log", "export", "csv"]).go().out;
    assert!(csv.contains("7 drops, 1 dKH a drop") && csv.contains("0.84 mL, 500 mg/L a mL, read to 0.02 mL"), "{csv}");
    let other = House::new();
    other.lay("out.json", house.run(&["log", "export", "json"]).go().out);
    other.run(&["log", "import", "out.json"]).touches(&["home/log.db"]).out_has("").go();
    let list = |h: &House| h.run(&["log", "--json"]).go().json::<LogList>().readings;
    let said = |h: &House| list(h).iter().map(|r| (r.text.clone(), r.lower, r.upper, r.limit)).collect::<Vec<_>>();
    assert_eq!((said(&other), said(&house).len()), (said(&house), 3));
    assert_eq!(other.run(&["log", "export", "csv"]).go().out, csv);
    let wrong = |args: &[&str], code: &str| {
        house.run(&[&["log", "add"], args].concat()).exit(2).err_has(code).go();
    };
    wrong(&["KH=7 drops"], "--drop");
    wrong(&["KH=7 drops"], "entry-no-factor");
    wrong(&["KH=7 dKH", "--drop", "1 dKH"], "entry-not-counted");
    wrong(&["KH=7 drops", "--drop", "1 mg/L NO3-"], "unit-other-analyte");
    wrong(&["KH=7 drops", "--drop", "0 dKH"], "entry-factor");
    wrong(&["KH=7 mL", "--ml", "1 dKH"], "--division");
    wrong(&["KH=7 drops", "GH=7 drops", "--drop", "1 dKH"], "--drop belongs to one reading");
}
