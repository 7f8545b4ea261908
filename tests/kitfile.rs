//! Kit files, formats 1 to 3: read strictly, written in one way, known by their content; a kit that is not sound cannot be made.

use proptest::prelude::*;
use tintline::curve::{Clear, Kind, Kit, KitError, Matrix, Scale, Source, Strip, Swatch, Test};
use tintline::finding::{Code, Severity};
use tintline::store::content_hash;
use tintline::water::{Analyte, Species, Unit};

/// A kit written in format 1 once; it must read, and keep its revision, for ever.
const FORMAT_1: &str = include_str!("../fixtures/kits/format-1.toml");
const FORMAT_1_REVISION: &str = "16a2191ed127e49231d25c52d1d64e9900b7b809de860102035d57a71b456813";
/// The same for format 2.
const FORMAT_2: &str = include_str!("../fixtures/kits/format-2.toml");
const FORMAT_2_REVISION: &str = "be9eec78cfce69c6e7a9e3ed79c7d99197ceb398ae1c77f2172102c7b53dca94";
/// The same for format 3.
const FORMAT_3: &str = include_str!("../fixtures/kits/format-3.toml");
const FORMAT_3_REVISION: &str = "a8cb2a22f017d9ff62c7b277e0d391da11d732b9bd6511b6fbe6f078945a6ffa";

fn swatch(value: f64, photo: &str) -> Swatch {
    Swatch {
        value,
        value_sd: None,
        source: Source::Standard,
        lab: [92.123_456_78, -3.0, 14.25],
        cov: [[0.123_456_789, 0.01, 0.0], [0.01, 0.2, -0.05], [0.0, -0.05, 0.3]],
        photo: photo.to_string(),
        station: "B".to_string(),
        light: vec![0.012_345_678, -0.4],
        taken: Some("2026-03-01T18:30:00+01:00".to_string()),
        clear: None,
    }
}

fn nitrate() -> Test {
    Test::new("Nitrate", Analyte::Nitrate, Unit::mg_l(Species::Nitrate), Matrix::Fresh)
}

fn kit() -> Kit {
    let mut kit = Kit::new("drops on the shelf").unwrap();
    kit.add_test(nitrate()).unwrap();
    kit.add_test(Test::new("pH", Analyte::Ph, Unit::ph(), Matrix::Both)).unwrap();
    kit
}

/// The text of a sound kit with one thing replaced.
fn edited(from: &str, to: &str) -> KitError {
    assert_eq!(FORMAT_1.matches(from).count(), 1, "'{from}' must stand once in the fixture");
    Kit::from_toml(&FORMAT_1.replace(from, to)).expect_err(to)
}

#[test]
fn the_kept_file_of_format_1_still_reads() {
    let kit = Kit::from_toml(FORMAT_1).unwrap();
    assert_eq!(kit.to_toml(), FORMAT_1);
    assert_eq!(kit.revision().as_str(), FORMAT_1_REVISION);
    assert_eq!((kit.name.as_str(), kit.kind, kit.card.as_deref()), ("window sill", Kind::Vial, Some("0f3a5c7e9b1d")));
    let names: Vec<&str> = kit.tests.iter().map(|t| t.name.as_str()).collect();
    assert_eq!(names, ["nitrate", "pH", "phosphate"]);
    let t = kit.test("NITRATE").unwrap();
    assert_eq!((t.scale, t.matrix, t.wait_minutes), (Scale::FromZero, Matrix::Fresh, Some(5.0)));
    assert_eq!(t.opened, Some(jiff::civil::date(2026, 1, 15)));
    assert_eq!(t.expiry, Some(jiff::civil::date(2027, 6, 30)));
    assert_eq!((t.lot.as_deref(), t.note.as_deref()), (Some("L-0412"), Some("shake \"hard\", 30 s")));
    // In the order of addition; the numbers as written.
    assert_eq!(t.swatches.iter().map(|s| s.value).collect::<Vec<_>>(), [20.0, 0.0, 5.0]);
    assert_eq!(t.values(), [0.0, 5.0, 20.0]);
    assert_eq!(t.swatches[1].lab, [96.5, -1.25, 3.0]);
    assert_eq!(t.swatches[1].cov[0], [0.04, 0.0, 0.01]);
    assert_eq!(t.swatches[0].light, [0.01, -0.02, 0.4]);
    assert_eq!(kit.tests[1].scale, Scale::Bounded);
    assert_eq!(kit.tests[2].analyte, Analyte::Other("phosphate".into()));
}

#[test]
fn the_kept_file_of_format_2_still_reads() {
    let kit = Kit::from_toml(FORMAT_2).unwrap();
    assert_eq!(kit.to_toml(), FORMAT_2);
    assert_eq!(kit.revision().as_str(), FORMAT_2_REVISION);
    let strip = Strip { length_mm: 70.0, width_mm: 5.5, pad_mm: 5.0, pitch_mm: 8.5, end_mm: 4.0 };
    assert_eq!((kit.kind, kit.strip), (Kind::Strip, Some(strip)));
    let t = kit.test("hardness").unwrap();
    assert_eq!((t.pad, t.wait_minutes, t.window_minutes), (Some(2), Some(1.0), Some(2.0)));
    let swatches: Vec<_> = t.swatches.iter().map(|s| (s.value, s.value_sd, s.source)).collect();
    assert_eq!(
        swatches,
        [(0.0, None, Source::Standard), (90.0, Some(2.5), Source::Standard), (170.0, None, Source::Print)]
    );
}

#[test]
fn the_kept_file_of_format_3_still_reads() {
    let kit = Kit::from_toml(FORMAT_3).unwrap();
    assert_eq!(kit.to_toml(), FORMAT_3);
    assert_eq!(kit.revision().as_str(), FORMAT_3_REVISION);
    assert_eq!((kit.cameras[0].name.as_str(), kit.cameras[0].photos.len()), ("Sample Phone 1", 2));
    let test = &kit.tests[0];
    let lots: Vec<Option<&str>> = test.earlier.iter().map(|b| b.lot.as_deref()).collect();
    assert_eq!(lots, [Some("N-30"), None]);
    let a = &test.adopted[0];
    assert_eq!((a.date, a.camera.as_deref()), (jiff::civil::date(2026, 4, 5), Some("Sample Phone 2")));
    assert_eq!((a.extra.flat, a.extra.share, a.extra.way, a.chi_squared), (0.03, 0.025, 0.1, 5.25));
    assert_eq!(a.standards.iter().map(|s| (s.value, s.read)).collect::<Vec<_>>(), [(0.0, 0.01), (1.0, 0.9)]);
    // Wrong things are refused.
    for (from, to, code) in [
        ("way = 0.1", "way = -0.1", "kit-adopted"),
        ("chi_squared = 5.25", "chi_squared = nan", "kit-adopted"),
        ("date = 2026-04-05", "date = 1", "kit-malformed"),
        ("lot = \"N-30\"", "lot = \"\"", "kit-text"),
        ("name = \"Sample Phone 1\"", "name = \" \"", "kit-text"),
        ("format = 3", "format = 2", "kit-malformed"),
    ] {
        assert_eq!(FORMAT_3.matches(from).count(), 1, "{from}");
        assert_eq!(Kit::from_toml(&FORMAT_3.replace(from, to)).unwrap_err().code(), code, "{to}");
    }
}

#[test]
fn a_calibration_knows_its_card_phone_and_bottle() {
    use jiff::civil::date;
    use tintline::curve::{Extra, Taken, held};
    let mut kit = Kit::from_toml(FORMAT_3).unwrap();
    let codes = |kit: &Kit, taken: &Taken| -> Vec<&str> {
        held(kit, &kit.tests[0], taken).findings.iter().map(|f| f.code.as_str()).collect()
    };
    let own = Taken { card: Some("4be1a2c3d4e5"), camera: Some("Sample Phone 1"), on: Some(date(2026, 4, 1)) };
    // The bottle was opened a day later: the photo shows the one before.
    assert_eq!(held(&kit, &kit.tests[0], &own).extra, Extra::default());
    assert!(codes(&kit, &own).is_empty());
    // With the new bottle, and with the phone it was carried over to: by that record's uncertainty, once.
    let later = Taken { on: Some(date(2026, 4, 9)), camera: Some("Sample Phone 2"), ..own };
    assert_eq!(held(&kit, &kit.tests[0], &later).extra, Extra { flat: 0.03, share: 0.025, way: 0.1 });
    assert!(codes(&kit, &later).is_empty());
    let others = Taken { card: Some("ffff"), camera: Some("Other"), on: None };
    assert_eq!(codes(&kit, &others), ["card-new", "phone-unknown"]);
    assert_eq!(codes(&kit, &Taken { camera: None, ..own }), ["phone-unknown"]);
    kit.tests[0].adopted.clear();
    assert_eq!(codes(&kit, &later), ["phone-unknown", "lot-new"]);
    let extra = held(&kit, &kit.tests[0], &later).extra;
    assert!((extra.way - 0.15).abs() < 1e-12 && (extra.flat - 0.04 * 2f64.sqrt()).abs() < 1e-12, "{extra:?}");
    // Two concentrations with the new bottle, and it is known.
    let unlike = |value: f64| Swatch { value, ..swatch(value, &format!("new-{value}")) };
    kit.add_swatches("nitrite", vec![unlike(0.0)]).unwrap();
    assert!(kit.tests[0].new_lot(None));
    kit.add_swatches("nitrite", vec![unlike(1.0)]).unwrap();
    assert!(!kit.tests[0].new_lot(None));
    // A kit whose photos name no phone cannot tell a strange one.
    kit.cameras.clear();
    assert!(codes(&kit, &later).is_empty());
    assert!(kit.tests[0].expired(date(2027, 9, 30)).is_none() && kit.tests[0].expired(date(2027, 10, 1)).is_some());
    // Another bottle takes the present one's place, with the photos made with it.
    kit.new_bottle("nitrite", Some("N-32".into()), Some(date(2026, 8, 1)), None).unwrap();
    let test = &kit.tests[0];
    let last = test.earlier.last().unwrap();
    assert_eq!(
        (last.lot.as_deref(), &last.photos[..]),
        (Some("N-31"), &["new-0".to_string(), "new-1".to_string()][..])
    );
    assert!(test.new_lot(None) && test.expiry.is_none());
}

#[test]
fn a_kit_says_the_oldest_format_that_holds_it() {
    let mut kit = kit();
    assert!(kit.to_toml().starts_with("format = 1\n"));
    kit.tests[0].window_minutes = Some(10.0);
    assert!(kit.to_toml().starts_with("format = 2\n"));
    // A key of format 2 in a file of format 1, that a program of that time would not have read.
    let e = Kit::from_toml(&kit.to_toml().replace("format = 2", "format = 1")).unwrap_err();
    assert_eq!(e.code(), "kit-malformed");
    assert!(e.to_string().contains("format 2"), "{e}");
}

#[test]
fn measures_that_make_no_strip_are_refused() {
    for (from, to) in [
        ("pitch_mm = 8.5", "pitch_mm = 5.0"),
        ("pad_mm = 5.0", "pad_mm = 8.5"),
        ("end_mm = 4.0", "end_mm = 2.4"),
        ("length_mm = 70.0", "length_mm = 14.9"),
        ("width_mm = 5.5", "width_mm = nan"),
        ("width_mm = 5.5", "width_mm = 0.5"),
        ("kind = \"strip\"", "kind = \"vial\""),
    ] {
        assert_eq!(FORMAT_2.matches(from).count(), 1, "'{from}'");
        let e = Kit::from_toml(&FORMAT_2.replace(from, to)).expect_err(to);
        assert_eq!(e.code(), "kit-strip", "{to}: {e}");
    }
    let e = Kit::from_toml(&FORMAT_2.replace("value_sd = 2.5", "value_sd = -2.5")).unwrap_err();
    assert_eq!(e.code(), "kit-swatch-value");
}

#[test]
fn a_newer_or_foreign_file_is_refused_before_anything_else_is_read() {
    let e = Kit::from_toml("format = 4\nanything = [1, 2]\n[other]\n").unwrap_err();
    assert!(matches!(e, KitError::Newer { found: 4, known: 3 }), "{e}");
    assert_eq!(e.code(), "kit-newer");
    for text in ["", "name = 'x'", "format = '1'", "format = 0", "format = -1", "format = 1.0"] {
        assert_eq!(Kit::from_toml(text).unwrap_err().code(), "kit-no-format", "{text:?}");
    }
    assert_eq!(Kit::from_toml("format = 1\n").unwrap_err().code(), "kit-malformed");
}

#[test]
fn broken_files_name_the_line() {
    let line = |from: &str, to: &str| match edited(from, to) {
        KitError::Malformed { line, .. } => line,
        e => panic!("{to}: {e}"),
    };
    let stands = |what: &str| 1 + FORMAT_1.lines().position(|l| l.contains(what)).unwrap();
    assert_eq!(line("lot = \"L-0412\"", "lot = \"L-0412"), stands("lot ="));
    assert_eq!(line("lot = \"L-0412\"", "lott = \"L-0412\""), stands("lot ="));
    assert_eq!(line("lot = \"L-0412\"", "lot = 412"), stands("lot ="));
    assert_eq!(line("opened = 2026-01-15", "opened = 2026-01-15T10:00:00"), stands("opened ="));
    assert_eq!(line("opened = 2026-01-15", "opened = 2026-02-30"), stands("opened ="));
    assert_eq!(line("opened = 2026-01-15", "opened = 10:00:00"), stands("opened ="));
    assert_eq!(line("kind = \"vial\"", "kind = \"jar\""), stands("kind ="));
    assert_eq!(line("lab = [96.5, -1.25, 3.0]", "lab = [96.5, -1.25]"), stands("lab = [96.5"));
    assert_eq!(line("value = 20.0", "value = \"20\""), stands("value = 20.0"));
    // Cut anywhere, it is an error or a kit of fewer swatches, each as it was; never a panic, never another number.
    let sound = Kit::from_toml(FORMAT_1).unwrap();
    let (mut errors, mut smaller) = (0, 0);
    for cut in (0..FORMAT_1.len()).filter(|i| FORMAT_1.is_char_boundary(*i)) {
        let Ok(kit) = Kit::from_toml(&FORMAT_1[..cut]) else {
            errors += 1;
            continue;
        };
        smaller += 1;
        for (test, of) in kit.tests.iter().zip(&sound.tests) {
            for (s, whole) in test.swatches.iter().zip(&of.swatches) {
                assert_eq!((s.value, s.lab, s.cov), (whole.value, whole.lab, whole.cov), "cut at {cut}");
            }
        }
    }
    assert!(errors > 1000 && smaller > 10, "{errors} errors, {smaller} smaller kits");
}

#[test]
fn what_is_not_sound_is_refused_with_its_place() {
    for (from, to, code, place) in [
        ("unit = \"mg/L NO3-\"", "unit = \"ppm\"", "unit-needs-basis", "test 'nitrate'"),
        ("unit = \"mg/L NO3-\"", "unit = \"mg/L NO2-\"", "unit-other-analyte", "test 'nitrate'"),
        ("unit = \"mg/L NO3-\"", "unit = \"drops\"", "unit-unknown", "test 'nitrate'"),
        ("analyte = \"phosphate\"", "analyte = \"\"", "analyte-name", "test 'phosphate'"),
        ("scale = \"bounded\"", "scale = \"from-zero\"", "kit-scale", "test 'pH'"),
        ("value = 20.0", "value = -20.0", "kit-swatch-value", "'nitrate', swatch 1"),
        ("value = 20.0", "value = nan", "kit-swatch-value", "'nitrate', swatch 1"),
        ("value = 20.0", "value = inf", "kit-swatch-value", "'nitrate', swatch 1"),
        ("value = 6.5", "value = 65.0", "kit-swatch-value", "'pH', swatch 1"),
        ("value = 6.5", "value = -0.5", "kit-swatch-value", "'pH', swatch 1"),
        ("lab = [96.5, -1.25, 3.0]", "lab = [960.5, -1.25, 3.0]", "kit-swatch-colour", "'nitrate', swatch 2"),
        ("lab = [96.5, -1.25, 3.0]", "lab = [96.5, nan, 3.0]", "kit-swatch-colour", "'nitrate', swatch 2"),
        ("cov = [[0.04, 0.0, 0.01]", "cov = [[0.04, 0.1, 0.01]", "kit-swatch-colour", "'nitrate', swatch 2"),
        ("cov = [[0.04, 0.0, 0.01]", "cov = [[-0.04, 0.0, 0.01]", "kit-swatch-colour", "'nitrate', swatch 2"),
        ("cov = [[0.04, 0.0, 0.01]", "cov = [[inf, 0.0, 0.01]", "kit-swatch-colour", "'nitrate', swatch 2"),
        ("light = [0.01, -0.02, 0.4]", "light = [0.01, -inf, 0.4]", "kit-swatch-colour", "'nitrate', swatch 1"),
        (
            "taken = \"2026-02-01T12:00:00+01:00\"",
            "taken = \"2026-02-01 noon\"",
            "kit-swatch-time",
            "'nitrate', swatch 1",
        ),
        ("photo = \"second\"", "photo = \"first\"", "kit-swatch-twice", "'nitrate', swatch 2"),
        ("name = \"phosphate\"", "name = \"NITRATE\"", "kit-test-twice", "NITRATE"),
        ("name = \"phosphate\"", "name = \" \"", "kit-text", "name"),
        ("name = \"window sill\"", "name = \"../sill\"", "store-name", "../sill"),
        ("wait_minutes = 5.0", "wait_minutes = -5.0", "kit-wait", "'nitrate'"),
        ("wait_minutes = 5.0", "wait_minutes = nan", "kit-wait", "'nitrate'"),
        ("wait_minutes = 5.0", "pad = 1", "kit-pad", "a vial has no pads"),
    ] {
        let e = edited(from, to);
        assert_eq!(e.code(), code, "{to}");
        assert!(e.to_string().contains(place), "{to}: {e}");
        assert!(e.remedy().ends_with('.'), "{}", e.remedy());
    }
}

#[test]
fn whole_numbers_and_windows_lines_read_too() {
    let by_hand = FORMAT_1.replace("value = 20.0", "value = 20").replace('\n', "\r\n");
    assert_eq!(Kit::from_toml(&by_hand).unwrap(), Kit::from_toml(FORMAT_1).unwrap());
}

#[test]
fn a_revision_is_the_hash_of_the_text() {
    let mut kit = kit();
    let before = kit.revision();
    assert_eq!(before, content_hash(kit.to_toml().as_bytes()));
    assert_eq!(Kit::from_toml(&kit.to_toml()).unwrap().revision(), before);
    assert_eq!((before.short().len(), before.as_str().len()), (12, 64));
    kit.add_swatches("nitrate", vec![swatch(5.0, "a")]).unwrap();
    let after = kit.revision();
    assert_ne!(before, after);
    kit.remove_swatch("nitrate", 1).unwrap();
    assert_eq!(kit.revision(), before);
}

#[test]
fn swatches_are_added_all_or_none_and_taken_out_by_number() {
    let mut kit = kit();
    kit.add_swatches("nitrate", vec![swatch(40.0, "a"), swatch(0.0, "b"), swatch(5.0, "c")]).unwrap();
    let good = kit.clone();
    let e = kit.add_swatches("nitrate", vec![swatch(10.0, "d"), swatch(-1.0, "e")]).unwrap_err();
    assert_eq!(e.to_string(), "test 'Nitrate', swatch 5: -1 is no value of this scale (less than nothing)");
    let e = kit.add_swatches("nitrate", vec![swatch(10.0, "b")]).unwrap_err();
    assert_eq!(e.code(), "kit-swatch-twice");
    // One photo shows two vials, but not two at one station.
    let e = kit.add_swatches("pH", vec![swatch(7.0, "b")]).unwrap_err();
    assert_eq!(e.code(), "kit-swatch-twice");
    assert_eq!(kit, good);
    kit.add_swatches("pH", vec![Swatch { station: "C".into(), ..swatch(7.0, "b") }]).unwrap();
    assert_eq!(kit.remove_swatch("nitrate", 2).unwrap().value, 0.0);
    assert_eq!(kit.test("nitrate").unwrap().swatches.iter().map(|s| s.value).collect::<Vec<_>>(), [40.0, 5.0]);
    for number in [0, 3, usize::MAX] {
        assert_eq!(kit.remove_swatch("nitrate", number).unwrap_err().code(), "kit-no-swatch");
    }
    let e = kit.add_swatches("nitrite", vec![]).unwrap_err();
    assert_eq!(
        (e.code(), e.to_string().as_str()),
        ("kit-no-test", "the kit has no test 'nitrite'; it has Nitrate, pH")
    );
    assert_eq!(kit.remove_test("pH").unwrap().name, "pH");
    assert_eq!(kit.tests.len(), 1);
}

#[test]
fn added_colours_are_kept_short() {
    let mut kit = kit();
    kit.add_swatches("nitrate", vec![swatch(5.0, "a")]).unwrap();
    let s = &kit.tests[0].swatches[0];
    assert_eq!(s.lab, [92.1235, -3.0, 14.25]);
    assert_eq!(s.cov[0], [0.123_457, 0.01, 0.0]);
    assert_eq!(s.light, [0.01235, -0.4]);
}

#[test]
fn tests_that_contradict_themselves_are_refused() {
    let mut kit = kit();
    let mut tries = |code: &str, change: &dyn Fn(&mut Test)| {
        let mut test = Test { name: "another".into(), ..nitrate() };
        change(&mut test);
        let before = kit.clone();
        assert_eq!(kit.add_test(test).unwrap_err().code(), code);
        assert_eq!(kit, before);
    };
    tries("kit-test-twice", &|t| t.name = "nitrate".into());
    tries("unit-unknown", &|t| t.unit = Unit::ph());
    tries("kit-text", &|t| t.lot = Some("two\nlines".into()));
    tries("kit-text", &|t| t.note = Some("x".repeat(401)));
    tries("kit-pad", &|t| t.pad = Some(1));
    // A known analyte in the dress of a keeper's own.
    tries("analyte-name", &|t| t.analyte = Analyte::Other("Nitrate".into()));
    // A bounded scale of a concentration is sound, but nothing on it is zero.
    let mut bounded = Test { name: "bounded".into(), scale: Scale::Bounded, ..nitrate() };
    bounded.swatches = vec![swatch(5.0, "a")];
    kit.add_test(bounded).unwrap();
    assert_eq!(kit.add_swatches("bounded", vec![swatch(0.0, "b")]).unwrap_err().code(), "kit-swatch-value");
    for name in ["", ".", "..", "a/b", "a\\b", ".hidden", "con", "dot.", &"x".repeat(65)] {
        assert_eq!(Kit::new(name).unwrap_err().code(), "store-name", "{name}");
    }
}

#[test]
fn pads_of_a_strip_are_numbered_once() {
    let mut kit = Kit { kind: Kind::Strip, ..Kit::new("strips").unwrap() };
    kit.add_test(Test { pad: Some(1), ..nitrate() }).unwrap();
    let ph = Test::new("pH", Analyte::Ph, Unit::ph(), Matrix::Both);
    let e = kit.add_test(Test { pad: Some(1), ..ph.clone() }).unwrap_err();
    assert_eq!(e.to_string(), "test 'pH': pad 1 is that of 'Nitrate'");
    assert_eq!(kit.add_test(Test { pad: Some(0), ..ph.clone() }).unwrap_err().code(), "kit-pad");
    kit.add_test(Test { pad: Some(2), ..ph }).unwrap();
    assert_eq!(Kit::from_toml(&kit.to_toml()).unwrap(), kit);
}

#[test]
fn a_thin_test_is_found_thin() {
    let found = |values: &[f64]| {
        let mut t = nitrate();
        t.swatches = values.iter().map(|v| swatch(*v, "")).collect();
        t.findings().into_iter().map(|f| (f.code, f.severity)).collect::<Vec<_>>()
    };
    let (thin, blanks) = (Code::CurveThin, Code::CurveNoBlanks);
    assert_eq!(found(&[]), [(thin, Severity::Doubt), (blanks, Severity::Note)]);
    assert_eq!(found(&[0.0, 0.0, 5.0, 5.0]), [(thin, Severity::Doubt)]);
    assert_eq!(found(&[40.0, 0.0, 5.0]), [(thin, Severity::Note), (blanks, Severity::Note)]);
    assert_eq!(found(&[0.0, 0.0, 5.0, 10.0, 40.0]), [(thin, Severity::Note)]);
    assert_eq!(found(&[0.0, 40.0, 20.0, 10.0, 5.0, 0.0]), []);
    let mut ph = Test::new("pH", Analyte::Ph, Unit::ph(), Matrix::Both);
    ph.swatches = [6.0, 6.5, 7.0, 7.5, 8.0].map(|v| swatch(v, "")).to_vec();
    assert!(ph.findings().is_empty());
}

fn any_swatch() -> impl Strategy<Value = Swatch> {
    let colour = (0.0f64..100.0, -120.0f64..120.0, -120.0f64..120.0);
    let root = prop::array::uniform3(prop::array::uniform3(-2.0f64..2.0));
    let text = "[\\PC]{0,30}";
    let known = (prop::option::of(0.0f64..1.0), any::<bool>());
    let taken = prop::option::of(0i64..2_000_000_000);
    let clear = prop::option::of(prop::array::uniform3(0i32..100).prop_map(|lab| lab.map(f64::from)));
    ((0.0f64..14.0, known), colour, root, text, prop::collection::vec(-1.0f64..1.0, 0..4), (taken, clear)).prop_map(
        |((value, (value_sd, print)), lab, r, station, light, (taken, clear))| Swatch {
            value,
            value_sd,
            source: if print { Source::Print } else { Source::Standard },
            lab: lab.into(),
            // r·rᵀ is a covariance for any r.
            cov: [0, 1, 2].map(|i| [0, 1, 2].map(|j| (0..3).map(|k| r[i][k] * r[j][k]).sum())),
            photo: String::new(),
            station: station.trim().to_string(),
            light,
            taken: taken.map(|s| jiff::Timestamp::from_second(s).unwrap().to_string()),
            clear: clear
                .filter(|_| !print)
                .map(|lab| Clear { lab, cov: [[0.25, 0.0, 0.0], [0.0, 0.5, -0.125], [0.0, -0.125, 2.0]] }),
        },
    )
}

proptest! {
    #[test]
    fn every_sound_kit_reads_back(swatches in prop::collection::vec(any_swatch(), 0..6), note in "[\\PC]{1,60}", ph in any::<bool>()) {
        let mut kit = kit();
        kit.note = Some(note).filter(|n| !n.trim().is_empty());
        kit.add_swatches(if ph { "pH" } else { "Nitrate" }, swatches).unwrap();
        let text = kit.to_toml();
        prop_assert_eq!(&Kit::from_toml(&text).unwrap(), &kit);
        prop_assert_eq!(Kit::from_toml(&text).unwrap().to_toml(), text);
    }
}
