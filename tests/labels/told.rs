//! What labels say, put beside what was typed: agreement, contradiction, and numbers that mean nothing here.

use tintline::card::{Label, LabelKind, Labels, Layout};
use tintline::curve::{Kit, Matrix, Test};
use tintline::intake::Told;
use tintline::log::{self, Log, Names, NewTank, Target, TestKey, Undo, WaterKind};
use tintline::reading::{Ask, Standard};
use tintline::water::{Analyte, Quantity, Species, Unit};

/// Numbers of [`home`]: tests 16 nitrite, 17 nitrate, 18 nitrite of another kit, 19 one the kit lost; targets 256 reef, 257 hall, 258
/// tap, 259 new water, 260 a nitrate standard, 261 zero, 262 clear, 263 an ammonia standard, 264 retired.
struct Home {
    log: Log,
    kit: Kit,
    reef: Target,
    hall: Target,
}

fn home() -> Home {
    let now = "2026-03-01T12:00:00Z".parse().unwrap();
    let mut kit = Kit::new("drops").unwrap();
    let test = |name: &str, analyte, species| Test::new(name, analyte, Unit::mg_l(species), Matrix::Both);
    kit.add_test(test("nitrite", Analyte::Nitrite, Species::Nitrite)).unwrap();
    kit.add_test(test("nitrate", Analyte::Nitrate, Species::NitrateN)).unwrap();
    let mut log = Log::open_memory().unwrap();
    let key = |kit: &str, name: &str, analyte, species| {
        Names::Test(TestKey { kit: Some(kit.into()), name: name.into(), analyte, unit: Unit::mg_l(species) })
    };
    let standard = |analyte, value, species| Names::Standard(analyte, Quantity::new(value, Unit::mg_l(species)));
    let (reef, hall) = log
        .write(now, |w| {
            let reef = w.add_tank(&NewTank::new("reef", "UTC", WaterKind::Marine))?;
            let hall = w.add_tank(&NewTank::new("hall", "UTC", WaterKind::Fresh))?;
            let all = [
                (key("drops", "nitrite", Analyte::Nitrite, Species::Nitrite), "nitrite"),
                (key("drops", "nitrate", Analyte::Nitrate, Species::NitrateN), "nitrate"),
                (key("other", "nitrite", Analyte::Nitrite, Species::Nitrite), "nitrite other"),
                (key("drops", "lost", Analyte::Nitrite, Species::Nitrite), "lost"),
                (Names::Tank(reef), "reef"),
                (Names::Tank(hall), "hall"),
                (Names::Tap, "tap water"),
                (Names::NewWater, "new water"),
                (standard(Analyte::Nitrate, 4.426, Species::Nitrate), "nitrate 4.426"),
                (Names::Zero, "zero standard"),
                (Names::Clear, "clear vial"),
                (standard(Analyte::Ammonia, 1.0, Species::AmmoniaN), "ammonia 1"),
                (standard(Analyte::Nitrate, 9.0, Species::Nitrate), "nitrate 9"),
            ];
            let mut last = None;
            for (names, words) in &all {
                last = Some(w.label(names, words)?.id);
            }
            w.undo(&Undo::Entry(last.unwrap()), "lost")?;
            Ok((Target::Tank(reef), Target::Tank(hall)))
        })
        .unwrap();
    Home { log, kit, reef, hall }
}

fn seen(labels: &[(&str, u32)]) -> Labels {
    let label = |(station, number): &(&str, u32)| Label {
        number: *number,
        kind: LabelKind::of(*number).unwrap(),
        station: Some(station.to_string()).filter(|s| s != "-"),
        outline: [[0.0; 2]; 4],
    };
    Labels { read: labels.iter().map(label).collect(), unreadable: Vec::new() }
}

/// Station, test, target, words of the label.
type Row = (String, String, Target, Option<String>);

impl Home {
    fn told(&self, labels: &[(&str, u32)]) -> Result<Told, &'static str> {
        Told::new(&seen(labels), &self.log.labels().unwrap(), &Layout::first()).map_err(|e| e.code())
    }

    /// Station, test, target and words of what labels and words typed name.
    fn named(
        &self,
        labels: &[(&str, u32)],
        typed: &[(&str, &str)],
        tank: Option<Target>,
        only: Option<Target>,
    ) -> Result<Vec<Row>, &'static str> {
        let asks: Vec<Ask> = typed.iter().map(|(s, t)| ask(s, t)).collect();
        let named = self.told(labels)?.named(&asks, tank, only, &self.kit).map_err(|e| e.code())?;
        let rows = named.asks.into_iter().zip(named.waters);
        Ok(rows.map(|(a, w)| (a.station, a.test, w.target, w.label)).collect())
    }
}

fn ask(station: &str, test: &str) -> Ask {
    Ask { station: station.into(), test: test.into(), dilution: None }
}

#[test]
fn card_and_log_mean_the_same_numbers() {
    for number in 0..600 {
        let by_log =
            [Names::Test(key_of_nitrite()), Names::Tap].into_iter().position(|n| n.numbers().contains(&number));
        let by_card = LabelKind::of(number).map(|k| k as usize);
        assert_eq!(by_log, by_card, "{number}");
    }
}

fn key_of_nitrite() -> TestKey {
    let unit = Unit::mg_l(Species::Nitrite);
    TestKey { kit: None, name: "nitrite".into(), analyte: Analyte::Nitrite, unit }
}

#[test]
fn every_station_has_its_own_test_and_water() {
    let h = home();
    let labels = [("A", 16), ("A", 256), ("B", 17), ("B", 257), ("C", 17), ("C", 258), ("D", 16), ("D", 259)];
    let got = h.named(&labels, &[], None, None).unwrap();
    let row = |s: &str, t: &str, target, label: Option<&str>| (s.into(), t.into(), target, label.map(String::from));
    let want = [
        row("A", "nitrite", h.reef, None),
        row("B", "nitrate", h.hall, None),
        row("C", "nitrate", Target::Tap, None),
        row("D", "nitrite", Target::Tap, Some("new water")),
    ];
    assert_eq!(got, want);
    assert_eq!(h.told(&labels).unwrap().kit(None), Ok(Some("drops")));
    // A standard that is read, not calibrated with, is a standard in the log.
    let got = h.named(&[("A", 17), ("A", 260), ("B", 16), ("B", 261)], &[], None, None).unwrap();
    assert_eq!(got[0], row("A", "nitrate", Target::Standard, Some("nitrate 4.426")));
    assert_eq!(got[1], row("B", "nitrite", Target::Standard, Some("zero standard")));
    // A clear vial is no sample.
    let told = h.told(&[("A", 16), ("A", 256), ("C", 262)]).unwrap();
    let named = told.named(&[], None, None, &h.kit).unwrap();
    assert_eq!((named.asks.len(), named.clear.as_deref(), named.labelled), (1, Some("C"), true));
}

#[test]
fn labels_and_words_fill_each_other_in() {
    let h = home();
    let row = |s: &str, t: &str, target| (s.to_string(), t.to_string(), target, None);
    // A test's label alone: the tank named, or the only one.
    assert_eq!(h.named(&[("A", 16)], &[], Some(h.hall), None), Ok(vec![row("A", "nitrite", h.hall)]));
    assert_eq!(h.named(&[("A", 16)], &[], None, Some(h.reef)), Ok(vec![row("A", "nitrite", h.reef)]));
    assert_eq!(h.named(&[("A", 16)], &[], None, None), Err("label-no-target"));
    // A tank's label with the test typed.
    assert_eq!(h.named(&[("B", 257)], &[("B", "nitrate")], None, None), Ok(vec![row("B", "nitrate", h.hall)]));
    assert_eq!(h.named(&[("B", 257)], &[], None, None), Err("label-no-test"));
    // Said twice is said once; other stations come along.
    let both = h.named(&[("A", 16), ("A", 256), ("B", 17), ("B", 256)], &[("A", "nitrite")], Some(h.reef), None);
    assert_eq!(both, Ok(vec![row("A", "nitrite", h.reef), row("B", "nitrate", h.reef)]));
    // Two prints of one label are one label.
    assert_eq!(h.named(&[("A", 16), ("A", 16), ("A", 256)], &[], None, None), Ok(vec![row("A", "nitrite", h.reef)]));
}

#[test]
fn contradictions_are_errors() {
    let h = home();
    let named = |labels: &[(&str, u32)], typed: &[(&str, &str)], tank| h.named(labels, typed, tank, None).unwrap_err();
    assert_eq!(named(&[("A", 16), ("A", 17), ("A", 256)], &[], None), "label-two");
    assert_eq!(named(&[("A", 16), ("A", 256), ("A", 257)], &[], None), "label-two");
    assert_eq!(named(&[("A", 16), ("A", 256)], &[("A", "nitrate")], None), "label-against");
    assert_eq!(named(&[("A", 16), ("A", 256)], &[], Some(h.hall)), "label-against");
    assert_eq!(named(&[("A", 16), ("A", 258)], &[], Some(h.hall)), "label-against");
    assert_eq!(named(&[("-", 16)], &[], None), "label-between");
    assert_eq!(named(&[("A", 16), ("A", 262)], &[], None), "label-clear-tested");
    assert_eq!(named(&[("A", 262)], &[("A", "nitrite")], Some(h.reef)), "label-clear-tested");
    assert_eq!(named(&[("A", 262), ("B", 262)], &[], None), "label-clear-twice");
    assert_eq!(named(&[("A", 19), ("A", 256)], &[], None), "label-test-gone");
    let told = h.told(&[("A", 16), ("B", 18)]).unwrap();
    assert_eq!(told.kit(None).unwrap_err().code(), "label-kits");
    let told = h.told(&[("A", 16)]).unwrap();
    assert_eq!(told.kit(Some("Drops")), Ok(Some("drops")));
    assert_eq!(told.kit(Some("other")).unwrap_err().code(), "label-against");
}

#[test]
fn numbers_that_mean_nothing_here_are_errors() {
    let mut h = home();
    assert_eq!(h.told(&[("A", 99)]), Err("label-unknown"));
    assert_eq!(h.told(&[("A", 500)]), Err("label-unknown"));
    assert_eq!(h.told(&[("A", 264)]), Err("label-retired"));
    // Another home's log, taken in: its number 256 is another tank.
    let mut other = Log::open_memory().unwrap();
    let now = "2026-03-01T12:00:00Z".parse().unwrap();
    other
        .write(now, |w| {
            let den = w.add_tank(&NewTank::new("den", "UTC", WaterKind::Fresh))?;
            w.label(&Names::Tank(den), "den")
        })
        .unwrap();
    let mut text = Vec::new();
    other.export_json(&mut text).unwrap();
    h.log.import_json(&mut text.as_slice()).unwrap();
    assert_eq!(h.told(&[("A", 256)]), Err("label-two-meanings"));
    // With one of them retired it means one thing again.
    let den = h.log.labels().unwrap().into_iter().find(|l: &log::Label| l.words == "den").unwrap();
    h.log.write(now, |w| w.undo(&Undo::Entry(den.id), "printed anew")).unwrap();
    assert!(h.told(&[("A", 256)]).is_ok());
}

#[test]
fn a_label_that_cannot_be_read_stops_unless_nothing_hangs_on_it() {
    let h = home();
    let labels = Labels { unreadable: vec!["B".into()], ..seen(&[("A", 16), ("A", 256)]) };
    let told = Told::new(&labels, &h.log.labels().unwrap(), &Layout::first()).unwrap();
    let code = |typed: &[Ask], tank| told.named(typed, tank, None, &h.kit).map(|n| n.asks.len()).map_err(|e| e.code());
    assert_eq!(code(&[], None), Err("label-unreadable"));
    assert_eq!(code(&[ask("B", "nitrate")], None), Err("label-unreadable"), "it may say another tank");
    assert_eq!(code(&[ask("B", "nitrate")], Some(h.reef)), Ok(2));
    assert_eq!(told.standards(&h.kit).unwrap_err().code(), "label-unreadable");
}

#[test]
fn labels_of_standards_calibrate() {
    let h = home();
    let standards = |labels: &[(&str, u32)]| h.told(labels)?.standards(&h.kit).map_err(|e| e.code());
    let got = standards(&[("A", 17), ("A", 260), ("C", 17), ("C", 261), ("D", 262)]).unwrap();
    let of = |s: &Standard| (s.station.clone(), s.test.clone());
    assert_eq!(
        got.iter().map(of).collect::<Vec<_>>(),
        [("A".into(), "nitrate".into()), ("C".into(), "nitrate".into())]
    );
    // 4.426 mg/L as nitrate ion are 1.000 mg/L as nitrogen: 14.007 / 62.004 (CIAAW standard atomic weights).
    assert!((got[0].value - 4.426 * 14.007 / 62.004).abs() < 1e-4, "{}", got[0].value);
    assert_eq!(got[1].value, 0.0);
    assert_eq!(standards(&[("A", 17), ("A", 263)]), Err("label-other-standard"));
    assert_eq!(standards(&[("A", 17), ("A", 256)]), Err("label-no-standard"));
    assert_eq!(standards(&[("A", 17)]), Err("label-no-standard"));
    assert_eq!(standards(&[("A", 261)]), Err("label-no-test"));
}
