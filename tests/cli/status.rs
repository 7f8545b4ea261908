//! `status`, `report --text`, `log --text`.

use super::wire::{EventAdded, StatusShown, TankSummary};
use crate::support::House;
use jiff::{SignedDuration, Timestamp, tz::Offset};
use tintline::log::happening::{Ammonia, NewWater, Stock, TankFacts};
use tintline::log::*;
use tintline::moment::{Certainty, Moment, TimeSource};
use tintline::reading::Outcome;
use tintline::water::{Amount, Analyte, Interval, Quantity, Unit};

/// So many hours before now, which is the program's own clock.
fn ago(h: f64) -> Moment {
    let instant = Timestamp::now() - SignedDuration::from_secs_f64(h * 3600.0);
    Moment { instant, offset: Offset::UTC, source: TimeSource::Keeper, certainty: Certainty::Sure }
}

/// Writes a log. It is closed after each entry, so that the program finds it as a file at rest.
struct Keeper {
    path: std::path::PathBuf,
    tank: Id,
}

impl Keeper {
    /// A house with tanks in it; of the last the entries are written.
    fn new(house: &House, tanks: &[(&str, WaterKind)]) -> Self {
        std::fs::create_dir_all(house.path("home")).unwrap();
        let path = house.path("home/log.db");
        let mut log = Log::open(&path).unwrap();
        let mut tank = None;
        for (name, water) in tanks {
            let new = NewTank { volume_l: Some(100.0), ..NewTank::new(name, "Europe/Berlin", *water) };
            tank = Some(log.write(ago(0.0).instant, |w| w.add_tank(&new)).unwrap());
        }
        Self { path, tank: tank.unwrap() }
    }

    fn log(&self) -> Log {
        Log::open(&self.path).unwrap()
    }

    fn amount(&mut self, h: f64, target: Target, analyte: Analyte, unit: &str, amount: impl Fn(Unit) -> Amount) {
        let unit = Unit::parse(unit, &analyte).unwrap();
        let key = TestKey { kit: None, name: analyte.as_str().into(), analyte, unit: unit.clone() };
        let reading = NewReading::by_hand(key, Outcome::Read(amount(unit)), None, "0");
        let sample = NewSample { drawn: Some(ago(h)), ..NewSample::new(target, ago(0.0)) };
        self.log().write(ago(0.0).instant, |w| w.add_reading(Whose::New(&sample), &reading)).unwrap();
    }

    fn some(&mut self, h: f64, analyte: Analyte, unit: &str, value: f64) {
        self.amount(h, Target::Tank(self.tank), analyte, unit, |u| {
            Amount::measured(Quantity::new(value, u), Interval::new(0.9 * value, 1.1 * value).unwrap()).unwrap()
        });
    }

    fn none(&mut self, h: f64, analyte: Analyte, unit: &str, below: f64) {
        self.amount(h, Target::Tank(self.tank), analyte, unit, |u| {
            Amount::not_detected(Quantity::new(below, u)).unwrap()
        });
    }

    fn happens(&mut self, h: f64, what: Happening, note: Option<&str>) {
        let event = what.event(Some(self.tank), ago(h), note.map(str::to_string)).unwrap();
        self.log().write(ago(0.0).instant, |w| w.add_event(&event)).unwrap();
    }
}

#[test]
fn without_a_tank_it_says_what_to_do() {
    let house = House::new();
    house.run(&["status"]).out_has("No tank yet").out_has("Air first").go();
    assert!(house.run(&["status", "--json"]).go().json::<StatusShown>().tanks.is_empty());
    house.run(&["status", "hall"]).exit(2).err_has("[tank-unknown]").go();
    house.run(&["report", "--text"]).exit(2).err_has("[name-none-yet]").go();
    house.run(&["report"]).exit(2).err_has("--out").go();
    house.run(&["log", "--text", "--all"]).exit(2).err_has("cannot be used with").go();
}

#[test]
fn an_empty_tank_is_unknown_not_calm() {
    let house = House::new();
    Keeper::new(&house, &[("hall", WaterKind::Fresh)]);
    let said = house.run(&["status"]).go().out;
    assert!(said.contains("Danger: ? unknown") && said.contains("Stage of the cycle: cannot tell"), "{said}");
    let t = &house.run(&["status", "--json"]).go().json::<StatusShown>().tanks[0];
    assert!(t.danger.untested && t.danger.level == "unknown" && t.danger.text == "unknown");
    assert_eq!(t.stage.missing, ["ammonia", "nitrite"]);
}

#[test]
fn the_worst_tank_comes_first() {
    let house = House::new();
    let mut k = Keeper::new(&house, &[("calm", WaterKind::Fresh), ("bad", WaterKind::Fresh)]);
    k.some(1.0, Analyte::Nitrite, "mg/L NO2-", 3.0);
    k.none(1.0, Analyte::Ammonia, "mg/L NH3-N", 0.1);
    let said = house.run(&["status"]).go().out;
    let lines: Vec<&str> = said.lines().collect();
    assert!(lines[0].starts_with("!!!") && lines[0].contains("bad") && lines[0].contains("urgent"), "{said}");
    assert!(lines[1].starts_with("?") && lines[1].contains("calm"), "{said}");
    let t = house.run(&["status", "--json"]).go().json::<StatusShown>().tanks;
    assert_eq!([t[0].tank.as_str(), t[1].tank.as_str()], ["bad", "calm"]);
}

#[test]
fn a_tank_in_danger_is_told_what_to_do_and_why() {
    let house = House::new();
    let mut k = Keeper::new(&house, &[("hall", WaterKind::Fresh)]);
    k.happens(900.0, Happening::DeclaredEstablished {}, None);
    let facts = TankFacts { planted: Some(true), ..TankFacts::default() };
    k.happens(900.0, Happening::TankDescribed { facts }, None);
    k.happens(30.0, Happening::FishAdded { stock: Stock::of(Some(6), Some("barbs")) }, Some("from my cousin"));
    k.some(2.0, Analyte::Temperature, "°C", 26.0);
    k.some(2.0, Analyte::Ph, "pH", 8.2);
    k.some(2.0, Analyte::Ammonia, "mg/L NH4+", 1.28786);
    k.none(2.0, Analyte::Nitrite, "mg/L NO2-", 0.1);
    let said = house.run(&["status", "HALL"]).go().out;
    for words in [
        "may be urgent",
        "change 50 % of the water now",
        "In the two weeks before: fish added 6",
        "[free-ammonia, 2 h ago]",
        "carry disease",
        "Next test: ",
    ] {
        assert!(said.contains(words), "no '{words}' in:\n{said}");
    }
    let t = &house.run(&["status", "hall", "--json"]).go().json::<StatusShown>().tanks[0];
    let line = &t.danger.lines[0];
    assert_eq!((line.hazard.as_str(), t.stage.stage.as_str(), t.stage.declared), ("free-ammonia", "disturbed", false));
    // It names the readings it rests on, by their entries.
    let entries: Vec<String> = k.log().readings(&Filter::default()).unwrap().iter().map(|r| r.id.short()).collect();
    assert_eq!(line.statement.rests_on.len(), 3, "ammonia, pH, temperature");
    assert!(line.statement.rests_on.iter().all(|b| entries.contains(&b.entry)));
    assert!(line.statement.source.contains("University of Florida"));
}

#[test]
fn a_fishless_cycle_is_followed_to_its_proofs() {
    let house = House::new();
    let mut k = Keeper::new(&house, &[("hall", WaterKind::Fresh)]);
    let stage = || house.run(&["status", "--json"]).go().json::<StatusShown>().tanks.remove(0);
    k.happens(80.0, Happening::FishCounted { stock: Stock::of(Some(0), None) }, None);
    // 0.764 g of ammonium chloride in 100 L are 2 mg/L N.
    k.happens(74.0, Happening::AmmoniaDosed { dose: Ammonia::Chloride { grams: 0.764 } }, None);
    k.some(50.0, Analyte::Nitrate, "mg/L NO3-N", 2.0);
    k.none(50.0, Analyte::Ammonia, "mg/L NH3-N", 0.1);
    k.none(50.0, Analyte::Nitrite, "mg/L NO2-", 0.1);
    let t = stage();
    assert_eq!((t.stage.stage.as_str(), t.stage.proofs), ("proof-once", 1), "{:?}", t.stage.why);
    assert!(t.today.iter().any(|s| s.text.contains("Dose 2 mg/L N again")), "{:?}", t.today);
    k.happens(
        27.0,
        Happening::AmmoniaDosed { dose: Ammonia::Solution { ml: 2.66, percent: Some(9.5), strength: None } },
        None,
    );
    k.some(3.0, Analyte::Nitrate, "mg/L NO3-N", 4.0);
    k.none(3.0, Analyte::Ammonia, "mg/L NH3-N", 0.1);
    k.none(3.0, Analyte::Nitrite, "mg/L NO2-", 0.1);
    let t = stage();
    assert_eq!((t.stage.stage.as_str(), t.stage.proofs), ("cycled", 2), "{:?}", t.stage.why);
    assert!(t.stage.why[0].rests_on.iter().any(|b| b.text == "ammonia dosed 2 mg/L N"), "{:?}", t.stage.why);
}

#[test]
fn a_symptom_comes_first() {
    let house = House::new();
    let mut k = Keeper::new(&house, &[("hall", WaterKind::Fresh)]);
    k.happens(0.5, Happening::Symptom { seen: Some("gasping".into()) }, None);
    let said = house.run(&["status"]).go().out;
    let first = said.find("Air first").unwrap();
    assert!(first < said.find("Danger:").unwrap() && said.contains("aquatic vet"), "{said}");
}

#[test]
fn logging_a_symptom_says_at_once_what_to_do() {
    let house = House::new();
    // Before there is any tank.
    let said = house.run(&["event", "add", "symptom", "gasping"]).exit(2).err_has("[name-none-yet]").go().out;
    assert!(said.starts_with("Air first") && said.contains("aquatic vet"), "{said}");
    assert!(said.contains("This is not logged yet"), "{said}");
    Keeper::new(&house, &[("one", WaterKind::Fresh), ("two", WaterKind::Fresh)]);
    let said = house.run(&["event", "add", "sick"]).exit(2).err_has("[name-ambiguous]").go().out;
    assert!(said.starts_with("Air first") && said.contains("say which tank it is"), "{said}");
    let house = House::new();
    Keeper::new(&house, &[("hall", WaterKind::Fresh)]);
    let add = |args: &[&'static str]| house.run(&[&["event", "add"], args].concat()).touches(&["home/log.db"]).go();
    assert!(add(&["symptom", "gasping"]).out.contains("Air first"));
    assert!(!add(&["feeding", "1 g"]).out.contains("Air first"));
    let added = add(&["symptom", "red gills", "--again", "--json"]).json::<EventAdded>();
    assert_eq!(added.first_help.len(), 7);
    assert!(add(&["symptom-over", "--json"]).json::<EventAdded>().first_help.is_empty());
}

#[test]
fn a_summary_holds_both_bases_and_no_names() {
    let house = House::new();
    let mut k = Keeper::new(&house, &[("by the sofa", WaterKind::Fresh)]);
    let chlorine = Analyte::parse("chlorine").unwrap();
    let cl = Unit::parse("mg/L", &chlorine).unwrap();
    let one = Amount::measured(Quantity::new(1.0, cl), Interval::new(0.8, 1.2).unwrap()).unwrap();
    let new_water = NewWater { values: vec![(chlorine, one)] };
    k.happens(20.0, Happening::WaterChange { litres: Some(25.0), share: None, new_water }, Some("my street's tap"));
    k.some(2.0, Analyte::Ammonia, "mg/L NH3-N", 0.5);
    k.none(2.0, Analyte::Nitrite, "mg/L NO2-", 0.1);
    let text = house.run(&["report", "--text"]).go().out;
    for words in [
        "Tank: fresh water, 100 L, animals not logged",
        "0.50 mg/L NH3-N (0.45 to 0.55) [0.61 (0.55 to 0.67) mg/L as NH3], 2 h ago",
        "not detected (below 0.1 mg/L NO2-) [<0.03 mg/L as N], 2 h ago",
        "water change 25 %, 20 h ago",
        "chlorine 1.00",
        "no proof",
    ] {
        assert!(text.contains(words), "no '{words}' in:\n{text}");
    }
    assert!(!text.contains("sofa") && !text.contains("street"), "{text}");
    assert_eq!(house.run(&["log", "--text", "--tank", "by the sofa"]).go().out, text);
    let json = house.run(&["report", "--text", "--json"]).go().json::<TankSummary>();
    assert_eq!((json.tank.as_str(), json.text), ("by the sofa", text));
}
