//! Whether the light is one the kit was calibrated under.

use crate::curve::Kit;
use crate::curve::place::{SAME, STRANGE};
use crate::finding::{Code, Finding};

/// How a photo's light stands to those of a kit's calibration photos.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    /// Distance to the nearest; None when no swatch tells its light.
    pub distance: Option<f64>,
}

impl Place {
    pub(super) fn of(signature: &[f64], kit: &Kit) -> Self {
        Self { distance: kit.away(signature) }
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
