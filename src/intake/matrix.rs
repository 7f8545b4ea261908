//! A test made for other water than the tank's.

use crate::curve::{Matrix, Test};
use crate::finding::{Code, Finding};
use crate::log::{Tank, WaterKind};
use crate::reading::Outcome;
use crate::water::{Amount, Analyte, Interval};

/// How far what is there may lie from what such a test shows, as factors below and above. Salt shifts the pH at which reagents work,
/// binds them and changes indicators: a careful reading of common practice, not measured. Sea water spoils ammonia reagents most, and
/// always towards too little.
fn reach(analyte: &Analyte) -> (f64, f64) {
    match analyte {
        Analyte::Ammonia => (0.8, 2.5),
        Analyte::Nitrite => (0.75, 1.33),
        Analyte::Nitrate => (0.6, 1.7),
        Analyte::Hardness | Analyte::Alkalinity => (0.75, 1.33),
        _ => (0.5, 2.0),
    }
}

/// The salt error of indicator dyes, pH units to either side: some tenths, common practice.
const PH: f64 = 0.4;

/// What a test for other water means for an outcome: the interval widened and in doubt; where nothing was seen, refused. None where
/// the test is made for the tank's water.
pub(super) fn foreign_water(test: &Test, tank: &Tank, outcome: &mut Outcome) -> Option<Finding> {
    let word = match (test.matrix, tank.water) {
        (Matrix::Fresh, WaterKind::Marine | WaterKind::Brackish) => "fresh",
        (Matrix::Marine, WaterKind::Fresh | WaterKind::Brackish) => "sea",
        _ => return None,
    };
    let (name, water, tank) = (&test.name, tank.water.as_str(), &tank.name);
    let made = format!("The test '{name}' is made for {word} water, and the water of '{tank}' is {water}");
    let Outcome::Read(amount) = outcome else { return None };
    if let Amount::NotDetected { .. } = amount {
        // The reagent may not work there at all.
        let finding = Finding::doubt(Code::KitMatrix, format!("{made}: that it shows none says nothing."));
        *outcome = Outcome::Refused(vec![finding]);
        return None;
    }
    if let Some(wide) = widened(amount, &test.analyte) {
        *outcome = Outcome::Read(wide);
    }
    Some(Finding::doubt(Code::KitMatrix, format!("{made}; the interval is wider for it.")))
}

/// With the interval that other water leaves; None for what has no interval.
fn widened(amount: &Amount, analyte: &Analyte) -> Option<Amount> {
    let Amount::Measured { value, interval95: i } = amount else { return None };
    let (lower, upper) = match analyte {
        Analyte::Ph => ((i.lower() - PH).max(0.0), (i.upper() + PH).min(14.0)),
        _ => {
            let (low, high) = reach(analyte);
            (i.lower() * low, i.upper() * high)
        }
    };
    Amount::measured(value.quantity().clone(), Interval::new(lower, upper).ok()?).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::water::{Quantity, Species, Unit};

    fn wide(value: f64, lower: f64, upper: f64, unit: Unit, analyte: &Analyte) -> (f64, f64) {
        let amount = Amount::measured(Quantity::new(value, unit), Interval::new(lower, upper).unwrap()).unwrap();
        let Some(Amount::Measured { value: v, interval95: i }) = widened(&amount, analyte) else { panic!() };
        assert_eq!(v.value, value);
        (i.lower(), i.upper())
    }

    #[test]
    fn intervals_open_by_what_salt_does_to_each_test() {
        let near = |got: (f64, f64), want: (f64, f64)| {
            assert!((got.0 - want.0).abs() < 1e-9 && (got.1 - want.1).abs() < 1e-9, "{got:?} {want:?}");
        };
        near(wide(1.0, 0.8, 1.2, Unit::mg_l(Species::AmmoniaN), &Analyte::Ammonia), (0.64, 3.0));
        near(wide(20.0, 15.0, 25.0, Unit::mg_l(Species::Nitrate), &Analyte::Nitrate), (9.0, 42.5));
        near(wide(8.0, 7.8, 8.2, Unit::ph(), &Analyte::Ph), (7.4, 8.6));
        near(wide(13.9, 13.8, 14.0, Unit::ph(), &Analyte::Ph), (13.4, 14.0));
        near(wide(0.2, 0.0, 0.4, Unit::mg_l(Species::Nitrite), &Analyte::Nitrite), (0.0, 0.532));
        let above = Amount::above(Quantity::new(4.0, Unit::mg_l(Species::AmmoniaN))).unwrap();
        assert_eq!(widened(&above, &Analyte::Ammonia), None);
    }
}
