//! Carrying a curve over to another card, phone or bottle: do two or three standards still lie on it?
//!
//! The difference of each standard's density to the curve, against all that makes photos differ, tells whether something has
//! shifted (χ²). How much may have shifted is a scale on what is not known beforehand ([`Extra`]): half-normal with unit scale,
//! which the standards narrow or widen (Bayes; the variance between bottles is that of a random-effects model). Its root mean
//! square is what readings are widened by afterwards: with two standards much of the doubt stays, with three less.

use super::extra::Extra;
use super::invert::{Seen, invert};
use super::kit::{Scale, Test};
use super::path::Path;
use crate::numeric::stats::chi_squared_above;
use nalgebra::{Matrix3, Vector3};

/// How one standard stands to the curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Shift {
    /// Its concentration as said.
    pub value: f64,
    /// What the curve, as it was, reads it as.
    pub read: f64,
    /// Difference in standards: 1 is from one standard of the kit to the next.
    pub steps: f64,
    /// Difference of its density to the curve, in the three bands.
    pub density: [f64; 3],
    /// Distance in standard deviations of what makes photos of one kit differ.
    pub off: f64,
}

/// What the standards said.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    pub shifts: Vec<Shift>,
    /// Sum of their squared distances, with what is not known of the new thing counted in.
    pub chi_squared: f64,
    /// Three bands a standard.
    pub freedom: usize,
    /// How often chance alone makes it as large.
    pub p: f64,
    /// What readings are to be widened by.
    pub extra: Extra,
    /// Whether the curve holds.
    pub holds: bool,
}

/// Rarer than this is not chance: the curve has to be made anew.
const CHANCE: f64 = 0.01;
/// Scales that are looked at.
const SCALES: usize = 400;
const MOST: f64 = 4.0;
/// A standard read farther off than this (standards) asks for a new curve, whatever explains it.
const FAR: f64 = 1.0;

/// Tries a test's curve on standards seen with something new; `before` is what is not known of it. None without a standard.
pub fn tried(test: &Test, path: &Path, seen: &[(f64, Seen)], before: Extra) -> Option<Trial> {
    let mut shifts = Vec::new();
    let mut parts: Vec<(Vector3<f64>, Matrix3<f64>, Matrix3<f64>)> = Vec::new();
    for (value, seen) in seen {
        let at = path.position(*value);
        let there = path.density(at);
        let off = seen.density() - there;
        let cov = path.spread(seen, at);
        let distance = squared(&off, &cov)?.0;
        let read = invert(path, seen, test.scale == Scale::Bounded).position;
        shifts.push(Shift {
            value: *value,
            read: path.value(read),
            steps: read - at,
            density: off.into(),
            off: distance.sqrt(),
        });
        parts.push((off, cov, before.covariance(&there)));
    }
    if parts.is_empty() {
        return None;
    }
    let all = |scale: f64| -> Option<(f64, f64)> {
        let one = |(off, cov, more): &(_, Matrix3<f64>, Matrix3<f64>)| squared(off, &(cov + more * scale.powi(2)));
        parts.iter().map(one).try_fold((0.0, 0.0), |sum, part| part.map(|(q, d)| (sum.0 + q, sum.1 + d)))
    };
    let (chi_squared, _) = all(1.0)?;
    let freedom = 3 * parts.len();
    let p = chi_squared_above(chi_squared, freedom as f64)?;
    let grid = (0..=SCALES).map(|i| MOST * i as f64 / SCALES as f64);
    let weighed: Vec<(f64, f64)> =
        grid.map(|s| all(s).map(|(q, d)| (s, -0.5 * (q + d + s * s)))).collect::<Option<_>>()?;
    let best = weighed.iter().map(|w| w.1).fold(f64::NEG_INFINITY, f64::max);
    let (sum, square) = weighed.iter().fold((0.0, 0.0), |(sum, square), (s, ln)| {
        let w = (ln - best).exp();
        (sum + w, square + w * s * s)
    });
    let holds = p >= CHANCE && shifts.iter().all(|s| s.steps.abs() <= FAR);
    Some(Trial { shifts, chi_squared, freedom, p, extra: before.times((square / sum).sqrt()), holds })
}

/// Squared distance and ln determinant.
fn squared(off: &Vector3<f64>, cov: &Matrix3<f64>) -> Option<(f64, f64)> {
    let chol = cov.cholesky()?;
    Some((off.dot(&chol.solve(off)), 2.0 * chol.l().diagonal().map(f64::ln).sum()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::{Lab, LinRgb, lab_from_linear};
    use crate::curve::Nuisance;
    use crate::curve::kit::{Matrix, Source, Swatch};
    use crate::water::{Analyte, Unit};

    /// A dye of Beer's law on a reagent of its own colour; the dye `strength` times as strong.
    fn dyed(value: f64, strength: f64) -> [f64; 3] {
        let absorbs = [0.05, 0.9, 0.4].map(|k| k * value * strength);
        lab_from_linear(LinRgb([0, 1, 2].map(|c| (-absorbs[c] - [0.02, 0.03, 0.2][c]).exp()))).0
    }

    fn test() -> Test {
        let unit = Unit::parse("mg/L NO2-", &Analyte::Nitrite).unwrap();
        let mut test = Test::new("nitrite", Analyte::Nitrite, unit, Matrix::Fresh);
        test.swatches = [0.0, 0.0, 0.25, 0.5, 1.0, 2.0]
            .map(|value| Swatch {
                value,
                value_sd: None,
                source: Source::Standard,
                lab: dyed(value, 1.0),
                cov: [[0.1, 0.0, 0.0], [0.0, 0.1, 0.0], [0.0, 0.0, 0.1]],
                photo: String::new(),
                station: String::new(),
                light: Vec::new(),
                taken: None,
                clear: None,
            })
            .to_vec();
        test
    }

    fn trial(standards: &[f64], strength: f64) -> Trial {
        let test = test();
        let path = Path::new(&test, Nuisance::default()).unwrap();
        let cov = [[0.3, 0.0, 0.0], [0.0, 0.3, 0.0], [0.0, 0.0, 0.3]];
        let seen = |v: &f64| (*v, Seen { lab: Lab(dyed(*v, strength)), cov, foreign: 0.0 });
        tried(&test, &path, &standards.iter().map(seen).collect::<Vec<_>>(), Extra::BOTTLE).unwrap()
    }

    #[test]
    fn standards_on_the_curve_narrow_what_is_not_known() {
        let (two, three) = (trial(&[0.0, 1.0], 1.0), trial(&[0.0, 0.5, 2.0], 1.0));
        assert!(two.holds && three.holds && (two.freedom, three.freedom) == (6, 9));
        assert!(two.p > 0.99 && two.chi_squared < 0.1, "{two:?}");
        // Fewer standards leave more of it; never more than before.
        assert!(three.extra.way < two.extra.way && two.extra.way < Extra::BOTTLE.way, "{two:?} {three:?}");
        // All parts by one scale.
        assert!((two.extra.flat / Extra::BOTTLE.flat - two.extra.way / Extra::BOTTLE.way).abs() < 1e-12);
    }

    #[test]
    fn a_little_weaker_is_carried_over_with_more_uncertainty_and_much_weaker_is_not() {
        let (same, weaker, dead) = (trial(&[0.5, 1.0], 1.0), trial(&[0.5, 1.0], 0.75), trial(&[0.5, 1.0], 0.1));
        assert!(weaker.holds && weaker.extra.way > 1.05 * same.extra.way, "{same:?} {weaker:?}");
        assert!(weaker.shifts.iter().all(|s| (-1.0..-0.2).contains(&s.steps)), "{weaker:?}");
        assert!(!dead.holds && dead.p < 1e-3, "{dead:?}");
        // The difference in green is that of the dye: 0.9 × 1 × (0.75 − 1), before the bands' own mixing.
        assert!((weaker.shifts[1].density[1] + 0.225).abs() < 0.04, "{weaker:?}");
    }
}
