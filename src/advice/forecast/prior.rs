//! What is believed of a tank's nitrifiers before any test.

use super::model::{Point, SIZE, at};
use crate::advice::book::{Book, Kind};
use crate::numeric::stats::normal_quantile;
use crate::water::{Celsius, Oxidiser, growth_ratio};
use jiff::Timestamp;

/// Normal densities of the logarithms, independent of one another, and the decay.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Prior {
    centre: Point,
    spread: Point,
    pub(super) decay: f64,
}

/// Growth at 20 °C, 1/day. Textbook: 0.90 and 1.00 (Tchobanoglous et al. 2014, table 8-14, from memory); one-step models 0.80
/// (ASM1, from memory) and 0.45 (UCT); a two-step set 0.297 and 0.337. The geometric middle of these, and a factor that holds all.
const GROWTH: f64 = 0.5;
const GROWTH_SPREAD: f64 = 0.45;
/// Half saturation, mg/L N: 0.50 and 0.20 (the same table); 1.0 to 2.4 and 0.5 in other sets, and films add diffusion.
const HALF: [f64; 2] = [0.6, 0.35];
const HALF_SPREAD: f64 = 0.6;
/// Decay at 20 °C, 1/day: 0.17 (the same table), 0.04 (UCT). In films cells last longer: the lower end.
const DECAY: f64 = 0.05;
const THETA_DECAY: f64 = 1.029;
/// Biomass at the beginning, mg/L N used. With the growth above, tanks take the published two to eight weeks; within two
/// deviations from a handful of cells to a filter moved in.
const BEGIN: f64 = 3e-4;
const BEGIN_SPREAD: f64 = 2.7;
/// What animals bring, mg/L N a day: a gram of food of 45 % protein in 100 L brings 0.41.
const LOAD: f64 = 0.3;
const LOAD_SPREAD: f64 = 0.9;
/// What media moved in bring: a tenth of what a dose of 2 mg/L a day needs, within a factor of twenty.
const SEED: f64 = 0.1;
const SEED_SPREAD: f64 = 1.5;
/// Share of the growth left at a pH below 7, and below 6.5: it slows clearly there (common range in textbooks, from memory).
const SLOW: [(f64, f64); 2] = [(6.5, 0.4), (7.0, 0.75)];

impl Prior {
    /// For a tank of this temperature and pH; where nobody measured them, the middle of what such tanks have.
    pub(super) fn of(book: &Book, now: Timestamp) -> Self {
        let (conditions, _) = book.conditions(now);
        let celsius = conditions.temperature.span().middle().clamp(5.0, 35.0);
        let twenty = Celsius::new(20.0).ok();
        let ratio = |of| twenty.zip(Celsius::new(celsius).ok()).map_or(1.0, |(from, to)| growth_ratio(of, from, to));
        let ph = book.of_kind(Kind::Ph).next_back().map(|r| r.span.middle());
        let slow = ph.and_then(|ph| SLOW.iter().find(|(below, _)| ph < *below)).map_or(1.0, |s| s.1);
        let (mut centre, mut spread) = ([0.0; SIZE], [0.0; SIZE]);
        let mut set = |i: usize, x: f64, s: f64| (centre[i], spread[i]) = (x.ln(), s);
        for (i, of) in [Oxidiser::Ammonia, Oxidiser::Nitrite].into_iter().enumerate() {
            set(at::GROWTH[i], GROWTH * ratio(of) * slow, GROWTH_SPREAD);
            set(at::HALF[i], HALF[i], HALF_SPREAD);
            set(at::BEGIN[i], BEGIN, BEGIN_SPREAD);
        }
        set(at::LOAD, LOAD, LOAD_SPREAD);
        set(at::SEED, SEED, SEED_SPREAD);
        Self { centre, spread, decay: DECAY * THETA_DECAY.powf(celsius - 20.0) }
    }

    /// Logarithm of its density, but for a constant.
    pub(super) fn density(&self, p: &Point) -> f64 {
        (0..SIZE).map(|i| -0.5 * ((p[i] - self.centre[i]) / self.spread[i]).powi(2)).sum()
    }

    /// A point drawn from it, by numbers from 0 to 1.
    pub(super) fn draw(&self, mut random: impl FnMut() -> f64) -> Point {
        std::array::from_fn(|i| self.centre[i] + self.spread[i] * normal_quantile(random()).unwrap_or(0.0))
    }
}
