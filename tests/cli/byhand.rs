//! `log add`: readings by hand.

use super::furnished;
use super::wire::{Failed, LogAdded, LogList};
use crate::support::House;

const LOG: [&str; 1] = ["home/log.db"];

fn hall() -> House {
    let house = House::new();
    house.run(&["tank", "add", "hall", "--water", "fresh"]).touches(&LOG).go();
    house
}

fn add(house: &House, args: &[&str]) -> LogAdded {
    house.run(&[&["log", "add", "--json"], args].concat()).touches(&LOG).go().json()
}

#[test]
fn readings_come_in_with_their_units() {
    let house = hall();
    let at = ["--at", "2026-03-01 18:30"];
    let words = [
        "pH=7,4",
        "temperature=78 °F",
        "ammonia=0.25 mg/L NH3-N",
        "nitrite=<0,25 ppm NO2-",
        "kh=3 meq/L",
        "nitrate=80+ mg/L NO3-",
    ];
    let added = add(&house, &[&words[..], &at].concat()).readings;
    let text: Vec<&str> = added.iter().map(|r| r.text.as_str()).collect();
    assert_eq!(
        text,
        [
            "pH 7.4 (6.9 to 7.9)",
            "25.6 °C (24.5 to 26.6)",
            "0.25 mg/L NH3-N (0.12 to 0.50)",
            "not detected (below 0.25 mg/L NO2-)",
            "3.00 meq/L (2.64 to 3.36)",
            "above 80 mg/L NO3-",
        ]
    );
    assert!(added.iter().all(|r| r.origin == "hand" && r.taken.at == "2026-03-01T18:30:00+01:00"));
    assert!(added.iter().all(|r| r.tank.as_deref() == Some("hall") && r.photo.is_none()));
    // Of the tap; a salt content by hydrometer.
    let tap = add(&house, &["--tap", "nitrate=10 ± 2 mg/L NO3-"]).readings;
    assert_eq!((tap[0].target.as_str(), tap[0].lower, tap[0].upper), ("tap", Some(8.0), Some(12.0)));
    let salt = ["salinity=1.0264 sg", "--water-temp", "25", "--printed-temp", "77 °F"];
    let salt = add(&house, &salt).readings.remove(0);
    // 1.02637 at 25 °C is 35 g/kg: UNESCO 1981.
    assert!((salt.value.unwrap() - 35.0).abs() < 0.1 && salt.unit == "g/kg", "{salt:?}");
    let diluted = add(&house, &["nitrate=40 mg/L NO3-", "--dilution", "1+4"]).readings.remove(0);
    assert_eq!((diluted.value, diluted.dilution_added), (Some(200.0), Some(4.0)));
    // In the log as in the answer, and out again.
    assert_eq!(house.run(&["log", "--json", "--analyte", "temp"]).go().json::<LogList>().readings.len(), 1);
    house.run(&["log", "undo"]).touches(&LOG).out_has("Undone").go();
    assert_eq!(house.run(&["log", "--json"]).go().json::<LogList>().readings.len(), 8);
}

#[test]
fn a_zero_is_below_the_first_shade() {
    let house = hall();
    let zero = ["nitrite=0 mg/L NO2-"];
    let e = house.run(&[&["log", "add", "--json"], &zero[..]].concat()).exit(2).err_has("--first-shade").go();
    assert_eq!(e.json::<Failed>().error.code, "amount-bare-zero");
    let first = add(&house, &[&zero[..], &["--first-shade", "0.25", "--at", "2026-03-01 10:00"]].concat()).readings;
    assert_eq!((first[0].status.as_str(), first[0].value, first[0].limit), ("not-detected", None, Some(0.25)));
    let shades = ["nitrite=0.5 mg/L NO2-", "--shades", "0, 0.25, 0.5, 1, 2, 5", "--at", "2026-03-02 10:00"];
    let shade = add(&house, &shades).readings;
    assert_eq!((shade[0].lower, shade[0].upper), (Some(0.25), Some(1.0)));
}

#[test]
fn a_kit_lends_unit_and_shades() {
    let house = furnished();
    // The kit's nitrite has standards of 0, 1, 2, 3 and 5 mg/L.
    let added = add(&house, &["Nitrite=0"]).readings;
    assert_eq!(added[0].text, "not detected (below 1 mg/L NO2-)");
    let added = add(&house, &["no2=2"]).readings;
    assert_eq!((added[0].test.as_str(), added[0].lower, added[0].upper), ("nitrite", Some(1.0), Some(3.0)));
    assert_eq!(added[0].kit, None, "read by eye, not by the kit's colours");
    house.run(&["log", "add", "no2=2", "--kit", "other"]).exit(2).err_has("[name-unknown]").go();
}

#[test]
fn what_cannot_be_is_asked_back_and_nothing_written() {
    let house = hall();
    for (args, code) in [
        (&["pH=15"][..], "amount-ph-out-of-range"),
        (&["pH"], "reading-malformed"),
        (&["=7"], "reading-malformed"),
        (&["pH="], "reading-malformed"),
        (&["nitrite=-2 mg/L NO2-"], "amount-negative"),
        (&["nitrite=2"], "entry-no-unit"),
        (&["nitrite=2 mg/L"], "unit-needs-basis"),
        (&["nitrite=2 mg/L NO3-"], "unit-other-analyte"),
        (&["nitrite=2 dKH"], "unit-other-analyte"),
        (&["nitrite=1,250 mg/L NO2-"], "amount-comma"),
        (&["nitrite=lots"], "entry-no-unit"),
        (&["nitrite=trace mg/L NO2-"], "amount-trace"),
        (&["temp=78"], "amount-temperature-out-of-range"),
        (&["temp=25 dKH"], "unit-other-analyte"),
        (&["salinity=53 mS/cm"], "entry-no-temperature"),
        (&["salinity=53 mS/cm", "--water-temp", "78"], "amount-temperature-out-of-range"),
        (&["pH=7", "ph=8"], "reading-twice"),
        (&["pH=7", "kh=4 dKH", "--first-shade", "1"], "usage"),
        (&["nitrite=0 mg/L NO2-", "--first-shade", "none"], "usage"),
        (&["pH=7", "--dilution", "1+4"], "dilution-not-for-ph"),
        (&["pH=7", "--at", "2999-01-01 10:00"], "time-future"),
        (&["pH=7", "--at", "yesterday"], "time-malformed"),
        (&["pH=7", "--tank", "pond"], "tank-unknown"),
    ] {
        let e = house.run(&[&["log", "add", "--json"], args].concat()).exit(2).err_has("error: ").go();
        let e = e.json::<Failed>().error;
        assert_eq!(e.code, code, "{args:?}");
        assert!(e.remedy.len() > 15, "{args:?}: {}", e.remedy);
    }
    assert_eq!(house.run(&["log", "--json", "--all"]).go().json::<LogList>().readings.len(), 0);
    House::new().run(&["log", "add", "pH=7"]).exit(2).err_has("[name-none-yet]").go();
}

#[test]
fn the_same_twice_is_asked_for() {
    let house = hall();
    add(&house, &["pH=7.4", "--at", "2026-03-01 18:00"]);
    let twice = house.run(&["log", "add", "pH=7.4", "--at", "2026-03-01 18:30", "--json"]).exit(2).err_has("--again");
    assert_eq!(twice.go().json::<Failed>().error.code, "entry-twice");
    add(&house, &["pH=7.4", "--at", "2026-03-01 18:30", "--again"]);
    add(&house, &["pH=7.4", "--at", "2026-03-01 20:00"]);
    add(&house, &["pH=7.6", "--at", "2026-03-01 20:01"]);
    let gap = add(&house, &["pH=7.4", "--at", "2026-03-29 02:30"]);
    assert_eq!((gap.findings[0].code.as_str(), gap.readings[0].taken.certainty.as_str()), ("time-unsure", "unsure"));
}
