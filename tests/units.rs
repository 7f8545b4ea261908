//! Units, amounts and dilutions: published factors, the spellings keepers use, and what must hold for every value.

use proptest::prelude::*;
use tintline::water::{Amount, Analyte, Dilution, Interval, Measure, Quantity, Species, Typed, Unit};

const FACTORS: &str = include_str!("../fixtures/published/unit_factors.csv");

/// Half of the last of the seven printed digits.
const PRINTED: f64 = 5e-7;

#[test]
fn published_factors() {
    let mut rows = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(FACTORS.as_bytes());
    let mut checked = 0;
    for row in rows.records() {
        let row = row.unwrap();
        let analyte = Analyte::parse(&row[0]).unwrap();
        let from = Quantity::new(row[1].parse().unwrap(), Unit::parse(&row[2], &analyte).unwrap());
        let want: f64 = row[3].parse().unwrap();
        let got = from.to(&Unit::parse(&row[4], &analyte).unwrap()).unwrap().value;
        assert!((got / want - 1.0).abs() <= PRINTED, "{row:?}: {got}");
        checked += 1;
    }
    assert_eq!(checked, 25, "rows of the factor table");
}

#[test]
fn spellings_of_units() {
    for (analyte, typed, want) in [
        ("nitrate", "mg/l NO3", "mg/L NO3-"),
        ("nitrate", "ppm NO₃⁻", "mg/L NO3-"),
        ("nitrate", "mg/L (as NO3)", "mg/L NO3-"),
        ("nitrate", "MG/L no3-", "mg/L NO3-"),
        ("nitrate", "mg NO3/L", "mg/L NO3-"),
        ("nitrate", "ppm NO3-N", "mg/L NO3-N"),
        ("nitrate", "ppm NO₃⁻–N", "mg/L NO3-N"),
        ("nitrate", "mg/L NO3 as N", "mg/L NO3-N"),
        ("nitrate", "mg N/l", "mg/L NO3-N"),
        ("nitrate", "mg/L N", "mg/L NO3-N"),
        ("nitrate", "mg per litre nitrate-N", "mg/L NO3-N"),
        ("nitrite", "μg/L NO2-N", "µg/L NO2-N"),
        ("nitrite", "ppb NO2", "µg/L NO2-"),
        ("nitrite", "µmol/L NO2-", "µmol/L NO2-"),
        ("ammonia", "mg/L TAN", "mg/L NH3-N"),
        ("ammonia", "mg/L NH4-N", "mg/L NH3-N"),
        ("ammonia", "ppm NH3", "mg/L NH3"),
        ("ammonia", "mg/L NH₄⁺", "mg/L NH4+"),
        ("hardness", "°dGH", "dH"),
        ("hardness", "ppm CaCO3", "mg/L CaCO3"),
        ("alkalinity", "dKH", "dH"),
        ("alkalinity", "mval/l", "meq/L"),
        ("pH", "PH", "pH"),
        ("phosphate", "mg/l PO4³⁻", "mg/L PO4"),
        ("phosphate", "ppm PO4-P", "mg/L PO4-P"),
        ("iron", "ppm", "mg/L iron"),
        ("iron", "mg/l as Fe", "mg/L Fe"),
    ] {
        let unit = Unit::parse(typed, &Analyte::parse(analyte).unwrap());
        assert_eq!(unit.as_ref().map(Unit::as_str), Ok(want), "{analyte}: {typed}");
    }
}

#[test]
fn a_unit_without_its_basis_offers_the_choices() {
    for analyte in [Analyte::Ammonia, Analyte::Nitrite, Analyte::Nitrate, Analyte::Hardness, Analyte::Alkalinity] {
        let word = format!("mg/L {analyte}");
        for typed in ["ppm", "mg/L", "mg/l", "PPM", "µg/L", "mmol/L", word.as_str()] {
            let e = Unit::parse(typed, &analyte).unwrap_err();
            assert_eq!(e.code(), "unit-needs-basis", "{analyte}: {typed}");
            for choice in Unit::choices(&analyte) {
                assert!(e.remedy().contains(&choice), "{}", e.remedy());
            }
        }
    }
    let e = Unit::parse("ppm NH3/NH4", &Analyte::Ammonia).unwrap_err();
    assert_eq!(e.code(), "unit-needs-basis");
    assert_eq!(Unit::choices(&Analyte::Nitrate), ["mg/L NO3-N", "mg/L NO3-"]);
}

#[test]
fn units_of_something_else_are_refused() {
    for (analyte, typed, code) in [
        (Analyte::Nitrate, "mg/L NO2-", "unit-other-analyte"),
        (Analyte::Nitrate, "dH", "unit-other-analyte"),
        (Analyte::Nitrate, "pH", "unit-other-analyte"),
        (Analyte::Hardness, "dKH", "unit-other-analyte"),
        (Analyte::Alkalinity, "dGH", "unit-other-analyte"),
        (Analyte::Other("iron".into()), "mg/L NO3-", "unit-other-analyte"),
        (Analyte::Nitrate, "mg/L Fe", "unit-unknown"),
        (Analyte::Nitrate, "", "unit-unknown"),
        (Analyte::Nitrate, "NO3", "unit-unknown"),
        (Analyte::Nitrate, "mg NO3", "unit-unknown"),
        (Analyte::Nitrate, "mgNO3/L", "unit-unknown"),
        (Analyte::Nitrate, "kg/L NO3", "unit-unknown"),
        (Analyte::Ph, "mg/L", "unit-unknown"),
        (Analyte::Other("iron".into()), "mg/L Fe\"", "unit-unknown"),
    ] {
        let e = Unit::parse(typed, &analyte).unwrap_err();
        assert_eq!(e.code(), code, "{analyte}: {typed}");
        assert!(e.remedy().contains(&Unit::choices(&analyte)[0]), "{}", e.remedy());
    }
}

#[test]
fn the_forms_reports_rely_on() {
    for (analyte, text) in [
        (Analyte::Ammonia, "mg/L NH3-N"),
        (Analyte::Nitrite, "mg/L NO2-"),
        (Analyte::Nitrate, "mg/L NO3-"),
        (Analyte::Hardness, "mg/L CaCO3"),
        (Analyte::Alkalinity, "mg/L CaCO3"),
        (Analyte::Ph, "pH"),
        (Analyte::Other("phosphate".into()), "mg/L PO4"),
        (Analyte::Other("iron".into()), "mg/L iron"),
    ] {
        assert_eq!(analyte.canonical_unit().as_str(), text);
        assert!(analyte.canonical_unit().fits(&analyte));
    }
}

#[test]
fn hardness_never_meets_nitrate() {
    let q = Quantity::new(1.0, Unit::mg_l(Species::Nitrate));
    for to in [Unit::mg_l(Species::Nitrite), Unit::german_degree(), Unit::ph(), Unit::parse("mg/L", &iron()).unwrap()] {
        assert_eq!(q.to(&to).unwrap_err().code(), "unit-no-conversion", "{to}");
    }
    let iron_mass = Quantity::new(1.0, Unit::parse("mg/L Fe", &iron()).unwrap());
    assert_eq!(iron_mass.to(&Unit::parse("mmol/L Fe", &iron()).unwrap()).unwrap_err().code(), "unit-no-conversion");
    assert_eq!(iron_mass.to(&Unit::parse("µg/L Fe", &iron()).unwrap()).unwrap().value, 1000.0);
}

#[test]
fn nonsense_is_no_amount() {
    let n = |v: f64| Quantity::new(v, Unit::mg_l(Species::Nitrite));
    let ph = |v: f64| Quantity::new(v, Unit::ph());
    let i = |l, u| Interval::new(l, u).unwrap();
    for (got, code) in [
        (Amount::measured(n(0.0), i(0.0, 0.1)), "amount-zero"),
        (Amount::measured(n(-0.0), i(0.0, 0.1)), "amount-zero"),
        (Amount::measured(n(-1.0), i(-2.0, 0.1)), "amount-negative"),
        (Amount::measured(n(1.0), i(-0.1, 2.0)), "amount-negative"),
        (Amount::measured(n(f64::NAN), i(0.0, 2.0)), "amount-not-finite"),
        (Amount::measured(n(f64::INFINITY), i(0.0, 2.0)), "amount-not-finite"),
        (Amount::measured(n(3.0), i(0.0, 2.0)), "amount-interval-order"),
        (Amount::measured(ph(15.0), i(14.0, 16.0)), "amount-ph-out-of-range"),
        (Amount::measured(ph(7.0), i(6.0, 16.0)), "amount-ph-out-of-range"),
        (Amount::not_detected(n(0.0)), "amount-zero"),
        (Amount::not_detected(ph(6.0)), "amount-no-zero"),
        (Amount::above(n(f64::NAN)), "amount-not-finite"),
        (Amount::below(n(-1.0)), "amount-negative"),
    ] {
        let e = got.unwrap_err();
        assert_eq!(e.code(), code);
        assert!(e.remedy().ends_with('.'));
    }
    assert_eq!(Interval::new(2.0, 1.0).unwrap_err().code(), "amount-interval-order");
    assert_eq!(Interval::new(f64::NAN, 1.0).unwrap_err().code(), "amount-not-finite");
    // A pH of 0 is far off, yet no 'none'.
    assert!(Amount::measured(ph(0.0), i(0.0, 0.5)).is_ok());
}

#[test]
fn amounts_in_plain_words() {
    let n = |v: f64| Quantity::new(v, Unit::mg_l(Species::AmmoniaN));
    let ph = |v: f64| Quantity::new(v, Unit::ph());
    let m = |q: Quantity, l, u| Amount::measured(q, Interval::new(l, u).unwrap()).unwrap().to_string();
    assert_eq!(m(n(0.2134), 0.1601, 0.2699), "0.21 mg/L NH3-N (0.16 to 0.27)");
    assert_eq!(m(n(0.2134), 0.1699, 0.2601), "0.213 mg/L NH3-N (0.169 to 0.261)");
    assert_eq!(m(n(42.4), 31.0, 59.2), "42 mg/L NH3-N (31 to 60)");
    assert_eq!(m(n(0.004), 0.0, 0.5), "0.004 mg/L NH3-N (0 to 0.50)");
    assert_eq!(m(n(5.0), 5.0, 5.0), "5 mg/L NH3-N");
    assert_eq!(m(ph(7.23), 7.04, 7.41), "pH 7.23 (7.04 to 7.41)");
    assert_eq!(Amount::not_detected(n(0.05)).unwrap().to_string(), "not detected (below 0.05 mg/L NH3-N)");
    assert_eq!(Amount::not_detected(n(0.0471)).unwrap().to_string(), "not detected (below 0.048 mg/L NH3-N)");
    assert_eq!(Amount::above(n(5.0)).unwrap().to_string(), "above 5 mg/L NH3-N");
    assert_eq!(Amount::below(ph(6.0)).unwrap().to_string(), "below pH 6");
}

#[test]
fn ph_cannot_be_diluted() {
    let amount = Amount::measured(Quantity::new(7.0, Unit::ph()), Interval::new(6.8, 7.2).unwrap()).unwrap();
    let e = amount.diluted(Dilution::parse("1+1").unwrap()).unwrap_err();
    assert_eq!(e.code(), "dilution-not-for-ph");
}

#[test]
fn a_diluted_sample_scales_value_interval_and_limit() {
    let n = |v: f64| Quantity::new(v, Unit::mg_l(Species::Nitrate));
    let by5 = Dilution::parse("1+4").unwrap();
    let Amount::Measured { value, interval95 } =
        Amount::measured(n(20.0), Interval::new(16.0, 25.0).unwrap()).unwrap().diluted(by5).unwrap()
    else {
        panic!("a measured amount stays measured")
    };
    assert_eq!((value.value, interval95.lower(), interval95.upper()), (100.0, 80.0, 125.0));
    assert_eq!(Amount::not_detected(n(0.5)).unwrap().diluted(by5), Amount::not_detected(n(2.5)));
    assert_eq!(Amount::above(n(50.0)).unwrap().diluted(by5), Amount::above(n(250.0)));
}

fn iron() -> Analyte {
    Analyte::Other("iron".into())
}

/// Every unit of a known analyte, with the analyte.
fn all_units() -> Vec<(Analyte, Unit)> {
    let mut out = vec![(Analyte::Ph, Unit::ph())];
    let names = ["ammonia", "nitrite", "nitrate", "hardness", "alkalinity", "phosphate"];
    let analytes: Vec<Analyte> = names.iter().map(|n| Analyte::parse(n).unwrap()).collect();
    for s in Species::ALL {
        for m in Measure::ALL {
            out.extend(analytes.iter().filter(|a| Unit::of(m, s).fits(a)).map(|a| (a.clone(), Unit::of(m, s))));
        }
    }
    for a in [Analyte::Hardness, Analyte::Alkalinity] {
        out.extend(["dH", "fH", "eH", "gpg", "meq/L"].map(|t| (a.clone(), Unit::parse(t, &a).unwrap())));
    }
    out
}

#[test]
fn every_text_form_reads_back_to_its_unit() {
    let all = all_units();
    // pH, 10 bases in 4 measures (CaCO3 serving two analytes), 5 degrees for two analytes.
    assert_eq!(all.len(), 1 + (9 + 2) * 4 + 5 * 2);
    let texts: std::collections::BTreeSet<&str> = all.iter().map(|(_, u)| u.as_str()).collect();
    assert_eq!(texts.len(), 1 + 10 * 4 + 5);
    for (analyte, unit) in &all {
        assert_eq!(Unit::parse(unit.as_str(), analyte).as_ref(), Ok(unit));
        let one = Quantity::new(1.0, unit.clone()).canonical();
        assert_eq!(one.unit, analyte.canonical_unit(), "{unit}");
    }
}

proptest! {
    #[test]
    fn conversions_go_there_and_back(i in 0usize..55, j in 0usize..55, exponent in -6.0f64..6.0) {
        let all = all_units();
        let ((analyte, from), (other, to)) = (&all[i], &all[j]);
        let q = Quantity::new(10f64.powf(exponent), from.clone());
        match q.to(to) {
            Ok(there) => {
                let back = there.to(from).unwrap();
                prop_assert!((back.value / q.value - 1.0).abs() < 1e-14, "{from} {to}");
                prop_assert!((there.canonical().value / q.canonical().value - 1.0).abs() < 1e-14);
            }
            // CaCO3 serves hardness and alkalinity; no other two analytes share a unit.
            Err(_) => prop_assert!(analyte != other),
        }
    }

    #[test]
    fn own_analytes_keep_their_units(name in "[a-zA-Z][a-zA-Z0-9 .+_-]{0,30}", basis in "[a-zA-Z0-9 .+_()-]{0,20}") {
        let Ok(analyte) = Analyte::parse(&name) else { return Ok(()) };
        prop_assert_eq!(Analyte::parse(analyte.as_str()), Ok(analyte.clone()));
        prop_assert!(analyte.canonical_unit().fits(&analyte), "{:?}", analyte);
        if let Ok(unit) = Unit::parse(&format!("mg/L {basis}"), &analyte) {
            prop_assert_eq!(Unit::parse(unit.as_str(), &analyte), Ok(unit));
        }
    }

    #[test]
    fn whatever_is_typed_is_an_answer_not_a_panic(text in "\\PC{0,24}") {
        let analyte = Analyte::parse(&text).unwrap_or(Analyte::Nitrate);
        let unit = Unit::parse(&text, &analyte).unwrap_or_else(|_| analyte.canonical_unit());
        let _ = Dilution::parse(&text);
        if let Ok(amount) = Typed::parse(&text, &unit).map(|t| t.amount(&unit, Some(0.1))) {
            // Never a zero, and never an empty sentence.
            prop_assert!(amount.is_err() || amount.unwrap().level().value > 0.0 || !unit.has_zero());
        }
    }

    #[test]
    fn dilutions_read_back_and_scale(added in 0.1f64..99.0, value in 1e-3f64..1e3, spread in 0.0f64..0.9) {
        let d = Dilution::new(added).unwrap();
        prop_assert_eq!(Dilution::parse(&format!("1+{added:.3}")).unwrap().factor(), 1.0 + format!("{added:.3}").parse::<f64>().unwrap());
        let unit = Unit::mg_l(Species::Nitrate);
        let i = Interval::new(value * (1.0 - spread), value * (1.0 + spread)).unwrap();
        let a = Amount::measured(Quantity::new(value, unit), i).unwrap().diluted(d).unwrap();
        let Amount::Measured { value: v, interval95 } = a else { panic!("a measured amount stays measured") };
        prop_assert!((v.value / value / (1.0 + added) - 1.0).abs() < 1e-14);
        prop_assert!((interval95.width() / i.width() / (1.0 + added) - 1.0).abs() < 1e-6 || spread < 1e-6);
        prop_assert!(interval95.contains(v.value));
    }

    #[test]
    fn display_never_shows_a_zero_value(exponent in -9.0f64..5.0, wide in 1.0f64..1e4) {
        let value = 10f64.powf(exponent);
        let q = Quantity::new(value, Unit::mg_l(Species::Nitrite));
        for amount in [
            Amount::measured(q.clone(), Interval::new(0.0, value * wide).unwrap()).unwrap(),
            Amount::not_detected(q.clone()).unwrap(),
            Amount::above(q).unwrap(),
        ] {
            let text = amount.to_string();
            let shown = text.trim_start_matches("not detected (below ").trim_start_matches("above ");
            let number: f64 = shown.split(' ').next().unwrap().parse().unwrap();
            prop_assert!(number > 0.0, "{text}");
        }
    }
}
