use super::*;
use crate::water::{Analyte, Species, Strength, Unit};

fn wanted(analyte: Analyte, unit: Unit, values: &[f64]) -> Wanted {
    let values = values.to_vec();
    Wanted { analyte, unit, values, substance: None, strength: None, purity: None, marine: false }
}

fn ammonia(values: &[f64]) -> Wanted {
    wanted(Analyte::Ammonia, Unit::mg_l(Species::AmmoniaN), values)
}

/// Fine and exact, so that chemistry alone decides.
fn laboratory() -> Means {
    Means {
        scale_g: 0.001,
        syringes: vec![Syringe { ml: 1.0, division: 0.001 }, Syringe { ml: 10.0, division: 0.001 }],
        vessels: vec![Vessel { ml: 1000.0, tolerance: 0.4 }, Vessel { ml: 100.0, tolerance: 0.1 }],
        weigh: false,
    }
}

fn grams(recipe: &Recipe) -> f64 {
    let Source::Weighed { grams } = recipe.solutions[0].from else { panic!("{recipe:?}") };
    grams
}

#[test]
fn every_standard_is_what_its_recipe_makes() {
    // Followed again, with nothing taken from the recipe but grams and millilitres.
    let wanted = ammonia(&[0.0, 0.25, 0.5, 1.0, 2.0, 4.0]);
    let recipe = recipe(&wanted, &Means::default()).unwrap();
    let nitrogen = 14.007 / 53.489 * 0.99;
    let held: Vec<f64> = recipe.solutions.iter().map(|s| s.value).collect();
    let of = |s: &Solution| match s.from {
        Source::Weighed { grams } => grams * nitrogen * 1000.0 / (s.vessel_ml / 1000.0),
        Source::Measured { solution, ml, .. } => held[solution.unwrap()] * ml / s.vessel_ml,
    };
    for s in recipe.solutions.iter().chain(recipe.standards.iter().filter_map(|s| s.made.as_ref())) {
        assert!((of(s) / s.value - 1.0).abs() < 1e-12, "{s:?}");
    }
    assert_eq!(recipe.standards[0].made, None);
    for s in &recipe.standards[1..] {
        let made = s.made.as_ref().unwrap();
        assert!((made.value / s.wanted - 1.0).abs() < 0.03, "{} made for {}", made.value, s.wanted);
        let Source::Measured { ml, syringe_ml, fillings, .. } = made.from else { panic!("{made:?}") };
        assert!(ml <= syringe_ml * f64::from(fillings) + 1e-9 && ml <= made.vessel_ml / 2.0, "{made:?}");
    }
}

#[test]
fn a_spread_is_added_up_by_hand() {
    // Some 4 g on 0.1 g, 10 mL of it in a litre, some mL of that in 100 mL.
    let means = Means {
        scale_g: 0.1,
        syringes: vec![Syringe { ml: 10.0, division: 0.5 }],
        vessels: vec![Vessel { ml: 1000.0, tolerance: 20.0 }, Vessel { ml: 100.0, tolerance: 2.0 }],
        weigh: false,
    };
    let recipe = recipe(&ammonia(&[1.5]), &means).unwrap();
    let made = recipe.standards[0].made.as_ref().unwrap();
    let (m, Source::Measured { solution: Some(1), ml, fillings: 1, .. }) = (grams(&recipe), made.from) else {
        panic!("{recipe:?}")
    };
    assert_eq!((recipe.solutions.len(), made.vessel_ml), (2, 100.0), "{recipe:?}");
    // Limits over √3 each; the syringe serves twice with one error, so does the litre: 4 % of 10 mL, at `ml` as ISO 7886-1 has it.
    let syringe = 0.04 + if ml < 5.0 { (0.15 + 0.01 * ml) / ml } else { 0.04 };
    let parts = [0.01 / 0.99, 0.1 / m, 2.0 * 0.02, syringe, 0.25 / 10.0, 0.02, 0.25 / ml];
    let by_hand = (parts.iter().map(|p: &f64| p * p).sum::<f64>() / 3.0).sqrt();
    assert!((made.sd / made.value / by_hand - 1.0).abs() < 1e-9, "{} {by_hand} {recipe:?}", made.sd / made.value);
}

#[test]
fn the_spread_is_that_of_many_keepers() {
    // The whole recipe followed 20 000 times with errors drawn evenly between their limits.
    let means = Means::default();
    let recipe = recipe(&ammonia(&[0.25]), &means).unwrap();
    let made = recipe.standards[0].made.as_ref().unwrap();
    let mut state = 7u64;
    let mut even = move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    };
    let mut values = Vec::new();
    for _ in 0..20_000 {
        let content = 0.99 + 0.01 * even();
        let vessel: Vec<f64> = means.vessels.iter().map(|v| v.ml + v.tolerance * even()).collect();
        let syringe: Vec<f64> = means.syringes.iter().map(|_| even()).collect();
        let at = |ml: f64| means.vessels.iter().position(|v| v.ml == ml).unwrap();
        let mut held: Vec<f64> = Vec::new();
        for s in recipe.solutions.iter().chain([made]) {
            let volume = vessel[at(s.vessel_ml)];
            held.push(match s.from {
                Source::Weighed { grams } => {
                    (grams + means.scale_g * even()) * content * 14.007 / 53.489 * 1e6 / volume
                }
                Source::Measured { solution, ml, syringe_ml, fillings } => {
                    let n = means.syringes.iter().position(|x| x.ml == syringe_ml).unwrap();
                    let (s, one) = (&means.syringes[n], ml / f64::from(fillings));
                    let read: f64 = (0..fillings).map(|_| s.division / 2.0 * even()).sum();
                    held[solution.unwrap()] * (ml + f64::from(fillings) * s.tolerance(one) * syringe[n] + read) / volume
                }
            });
        }
        values.push(*held.last().unwrap());
    }
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let sd = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / values.len() as f64).sqrt();
    assert!((mean / made.value - 1.0).abs() < 0.003 && (sd / made.sd - 1.0).abs() < 0.03, "{mean} {sd} {made:?}");
    let covered = values.iter().filter(|v| (**v - made.value).abs() <= COVERAGE * made.sd).count();
    assert!((18_800..19_800).contains(&covered), "{covered}");
}

#[test]
fn better_means_make_better_standards() {
    let sd = |means: &Means| {
        let made = recipe(&ammonia(&[0.5]), means).unwrap().standards.remove(0).made.unwrap();
        made.sd / made.value
    };
    let home = Means::default();
    let weighed = Means { weigh: true, ..home.clone() };
    let fine = Means { scale_g: 0.01, ..weighed.clone() };
    assert!(sd(&laboratory()) < 0.04 && sd(&fine) < sd(&weighed) && sd(&weighed) < sd(&home) && sd(&home) < 0.08);
}

#[test]
fn salt_water_stays_salt_water() {
    let marine = Wanted { marine: true, ..wanted(Analyte::Nitrate, Unit::mg_l(Species::Nitrate), &[0.0, 5.0, 40.0]) };
    let made = recipe(&marine, &Means { weigh: true, ..Means::default() }).unwrap();
    assert_eq!((made.matrix, made.matrix.salt_g_l()), (Matrix::SaltMix, 35.0));
    for s in made.standards.iter().filter_map(|s| s.made.as_ref()) {
        let Source::Measured { ml, .. } = s.from else { panic!() };
        assert!(ml <= 0.1 * s.vessel_ml && (s.vessel_g.unwrap() / s.vessel_ml - 1.024).abs() < 1e-9, "{s:?}");
    }
    // What the mix brings itself cannot be made in it.
    for (analyte, unit) in [(Analyte::Alkalinity, Unit::german_degree()), (Analyte::Hardness, Unit::german_degree())] {
        let marine = Wanted { marine: true, ..wanted(analyte, unit, &[4.0]) };
        assert_eq!(recipe(&marine, &Means::default()).unwrap().matrix, Matrix::PlainSalt);
    }
}

#[test]
fn household_ammonia_is_known_no_better_than_its_label() {
    let strength = Some(strength("9.5 % by weight").unwrap());
    let typed = Wanted { substance: Some("Household Ammonia".into()), strength, ..ammonia(&[0.0, 1.0, 4.0]) };
    let made = recipe(&typed, &Means::default()).unwrap();
    let Source::Measured { solution: None, ml, .. } = made.solutions[0].from else { panic!("{made:?}") };
    // 9.5 g in 100 g of 0.9624 g/mL, 95 % of the label, counted as nitrogen.
    let held = 0.095 * 0.9624 * ml * 0.95 * 14.007 / 17.031 * 1e6 / 1000.0;
    assert!((made.solutions[0].value / held - 1.0).abs() < 2e-3, "{} {held}", made.solutions[0].value);
    let sd = made.standards[1].made.as_ref().unwrap();
    assert!(sd.sd / sd.value > 0.05 / 0.95 / 3f64.sqrt(), "{sd:?}");
    let code = |w: Wanted| recipe(&w, &Means::default()).unwrap_err().code();
    assert_eq!(code(Wanted { strength: None, ..typed }), "standards-no-strength");
}

#[test]
fn what_cannot_be_made_is_refused() {
    let code = |w: Wanted, m: &Means| recipe(&w, m).unwrap_err().code();
    let home = Means::default();
    assert_eq!(code(ammonia(&[]), &home), "standards-nothing");
    assert_eq!(code(ammonia(&[1.0, -1.0]), &home), "standards-value");
    assert_eq!(code(ammonia(&[f64::NAN]), &home), "standards-value");
    assert_eq!(code(ammonia(&[1e-9]), &home), "standards-out-of-reach");
    assert_eq!(code(ammonia(&[1e6]), &home), "standards-out-of-reach");
    assert_eq!(code(ammonia(&[1.0]), &Means { scale_g: 5.0, ..home.clone() }), "standards-coarse");
    assert_eq!(code(ammonia(&[1.0]), &Means { scale_g: 0.0, ..home.clone() }), "standards-means");
    assert_eq!(code(ammonia(&[1.0]), &Means { syringes: vec![], ..home.clone() }), "standards-without");
    assert_eq!(code(ammonia(&[1.0]), &Means { vessels: vec![], ..home.clone() }), "standards-without");
    assert_eq!(code(Wanted { purity: Some(12.0), ..ammonia(&[1.0]) }, &home), "standards-purity");
    let salt = Wanted { substance: Some("table salt".into()), ..ammonia(&[1.0]) };
    assert_eq!(code(salt, &home), "standards-other-substance");
    assert_eq!(code(wanted(Analyte::Ph, Unit::ph(), &[7.0]), &home), "standards-no-substance");
    for typed in ["10", "10/3", "10/0", "/1", "a/b", "0/0", "10/0.5/1"] {
        assert_eq!(Syringe::parse(typed).unwrap_err().code(), "standards-means", "{typed}");
    }
    for typed in ["1", "1000±500", "1000±0", "±2", "x"] {
        assert_eq!(Vessel::parse(typed).unwrap_err().code(), "standards-means", "{typed}");
    }
    for typed in ["", "strong", "50%", "9.5% by heart"] {
        assert_eq!(strength(typed).unwrap_err().code(), "standards-strength", "{typed}");
    }
    assert_eq!(strength("10 % w/v").unwrap(), Strength::ByVolume { percent: 10.0 });
    assert_eq!(Vessel::parse("250 mL ± 5").unwrap(), Vessel { ml: 250.0, tolerance: 5.0 });
    assert_eq!(Syringe::parse("5 ml/0,2").unwrap(), Syringe { ml: 5.0, division: 0.2 });
}

#[test]
fn stated_uncertainty_is_rounded_up_and_says_as_many_decimals() {
    let mut made = recipe(&ammonia(&[0.5]), &Means::default()).unwrap().standards.remove(0).made.unwrap();
    (made.value, made.sd) = (0.504_9, 0.020_12);
    assert_eq!(made.stated(), ("0.505".into(), "0.041".into()));
    (made.value, made.sd) = (40.26, 1.0);
    assert_eq!(made.stated(), ("40.3".into(), "2.0".into()));
    (made.value, made.sd) = (212.4, 7.26);
    assert_eq!(made.stated(), ("212".into(), "15".into()));
}

#[test]
fn buffers_lie_about_the_range() {
    let ph = |low, high| buffers(low, high).iter().map(|b| b.ph).collect::<Vec<_>>();
    assert_eq!(ph(6.0, 7.6), [6.86, 7.0]);
    assert_eq!(ph(7.4, 8.8), [7.0, 9.18]);
    assert!(ph(1.0, 2.0).is_empty());
}
