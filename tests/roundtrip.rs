//! What is exported can be imported without loss, and no export says zero for 'not detected'.

mod played;

use super::logroom::{NOW, add, at, by_eye, from_photo, key, measured, moment, nitrate};
use tintline::finding::{Code, Finding};
use tintline::log::*;
use tintline::reading::Outcome;
use tintline::water::{Amount, Analyte, Dilution, Quantity};

pub fn export(log: &Log) -> String {
    let mut out = Vec::new();
    log.export_json(&mut out).unwrap();
    String::from_utf8(out).unwrap()
}

fn import(log: &mut Log, text: &str) -> Result<Imported, LogError> {
    log.import_json(&mut text.as_bytes())
}

/// Two tanks, every kind of outcome and of change, and a retake after a refusal.
pub fn scenario(log: &mut Log) {
    let full = NewTank {
        volume_l: Some(112.5),
        note: Some("plants, \"shrimp\"".into()),
        ..NewTank::new("Hall", "Europe/Berlin", WaterKind::Fresh)
    };
    let hall = log.write(at("2026-03-01T08:00:00Z"), |w| w.add_tank(&full)).unwrap();
    let reef = NewTank::new("Reef", "America/New_York", WaterKind::Marine);
    let reef = log.write(at("2026-03-01T08:01:00Z"), |w| w.add_tank(&reef)).unwrap();

    let (no2, ph) = (key(&Analyte::Nitrite, "mg/L NO2-"), key(&Analyte::Ph, "pH"));
    let blurred = Outcome::Refused(vec![Finding::doubt(Code::PhotoBlurred, "edges are 9 px wide, 3 px are needed")]);
    let refused = NewReading { outcome: blurred, ..from_photo(1.0, "5a01", "B", "kit-1") };
    let first = add(log, hall, "2026-03-02T09:00:00Z", &refused);
    let retake = NewReading {
        detection_limit: Some(Quantity::new(1.5, nitrate().unit)),
        findings: vec![
            Finding::note(Code::SampleOffMark, "it stands 4 mm off the mark"),
            Finding::doubt(Code::LightForeign, "the light is not the usual one"),
        ],
        lab: Some([61.25, 40.1, 33.333333333333336]),
        off_curve: Some(0.75),
        light: Some(vec![0.1, -0.2, 0.30000000000000004]),
        place: Some("kitchen window".into()),
        ..from_photo(20.5, "5a02", "B", "kit-1")
    };
    log.write(at("2026-03-02T09:15:00Z"), |w| w.add_reading(Whose::Sample(first.sample), &retake)).unwrap();
    let again = NewReading { place: None, ..from_photo(22.0, "5a02", "B", "kit-2") };
    log.write(at("2026-03-04T20:00:00Z"), |w| w.add_reading(Whose::Sample(first.sample), &again)).unwrap();

    let none = Amount::not_detected(Quantity::new(0.05, no2.unit.clone())).unwrap();
    let none = NewReading {
        outcome: Outcome::Read(none),
        detection_limit: Some(Quantity::new(0.05, no2.unit.clone())),
        test: no2.clone(),
        ..from_photo(1.0, "5a03", "A", "kit-1")
    };
    add(log, hall, "2026-03-03T09:00:00Z", &none);
    let over = Amount::above(Quantity::new(500.0, nitrate().unit)).unwrap();
    let over = NewReading {
        outcome: Outcome::Read(over),
        dilution: Some(Dilution::parse("1+4").unwrap()),
        ..from_photo(1.0, "5a04", "C", "kit-1")
    };
    let over = add(log, hall, "2026-03-03T10:00:00Z", &over);
    let under = Amount::below(Quantity::new(6.0, ph.unit.clone())).unwrap();
    let under = NewReading::by_hand(ph, Outcome::Read(under), Some("<6".into()), "0.1.0");
    let under = add(log, reef, "2026-03-03T11:00:00Z", &under);

    let now = at("2026-03-05T08:00:00Z");
    let fix = measured(450.0, 400.0, 500.0, &nitrate().unit);
    log.write(now, |w| w.correct(over.id, &fix, Some("450"), "read by eye, it was just below")).unwrap();
    log.write(now, |w| w.move_sample(under.sample, Target::Tap, Some("kitchen"), "it was tap water")).unwrap();
    log.write(now, |w| w.retime_sample(under.sample, &moment("2026-03-03T10:30:00Z"), "the watch was late")).unwrap();
    log.write(now, |w| w.note(over.sample, "a new bottle")).unwrap();
    let mistake = add(log, reef, "2026-03-05T07:00:00Z", &by_eye(5.0));
    let undone = log.write(now, |w| w.undo(&Undo::Entry(mistake.id), "wrong tank")).unwrap();
    log.write(now, |w| w.undo(&Undo::Entry(undone[0].by), "it was the right one")).unwrap();
    let mistake = add(log, reef, "2026-03-05T07:30:00Z", &by_eye(7.5));
    log.write(now, |w| w.undo(&Undo::Entry(mistake.id), "entered twice")).unwrap();
    let facts = serde_json::json!({"litres": 30, "share": 0.3});
    let change = NewEvent {
        note: Some("with conditioner".into()),
        payload: facts.as_object().unwrap().clone(),
        ..NewEvent::new("water-change", Some(hall), moment("2026-03-05T06:00:00Z"))
    };
    log.write(now, |w| w.add_event(&change)).unwrap();
}

/// The same with what came with schema 2: labels, one of them with other words, one retired.
pub fn scenario_2(log: &mut Log) {
    scenario(log);
    let hall = log.tank("Hall").unwrap().id;
    log.write(at("2026-04-01T08:00:00Z"), |w| {
        let tank = w.label(&Names::Tank(hall), "Hall")?;
        w.label(&Names::Tap, "tap water")?;
        let test = w.label(&Names::Test(key(&Analyte::Nitrite, "mg/L NO2-")), "nitrite")?;
        w.rename_label(tank.id, "Hall, by the stairs")?;
        w.undo(&Undo::Entry(test.id), "lost")
    })
    .unwrap();
}

#[test]
fn export_import_export_is_the_same() {
    let mut log = Log::open_memory().unwrap();
    scenario_2(&mut log);
    let text = export(&log);
    let mut copy = Log::open_memory().unwrap();
    let entries = log.journal(u32::MAX).unwrap().len();
    let done = import(&mut copy, &text).unwrap();
    assert_eq!((done.added, done.present), (entries, 0));
    assert_eq!(export(&copy), text);
    same(&log, &copy);
    // A second time there is nothing to add, here or there.
    for log in [&mut log, &mut copy] {
        let done = import(log, &text).unwrap();
        assert_eq!((done.added, done.present, done.readings), (0, entries, 0));
        assert_eq!(export(log), text);
    }
}

fn same(a: &Log, b: &Log) {
    let all = Filter { show: Show::History, ..Filter::default() };
    assert_eq!(a.readings(&all).unwrap(), b.readings(&all).unwrap());
    assert_eq!(a.journal(u32::MAX).unwrap(), b.journal(u32::MAX).unwrap());
    assert_eq!(a.tanks().unwrap(), b.tanks().unwrap());
    assert_eq!(a.events(None).unwrap(), b.events(None).unwrap());
}

#[test]
fn an_outline_says_of_a_reading_what_the_reading_says() {
    let mut log = Log::open_memory().unwrap();
    scenario(&mut log);
    let all = log.readings(&Filter { show: Show::History, ..Filter::default() }).unwrap();
    let outlines = log.outlines().unwrap();
    assert!(outlines.len() == all.len() && all.len() > 6);
    for o in outlines {
        let r = all.iter().find(|r| r.id == o.id).unwrap();
        let said = (&o.standing, &o.photo, &o.target, &o.tank, &o.analyte, o.at);
        let meant = (&r.standing, &r.photo, &r.sample.target, &r.sample.tank, &r.test.analyte, r.sample.at().instant);
        assert_eq!(said, meant);
    }
}

#[test]
fn two_logs_come_together() {
    let mut home = Log::open_memory().unwrap();
    scenario(&mut home);
    let mut away = Log::open_memory().unwrap();
    import(&mut away, &export(&home)).unwrap();
    let hall = home.tank("Hall").unwrap().id;
    // Both meet the same new photo with the same new test, before they see each other again.
    let kh = key(&Analyte::Alkalinity, "dH");
    let amount = |v: f64| Outcome::Read(measured(v, v - 1.0, v + 1.0, &kh.unit));
    let new = |v: f64, station: &str| NewReading {
        test: kh.clone(),
        outcome: amount(v),
        ..from_photo(1.0, "77", station, "k")
    };
    add(&mut home, hall, "2026-03-06T08:00:00Z", &new(6.0, "A"));
    add(&mut away, hall, "2026-03-06T08:00:00Z", &new(7.0, "B"));
    add(&mut home, hall, "2026-03-06T09:00:00Z", &from_photo(30.0, "78", "A", "home"));
    let drawn = Some(moment("2026-03-06T09:00:00Z"));
    let sample = NewSample { drawn, ..NewSample::new(Target::Tank(hall), moment(NOW)) };
    let later = at(NOW).checked_add(jiff::SignedDuration::from_mins(1)).unwrap();
    away.write(later, |w| w.add_reading(Whose::New(&sample), &from_photo(33.0, "78", "A", "away"))).unwrap();
    let before = export(&home);
    let done = import(&mut home, &export(&away)).unwrap();
    assert_eq!(done.added, 4, "two samples and two readings; photos and tests are known");
    // The photo that both read is one reading, in both: the one written later.
    let twice = home.readings(&Filter { photo: Some("78".into()), ..Filter::default() }).unwrap();
    assert_eq!(twice.iter().map(|r| r.kit_revision.as_deref()).collect::<Vec<_>>(), [Some("away")]);
    let kh = home.readings(&Filter { analyte: Some(Analyte::Alkalinity), ..Filter::default() }).unwrap();
    assert_eq!(
        kh.iter().map(|r| (r.station.as_deref(), r.photo.as_deref())).collect::<Vec<_>>(),
        [(Some("A"), Some("77")), (Some("B"), Some("77"))]
    );
    assert_eq!(import(&mut home, &export(&away)).unwrap().added, 0);
    import(&mut away, &before).unwrap();
    let there = away.readings(&Filter { photo: Some("78".into()), ..Filter::default() }).unwrap();
    assert_eq!(there.iter().map(|r| r.kit_revision.as_deref()).collect::<Vec<_>>(), [Some("away")]);
    // What one of them settled, the other takes over, and then both hold the same.
    import(&mut home, &export(&away)).unwrap();
    assert_eq!(import(&mut away, &export(&home)).unwrap().added, 0);
}

#[test]
fn a_bad_import_changes_nothing() {
    let mut log = Log::open_memory().unwrap();
    scenario(&mut log);
    let text = export(&log);
    let edit = |from: &str, to: &str| {
        assert!(text.contains(from), "{from}");
        text.replacen(from, to, 1)
    };
    let cases = [
        ("import-format", String::new()),
        ("import-format", "{}".to_string()),
        ("import-format", text[..text.len() / 2].to_string()),
        ("import-format", edit("tintline-log", "another-log")),
        ("import-newer", edit("\"schema\":2", "\"schema\":3")),
        ("import-format", edit("\"water\":\"fresh\"", "\"water\":\"fresh\",\"salt\":1")),
        ("import-format", edit("\"entry\":\"event\"", "\"entry\":\"omen\"")),
        ("import-conflict", edit("\"water\":\"fresh\"", "\"water\":\"sweet\"")),
        ("import-conflict", edit("\"name\":\"Hall\"", "\"name\":\"Hole\"")),
        // A zero in the place of 'not detected', with and without its limit.
        (
            "import-conflict",
            edit(
                "\"value\":null,\"lower\":null,\"upper\":null,\"limit\":0.05",
                "\"value\":0.0,\"lower\":null,\"upper\":null,\"limit\":0.05",
            ),
        ),
        ("import-conflict", edit("\"status\":\"not-detected\"", "\"status\":\"measured\"")),
        ("import-conflict", edit("\"value\":20.5,\"lower\":18.45", "\"value\":20.5,\"lower\":null")),
        // A value edited here but not in the unit that is judged, a pH that was not detected, a time from nowhere.
        ("import-format", edit("\"value\":20.5,\"lower\":18.45,", "\"value\":19.5,\"lower\":18.45,")),
        ("import-format", edit("\"status\":\"below\"", "\"status\":\"not-detected\"")),
        ("import-conflict", edit("\"source\":\"keeper\"", "\"source\":\"oracle\"")),
        ("import-conflict", edit("\"analyte\":\"pH\"", "\"analyte\":\"nitrite\"")),
    ];
    for (code, bad) in cases {
        let mut empty = Log::open_memory().unwrap();
        let e =
            import(&mut empty, &bad).err().unwrap_or_else(|| panic!("{code}: taken: {}", &bad[..200.min(bad.len())]));
        assert_eq!(e.code(), code, "{e}");
        assert_eq!(empty.journal(10).unwrap(), []);
        // Into the log itself: whatever is said, nothing changes.
        let _ = import(&mut log, &bad);
        assert_eq!(export(&log), text);
    }
    // Another log with a tank of the same name is not this tank.
    let mut other = Log::open_memory().unwrap();
    other.write(at(NOW), |w| w.add_tank(&NewTank::new("hall", "UTC", WaterKind::Fresh))).unwrap();
    let before = export(&other);
    assert_eq!(import(&mut other, &text).unwrap_err().code(), "tank-taken");
    assert_eq!(export(&other), before);
}

#[test]
fn csv_says_what_was_found_and_never_zero() {
    let mut log = Log::open_memory().unwrap();
    scenario(&mut log);
    let rows = |filter: &Filter| {
        let mut out = Vec::new();
        log.export_csv(filter, &|_| None, &mut out).unwrap();
        let mut reader = csv::Reader::from_reader(out.as_slice());
        let header: Vec<String> = reader.headers().unwrap().iter().map(String::from).collect();
        let rows: Vec<csv::StringRecord> = reader.records().collect::<Result<_, _>>().unwrap();
        move |row: usize, column: &str| {
            let i = header.iter().position(|h| h == column).unwrap_or_else(|| panic!("no column {column}"));
            rows[row][i].to_string()
        }
    };
    let all = Filter { show: Show::History, ..Filter::default() };
    let line = |get: &dyn Fn(usize, &str) -> String, row: usize, columns: &str| -> String {
        columns.split(' ').map(|c| get(row, c)).collect::<Vec<_>>().join("|")
    };
    let get = rows(&all);
    let numbers = "standing status value lower upper limit unit entered canonical_value canonical_limit";
    let want = [
        "current|refused|||||mg/L NO3-|||",
        "superseded|measured|20.5|18.45|22.55||mg/L NO3-|20.5|20.5|",
        "current|measured|22|19.8|24.200000000000003||mg/L NO3-|22|22|",
        "current|not-detected||||0.05|mg/L NO2-|0.05||0.05",
        "superseded|above||||500|mg/L NO3-|500||500",
        "current|measured|450|400|500||mg/L NO3-|450|450|",
        "current|below||||6|pH|<6||6",
        "current|measured|5|4.5|5.5||mg/L NO3-|5|5|",
        "undone|measured|7.5|6.75|8.25||mg/L NO3-|7.5|7.5|",
    ];
    for (i, want) in want.iter().enumerate() {
        assert_eq!(line(&get, i, numbers), *want, "row {i}");
    }
    assert_eq!(line(&get, 0, "schema refusal findings doubt place station photo"), "2|photo-blurred||||B|5a01");
    let place = "findings doubt lab_l lab_a lab_b off_curve place kit_revision card_revision program origin";
    let want =
        "sample-off-mark light-foreign|yes|61.25|40.1|33.333333333333336|0.75|kitchen window|kit-1|card-1|0.1.0|photo";
    assert_eq!(line(&get, 1, place), want);
    assert_eq!(get(0, "sample"), get(1, "sample"), "the retake joined the refusal's sample");
    let water = "tank target label at at_source at_certainty kit test analyte";
    assert_eq!(line(&get, 1, water), "Hall|tank||2026-03-02T10:00:00+01:00|keeper|sure|Drops|nitrate|nitrate");
    assert_eq!(line(&get, 6, water), "|tap|kitchen|2026-03-03T11:30:00+01:00|keeper|sure|Drops|pH|pH");
    assert_eq!(line(&get, 4, "dilution_added detection_limit"), "4|");
    assert_eq!(line(&get, 3, "detection_limit dilution_added recorded"), "0.05||2026-03-01T12:00:00Z");

    // The default leaves out what does not stand, and takes what the filter takes.
    let current = rows(&Filter { analyte: Some(Analyte::Nitrite), ..Filter::default() });
    assert_eq!(line(&current, 0, "status value"), "not-detected|");
}

#[test]
fn every_csv_column_is_described() {
    let mut out = Vec::new();
    Log::open_memory().unwrap().export_csv(&Filter::default(), &|_| None, &mut out).unwrap();
    let header = String::from_utf8(out).unwrap();
    let docs = include_str!("../src/log/export/mod.rs");
    let table: Vec<&str> = docs.lines().filter_map(|l| l.strip_prefix("//! | ")).skip(2).collect();
    let described: Vec<&str> = table.iter().flat_map(|l| l.split(" | ").next().unwrap().split(", ")).collect();
    let mut columns: Vec<&str> = header.trim().split(',').collect();
    assert_eq!(columns.len(), 44);
    columns.sort_unstable();
    let mut described = described;
    described.sort_unstable();
    assert_eq!(columns, described);
}
