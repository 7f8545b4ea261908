//! What may be said of a colour: measured, not detected, above, below, or off the scale.

use super::invert::{Found, Seen, invert, limits};
use super::kit::{Scale, Test};
use super::path::Path;
use crate::finding::{Code, Finding};
use crate::water::{Amount, Interval, Quantity};

/// The answer of a test to a colour.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// The amount, or why there is none.
    pub amount: Result<Amount, Vec<Finding>>,
    /// Detection limit of the test for a sample measured like this one; None for scales and kits without zero.
    pub detection_limit: Option<Quantity>,
    /// Where on the path the colour lies.
    pub found: Found,
    /// What was noticed.
    pub findings: Vec<Finding>,
}

/// Farther off the path than this (standard deviations, three degrees of freedom) a colour is not on the scale.
const OFF: f64 = 4.5;
/// Farther off than this it is in doubt: one good sample in a hundred lies there.
const DOUBT: f64 = 3.37;

/// 'Above' and 'below' are said when this share of the likelihood lies there; else the interval tells.
const SURE: f64 = 0.8;

/// Reads a colour on a test's path.
pub fn answer(test: &Test, path: &Path, seen: &Seen) -> Answer {
    let bounded = test.scale == Scale::Bounded;
    let found = invert(path, seen, bounded);
    let quantity = |v: f64| Quantity::new(v, test.unit.clone());
    let bottom = path.values()[0];
    let top = *path.values().last().unwrap_or(&bottom);
    // Without a zero standard nothing shows what none looks like.
    // And of two standards nobody knows how the colour starts from it.
    let known = path.values().len() > 2 && test.has_own_zero();
    let limit = (!bounded && bottom == 0.0 && known).then(|| limits(path, seen)).flatten();
    let detection_limit = limit.map(|(_, detection)| quantity(path.value(detection)));
    let mut findings = Vec::new();
    if found.off > OFF {
        let sentence = format!("The colour lies {:.1} standard deviations off the scale of {}.", found.off, test.name);
        let finding = Finding::doubt(Code::ColourOffScale, sentence);
        return Answer { amount: Err(vec![finding]), detection_limit, found, findings };
    }
    if found.off > DOUBT {
        let sentence = format!("The colour lies {:.1} standard deviations off the scale of {}.", found.off, test.name);
        findings.push(Finding::doubt(Code::ColourOffScale, sentence));
    }
    let amount = if found.above > SURE {
        let sentence = format!("The colour lies beyond the last standard, {}.", quantity(top));
        findings.push(Finding::note(Code::ColourAboveScale, sentence));
        Amount::above(quantity(top))
    } else if bounded && found.below > SURE {
        Amount::below(quantity(bottom))
    } else if let Some(below) = none_seen(path, &found, limit) {
        Amount::not_detected(quantity(below))
    } else {
        let (mut lower, upper) = (path.value(found.lower), path.value(found.upper));
        // Not told from the first standard, but not to be called none: a range from zero.
        if !bounded && !limits(path, seen).is_some_and(|(decision, _)| found.position >= decision) {
            lower = 0.0;
            let first =
                if bottom == 0.0 { "none".to_string() } else { format!("the lowest standard, {}", quantity(bottom)) };
            let sentence = format!("The colour of {} cannot be told from {first}.", test.name);
            findings.push(Finding::note(Code::ColourLikeNone, sentence));
        }
        // Never an exact zero: the median of a truncated likelihood is above it, but for rounding.
        let least = if bounded { f64::MIN } else { 1e-6 * top };
        let value = path.value(found.position).max(least);
        Interval::new(lower.min(value), upper.max(value)).and_then(|i| Amount::measured(quantity(value), i))
    };
    let amount =
        amount.map_err(|e| vec![Finding::doubt(Code::ColourOffScale, format!("No amount can be given: {e}."))]);
    Answer { amount, detection_limit, found, findings }
}

/// The concentration below which nothing can be seen, if nothing was seen and that may be said: the likelihood must lie
/// below the decision limit, and both the detection limit and the upper bound well below the first real standard.
fn none_seen(path: &Path, found: &Found, limit: Option<(f64, f64)>) -> Option<f64> {
    let (decision, detection) = limit?;
    // Positions: the first real standard is at 1. The limit said covers the upper bound too.
    let said = detection.max(found.upper);
    let below = path.value(said);
    let first = path.values().get(1)?;
    (found.position < decision && said < 1.0 && below <= WORTH * first).then_some(below)
}

/// 'Not detected' is worth saying only when its limit is at most this share of the first real standard.
const WORTH: f64 = 0.5;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::{Lab, LinRgb, lab_from_linear};
    use crate::curve::Nuisance;
    use crate::curve::kit::{Matrix, Source, Swatch};
    use crate::water::{Analyte, Species, Unit};

    /// A made-up dye that follows Beer's law.
    fn dyed(value: f64) -> [f64; 3] {
        lab_from_linear(LinRgb([0.05, 0.9, 0.5].map(|k: f64| (-k * value).exp()))).0
    }

    fn swatch(value: f64, cov: f64) -> Swatch {
        let cov = [[cov, 0.0, 0.0], [0.0, cov, 0.0], [0.0, 0.0, cov]];
        let (photo, station, light) = (String::new(), "A".to_string(), Vec::new());
        let (value_sd, source) = (None, Source::Standard);
        Swatch { value, value_sd, source, lab: dyed(value), cov, photo, station, light, taken: None, clear: None }
    }

    fn said(values: &[f64], lab: [f64; 3], cov: f64) -> Answer {
        let analyte = Analyte::parse("nitrite").unwrap();
        let mut test = Test::new("nitrite", analyte, Unit::mg_l(Species::NitriteN), Matrix::Both);
        test.swatches = values.iter().flat_map(|v| [swatch(*v, 0.1), swatch(*v, 0.1)]).collect();
        let path = Path::new(&test, Nuisance::default()).unwrap();
        let cov = [[cov, 0.0, 0.0], [0.0, cov, 0.0], [0.0, 0.0, cov]];
        answer(&test, &path, &Seen { lab: Lab(lab), cov, foreign: 0.0 })
    }

    #[test]
    fn with_a_zero_standard_none_is_not_detected() {
        let answer = said(&[0.0, 0.5, 1.0, 2.0, 4.0], dyed(0.0), 0.1);
        assert_eq!(answer.amount.unwrap().kind(), "not-detected");
    }

    #[test]
    fn without_a_zero_standard_nothing_is_called_none() {
        // Whatever looks like the lowest standard may be as much, or nothing.
        for value in [0.0, 0.3, 0.5, 0.55] {
            let answer = said(&[0.5, 1.0, 2.0, 4.0], dyed(value), 0.1);
            assert_eq!(answer.detection_limit, None, "{value}");
            let Ok(amount) = answer.amount else { continue };
            let Amount::Measured { value: read, interval95: i } = amount else { panic!("{value}: {amount}") };
            assert!(read.value >= 0.5 && i.lower() == 0.0 && i.upper() >= value, "{value}: {i:?}");
            assert!(answer.findings.iter().any(|f| f.sentence.contains("the lowest standard, 0.5 mg/L")), "{value}");
        }
    }

    #[test]
    fn what_is_no_number_is_refused() {
        let nan = f64::NAN;
        let bad = [([nan; 3], 0.1), ([80.0, nan, 0.0], 0.1), (dyed(1.0), nan), (dyed(1.0), f64::INFINITY)];
        for (lab, cov) in bad {
            let answer = said(&[0.0, 0.5, 1.0, 2.0, 4.0], lab, cov);
            assert!(answer.amount.is_err(), "{lab:?} {cov}: {answer:?}");
        }
    }

    #[test]
    fn a_colour_hardly_known_is_never_none() {
        for cov in [1e3, 1e6, 1e12] {
            let answer = said(&[0.0, 0.5, 1.0, 2.0, 4.0], dyed(0.0), cov);
            if let Ok(amount) = answer.amount {
                let Amount::Measured { interval95: i, .. } = amount else { panic!("{cov}: {amount}") };
                assert!(i.lower() == 0.0 && i.upper() > 0.5, "{cov}: {i:?}");
            }
        }
    }
}
