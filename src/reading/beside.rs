//! What a coloured vial does to the one beside it: light that came through the neighbour tints the liquid and the paper about it.

use nalgebra::Matrix3;

use crate::curve::density::{Density, coloured, density, lab_covariance};
use crate::curve::{Path, Seen, invert};
use crate::finding::{Code, Finding};
use crate::sample::{Sample, Samples};
use crate::trial::{Part, without};

/// Standard deviation of the tint as a share of the neighbour's density, for each share seen on the paper between the vials. In
/// computer-made photos without caustics it spreads by 0.05 where the paper shows 0.2 to 0.4. From 0.1 to 0.2 neither errors nor coverage
/// at the usual places move (118 vials: 95th percentile 0.28 steps, covered 0.96).
const TINT: f64 = 0.15;
/// Were the liquid as tinted as the paper beside it, the value would lie this many steps off: doubt; and refusal. In
/// fully traced light 0.1 mg/L ammonia beside 2.1 reads 2.2 steps high and could move by 1.6; of 118 vials at usual places 3 could move
/// by more than one step, one by more than one and a half.
const MOVED: (f64, f64) = (1.0, 1.5);
/// The tinted paper lies on the side away from the light. Where one side has this much more tint than the other (difference by sum, over all
/// vials of the photo), a neighbour on that side cannot reach the sample.
const ONE_SIDED: f64 = 0.25;

/// A neighbour's possible tint.
pub(super) struct Neighbour {
    station: String,
    /// Its density apart from brightness, as far as the paper beside the sample shows it.
    tint: Density,
}

/// Covariance in CIELAB of the tints from both sides of a sample.
pub(super) fn tints(sample: &Sample, samples: &Samples) -> Matrix3<f64> {
    let mut cov = Matrix3::zeros();
    for (side, neighbour) in beside(sample, samples) {
        let theirs = density(neighbour.colour.lab);
        let share = TINT * shown(sample, side, &apart(&theirs));
        cov += theirs * theirs.transpose() * share.powi(2);
    }
    lab_covariance(sample.colour.lab, &cov)
}

/// The neighbours that the light can carry to a sample, with the strongest tint of theirs that the paper on either side of it shows.
pub(super) fn neighbours(sample: &Sample, samples: &Samples) -> Vec<Neighbour> {
    let away = away_from_light(samples);
    let reaching = beside(sample, samples).filter(|(side, _)| away != Some(*side));
    reaching
        .map(|(_, neighbour)| {
            let hue = apart(&density(neighbour.colour.lab));
            let share = [0, 1].map(|side| shown(sample, side, &hue)).into_iter().fold(0.0, f64::max);
            Neighbour { station: neighbour.station.clone(), tint: hue * share }
        })
        .collect()
}

/// The doubt, or the reason to refuse, where a neighbour's tint could move a value by a step or more.
pub(super) fn moved(
    sample: &Sample,
    neighbours: &[Neighbour],
    path: &Path,
    seen: &Seen,
    bounded: bool,
) -> Result<Option<Finding>, Finding> {
    let own = density(seen.lab);
    let position = |d: &Density| invert(path, &Seen { lab: coloured(d), ..*seen }, bounded).position;
    let at = position(&own);
    let steps = |n: &Neighbour| (position(&(own - n.tint)) - at).abs();
    let strongest = neighbours.iter().map(|n| (steps(n), n)).max_by(|a, b| a.0.total_cmp(&b.0));
    let Some((steps, neighbour)) = strongest.filter(|(steps, _)| *steps > MOVED.0) else { return Ok(None) };
    let sentence = format!(
        "Light through the vial at {} tints the paper beside the one at {}; in the liquid that would make {steps:.1} steps of the series.",
        neighbour.station, sample.station
    );
    let finding = Finding::doubt(Code::SampleNeighbour, sentence);
    if steps > MOVED.1 { Err(finding) } else { Ok(Some(finding)) }
}

/// Neighbours with their side: 0 to the left, 1 to the right.
fn beside<'a>(sample: &'a Sample, samples: &'a Samples) -> impl Iterator<Item = (usize, &'a Sample)> {
    let sides = if without(Part::Neighbours) { 0..0 } else { 0..2 };
    sides.filter_map(|side| Some((side, samples.next_to(&sample.station, side == 1)?)))
}

/// What share of a colour lies on the paper beside a sample, 0 to 1.
fn shown(sample: &Sample, side: usize, hue: &Density) -> f64 {
    let paper = apart(&-Density::from(sample.beside[side]));
    (paper.dot(hue) / (hue.norm_squared() + 0.01)).clamp(0.0, 1.0)
}

/// The side on which paper is tinted, where it is one clearly.
fn away_from_light(samples: &Samples) -> Option<usize> {
    let tint = |side: usize| -> f64 { samples.all().map(|s| apart(&Density::from(s.beside[side])).norm()).sum() };
    let (left, right) = (tint(0), tint(1));
    // A little is added, so that traces on clean paper do not decide.
    let lean = (right - left) / (right + left + 0.02);
    (lean.abs() > ONE_SIDED).then_some(usize::from(lean > 0.0))
}

/// Without the part that all bands share.
fn apart(d: &Density) -> Density {
    d.add_scalar(-d.mean())
}
