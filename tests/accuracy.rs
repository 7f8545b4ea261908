//! The accuracy report's row form, which is relied on from outside: one object a sample and line, decoded strictly.
//!
//! The set is drawn here, keeper and all, in the form of `truth.json` that the report reads.

#[cfg(feature = "ablation")]
#[path = "../examples/accuracy/ablation.rs"]
mod ablation;
#[path = "../examples/accuracy/app.rs"]
mod app;
#[path = "../examples/accuracy/report.rs"]
mod report;
#[path = "../examples/accuracy/rows.rs"]
mod rows;
#[path = "../examples/accuracy/run.rs"]
mod run;
#[path = "../examples/accuracy/strip.rs"]
mod strip;
#[path = "../examples/accuracy/truth.rs"]
mod truth;

use crate::support::shot::Shot;
use serde::Deserialize;
use serde_json::{Value, json};
use std::path::Path;

/// A row, exactly. `Option` alone would let a field be left out, so each is looked for by name as well.
#[derive(Debug, Deserialize, PartialEq)]
#[serde(deny_unknown_fields)]
struct Row {
    file: String,
    place: String,
    analyte: String,
    unit: String,
    outcome: Outcome,
    value: Option<f64>,
    lower: Option<f64>,
    upper: Option<f64>,
    limit: Option<f64>,
    findings: Vec<String>,
    photo_ms: f64,
}

const FIELDS: [&str; 11] =
    ["file", "place", "analyte", "unit", "outcome", "value", "lower", "upper", "limit", "findings", "photo_ms"];

#[derive(Debug, Clone, Copy, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "kebab-case")]
enum Outcome {
    Read,
    NotDetected,
    OverRange,
    UnderRange,
    Refused,
}

/// A group of the report's `--json`, exactly.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Group {
    name: String,
    samples: usize,
    read: usize,
    refused: usize,
    error_steps: Option<[f64; 3]>,
    coverage: Option<[f64; 3]>,
    width_steps: Option<f64>,
    limit_steps: Option<[f64; 2]>,
    zeros: usize,
    zeros_told: usize,
    false_zeros: usize,
    misreads: usize,
    doubts: Option<f64>,
    as_expected: usize,
}

const NITRITE: [f64; 5] = [0.0, 1.0, 2.0, 3.0, 5.0];
const PH: [f64; 4] = [6.0, 6.5, 7.0, 7.5];

/// A vial of a pH test from yellow to blue.
fn ph(shot: Shot, station: &str, value: f64) -> Shot {
    let t = value - 6.0;
    shot.vial(station, [0.05 + 0.5 * t, 0.15 + 0.1 * t, 1.2 - 0.6 * t])
}

fn sample(place: &str, analyte: &str, concentration: f64, expected: &str) -> Value {
    let unit = if analyte == "pH" { "pH" } else { "mg/L NO2-" };
    json!({ "place": place, "analyte": analyte, "unit": unit, "concentration": concentration, "expected": expected })
}

/// Writes the set: the photos, and what they show.
fn draw(set: &Path) {
    let mut photos = Vec::new();
    let mut lay = |file: &str, role: &str, bytes: Vec<u8>, samples: Vec<Value>, hazard: Option<&str>| {
        std::fs::write(set.join(file), bytes).unwrap();
        let hazards: Vec<&str> = hazard.into_iter().collect();
        photos.push(json!({
            "file": file, "keeper": 0, "role": role, "samples": samples, "hazards": hazards,
            "hidden": { "light": "drawn", "usual_spot": true },
        }));
    };
    lay("empty-1.jpg", "enrol", Shot::new().jpeg(), vec![], None);
    lay("empty-2.jpg", "enrol", Shot::new().retake().jpeg(), vec![], None);
    for (i, value) in NITRITE.into_iter().chain([0.0, 5.0]).enumerate() {
        let shot = if i < NITRITE.len() { Shot::new() } else { Shot::new().retake() };
        let standard = vec![sample("B", "nitrite", value, "")];
        lay(&format!("nitrite-{i}.jpg"), "calibrate", shot.dyed("B", value).jpeg(), standard, None);
    }
    for (i, value) in PH.into_iter().enumerate() {
        let standard = vec![sample("C", "pH", value, "")];
        lay(&format!("ph-{i}.jpg"), "calibrate", ph(Shot::new(), "C", value).jpeg(), standard, None);
    }
    let water = || Shot::new().retake().retake();
    lay("some.jpg", "test", water().dyed("B", 2.4).jpeg(), vec![sample("B", "nitrite", 2.4, "read")], None);
    lay("none.jpg", "test", water().dyed("B", 0.0).jpeg(), vec![sample("B", "nitrite", 0.0, "read")], None);
    let two = ph(water(), "D", 6.8).dyed("A", 1.5).jpeg();
    lay("two.jpg", "test", two, vec![sample("A", "nitrite", 1.5, "read"), sample("D", "pH", 6.8, "read")], None);
    lay("much.jpg", "test", water().dyed("B", 9.0).jpeg(), vec![sample("B", "nitrite", 9.0, "over-range")], None);
    lay("sour.jpg", "test", ph(water(), "C", 5.75).jpeg(), vec![sample("C", "pH", 5.75, "over-range")], None);
    let asked = || vec![sample("A", "nitrite", 1.0, "refuse"), sample("D", "pH", 7.0, "refuse")];
    lay("bare.jpg", "test", Shot::bare().jpeg(), asked(), Some("no-card"));
    let mut torn = water().dyed("A", 1.0).jpeg();
    torn.truncate(torn.len() / 2);
    lay("torn.jpg", "test", torn, asked(), Some("torn"));
    let kit = json!({ "name": "drawn", "kind": "vial", "analytes": {
        "nitrite": { "unit": "mg/L NO2-", "standards": NITRITE }, "pH": { "unit": "pH", "standards": PH },
    } });
    // The second keeper has strips, and forgot to lay one down.
    let pad = json!({ "place": "pad-1", "analyte": "nitrite", "unit": "mg/L NO2-", "concentration": 1.0, "expected": "refuse" });
    for (file, role, samples) in
        [("empty-1.jpg", "enrol", vec![]), ("empty-2.jpg", "enrol", vec![]), ("strip.jpg", "test", vec![pad])]
    {
        photos.push(json!({ "file": file, "keeper": 1, "role": role, "samples": samples, "hazards": if role == "test" { vec!["no-strip"] } else { vec![] } }));
    }
    std::fs::write(set.join("strip.jpg"), water().jpeg()).unwrap();
    let strip = json!({ "name": "strip", "kind": "strip", "analytes": { "nitrite": { "unit": "mg/L NO2-", "standards": NITRITE } },
        "pad_order": ["nitrite"], "strip": { "length": 70.0, "width": 6.0, "pad": 5.0, "pitch": 7.4, "end": 4.5 } });
    let keepers = json!([{ "keeper": 0, "kit": kit }, { "keeper": 1, "kit": strip }]);
    let truth = json!({ "keepers": keepers, "photos": photos });
    std::fs::write(set.join("truth.json"), truth.to_string()).unwrap();
}

fn report(set: &Path, more: &[&str]) -> String {
    let mut out = Vec::new();
    let words = ["accuracy", set.to_str().unwrap()].into_iter().chain(more.iter().copied());
    app::go(words.map(Into::into), &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

#[test]
fn rows_and_groups_have_the_form_that_is_promised() {
    let set = tempfile::tempdir().unwrap();
    draw(set.path());
    let file = set.path().join("rows.jsonl");
    let said = report(set.path(), &["--json", "--rows", file.to_str().unwrap()]);

    let text = std::fs::read_to_string(&file).unwrap();
    assert!(text.ends_with('\n'));
    let rows: Vec<Row> = text
        .lines()
        .map(|line| {
            let fields: Value = serde_json::from_str(line).unwrap();
            let mut names: Vec<&String> = fields.as_object().unwrap().keys().collect();
            let mut wanted = FIELDS.to_vec();
            names.sort();
            wanted.sort();
            assert_eq!(names, wanted, "{line}");
            serde_json::from_str(line).unwrap_or_else(|e| panic!("{e}: {line}"))
        })
        .collect();
    // One row a sample named, in the set's order; a photo that is refused whole has one for each too.
    let named: Vec<_> =
        rows.iter().map(|r| (r.file.as_str(), r.place.as_str(), r.analyte.as_str(), r.outcome)).collect();
    let expected = [
        ("some.jpg", "B", "nitrite", Outcome::Read),
        ("none.jpg", "B", "nitrite", Outcome::NotDetected),
        ("two.jpg", "A", "nitrite", Outcome::Read),
        ("two.jpg", "D", "pH", Outcome::Read),
        ("much.jpg", "B", "nitrite", Outcome::OverRange),
        ("sour.jpg", "C", "pH", Outcome::UnderRange),
        ("bare.jpg", "A", "nitrite", Outcome::Refused),
        ("bare.jpg", "D", "pH", Outcome::Refused),
        ("torn.jpg", "A", "nitrite", Outcome::Refused),
        ("torn.jpg", "D", "pH", Outcome::Refused),
        ("strip.jpg", "pad-1", "nitrite", Outcome::Refused),
    ];
    assert_eq!(named, expected);
    for r in &rows {
        assert_eq!(r.unit, if r.analyte == "pH" { "pH" } else { "mg/L NO2-" });
        assert!(r.photo_ms > 0.0 && r.photo_ms.is_finite(), "{r:?}");
        let measured = r.outcome == Outcome::Read;
        assert_eq!([r.value, r.lower, r.upper].map(|v| v.is_some()), [measured; 3], "{r:?}");
        let limited = match r.outcome {
            Outcome::Read => r.analyte != "pH",
            Outcome::Refused => false,
            _ => true,
        };
        assert_eq!(r.limit.is_some(), limited, "{r:?}");
    }
    // All samples of a photo carry the time of the whole photo.
    assert_eq!(rows[2].photo_ms, rows[3].photo_ms);

    for (row, truth, step) in [(&rows[0], 2.4, 1.0), (&rows[2], 1.5, 1.0), (&rows[3], 6.8, 0.5)] {
        let [lower, value, upper] = [row.lower, row.value, row.upper].map(Option::unwrap);
        assert!(lower <= value && value <= upper && lower <= truth && truth <= upper, "{row:?}");
        // The drawn vials differ by noise alone.
        assert!((value - truth).abs() < 0.3 * step, "{row:?}");
    }
    assert!(rows[1].limit.unwrap() < 1.0, "{:?}", rows[1]);
    assert_eq!((rows[4].limit, rows[5].limit), (Some(5.0), Some(6.0)));
    // Doubts by their codes; what was refused says why.
    assert!(rows[6].findings == ["card-missing"] && rows[7].findings == ["card-missing"], "{rows:?}");
    assert!(rows[8].findings == ["photo-torn"] && rows[9].findings == ["photo-torn"], "{rows:?}");

    assert_eq!(rows[10].findings, ["strip-missing"]);

    let groups: Vec<Group> = serde_json::from_str(&said).unwrap_or_else(|e| panic!("{e}: {said}"));
    let names: Vec<&str> = groups.iter().map(|g| g.name.as_str()).collect();
    let expected = [
        "clean, usual place",
        "clean, elsewhere",
        "hazards",
        "test nitrite",
        "test pH",
        "light drawn",
        "hazard no-card",
        "hazard no-strip",
        "hazard torn",
    ];
    assert_eq!(names, expected);
    let clean = &groups[0];
    assert_eq!((clean.samples, clean.read, clean.refused, clean.as_expected), (6, 6, 0, 6));
    assert_eq!((clean.zeros, clean.zeros_told, clean.false_zeros, clean.misreads), (1, 1, 0, 0));
    assert_eq!(clean.coverage.map(|c| (c[0], c[2])), Some((1.0, 1.0)));
    // 6 of 6: the lower end of the exact binomial interval is (0.05 / 2)^(1/6).
    assert!((clean.coverage.unwrap()[1] - 0.025f64.powf(1.0 / 6.0)).abs() < 1e-9, "{clean:?}");
    let [median, p95, worst] = clean.error_steps.unwrap();
    assert!(median <= p95 && p95 <= worst && worst < 0.3, "{clean:?}");
    assert!(clean.width_steps.unwrap() > 0.0 && clean.limit_steps.unwrap()[0] <= clean.limit_steps.unwrap()[1]);
    let hazards = &groups[2];
    assert_eq!((hazards.samples, hazards.read, hazards.refused, hazards.as_expected), (5, 0, 5, 5));
    assert!(hazards.error_steps.is_none() && hazards.coverage.is_none() && hazards.doubts.is_none());
}

#[test]
fn a_set_that_is_not_there_is_said() {
    let set = tempfile::tempdir().unwrap();
    let mut out = Vec::new();
    let words = ["accuracy".into(), set.path().into()];
    let e = app::go(words, &mut out).unwrap_err();
    assert!(format!("{e}").contains("truth.json") && out.is_empty(), "{e}");
}
