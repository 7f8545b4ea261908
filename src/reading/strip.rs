//! What a kit says of its strips, and which way round one lies when its edges do not tell.

use crate::curve::{Kind, Kit};
use crate::finding::{Code, Finding};
use crate::sample::Shape;

/// Farther from its curve than this (standard deviations), a pad's colour is none of its test's: as for refusing a reading.
const OFF: f64 = 4.5;

/// The measures of a kit's strips; None for a kit of vials.
pub(super) fn shape(kit: &Kit) -> Result<Option<Shape>, Finding> {
    if kit.kind != Kind::Strip {
        return Ok(None);
    }
    let lacking = |what: &str| {
        Finding::doubt(
            Code::StripMissing,
            format!("The kit '{}' does not say {what}, so no strip is sought.", kit.name),
        )
    };
    let strip = kit.strip.ok_or_else(|| lacking("how its strips are made"))?;
    let pads = kit.tests.iter().filter_map(|t| t.pad).max().ok_or_else(|| lacking("which test is on which pad"))?;
    Ok(Some(Shape {
        length: strip.length_mm,
        width: strip.width_mm,
        pad: strip.pad_mm,
        pitch: strip.pitch_mm,
        end: strip.end_mm,
        pads: usize::from(pads),
    }))
}

/// Which of two ways round fits the curves, from the pads' distances off them: the first, the second, or None where both do or
/// neither does. Of `count` pads asked for, all must have been measured.
pub(super) fn direction(first: &[f64], second: &[f64], count: usize) -> Option<bool> {
    let fits = |off: &[f64]| off.len() == count && off.iter().all(|o| *o < OFF);
    let fails = |off: &[f64]| off.iter().any(|o| *o > 2.0 * OFF);
    match (fits(first) && fails(second), fits(second) && fails(first)) {
        (true, _) => Some(true),
        (_, true) => Some(false),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::direction;

    #[test]
    fn curves_decide_only_when_one_way_fits_and_the_other_fails_clearly() {
        assert_eq!(direction(&[1.0, 2.0], &[1.0, 12.0], 2), Some(true));
        assert_eq!(direction(&[1.0, 12.0], &[1.0, 2.0], 2), Some(false));
        assert_eq!(direction(&[1.0, 2.0], &[1.0, 8.0], 2), None, "the other way is odd, not impossible");
        assert_eq!(direction(&[1.0, 2.0], &[2.0, 1.0], 2), None, "both fit");
        assert_eq!(direction(&[12.0, 2.0], &[2.0, 12.0], 2), None, "neither fits");
        assert_eq!(direction(&[1.0], &[12.0, 12.0], 2), None, "a pad was not measured");
    }
}
