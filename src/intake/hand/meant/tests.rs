use super::*;
use crate::water::{Analyte, Unit};

fn said(kind: &str, line: &str) -> (Happening, Option<String>) {
    happening(kind, line, Beside::default()).unwrap_or_else(|e| panic!("{kind} {line}: {e}"))
}

fn code(kind: &str, line: &str) -> &'static str {
    happening(kind, line, Beside::default()).unwrap_err().code()
}

fn words(s: &str) -> Option<String> {
    Some(s.to_string())
}

#[test]
fn events_in_plain_words() {
    let stock = Stock { size_cm: Some(2.0), ..Stock::of(Some(3), Some("neon tetras")) };
    assert_eq!(said("fish-added", "3 neon tetras 2 cm"), (Happening::FishAdded { stock }, None));
    let stock = Stock { animal: Some(Animal::Invertebrate), ..Stock::of(Some(10), Some("shrimps")) };
    assert_eq!(said("fish", "10 shrimps").0, Happening::FishAdded { stock });
    let stock = Stock::of(Some(1), Some("tetra"));
    assert_eq!(said("died", "one tetra").0, Happening::FishDied { stock });
    let feeding = Happening::Feeding { grams: Some(0.5), protein: None, food: words("flakes") };
    assert_eq!(said("fed", "0,5 g flakes"), (feeding, None));
    let change = Happening::WaterChange { litres: Some(20.0), share: None, new_water: NewWater::default() };
    assert_eq!(said("water change", "20 L with the hose"), (change, words("with the hose")));
    let rinsed = Happening::MediaRinsed { share: Some(0.5), rinsed_in: Some(RinsedIn::TankWater) };
    assert_eq!(said("media-rinsed", "half in tank water").0, rinsed);
    assert_eq!(said("outage", "90 min").0, Happening::PowerCut { hours: Some(1.5) });
    assert_eq!(said("heater-fault", "31 °C").0, Happening::HeaterFault { celsius: Some(31.0) });
    assert_eq!(said("top-up", "2 L pure").0, Happening::TopUp { litres: Some(2.0), with: Some(Topped::Pure) });
    let plants = Happening::Plants { change: Some(PlantChange::Added), what: words("5 stems hornwort") };
    assert_eq!(said("plants", "added 5 stems hornwort").0, plants);
    assert_eq!(
        said("sick", "3 gasping at 80% height").0,
        Happening::Symptom { seen: words("3 gasping at 80% height") }
    );
    assert_eq!(said("note", "moved the lamp"), (Happening::Note {}, words("moved the lamp")));
    let binds = |line: &str| match said("conditioner", line).0 {
        Happening::Conditioner { binds_ammonia, .. } => binds_ammonia,
        other => panic!("{other:?}"),
    };
    assert_eq!((binds("5 mL plain"), binds("binds ammonia"), binds("5 mL")), (Some(false), Some(true), None));
    assert_eq!(said("conditioner", "").0, Happening::Conditioner { ml: None, product: None, binds_ammonia: None });
}

#[test]
fn no_fish_is_a_count_of_its_own() {
    let number = |line: &str| match said("fish-counted", line).0 {
        Happening::FishCounted { stock } => (stock.number, stock.species),
        other => panic!("{other:?}"),
    };
    assert_eq!(number("none"), (Some(0), None));
    assert_eq!(number("no fish"), (Some(0), None));
    assert_eq!(number("0"), (Some(0), None));
    assert_eq!(number("some"), (None, None));
    assert_eq!(number("12 fish"), (Some(12), None));
    assert_eq!(number("12 neon tetras"), (Some(12), words("neon tetras")));
}

#[test]
fn ammonia_needs_its_basis() {
    let dose = |line: &str| match said("ammonia-dosed", line).0 {
        Happening::AmmoniaDosed { dose } => dose,
        other => panic!("{other:?}"),
    };
    let unit = |text: &str| Unit::parse(text, &Analyte::Ammonia).unwrap();
    assert_eq!(dose("2 mg/L NH3-N"), Ammonia::Concentration { value: 2.0, unit: unit("mg/L NH3-N") });
    assert_eq!(dose("2,5 ppm NH3"), Ammonia::Concentration { value: 2.5, unit: unit("mg/L NH3") });
    let strength = Some(Strength::ByWeight);
    assert_eq!(dose("4 mL 9.5% by weight"), Ammonia::Solution { ml: 4.0, percent: Some(9.5), strength });
    assert_eq!(dose("4 mL"), Ammonia::Solution { ml: 4.0, percent: None, strength: None });
    assert_eq!(dose("3 g ammonium chloride"), Ammonia::Chloride { grams: 3.0 });
    assert_eq!(dose(""), Ammonia::Unknown);
    assert_eq!(code("ammonia-dosed", "2 mg/L"), "unit-needs-basis");
    assert_eq!(code("ammonia-dosed", "2"), "event-number-bare");
    assert_eq!(code("ammonia-dosed", "3 g"), "event-number-misplaced");
    assert_eq!(code("ammonia-dosed", "4 mL 95%"), "water-out-of-range");
}

#[test]
fn what_cannot_be_meant_says_what_could() {
    for (kind, line, want) in [
        ("moon-phase", "", "event-kind"),
        ("tank-described", "", "event-kind"),
        ("feeding", "30%", "event-number-misplaced"),
        ("water-change", "30", "event-number-bare"),
        ("water-change", "30 g", "event-number-misplaced"),
        ("water-change", "30% 20%", "event-number-twice"),
        ("water-change", "-30%", "event-number"),
        ("fish-added", "2.5 tetras", "event-number"),
        ("power-cut", "3 L", "event-number-misplaced"),
        ("media-moved", "half", "event-incomplete"),
        ("note", " ", "event-incomplete"),
    ] {
        assert_eq!(code(kind, line), want, "{kind} {line}");
    }
    let e = happening("moon-phase", "", Beside::default()).unwrap_err();
    assert!(e.remedy().contains("water-change") && !e.remedy().contains("tank-described"), "{}", e.remedy());
}

#[test]
fn every_kind_has_a_spelling_of_its_own() {
    let mut seen = std::collections::BTreeSet::new();
    for (kind, all) in SPELLINGS {
        assert!(Happening::KINDS.contains(kind), "{kind}");
        for word in *all {
            assert!(seen.insert(word) && !Happening::KINDS.contains(word), "{word} stands twice");
        }
    }
    let told = Happening::KINDS.iter().filter(|k| **k != "tank-described").count();
    assert_eq!(told, SPELLINGS.len());
}
