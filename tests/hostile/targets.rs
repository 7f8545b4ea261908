//! Everything that takes bytes or words from outside, with something to begin from and what must hold of whatever comes.
//!
//! A target panics where a promise is broken; an error with its code is a good answer.

use std::path::{Path, PathBuf};
use tintline::card::Layout;
use tintline::curve::{self, Kind, Kit, Nuisance};
use tintline::intake::{self, At, Beside, ClockOffset, Column, Mapping, Plan, Rules, Sidecar};
use tintline::light::Enrolment;
use tintline::log::{Filter, Log, NewTank, WaterKind};
use tintline::photo::{Limits, Photo};
use tintline::reading::{self, Ask, Job};
use tintline::water::{Analyte, Dilution, Typed, Unit};

pub struct Target {
    pub name: &'static str,
    /// Runs in a second of the smoke test, about: what one costs.
    pub runs: u32,
    pub seeds: fn() -> Vec<Vec<u8>>,
    pub run: fn(&[u8]),
}

pub const ALL: &[Target] = &[
    Target { name: "photo", runs: 3000, seeds: photos, run: photo },
    Target { name: "exif", runs: 3000, seeds: camera_data, run: |b| photo(&in_jpeg(0xe1, b"Exif\0\0", b)) },
    Target { name: "icc", runs: 3000, seeds: profiles, run: |b| photo(&in_jpeg(0xe2, b"ICC_PROFILE\0\x01\x01", b)) },
    Target { name: "scene", runs: 12, seeds: scenes, run: scene },
    Target { name: "kit", runs: 1500, seeds: || texts(&["kits/format-1.toml", "kits/format-2.toml"]), run: kit },
    Target { name: "card", runs: 2000, seeds: || texts(&["cards/format-1.toml"]), run: card },
    Target { name: "cgats", runs: 3000, seeds: || vec![MEASURED.into()], run: cgats },
    Target { name: "rules", runs: 3000, seeds: || vec![RULES.into()], run: rules },
    Target { name: "table", runs: 1500, seeds: || vec![TABLE.into(), SIDECAR.into()], run: table },
    Target { name: "import", runs: 300, seeds: || texts(&["logs/v1.json", "logs/v2.json"]), run: import },
    Target { name: "log", runs: 100, seeds: || texts(&["logs/v1.db", "logs/v2.db"]), run: log },
    Target { name: "words", runs: 20000, seeds: words, run: said },
];

const MEASURED: &str = "CGATS.17\nNUMBER_OF_FIELDS 4\nBEGIN_DATA_FORMAT\nSAMPLE_ID XYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\n\
    NUMBER_OF_SETS 2\nBEGIN_DATA\npaper 84.1 87.2 72.0\nP01 20.5 21.0 17.5\nEND_DATA\n";
const RULES: &str = "format = 1\n\n[[rule]]\nfolder = \"shelf\"\nfile = \"IMG_*\"\ntank = \"shelf\"\nstations = [\"A=pH\", \"C=nitrite:1+4\"]\n";
const TABLE: &str = "Date,Time,NO2,NO3,Change,Remarks\n2026-03-01,18:30,\"0,25\",20,30,fine\n02.03.2026,7:05,0,>100,,\n3/4/2026,,<0.1,5,,x\n";
const SIDECAR: &str = "file,tank,kit,stations,at\nIMG_0412.jpg,shelf,,A=pH C=nitrate:1+4,\nIMG_0413.jpg,shelf,,B=ammonia,2026-03-01 18:30\n";

fn fixtures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures")
}

fn texts(names: &[&str]) -> Vec<Vec<u8>> {
    names.iter().map(|n| std::fs::read(fixtures().join(n)).unwrap_or_else(|e| panic!("{n}: {e}"))).collect()
}

fn folder(name: &str) -> Vec<Vec<u8>> {
    let mut files: Vec<_> = std::fs::read_dir(fixtures().join(name)).unwrap().map(|e| e.unwrap().path()).collect();
    files.sort();
    files
        .iter()
        .filter(|p| p.extension().is_some_and(|e| e != "md" && e != "py"))
        .map(|p| std::fs::read(p).unwrap())
        .collect()
}

fn photos() -> Vec<Vec<u8>> {
    let mut all = folder("photos/odd");
    all.extend(folder("photos/torn"));
    all
}

fn profiles() -> Vec<Vec<u8>> {
    folder("published/icc")
}

/// A little-endian block with orientation, date and a pointer to a further directory.
fn camera_data() -> Vec<Vec<u8>> {
    let mut b = b"II*\0\x08\0\0\0\x03\0".to_vec();
    b.extend(b"\x12\x01\x03\0\x01\0\0\0\x06\0\0\0");
    b.extend(b"\x32\x01\x02\0\x14\0\0\0\x32\0\0\0");
    b.extend(b"\x69\x87\x04\0\x01\0\0\0\x46\0\0\0\0\0\0\0");
    b.extend(b"2026:03:01 18:30:00\0");
    b.extend(b"\x01\0\x03\x90\x02\0\x14\0\0\0\x58\0\0\0\0\0\0\0");
    b.extend(b"2026:03:01 18:30:00\0");
    vec![b]
}

fn scenes() -> Vec<Vec<u8>> {
    texts(&["photos/cards/print-a-vial.jpg", "photos/cards/print-a-upright.jpg"])
}

fn words() -> Vec<Vec<u8>> {
    let all = [
        "0,25 mg/L NO2-",
        "<0.1",
        ">100 mg/L",
        "7.4",
        "78 °F",
        "1.025 sg",
        "nan",
        "1e5",
        "now",
        "18:30",
        "2026-03-01 18:30",
        "-25m",
        "water-change 30%",
        "ammonia-dosed 4 mL 9.5% by weight",
        "fish-added 3 neon tetras 2 cm",
        "A=pH:1+4",
        "mg/L NH3-N",
        "dKH",
        "2026-03-29 02:30",
    ];
    all.iter().map(|w| w.as_bytes().to_vec()).collect()
}

/// A small sound JPEG with a segment of these bytes.
fn in_jpeg(marker: u8, head: &[u8], body: &[u8]) -> Vec<u8> {
    let base = include_bytes!("../../fixtures/photos/odd/sampled-420.jpg");
    let body = &body[..body.len().min(60_000)];
    let len = (2 + head.len() + body.len()) as u16;
    [&base[..2], &[0xff, marker], &len.to_be_bytes(), head, body, &base[2..]].concat()
}

/// Small: what is asked of a hostile header is that it is refused before memory is set aside.
fn limits() -> Limits {
    Limits { pixels: 1 << 20, ..Limits::default() }
}

fn photo(bytes: &[u8]) {
    match Photo::from_bytes(bytes, &limits()) {
        Ok(p) => {
            assert!(u64::from(p.width()) * u64::from(p.height()) <= limits().pixels);
            let corner = p.linear(p.width() - 1, p.height() - 1);
            assert!(corner.iter().all(|v| v.is_finite()), "{corner:?}");
        }
        Err(e) => assert!(e.code().starts_with("photo-") && e.remedy().ends_with('.'), "{e}"),
    }
}

fn scene(bytes: &[u8]) {
    let Ok(photo) = Photo::from_bytes(bytes, &Limits { pixels: 4 << 20, ..Limits::default() }) else { return };
    let layout = Layout::first();
    let (enrolment, kit) = demo();
    let reference = enrolment.reference(&layout).unwrap();
    let test = kit.tests[0].name.clone();
    let asks = [Ask { station: "B".into(), test, dilution: None }];
    let read = reading::read(&Job {
        photo: &photo,
        layout: &layout,
        reference: &reference,
        kit: &kit,
        asks: &asks,
        clear: None,
    });
    assert_eq!(read.samples.len(), 1);
}

/// The card and the kit that come with the program.
fn demo() -> (Enrolment, Kit) {
    let shipped = Path::new(env!("CARGO_MANIFEST_DIR")).join("calibration");
    let text = |p: &str| std::fs::read_to_string(shipped.join(p)).unwrap_or_else(|e| panic!("{p}: {e}"));
    (
        Enrolment::from_toml(&text("card/demo-print.toml")).unwrap(),
        Kit::from_toml(&text("kit/demo-vials.toml")).unwrap(),
    )
}

fn kit(bytes: &[u8]) {
    match Kit::from_toml(&String::from_utf8_lossy(bytes)) {
        Ok(kit) => {
            let again = Kit::from_toml(&kit.to_toml()).unwrap_or_else(|e| panic!("what was written is not read: {e}"));
            assert_eq!(again.revision(), kit.revision());
            for test in &kit.tests {
                let _ = curve::check(test, Nuisance::of(Kind::Vial));
            }
        }
        Err(e) => assert!(!e.code().is_empty() && !e.remedy().is_empty(), "{e}"),
    }
}

fn card(bytes: &[u8]) {
    match Enrolment::from_toml(&String::from_utf8_lossy(bytes)) {
        Ok(card) => {
            let again =
                Enrolment::from_toml(&card.to_toml()).unwrap_or_else(|e| panic!("what was written is not read: {e}"));
            assert_eq!(again.revision(), card.revision());
            let _ = card.reference(&Layout::first());
        }
        Err(e) => assert!(!e.code().is_empty() && !e.remedy().is_empty(), "{e}"),
    }
}

fn cgats(bytes: &[u8]) {
    let date = jiff::civil::date(2026, 3, 1);
    match Enrolment::from_cgats(&String::from_utf8_lossy(bytes), &Layout::first(), date) {
        Ok((card, _)) => assert!(card.reference(&Layout::first()).is_ok()),
        Err(e) => assert!(!e.code().is_empty() && e.remedy().ends_with('.'), "{e}"),
    }
}

fn rules(bytes: &[u8]) {
    let Ok(rules) = Rules::parse(&String::from_utf8_lossy(bytes), Path::new("rules.toml")) else { return };
    let _ = rules.of(Path::new("/photos/shelf/IMG_0001.jpg"));
}

fn table(bytes: &[u8]) {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join(intake::SIDECAR), bytes).unwrap();
    let _ = Sidecar::of_folder(dir.path());
    let mut log = Log::open_memory().unwrap();
    let now = "2026-06-01T12:00:00Z".parse().unwrap();
    log.write(now, |w| w.add_tank(&NewTank::new("Hall", "Europe/Berlin", WaterKind::Fresh))).unwrap();
    let tank = log.tank("Hall").unwrap();
    let column = |name: &str, what: &str, unit: &str, shades: Option<&str>| Column {
        name: name.into(),
        what: what.into(),
        unit: Some(unit.into()).filter(|u: &String| !u.is_empty()),
        shades: shades.map(str::to_string),
    };
    let columns = vec![
        column("NO2", "nitrite", "mg/L NO2-", Some("0.25")),
        column("NO3", "nitrate", "mg/L NO3-", None),
        column("Change", "water-change", "%", None),
        column("Remarks", "note", "", None),
    ];
    let mapping =
        Mapping { time: Some("Date".into()), clock_column: Some("Time".into()), columns, ..Mapping::default() };
    if let Ok(plan) = Plan::of(&String::from_utf8_lossy(bytes), &mapping, &[], &log, &tank, now)
        && plan.write(&mut log, &tank, true, now).is_ok()
    {
        // Taken in twice is logged once.
        let before = log.readings(&Filter::default()).unwrap().len();
        let again = Plan::of(&String::from_utf8_lossy(bytes), &mapping, &[], &log, &tank, now).unwrap();
        again.write(&mut log, &tank, true, now).unwrap();
        assert_eq!(log.readings(&Filter::default()).unwrap().len(), before);
    }
}

fn import(bytes: &[u8]) {
    let mut log = Log::open_memory().unwrap();
    if log.import_json(&mut &bytes[..]).is_ok() {
        let count = |l: &Log| l.readings(&Filter::default()).unwrap().len();
        let before = count(&log);
        log.import_json(&mut &bytes[..]).unwrap_or_else(|e| panic!("the second time: {e}"));
        assert_eq!(count(&log), before, "an import given twice");
        let mut out = Vec::new();
        log.export_json(&mut out).unwrap();
        let mut other = Log::open_memory().unwrap();
        other.import_json(&mut &out[..]).unwrap_or_else(|e| panic!("what was written is not read: {e}"));
        assert_eq!(count(&other), before);
    } else {
        assert_eq!(log.readings(&Filter::default()).unwrap().len(), 0, "a refused import leaves nothing");
    }
}

fn log(bytes: &[u8]) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("log.db");
    std::fs::write(&path, bytes).unwrap();
    if let Ok(log) = Log::open(&path) {
        let _ = (log.tanks(), log.readings(&Filter::default()), log.labels());
        let mut out = Vec::new();
        let _ = log.export_json(&mut out);
    }
}

fn said(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let unit = Unit::parse("mg/L NO2-", &Analyte::Nitrite).unwrap();
    if let Ok(amount) = Typed::parse(&text, &unit).and_then(|t| t.amount(&unit, Some(0.25))) {
        assert!(!amount.to_string().is_empty());
    }
    let _ = (At::parse(&text), ClockOffset::parse(&text), Unit::parse(&text, &Analyte::Ammonia), intake::kind(&text));
    let _ = (Dilution::parse(&text), Analyte::parse(&text));
    let (kind, line) = text.split_once(' ').unwrap_or((&text, ""));
    let _ = intake::happening(kind, line, Beside::default());
    let _ = Mapping::from_toml(&text);
}
