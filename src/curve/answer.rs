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
    /// Detection limit of the test for a sample measured like this one; None for scales without zero.
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
    let limit = (!bounded).then(|| limits(path, seen)).flatten();
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
    let top = *path.values().last().unwrap_or(&0.0);
    let bottom = path.values()[0];
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
        // Not told from none, but not well enough seen to say so: a range from zero.
        if limit.is_some_and(|(decision, _)| found.position < decision) {
            lower = bottom;
            let sentence = format!("The colour of {} cannot be told from none.", test.name);
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
    (found.position < decision && said <= WORTH).then(|| path.value(said))
}

/// 'Not detected' is worth saying only when its limit lies at most this far towards the first real standard.
const WORTH: f64 = 0.75;
