//! The level of a strong sample that was diluted again and again: the dilutions tell the shape of the curve, one known standard on
//! it tells its scale.

use super::invert::{Seen, invert};
use super::kit::{Scale, Source, Swatch, Test};
use super::path::{Nuisance, Path, value_sd};
use crate::colour::Lab;

/// A series as photographed: swatches whose `value` is the share of the undiluted sample, 1 at most.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// Swatches by share.
    pub swatches: Vec<Swatch>,
    /// Standard deviation of a dilution, relative.
    pub dilution_sd: f64,
}

/// The level of the undiluted sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// In the test's unit.
    pub value: f64,
    /// Its standard deviation.
    pub sd: f64,
    /// How many photos of known standards told it; none if it was said.
    pub anchors: usize,
}

/// Why a series has no level.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SeriesError {
    /// pH cannot be diluted.
    #[error("the test {test} has no zero: its samples cannot be diluted")]
    Bounded { test: String },
    /// Too few dilutions to be a curve.
    #[error("the series has {count} different dilutions that can be used; three are the least")]
    TooFew { count: usize },
    /// Nothing tells the scale.
    #[error("no known standard of the test {test} tells how strong the sample is")]
    NoAnchor { test: String },
    /// Known standards, but none between the weakest and the strongest of the series.
    #[error("the known standards of the test {test} lie outside the series, or off its colours")]
    Outside { test: String },
    /// Known standards that contradict one another.
    #[error("the known standards make the undiluted sample {low:.4} and {high:.4}, and both cannot be")]
    Disagree { low: f64, high: f64 },
    /// A level that is none.
    #[error("{value} is no level of a sample")]
    Value { value: f64 },
}

impl SeriesError {
    /// Stable code.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Bounded { .. } => "series-bounded",
            Self::TooFew { .. } => "series-too-few",
            Self::NoAnchor { .. } => "series-no-anchor",
            Self::Outside { .. } => "series-outside",
            Self::Disagree { .. } => "series-disagree",
            Self::Value { .. } => "series-value",
        }
    }

    /// What to do.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::Bounded { .. } => "Use ready buffers as standards of pH.",
            Self::TooFew { .. } => "Photograph at least three dilutions, such as 1+0, 1+1 and 1+3.",
            Self::NoAnchor { .. } => {
                "Add one standard of known concentration to the test first, with kit add, or give the sample's level with --known."
            }
            Self::Outside { .. } => {
                "Use a known standard whose colour lies between the weakest and the strongest dilution, or dilute further."
            }
            Self::Disagree { .. } => {
                "Check the concentrations of the known standards, and take out the wrong one with kit remove."
            }
            Self::Value { .. } => "Give a level above none, in the test's unit.",
        }
    }
}

/// Farther off the series than this (standard deviations) a known standard is of another colour; as for samples.
const OFF: f64 = 4.5;
/// Levels farther apart than so many standard deviations contradict one another.
const APART: f64 = 3.5;

impl Series {
    /// The level that the test's own known standards tell. Its zero standards join the series: none is none at any level.
    pub fn level(&self, test: &Test, nuisance: Nuisance) -> Result<Level, SeriesError> {
        let name = || test.name.clone();
        if test.scale == Scale::Bounded {
            return Err(SeriesError::Bounded { test: name() });
        }
        let path = self.path(test, nuisance)?;
        let known = |s: &&Swatch| s.source == Source::Standard && s.value > 0.0;
        let anchors: Vec<&Swatch> = test.swatches.iter().filter(known).collect();
        if anchors.is_empty() {
            return Err(SeriesError::NoAnchor { test: name() });
        }
        let weakest = self.swatches.iter().map(|s| s.value).fold(f64::INFINITY, f64::min);
        let levels: Vec<(f64, f64)> = anchors.iter().filter_map(|a| told(a, test, &path, weakest)).collect();
        if levels.is_empty() {
            return Err(SeriesError::Outside { test: name() });
        }
        // All go by the same path: their errors are taken to be one and the same, and averaging makes none smaller (GUM F.1.2.3).
        let weight = |(level, sd): &(f64, f64)| (level / sd).powi(2);
        let total: f64 = levels.iter().map(weight).sum();
        let mean = |of: &dyn Fn(&(f64, f64)) -> f64| levels.iter().map(|l| weight(l) * of(l)).sum::<f64>() / total;
        let (value, sd) = (mean(&|l| l.0), mean(&|l| l.1));
        let by = |a: &&(f64, f64), b: &&(f64, f64)| a.0.total_cmp(&b.0);
        if let (Some(low), Some(high)) = (levels.iter().min_by(by), levels.iter().max_by(by))
            && high.0 - low.0 > APART * high.1.hypot(low.1)
        {
            return Err(SeriesError::Disagree { low: low.0, high: high.0 });
        }
        Ok(Level { value, sd, anchors: levels.len() })
    }

    /// The swatches as standards of the test, each with the uncertainty of level and dilution together.
    pub fn standards(&self, level: &Level) -> Vec<Swatch> {
        let one = |s: &Swatch| {
            let short = |x: f64| format!("{x:.4e}").parse().unwrap_or(x);
            let dilution = self.own_sd(s.value) * level.value;
            let sd = (s.value * level.sd).hypot(dilution);
            Swatch { value: short(s.value * level.value), value_sd: Some(short(sd)), ..s.clone() }
        };
        self.swatches.iter().map(one).collect()
    }

    /// The path over shares.
    fn path(&self, test: &Test, nuisance: Nuisance) -> Result<Path, SeriesError> {
        let zeros = test.swatches.iter().filter(|s| s.source == Source::Standard && s.value == 0.0).cloned();
        let own = self.swatches.iter().map(|s| Swatch { value_sd: Some(self.own_sd(s.value)), ..s.clone() });
        let shares = Test { swatches: own.collect(), ..test.clone() };
        let count = shares.values().len();
        if count < 3 {
            return Err(SeriesError::TooFew { count });
        }
        let all = Test { swatches: shares.swatches.into_iter().chain(zeros).collect(), ..test.clone() };
        Path::through(&all, nuisance, |_| 1.0).map_err(|_| SeriesError::TooFew { count })
    }

    /// Standard deviation of a share: the sample itself is undiluted for sure.
    fn own_sd(&self, share: f64) -> f64 {
        if share == 1.0 { 0.0 } else { share * self.dilution_sd }
    }
}

/// The undiluted level and its standard deviation as one known standard tells them, if its colour lies within the series.
fn told(anchor: &Swatch, test: &Test, path: &Path, weakest: f64) -> Option<(f64, f64)> {
    let found = invert(path, &Seen { lab: Lab(anchor.lab), cov: anchor.cov, foreign: 0.0 }, false);
    let inside = found.position >= path.position(weakest) && found.position <= path.last() && found.above < 0.5;
    if !inside || found.off > OFF {
        return None;
    }
    let share = path.value(found.position);
    let spread = (path.value(found.upper) - path.value(found.lower)) / (2.0 * 1.96) / share;
    let level = anchor.value / share;
    let own = value_sd(test, anchor.value) / anchor.value;
    Some((level, level * spread.hypot(own)))
}

#[cfg(test)]
mod tests;
