//! Whether the light is one the kit was calibrated under, and what stands beside a vial.

use nalgebra::Matrix3;

use crate::curve::Kit;
use crate::curve::density::{Density, density, lab_covariance};
use crate::finding::{Code, Finding};
use crate::sample::{Sample, Samples};

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

/// Light through a neighbour tints the paper between the vials, and that behind the next vial about as strongly. Standard
/// deviations of the share of the neighbour's density: what is always possible, what the paper between shows, the most.
const TINT: (f64, f64, f64) = (0.0, 0.2, 0.5);
/// A tint on the paper between the vials stronger than this (density, apart from brightness), and than this share of the
/// sample's own, puts the reading in doubt: pale samples beside strong ones.
const TINT_DOUBT: (f64, f64) = (0.08, 0.3);

/// Covariance in CIELAB of the tints from both sides of a sample, and the doubt they cause.
pub(super) fn tints(sample: &Sample, samples: &Samples) -> (Matrix3<f64>, Option<Finding>) {
    let mut cov = Matrix3::zeros();
    let mut worst: Option<(f64, String)> = None;
    let own = apart(&density(sample.colour.lab)).norm();
    for (side, beside) in sample.beside.iter().enumerate() {
        let Some(neighbour) = samples.next_to(&sample.station, side == 1) else { continue };
        let theirs = density(neighbour.colour.lab);
        let hue = apart(&theirs);
        let paper = apart(&-Density::from(*beside));
        // How much of the neighbour's colour lies on the paper between.
        let seen = (paper.dot(&hue) / (hue.norm_squared() + 0.01)).clamp(0.0, 1.0);
        let spread = (TINT.0 + TINT.1 * seen).min(TINT.2);
        cov += theirs * theirs.transpose() * spread.powi(2);
        let shift = seen * hue.norm();
        if shift > TINT_DOUBT.0 && shift > TINT_DOUBT.1 * own && worst.as_ref().is_none_or(|w| shift > w.0) {
            worst = Some((shift, neighbour.station.clone()));
        }
    }
    let finding = worst.map(|(_, station)| {
        let sentence = format!("Light through the vial at {station} tints the one at {}.", sample.station);
        Finding::doubt(Code::SampleNeighbour, sentence)
    });
    (lab_covariance(sample.colour.lab, &cov), finding)
}

/// Without the part that all bands share.
fn apart(d: &Density) -> Density {
    d.add_scalar(-d.mean())
}
