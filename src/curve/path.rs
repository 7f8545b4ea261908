//! The way of a test's colour from its first standard to its last.

use nalgebra::{Matrix3, Vector3};

use super::anchor::{Made, made};
use super::density::{Density, covariance, density};
use super::extra::Extra;
use super::invert::Seen;
use super::kit::{Kind, Scale, Source, Swatch, Test};
use super::way::Ways;
use crate::colour::Lab;
use crate::numeric::pchip::{Pchip, Slopes};
use crate::trial::{Part, without};

/// Why there is no path.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CurveError {
    /// Fewer than two different concentrations.
    #[error("the test {test} has swatches of {}; two are the least, five are good", different(*count))]
    TooFew { test: String, count: usize },
}

/// So many different concentrations, in words.
fn different(count: usize) -> String {
    match count {
        0 => "no concentration".to_string(),
        1 => "one concentration".to_string(),
        n => format!("{n} concentrations"),
    }
}

impl CurveError {
    /// Stable code.
    pub fn code(&self) -> &'static str {
        match self {
            Self::TooFew { .. } => "curve-too-few",
        }
    }

    /// What to do.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::TooFew { .. } => "Photograph more standards of known concentration and add them with `kit add`.",
        }
    }
}

/// Spread of what no colour correction can remove, as standard deviations.
///
/// The same vial differs from photo to photo by how much light reaches the paper behind it (`brightness`, ln units) and
/// how long the light's way through the liquid is (`way`, relative). Priors, from computer-made photos of known truth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nuisance {
    pub brightness: f64,
    pub way: f64,
    /// What else separates a photo from the next: standard deviation in each CIELAB coordinate.
    pub rest: f64,
    /// How far the path between two standards goes straight in concentration, 0, or straight in its root, 1: for scales from
    /// zero. A quarter of the difference between the two is its standard deviation there.
    pub root: f64,
}

impl Default for Nuisance {
    fn default() -> Self {
        Self { brightness: 0.25, way: 0.08, rest: 0.7, root: 1.0 }
    }
}

impl Nuisance {
    /// For a kind of test. A pad lies in the card's plane, in the same light as the paper beside it, and is looked at, not through:
    /// neither brightness nor way differ much. Its colour goes
    /// with a power of the concentration between the root and one. From computer-made photos of strips.
    pub fn of(kind: Kind) -> Self {
        match kind {
            Kind::Vial => Self::default(),
            Kind::Strip => Self { brightness: 0.03, way: 0.04, rest: 0.7, root: 0.5 },
        }
    }

    /// Covariance of one photo's density about `d`.
    pub fn covariance(&self, d: &Density) -> Matrix3<f64> {
        let one = Vector3::repeat(1.0);
        // Left out for a trial, a little stays: no density is known exactly.
        let brightness = if without(Part::Brightness) { 0.01 } else { self.brightness };
        let way = if without(Part::Way) { 0.001 } else { self.way };
        one * one.transpose() * brightness.powi(2) + d * d.transpose() * way.powi(2)
    }
}

/// A smooth path through the swatches, by position: 0 at the first standard, 1 at the second and so on.
#[derive(Debug, Clone)]
pub struct Path {
    values: Vec<f64>,
    scale: Scale,
    /// Over the root of the concentration, and over the concentration itself.
    bands: [[Pchip; 3]; 2],
    spread: Spread,
    nuisance: Nuisance,
    extra: Extra,
    /// Not one standard of one's own is in it.
    print_alone: bool,
}

/// How well a path is known at each standard.
#[derive(Debug, Clone)]
struct Spread {
    /// Variance share of the path: 1 / number of photos of it.
    shares: Vec<f64>,
    /// Covariance of the swatches' own noise.
    noise: Vec<Matrix3<f64>>,
    /// Variance of the concentrations of standards whose own uncertainty nobody stated, in the test's unit.
    values: Vec<f64>,
    /// Standard deviation of the standards' concentrations, where it was stated.
    stated: Vec<f64>,
    /// Covariance in which a path made of printed shades is known; there neighbours err alike.
    known: Vec<Matrix3<f64>>,
}

impl Path {
    /// The path through a test's swatches. Swatches of one concentration are averaged; order of addition does not matter. Where
    /// there are too few standards of one's own for a curve, printed shades make one that is drawn to those.
    pub fn new(test: &Test, nuisance: Nuisance) -> Result<Self, CurveError> {
        Self::under(test, nuisance, &Ways::default(), &[])
    }

    /// As [`Path::new`], for photos under a light given by its signature: the standards' densities count as they would be seen there.
    pub fn under(test: &Test, nuisance: Nuisance, ways: &Ways, light: &[f64]) -> Result<Self, CurveError> {
        if !test.from_print() {
            let way = nuisance.way.hypot(ways.unsure(light));
            return Self::through(&test.series(), Nuisance { way, ..nuisance }, |s| ways.factor(s, light));
        }
        let Made { values, at, known } = made(test, nuisance)?;
        let n = values.len();
        let spread = Spread {
            shares: vec![0.0; n],
            noise: vec![Matrix3::zeros(); n],
            values: vec![0.0; n],
            stated: vec![0.0; n],
            known,
        };
        Self::joined(test, &values, &at, spread, nuisance)
    }

    /// The path through all of a test's swatches, wherever they come from; their densities multiplied by `way`.
    pub(super) fn through(test: &Test, nuisance: Nuisance, way: impl Fn(&Swatch) -> f64) -> Result<Self, CurveError> {
        let values = test.values();
        let mut at: Vec<Density> = Vec::new();
        let mut shares = Vec::new();
        let mut noise = Vec::new();
        let mut sds = Vec::new();
        for v in &values {
            let of: Vec<_> = test.swatches.iter().filter(|s| s.value == *v).collect();
            let n = of.len() as f64;
            let densities: Vec<Density> = of.iter().map(|s| density(Lab(s.lab)) * way(s)).collect();
            let own = |s: &&super::kit::Swatch| {
                let cov = Matrix3::from_fn(|r, c| s.cov[r][c]) + Matrix3::identity() * nuisance.rest.powi(2);
                covariance(Lab(s.lab), &cov)
            };
            at.push(densities.iter().sum::<Density>() / n);
            noise.push(of.iter().map(own).sum::<Matrix3<f64>>() / (n * n));
            shares.push(1.0 / n);
            let made = |s: &&Swatch| if s.value_sd.is_some() { 0.0 } else { made_to(test.scale, s.value).powi(2) };
            sds.push(of.iter().map(made).sum::<f64>() / (n * n));
        }
        let known = vec![Matrix3::zeros(); values.len()];
        let stated = values.iter().map(|v| value_sd(test, *v)).collect();
        Self::joined(test, &values, &at, Spread { shares, noise, values: sds, stated, known }, nuisance)
    }

    fn joined(
        test: &Test,
        values: &[f64],
        at: &[Density],
        spread: Spread,
        nuisance: Nuisance,
    ) -> Result<Self, CurveError> {
        let too_few = || CurveError::TooFew { test: test.name.clone(), count: values.len() };
        if values.len() < 2 {
            return Err(too_few());
        }
        // Density is about straight in concentration; the root keeps the low end from being squeezed by the top.
        let warped: Vec<f64> = values.iter().map(|v| warp(test.scale, *v, values[0])).collect();
        let band = |x: &[f64], c: usize| {
            let y: Vec<f64> = at.iter().map(|d| d[c]).collect();
            Pchip::new(x, &y, Slopes::FritschButland)
        };
        let bands = |x: &[f64]| Some([band(x, 0)?, band(x, 1)?, band(x, 2)?]);
        let bands = [bands(&warped).ok_or_else(too_few)?, bands(values).ok_or_else(too_few)?];
        let (extra, print_alone) = (Extra::default(), test.swatches.iter().all(|s| s.source == Source::Print));
        Ok(Self { values: values.to_vec(), scale: test.scale, bands, spread, nuisance, extra, print_alone })
    }

    /// The same path, known less well: what is new since it was made.
    pub fn widened(self, extra: Extra) -> Self {
        Self { extra: self.extra.and(extra), ..self }
    }

    /// Covariance with which a colour seen scatters about the path at a position, its own noise included.
    pub fn spread(&self, seen: &Seen, position: f64) -> Matrix3<f64> {
        seen.own(self.nuisance.rest) + self.scatter(position) + seen.bands(&self.density(position))
    }

    /// Position of the last standard.
    pub fn last(&self) -> f64 {
        (self.values.len() - 1) as f64
    }

    /// Concentrations of the standards, rising.
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// Concentration at a position, straight between standards and beyond them.
    pub fn value(&self, position: f64) -> f64 {
        let i = self.segment(position);
        self.values[i] + (position - i as f64) * (self.values[i + 1] - self.values[i])
    }

    /// Position of a concentration; the inverse of [`Path::value`].
    pub fn position(&self, value: f64) -> f64 {
        let n = self.values.len();
        let i = self.values.partition_point(|v| *v <= value).clamp(1, n - 1) - 1;
        i as f64 + (value - self.values[i]) / (self.values[i + 1] - self.values[i])
    }

    fn segment(&self, position: f64) -> usize {
        (position.max(0.0) as usize).min(self.values.len() - 2)
    }

    /// Density at a position.
    pub fn density(&self, position: f64) -> Density {
        let [root, straight] = self.ways(position);
        let share = if self.thin() > 0.0 { self.nuisance.root.min(0.5) } else { self.nuisance.root };
        root * share + straight * (1.0 - share)
    }

    /// Change of the density with the concentration.
    fn slope(&self, position: f64) -> Density {
        const SIDE: f64 = 0.05;
        let (before, after) = (position - SIDE, position + SIDE);
        (self.density(after) - self.density(before)) / (self.value(after) - self.value(before))
    }

    /// Density by the two ways to go from one standard to the next.
    fn ways(&self, position: f64) -> [Density; 2] {
        let value = self.value(position);
        let at = [warp(self.scale, value, self.values[0]), value];
        [0, 1].map(|k| Vector3::from_fn(|c, _| self.bands[k][c].value(at[k])))
    }

    /// Covariance with which a photo of a sample at a position scatters about the path, its own noise left out: the
    /// nuisances of this photo, and those and the noise of the swatches that made the path.
    pub fn scatter(&self, position: f64) -> Matrix3<f64> {
        let i = self.segment(position);
        let f = (position - i as f64).clamp(0.0, 1.0);
        let own = if without(Part::Scatter) { 0.0 } else { 1.0 };
        let (a, b) = (own * (1.0 - f).powi(2), own * f.powi(2));
        let Spread { shares, noise, values, stated, known } = &self.spread;
        // Standards of one stock err together: deviations, not variances, go over into one another.
        let value = self.off(position, (1.0 - f) * stated[i] + f * stated[i + 1]);
        let share = a * shares[i] + b * shares[i + 1];
        let [root, straight] = self.ways(position);
        let thin = self.thin();
        let between = match thin > 0.0 || self.nuisance.root < 1.0 {
            true => (root - straight) * if thin > 0.0 { BETWEEN_FEW } else { BETWEEN },
            false => Vector3::zeros(),
        };
        // How exactly standards and samples are made, carried along the path.
        let made = made_to(self.scale, self.value(position)).powi(2) + a * values[i] + b * values[i + 1];
        let made = if without(Part::Made) { 0.0 } else { made };
        let slope = self.slope(position);
        self.nuisance.covariance(&self.density(position)) * (1.0 + share)
            + slope * slope.transpose() * made
            + noise[i] * a
            + noise[i + 1] * b
            + known[i] * (1.0 - f)
            + known[i + 1] * f
            + between * between.transpose()
            + self.extra.covariance(&self.density(position))
            + value * value.transpose()
            + self.bend(i, f, thin)
    }

    /// By how much the density is off where the concentration is off by `sd`: along the path, so that it goes into the interval
    /// and not into the distance from the path.
    pub(super) fn off(&self, position: f64, sd: f64) -> Density {
        if sd == 0.0 {
            return Density::zeros();
        }
        let value = self.value(position);
        let at = |v: f64| self.density(self.position(v));
        (at(value + sd) - at(value - sd)) * 0.5
    }

    /// What a path through few standards may miss of the true one's bends: the farther from both standards the more, along the way between
    /// them and in every band.
    fn bend(&self, i: usize, f: f64, thin: f64) -> Matrix3<f64> {
        let gap = self.density(i as f64 + 1.0) - self.density(i as f64);
        let far = thin * 4.0 * f * (1.0 - f);
        (gap * gap.transpose() + Matrix3::identity() * (0.1 * gap.norm_squared())) * far.powi(2)
    }

    /// How little is known between the standards: 0 from [`ENOUGH`] on.
    fn thin(&self) -> f64 {
        THIN * ENOUGH.saturating_sub(self.values.len()) as f64
    }

    /// Whether it comes from printed shades, without a standard of one's own.
    pub(super) fn print_alone(&self) -> bool {
        self.print_alone
    }

    /// How the photo's own noise enters.
    pub fn nuisance(&self) -> Nuisance {
        self.nuisance
    }
}

/// Standard deviation of a concentration that swatches stand for. Photos of one concentration show one standard: the largest that is
/// said holds for all of them.
pub(super) fn value_sd(test: &Test, value: f64) -> f64 {
    test.swatches.iter().filter(|s| s.value == value).filter_map(|s| s.value_sd).fold(0.0, f64::max)
}

/// Standard deviation of the path between standards, as a share of the difference of the two ways to go there.
const BETWEEN: f64 = 0.25;

/// So many standards show how a test's colours run.
const ENOUGH: usize = 5;
/// With fewer, the path's standard deviation half way between two, as a share of their difference, for each one missing; and that of the
/// two ways to go there, the path then going half way between them. Without these, kits of two or three standards covered the truth in
/// 64 to 85 % of readings, misread five and called two zero that were not.
const THIN: f64 = 0.08;
const BETWEEN_FEW: f64 = 0.5;

/// How exactly a keeper makes a standard, and drops reagent into a sample: standard deviation in the test's unit. Drops and syringes are
/// good to a hundredth or two, buffer solutions to 0.02 pH (common practice). Without it pH was covered in 49 of 55 readings.
fn made_to(scale: Scale, value: f64) -> f64 {
    match scale {
        Scale::FromZero => 0.015 * value.abs(),
        Scale::Bounded => 0.02,
    }
}

/// Concentration as the path's smooth parameter.
fn warp(scale: Scale, value: f64, first: f64) -> f64 {
    match scale {
        Scale::Bounded => value,
        // Odd about the first standard, so that the path can be followed a little below it.
        Scale::FromZero => (value - first).abs().sqrt().copysign(value - first),
    }
}

#[cfg(test)]
mod tests;
