//! Uncertainty of a solution that came about by weighing, filling up and taking out: a product of all these.

use std::collections::BTreeMap;

/// What has one error wherever it serves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Common {
    /// Content of what was bought.
    Bought,
    /// The weight of the stock.
    Weight,
    /// Density by which a vessel is filled on the scale.
    Density,
    /// A vessel, by its number.
    Vessel(usize),
    /// A syringe, by its number.
    Syringe(usize),
}

/// Relative uncertainty of a concentration, of first order.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Spread {
    /// Relative standard deviations with the sign in which they enter, straight sums for one cause.
    common: BTreeMap<Common, f64>,
    /// Relative variance of all that happens once.
    once: f64,
}

impl Spread {
    /// With limits of error `limits` (relative, to either side, rectangular) of something that may serve again.
    pub(super) fn with(mut self, cause: Common, limits: f64) -> Self {
        *self.common.entry(cause).or_default() += limits / 3f64.sqrt();
        self
    }

    /// With limits of error of something that happens once.
    pub(super) fn once(mut self, limits: f64) -> Self {
        self.once += limits * limits / 3.0;
        self
    }

    /// Relative standard deviation.
    pub(super) fn sd(&self) -> f64 {
        (self.common.values().map(|x| x * x).sum::<f64>() + self.once).sqrt()
    }
}
