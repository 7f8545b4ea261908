//! Whether the light is one the kit was calibrated under.

use crate::curve::Kit;
use crate::finding::{Code, Finding};

/// A light this near to a calibration photo's is the same place (root of the summed squares over the plain matrices): the
/// largest difference between photos of one place in the computer-made home sets is 0.067, the smallest between a window
/// and a lamp 0.08.
const SAME: f64 = 0.072;
/// A light farther away than this is in doubt altogether.
const STRANGE: f64 = 0.12;

/// How a photo's light stands to those of a kit's calibration photos.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    /// Distance to the nearest; None when no swatch tells its light.
    pub distance: Option<f64>,
}

/// Whether two signatures are of one light.
pub(super) fn same_light(a: &[f64], b: &[f64]) -> bool {
    apart_by(a, b).is_none_or(|d| d <= SAME)
}

/// Root of the summed squares over the plain matrices; None where one of them holds none.
fn apart_by(a: &[f64], b: &[f64]) -> Option<f64> {
    let (a, b) = (a.get(..9)?, b.get(..9)?);
    Some(a.iter().zip(b).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt())
}

impl Place {
    pub(super) fn of(signature: &[f64], kit: &Kit) -> Self {
        let distances = kit.tests.iter().flat_map(|t| &t.swatches).filter_map(|s| apart_by(&s.light, signature));
        Self { distance: distances.min_by(f64::total_cmp) }
    }

    /// Foreignness for the curve: 0 at a usual place.
    pub(super) fn foreign(&self) -> f64 {
        self.distance.filter(|d| *d > SAME).unwrap_or(0.0)
    }

    pub(super) fn finding(&self) -> Option<Finding> {
        let d = self.distance.filter(|d| *d > SAME)?;
        let sentence = "The light is not one the kit was calibrated under; the interval is wider for it.";
        Some(match d > STRANGE {
            true => Finding::doubt(Code::LightForeign, sentence),
            false => Finding::note(Code::LightForeign, sentence),
        })
    }
}
