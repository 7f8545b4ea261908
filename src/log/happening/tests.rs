use super::*;
use crate::moment::{Certainty, TimeSource};
use crate::water::{Amount, Analyte, Interval, Quantity, Unit};
use jiff::tz::Offset;
use proptest::prelude::*;

fn moment() -> Moment {
    let instant = "2026-03-01T12:00:00Z".parse().unwrap();
    Moment { instant, offset: Offset::UTC, source: TimeSource::Keeper, certainty: Certainty::Sure }
}

fn amount() -> impl Strategy<Value = (Analyte, Amount)> {
    let nitrate = |value: f64| Quantity::new(value, Unit::parse("mg/L NO3-", &Analyte::Nitrate).unwrap());
    (1e-6..1e3f64, 0.0..1.0f64, 0..3u8).prop_map(move |(x, share, form)| {
        let amount = match form {
            0 => Amount::measured(nitrate(x), Interval::new(x * share, x / (1.0 - share / 2.0)).unwrap()),
            1 => Amount::not_detected(nitrate(x)),
            _ => Amount::above(nitrate(x)),
        };
        (Analyte::Nitrate, amount.unwrap())
    })
}

fn opt(range: std::ops::Range<f64>) -> impl Strategy<Value = Option<f64>> {
    proptest::option::of(range)
}

fn words() -> impl Strategy<Value = Option<String>> {
    proptest::option::of("\\PC{0,20}")
}

fn stock() -> impl Strategy<Value = Stock> {
    let animal = proptest::option::of(proptest::sample::select(Animal::ALL));
    (proptest::option::of(any::<u32>()), animal, words(), opt(0.0..1e3), opt(0.0..1e6))
        .prop_map(|(number, animal, species, size_cm, mass_g)| Stock { number, animal, species, size_cm, mass_g })
}

fn dose() -> impl Strategy<Value = Ammonia> {
    let strength = proptest::option::of(proptest::sample::select(Strength::ALL));
    let units = Unit::choices(&Analyte::Ammonia);
    prop_oneof![
        (0.0..1e4f64, opt(0.0..100.0), strength).prop_map(|(ml, percent, strength)| Ammonia::Solution {
            ml,
            percent,
            strength
        }),
        (0.0..1e4f64).prop_map(|grams| Ammonia::Chloride { grams }),
        (0.0..1e2f64, proptest::sample::select(units)).prop_map(|(value, unit)| Ammonia::Concentration {
            value,
            unit: Unit::parse(&unit, &Analyte::Ammonia).unwrap()
        }),
        Just(Ammonia::Unknown),
    ]
}

fn facts() -> impl Strategy<Value = TankFacts> {
    let water = proptest::option::of(proptest::sample::select(&crate::log::WaterKind::ALL[..]));
    (water, opt(0.1..1e5), opt(0.0..42.0), opt(1.0..40.0), proptest::option::of(any::<bool>())).prop_map(
        |(water, volume_l, salinity_g_kg, celsius, planted)| TankFacts {
            water,
            volume_l,
            salinity_g_kg,
            celsius,
            planted,
        },
    )
}

/// Every kind at least as often as one in thirty.
fn happening() -> impl Strategy<Value = Happening> {
    let shared = (opt(0.0..1e6), opt(1e-9..1.0), words(), proptest::option::of(any::<bool>()));
    let parts = (stock(), dose(), facts(), proptest::collection::vec(amount(), 0..4));
    let enums = (
        proptest::option::of(proptest::sample::select(RinsedIn::ALL)),
        proptest::option::of(proptest::sample::select(Topped::ALL)),
        proptest::option::of(proptest::sample::select(PlantChange::ALL)),
    );
    (0..Happening::KINDS.len(), shared, parts, enums).prop_map(|(i, shared, parts, enums)| {
        let ((x, share, what, flag), (stock, dose, facts, values)) = (shared, parts);
        let (rinsed_in, with, change) = enums;
        let id = Id::parse("019ca869-5000-73af-9482-2c6cd2181f3e").unwrap();
        use Happening as H;
        match Happening::KINDS[i] {
            "fish-added" => H::FishAdded { stock },
            "fish-removed" => H::FishRemoved { stock },
            "fish-died" => H::FishDied { stock },
            "fish-counted" => H::FishCounted { stock },
            "feeding" => H::Feeding { grams: x, protein: share, food: what },
            "media-added" => H::MediaAdded { litres: x, media: what, mature: flag },
            "media-removed" => H::MediaRemoved { litres: x, share, media: what },
            "media-rinsed" => H::MediaRinsed { share, rinsed_in },
            "media-moved" => H::MediaMoved { to: id, litres: x, share, media: what },
            "decor-removed" => H::DecorRemoved { what },
            "water-change" => H::WaterChange { litres: x, share, new_water: NewWater { values } },
            "top-up" => H::TopUp { litres: x, with },
            "ammonia-dosed" => H::AmmoniaDosed { dose },
            "conditioner" => H::Conditioner { ml: x, product: what, binds_ammonia: flag },
            "buffer" => H::Buffer { grams: x, ml: x, product: what },
            "salt" => H::Salt { grams: x, product: what },
            "medicine" => H::Medicine { ml: x, grams: x, product: what, copper: flag },
            "power-cut" => H::PowerCut { hours: x },
            "filter-off" => H::FilterOff { hours: x },
            "heater-fault" => H::HeaterFault { celsius: x },
            "plants" => H::Plants { change, what },
            "symptom" => H::Symptom { seen: what },
            "symptom-over" => H::SymptomOver {},
            "declared-established" => H::DeclaredEstablished {},
            "tank-described" => H::TankDescribed { facts },
            "note" => H::Note {},
            other => panic!("the kind {other} is not tested"),
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_happening_comes_back_from_its_payload(what in happening()) {
        let tank = Id::parse("019ca869-6000-73af-9482-2c6cd2181f3e");
        let event = what.event(tank, moment(), None).unwrap();
        // Through text, as the log and its exports keep it.
        let text = serde_json::to_string(&event.payload).unwrap();
        let payload = serde_json::from_str(&text).unwrap();
        prop_assert_eq!(Happening::read(&event.kind, &payload), Ok(what));
    }

    #[test]
    fn what_is_not_known_is_kept_as_it_is(key in "[a-z_]{1,12}", number in any::<f64>()) {
        let payload: Map<String, Value> = [(key, number.into())].into_iter().collect();
        let other = Happening::read("moon-phase", &payload).unwrap();
        prop_assert_eq!((other.kind(), other.payload()), ("moon-phase", payload));
    }
}

#[test]
fn the_stored_form_is_as_published() {
    let payload = |what: Happening| Value::Object(what.payload()).to_string();
    let stock = Stock { size_cm: Some(2.5), animal: Some(Animal::Fish), ..Stock::of(Some(3), Some("tetra")) };
    assert_eq!(
        payload(Happening::FishAdded { stock }),
        r#"{"animal":"fish","number":3,"size_cm":2.5,"species":"tetra"}"#
    );
    let unit = Unit::parse("mg/L NH3-N", &Analyte::Ammonia).unwrap();
    assert_eq!(
        payload(Happening::AmmoniaDosed { dose: Ammonia::Concentration { value: 2.0, unit } }),
        r#"{"form":"concentration","unit":"mg/L NH3-N","value":2.0}"#
    );
    let strength = Some(Strength::ByWeight);
    assert_eq!(
        payload(Happening::AmmoniaDosed { dose: Ammonia::Solution { ml: 4.0, percent: Some(9.5), strength } }),
        r#"{"form":"solution","ml":4.0,"percent":9.5,"strength":"by-weight"}"#
    );
    let below = Quantity::new(5.0, Unit::parse("mg/L NO3-", &Analyte::Nitrate).unwrap());
    let values = vec![(Analyte::Nitrate, Amount::not_detected(below).unwrap())];
    assert_eq!(
        payload(Happening::WaterChange { litres: Some(30.0), share: None, new_water: NewWater { values } }),
        r#"{"litres":30.0,"new_water":[{"analyte":"nitrate","limit":5.0,"status":"not-detected","unit":"mg/L NO3-"}]}"#
    );
}

#[test]
fn what_cannot_be_is_not_an_event() {
    let no = |what: Happening, tank: Option<Id>| what.event(tank, moment(), None).unwrap_err().to_string();
    let change = |share| Happening::WaterChange { litres: None, share: Some(share), new_water: NewWater::default() };
    assert_eq!(no(change(4.0), None), "water-change: share of 400 % is more than all");
    assert_eq!(no(change(0.0), None), "water-change: share of 0 % is nothing");
    assert_eq!(no(change(f64::INFINITY), None), "water-change: a number is not finite");
    assert_eq!(no(Happening::PowerCut { hours: Some(-2.0) }, None), "power-cut: hours of -2 is less than none");
    let to = Id::parse("019ca869-5000-73af-9482-2c6cd2181f3e").unwrap();
    let moved = Happening::MediaMoved { to, litres: None, share: None, media: None };
    assert!(no(moved.clone(), None).contains("came from is not known"));
    assert!(no(moved, Some(to)).contains("is the one they came from"));
}

#[test]
fn a_payload_that_cannot_be_read_says_which_field() {
    let read =
        |kind: &str, payload: Value| Happening::read(kind, payload.as_object().unwrap()).unwrap_err().to_string();
    assert_eq!(read("fish-died", serde_json::json!({"number": 1.5})), "fish-died: number is no count");
    assert_eq!(read("feeding", serde_json::json!({"grams": "1"})), "feeding: grams is no number");
    assert_eq!(read("media-moved", serde_json::json!({})), "media-moved: to is no id");
    assert_eq!(read("ammonia-dosed", serde_json::json!({"form": "gas"})), "ammonia-dosed: form of 'gas' is not known");
    let bare_zero = serde_json::json!({"new_water": [{"analyte": "nitrate", "unit": "mg/L NO3-", "status": "measured",
        "value": 0.0, "lower": 0.0, "upper": 1.0}]});
    assert!(read("water-change", bare_zero).contains("exactly zero"), "no zero comes in through a payload");
    // Keys of a later version are passed over, the known ones read.
    let later = serde_json::json!({"hours": 2.0, "cause": "storm"});
    assert_eq!(Happening::read("power-cut", later.as_object().unwrap()), Ok(Happening::PowerCut { hours: Some(2.0) }));
}
