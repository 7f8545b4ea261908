//! How surely a test would be read at a place, predicted: with the kit as it is, and with one more standard.
//!
//! A reading's covariance is what `Path` counts in, but for the path itself. How well that is known is taken here from all standards
//! together: the path's deviation from the curve through them is a smooth random function of the place on the scale (Gaussian
//! process regression, Rasmussen and Williams 2006, chapter 2), of which every swatch is an observation with its noise, brightness and
//! way. So a standard between two others that lie far apart tells more than one beside them, and a second photo of one tells half
//! as much as the first. Its amplitude and length are such that half way between evenly spaced standards it is as unsure as the
//! thin path of two, three, four or five of them, see `Path`. Where the curve is made of printed shades, that curve's own model
//! serves, with the standard added.

use std::collections::BTreeMap;

use nalgebra::linalg::Cholesky;
use nalgebra::{DMatrix, Dyn, Matrix3};

use super::Use;
use super::{scaled, unscaled};
use crate::colour::Lab;
use crate::curve::density::{Density, coloured, covariance};
use crate::curve::invert::Seen;
use crate::curve::kit::{Kit, Scale, Source, Swatch, Test};
use crate::curve::path::{Nuisance, Path, made_to};
use crate::curve::way::Ways;

/// Standard deviation of the path beforehand, as a share of its whole run, and the length over which it changes, as a share of the
/// scale.
const PRIOR: f64 = 0.5;
const LENGTH: f64 = 0.5;
/// The share of it that is not along the run, in every band; as for a thin path.
const ASIDE: f64 = 0.1;
/// Places on the scale over which widths are averaged.
const GRID: usize = 9;
/// Standard deviations from the value to the end of a 95 % interval.
const Z95: f64 = 1.959_964;
/// A slope is taken over this share of the concentrations.
const SIDE: f64 = 0.02;
/// Beyond the top an interval is cut at this share of the scale.
const BEYOND: f64 = 1.25;

/// A place as it is known.
#[derive(Debug, Clone)]
pub(super) struct Light {
    pub(super) light: Vec<f64>,
    /// Share of the photos.
    pub(super) share: f64,
    /// See [`Seen`].
    pub(super) foreign: f64,
    /// Standard deviation of the way there.
    pub(super) unsure: f64,
}

impl Light {
    pub(super) fn of(kit: &Kit, ways: &Ways, light: &[f64], share: f64) -> Self {
        Self { light: light.to_vec(), share, foreign: kit.foreign(light), unsure: ways.unsure(light) }
    }
}

/// A test with what its standards tell.
pub(super) struct Sight<'k> {
    pub(super) test: &'k Test,
    /// Share of the readings.
    pub(super) weight: f64,
    path: Path,
    nuisance: Nuisance,
    /// The ends of the scale.
    ends: [f64; 2],
    /// Weights of the places on the scale.
    likely: [f64; GRID],
    /// Covariance in CIELAB of a colour as photos of this test show it.
    cov: [[f64; 3]; 3],
    known: Option<Known>,
}

/// A standard that is not there yet.
pub(super) struct Added {
    /// Its place on the scale, and its noise.
    at: f64,
    noise: Matrix3<f64>,
    /// For a printed curve, the curve with it.
    path: Option<Path>,
}

/// What standards tell of a path.
struct Known {
    at: Vec<f64>,
    /// Covariance beforehand at one place.
    prior: Matrix3<f64>,
    told: Cholesky<f64, Dyn>,
}

impl<'k> Sight<'k> {
    pub(super) fn of(kit: &Kit, test: &'k Test, used: &Use) -> Option<Self> {
        let nuisance = Nuisance::of(kit.kind);
        let path = Path::new(test, nuisance).ok()?;
        let values = path.values();
        let low = if test.scale == Scale::FromZero { 0.0 } else { values[0] };
        let ends = [low, values[values.len() - 1]];
        let read = |t: &Test| {
            used.read
                .iter()
                .filter(|(name, _)| *name == t.name)
                .flat_map(|(_, v)| v.iter().copied())
                .collect::<Vec<_>>()
        };
        // Every test counts as read once more than it was.
        let all: usize = kit.tests.iter().map(|t| read(t).len() + 1).sum();
        let own = read(test);
        let n = test.swatches.len() as f64;
        let cov = [0, 1, 2].map(|r| [0, 1, 2].map(|c| test.swatches.iter().map(|s| s.cov[r][c]).sum::<f64>() / n));
        let weight = (own.len() + 1) as f64 / all as f64;
        let likely = likely(&own, |v| scaled(test.scale, v, ends[0], ends[1]));
        let mut sight = Self { test, weight, path, nuisance, ends, likely, cov, known: None };
        if !test.from_print() {
            sight.known = Some(Known::of(&sight)?);
        }
        Some(sight)
    }

    fn value(&self, share: f64) -> f64 {
        unscaled(self.test.scale, share, self.ends[0], self.ends[1])
    }

    fn share(&self, value: f64) -> f64 {
        scaled(self.test.scale, value, self.ends[0], self.ends[1])
    }

    /// Density of a concentration. Below the first standard the path goes straight on.
    pub(super) fn density(&self, value: f64) -> Density {
        let first = self.path.values()[0];
        let on = |v: f64| self.path.density(self.path.position(v));
        if value >= first {
            return on(value);
        }
        let side = SIDE * (self.ends[1] - first);
        on(first) + (on(first + side) - on(first)) * ((value - first) / side)
    }

    /// Whether there is a standard of one's own of it.
    pub(super) fn has(&self, value: f64) -> bool {
        self.test.own().any(|s| s.value == value)
    }

    /// Width of the interval at a place, on the scale, averaged over what is likely.
    pub(super) fn width(&self, place: &Light, added: Option<&Added>) -> f64 {
        let at = |k: usize| {
            let value = self.value(k as f64 / (GRID - 1) as f64);
            let [lower, upper] = self.interval(value, place, added);
            self.share(upper) - self.share(lower)
        };
        (0..GRID).map(|k| self.likely[k] * at(k)).sum()
    }

    /// The interval of a sample: to first order, cut where the scale ends.
    pub(super) fn interval(&self, value: f64, place: &Light, added: Option<&Added>) -> [f64; 2] {
        let half = Z95 * self.variance(value, place, added).sqrt();
        let low = if self.test.scale == Scale::FromZero { 0.0 } else { self.value(1.0 - BEYOND) };
        [(value - half).max(low), (value + half).min(self.value(BEYOND))]
    }

    fn variance(&self, value: f64, place: &Light, added: Option<&Added>) -> f64 {
        let d = self.density(value);
        let seen = Seen { lab: coloured(&d), cov: self.cov, foreign: place.foreign };
        let path = match (&self.known, added) {
            (Some(known), _) => {
                let nuisance = Nuisance { way: self.nuisance.way.hypot(place.unsure), ..self.nuisance };
                let made = self.slope(value) * made_to(self.test.scale, value);
                let s = self.share(value);
                let path = known.left(s) - added.map_or(Matrix3::zeros(), |a| known.gained(s, a));
                nuisance.covariance(&d) + made * made.transpose() + path
            }
            (None, added) => {
                let path = added.and_then(|a| a.path.as_ref()).unwrap_or(&self.path);
                path.scatter(path.position(value)) + d * d.transpose() * place.unsure.powi(2)
            }
        };
        let all = seen.own(self.nuisance.rest) + path + seen.bands(&d);
        let slope = self.slope(value);
        let told = all.cholesky().map_or(0.0, |c| slope.dot(&c.solve(&slope)));
        if told > 0.0 { 1.0 / told } else { f64::INFINITY }
    }

    /// Change of the density with the concentration.
    fn slope(&self, value: f64) -> Density {
        let side = SIDE * (self.ends[1] - self.ends[0]);
        let (before, after) = ((value - side).max(self.ends[0]), value + side);
        (self.density(after) - self.density(before)) / (after - before)
    }

    /// What a swatch of a concentration leaves open: its noise, how much it was dimmed, its way, how exactly it was made.
    fn noise(&self, value: f64, lab: Lab, cov: &[[f64; 3]; 3], sd: Option<f64>) -> Matrix3<f64> {
        let own = Matrix3::from_fn(|r, c| cov[r][c]) + Matrix3::identity() * self.nuisance.rest.powi(2);
        let made = self.slope(value) * sd.unwrap_or_else(|| made_to(self.test.scale, value));
        covariance(lab, &own) + self.nuisance.covariance(&self.density(value)) + made * made.transpose()
    }
}

impl Added {
    pub(super) fn of(sight: &Sight, value: f64) -> Self {
        let lab = coloured(&sight.density(value));
        let noise = sight.noise(value, lab, &sight.cov, None);
        let path = sight.known.is_none().then(|| {
            let mut test = sight.test.clone();
            test.swatches.push(Swatch {
                value,
                value_sd: None,
                source: Source::Standard,
                lab: lab.0,
                cov: sight.cov,
                photo: String::new(),
                station: String::new(),
                light: Vec::new(),
                taken: None,
                clear: None,
            });
            Path::new(&test, sight.nuisance).ok()
        });
        Self { at: sight.share(value), noise, path: path.flatten() }
    }
}

impl Known {
    fn of(sight: &Sight) -> Option<Self> {
        let run = sight.density(sight.ends[1]) - sight.density(sight.ends[0]);
        let aside = Matrix3::identity() * (ASIDE * run.norm_squared());
        let prior = (run * run.transpose() + aside) * PRIOR.powi(2);
        // Photos of one concentration tell as much as their mean.
        let mut own: BTreeMap<u64, Vec<&Swatch>> = BTreeMap::new();
        sight.test.own().for_each(|s| own.entry(s.value.to_bits()).or_default().push(s));
        let own: Vec<Vec<&Swatch>> = own.into_values().collect();
        let at: Vec<f64> = own.iter().map(|of| sight.share(of[0].value)).collect();
        let mut all = DMatrix::zeros(3 * own.len(), 3 * own.len());
        for (i, of) in own.iter().enumerate() {
            for j in 0..own.len() {
                all.fixed_view_mut::<3, 3>(3 * i, 3 * j).copy_from(&(prior * near(at[i], at[j])));
            }
            let one = |s: &&Swatch| sight.noise(s.value, Lab(s.lab), &s.cov, s.value_sd);
            let noise = of.iter().map(one).sum::<Matrix3<f64>>() / (of.len() as f64).powi(2);
            let mut there = all.fixed_view_mut::<3, 3>(3 * i, 3 * i);
            there += noise;
        }
        Some(Self { at, prior, told: all.cholesky()? })
    }

    /// Covariance of the path between two places on the scale, by what the standards tell.
    fn between(&self, s: f64, t: f64) -> Matrix3<f64> {
        let column = |s: f64| {
            let mut m = DMatrix::zeros(3 * self.at.len(), 3);
            for (i, at) in self.at.iter().enumerate() {
                m.fixed_view_mut::<3, 3>(3 * i, 0).copy_from(&(self.prior * near(*at, s)));
            }
            m
        };
        let told = column(s).transpose() * self.told.solve(&column(t));
        self.prior * near(s, t) - Matrix3::from_fn(|r, c| told[(r, c)])
    }

    /// The same at one place.
    fn left(&self, s: f64) -> Matrix3<f64> {
        let left = self.between(s, s);
        (left + left.transpose()) * 0.5
    }

    /// What of it one more standard takes away.
    fn gained(&self, s: f64, added: &Added) -> Matrix3<f64> {
        let across = self.between(s, added.at);
        match (self.left(added.at) + added.noise).cholesky() {
            Some(chol) => across * chol.solve(&across.transpose()),
            None => Matrix3::zeros(),
        }
    }
}

fn near(s: f64, t: f64) -> f64 {
    (-0.5 * ((s - t) / LENGTH).powi(2)).exp()
}

/// Weights of the places on the scale: half evenly, half as the readings lie. Without readings evenly.
fn likely(read: &[f64], share: impl Fn(f64) -> f64) -> [f64; GRID] {
    let mut out = [1.0 / GRID as f64; GRID];
    if read.is_empty() {
        return out;
    }
    out.iter_mut().for_each(|w| *w *= 0.5);
    for v in read {
        let at = (share(*v).clamp(0.0, 1.0) * (GRID - 1) as f64).round() as usize;
        out[at] += 0.5 / read.len() as f64;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::{LinRgb, lab_from_linear};
    use crate::curve::invert::invert;
    use crate::curve::kit::Matrix;
    use crate::water::{Analyte, Unit};

    fn kit(values: &[f64]) -> Kit {
        let unit = Unit::parse("mg/L NO2-", &Analyte::Nitrite).unwrap();
        let mut test = Test::new("nitrite", Analyte::Nitrite, unit, Matrix::Fresh);
        for v in values {
            test.swatches.push(Swatch {
                value: *v,
                value_sd: None,
                source: Source::Standard,
                lab: lab_from_linear(LinRgb([0.1, 0.9, 0.4].map(|k: f64| (-k * v).exp()))).0,
                cov: [[0.1, 0.0, 0.0], [0.0, 0.1, 0.0], [0.0, 0.0, 0.1]],
                photo: format!("{v}-{}", test.swatches.len()),
                station: "B".into(),
                light: Vec::new(),
                taken: None,
                clear: None,
            });
        }
        let mut kit = Kit::new("one").unwrap();
        kit.add_test(test).unwrap();
        kit
    }

    const HERE: Light = Light { light: Vec::new(), share: 1.0, foreign: 0.0, unsure: 0.0 };

    #[test]
    fn half_way_between_standards_it_is_as_unsure_as_the_thin_path() {
        // Spaced evenly on the scale, the noise of the swatches left aside; as shares of the gap, 0.08 for each standard that is missing.
        let expected = [(2, 0.24), (3, 0.16), (4, 0.08), (5, 0.0)];
        for (n, thin) in expected {
            let at: Vec<f64> = (0..n).map(|i| i as f64 / (n - 1) as f64).collect();
            let prior = Matrix3::identity() * PRIOR.powi(2);
            let all = DMatrix::from_fn(3 * n, 3 * n, |r, c| {
                if r % 3 == c % 3 { prior[(0, 0)] * near(at[r / 3], at[c / 3]) } else { 0.0 }
            });
            let told = (all + DMatrix::identity(3 * n, 3 * n) * 1e-6).cholesky().unwrap();
            let known = Known { at: at.clone(), prior, told };
            let gap = at[1] - at[0];
            let half = known.left(0.5 * gap)[(0, 0)].sqrt() / gap;
            assert!((half - thin).abs() < 0.06, "{n}: {half} against {thin}");
        }
    }

    #[test]
    fn widths_are_those_that_readings_have() {
        let kit = kit(&[0.0, 0.0, 0.1, 0.1, 0.3, 0.3, 0.8, 0.8, 1.6, 1.6, 3.2, 3.2]);
        let (test, used) = (&kit.tests[0], Use::default());
        let sight = Sight::of(&kit, test, &used).unwrap();
        for (value, foreign) in [(0.3, 0.0), (0.5, 0.0), (0.8, 0.0), (1.2, 0.0), (2.0, 0.0), (0.5, 0.1), (1.2, 0.1)] {
            let place = Light { foreign, ..HERE };
            let [lower, upper] = sight.interval(value, &place, None);
            let seen = Seen { lab: coloured(&sight.density(value)), cov: sight.cov, foreign };
            let found = invert(&sight.path, &seen, false);
            let read = sight.path.value(found.upper) - sight.path.value(found.lower);
            assert!(((upper - lower) / read - 1.0).abs() < 0.08, "{value} {foreign}: {} {read}", upper - lower);
        }
    }
}
