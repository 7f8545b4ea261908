//! The demo: its values against the known truth of its computer-made photos.

use crate::support::House;
use serde::Deserialize;

/// Of `log --json`, what is judged here; its form is tested with the command line.
#[derive(Deserialize)]
struct LogList {
    readings: Vec<Reading>,
    #[serde(rename = "all")]
    _all: bool,
}

#[derive(Deserialize)]
struct Reading {
    taken: Taken,
    test: String,
    station: String,
    status: String,
    value: Option<f64>,
    lower: Option<f64>,
    upper: Option<f64>,
    limit: Option<f64>,
    unit: String,
    text: String,
    refusal: Vec<Finding>,
}

#[derive(Deserialize)]
struct Taken {
    at: String,
}

#[derive(Deserialize)]
struct Finding {
    code: String,
}

/// What a photo shows, from the program that made it; the widest interval (or highest limit) that is still worth having.
struct Truth {
    photo: &'static str,
    station: &'static str,
    test: &'static str,
    is: f64,
    within: f64,
}

const fn truth(photo: &'static str, station: &'static str, test: &'static str, is: f64, within: f64) -> Truth {
    Truth { photo, station, test, is, within }
}

/// The standards stand at ammonia 0 0.2 0.6 1.2 2.5 5, nitrite 0 0.1 0.3 0.8 1.6 3.2, nitrate 0 7 15 30 60 110,
/// pH 6 6.5 6.9 7.3 7.7 8.1; bounds are a step there or less, in the photo of four vials up to two.
const TRUTH: [Truth; 8] = [
    truth("saturday", "A", "pH", 6.7161, 0.4),
    truth("saturday", "C", "nitrite", 1.4582, 0.8),
    truth("friday", "A", "pH", 6.2926, 0.8),
    truth("friday", "B", "ammonia", 0.0, 0.4),
    truth("friday", "C", "nitrate", 44.9579, 40.0),
    truth("friday", "D", "nitrite", 0.1693, 0.3),
    truth("thursday", "A", "nitrite", 0.0, 0.1),
    truth("sunday", "C", "ammonia", 0.2403, 0.3),
];

#[test]
fn the_demos_intervals_hold_the_truth() {
    let house = House::new();
    let into = house.path("demo").display().to_string();
    let demo = || house.run(&["demo", "--into", &into]).out_has("computer-made").out_has(&into);
    let said = demo().touches(&["demo/log.db", "demo/kits/", "demo/cards/", "demo/demo-photos/"]).go().out;
    let log = house.run(&["--home", &into, "log", "--json"]).go().json::<LogList>();
    assert_eq!(log.readings.len(), TRUTH.len() + 2);

    let mut judged = 0;
    for shot in said.split("\n$ tintline read ").skip(1) {
        let photo = shot.split(".jpg").next().unwrap();
        let overlay = house.path("demo/demo-photos").join(format!("{photo}.overlay.png"));
        let overlay = image::open(&overlay).unwrap_or_else(|e| panic!("{}: {e}", overlay.display()));
        assert!(overlay.width() >= 1000 && overlay.height() >= 1000, "{} × {}", overlay.width(), overlay.height());
        // 'friday.jpg: tank 'shelf-60', 2024-11-22 18:30' leads to the photo's readings in the log.
        let head = shot.lines().find(|l| l.contains(": tank 'shelf-60', ")).unwrap();
        let taken = head.rsplit(", ").next().unwrap().replace(' ', "T");
        let of: Vec<&Reading> = log.readings.iter().filter(|r| r.taken.at.starts_with(&taken)).collect();
        assert!(!of.is_empty(), "{head}");
        for r in &of {
            // What the demo shows is what the log holds.
            assert!(shot.contains(&r.text), "{} in {shot}", r.text);
        }
        if photo == "thursday-blurred" {
            // So shaken that the markers themselves may not be seen.
            let why = ["photo-blurred", "card-missing"];
            assert!(of.iter().all(|r| r.status == "refused" && why.contains(&r.refusal[0].code.as_str())), "{shot}");
            assert_eq!(of.len(), 2);
            assert!(of.iter().all(|r| [r.value, r.lower, r.upper, r.limit] == [None; 4]));
            continue;
        }
        for t in TRUTH.iter().filter(|t| t.photo == photo) {
            let r = of.iter().find(|r| r.station == t.station && r.test == t.test).unwrap();
            let (lower, upper) = match r.status.as_str() {
                "measured" => (r.lower.unwrap(), r.upper.unwrap()),
                "not-detected" => (0.0, r.limit.unwrap()),
                other => panic!("{photo} {}: {other}", t.station),
            };
            let what = format!("{photo} {} {}: {} is said, true is {} {}", t.station, t.test, r.text, t.is, r.unit);
            assert!(lower <= t.is && t.is <= upper, "{what}");
            assert!(upper - lower <= t.within, "{what}");
            // Some is never told as none.
            assert!(t.is == 0.0 || r.status == "measured", "{what}");
            judged += 1;
        }
    }
    assert_eq!(judged, TRUTH.len());

    // Once more into the same folder: every photo is known, nothing is doubled.
    let again = demo().go().out;
    assert!(again.matches("already").count() > 0, "{again}");
    let log = house.run(&["--home", &into, "log", "--all", "--json"]).go().json::<LogList>();
    assert_eq!(log.readings.len(), TRUTH.len() + 2);
}

#[test]
fn the_demo_speaks_in_words_only() {
    let house = House::new();
    house.run(&["demo", "--json"]).exit(2).err_has("the demo speaks in words only [usage]").go();
}
