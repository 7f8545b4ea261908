//! Two groups of nitrifiers after Monod.
//!
//! Ammonia oxidisers X turn A into nitrite N, nitrite oxidisers W turn N into nitrate, each growing by
//! μ·S/(K + S) and dying by b. The yield Y only sets in which unit biomass is counted: with Z = X/Y, the biomass as the nitrogen it
//! used to grow (mg/L N), A′ = p − gₐZₐ, N′ = gₐZₐ − gₙZₙ, Z′ = (g − b)Z with g = μS/(K + S), and Y is gone. Form and constants:
//! Tchobanoglous et al., Wastewater Engineering, 5th ed. 2014, table 8-14 (from memory).

use crate::numeric::ode::{Accuracy, advance};

/// How many things are fitted.
pub(super) const SIZE: usize = 8;

/// Logarithms of what is fitted, in this order.
pub(super) type Point = [f64; SIZE];

/// Places in a [`Point`].
pub(super) mod at {
    /// Growth of ammonia and nitrite oxidisers, 1/day at the tank's temperature.
    pub(in super::super) const GROWTH: [usize; 2] = [0, 1];
    /// Their biomass at the beginning, mg/L N used.
    pub(in super::super) const BEGIN: [usize; 2] = [2, 3];
    /// Their half saturation, mg/L N.
    pub(in super::super) const HALF: [usize; 2] = [4, 5];
    /// What animals and food bring, mg/L N a day.
    pub(in super::super) const LOAD: usize = 6;
    /// What media moved in bring, mg/L N used, of either group.
    pub(in super::super) const SEED: usize = 7;
}

/// Ammonia, nitrite, and the biomass of their oxidisers, all mg/L N.
pub(super) type State = [f64; 4];

/// What happens at a moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Step {
    /// mg/L N of ammonia more.
    Dose(f64),
    /// This share of the water replaced by water with so much ammonia and nitrite.
    Change { share: f64, tap: [f64; 2] },
    /// Media moved in.
    Seed,
    /// This share of the biomass stays.
    Keep(f64),
    /// Animals bring ammonia from now on, or no longer.
    Load(bool),
    /// A test of ammonia (0) or nitrite (1).
    See(usize),
}

/// Rates of one tank.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Kinetics {
    growth: [f64; 2],
    half: [f64; 2],
    decay: f64,
    load: f64,
    seed: f64,
    loaded: bool,
}

impl Kinetics {
    pub(super) fn of(p: &Point, decay: f64) -> Self {
        Self {
            growth: at::GROWTH.map(|i| p[i].exp()),
            half: at::HALF.map(|i| p[i].exp()),
            decay,
            load: p[at::LOAD].exp(),
            seed: p[at::SEED].exp(),
            loaded: false,
        }
    }

    /// With the two growth rates times these.
    pub(super) fn times(mut self, factor: [f64; 2]) -> Self {
        (0..2).for_each(|i| self.growth[i] *= factor[i]);
        self
    }

    /// Whether animals bring ammonia.
    pub(super) fn load(&mut self, loaded: bool) {
        self.loaded = loaded;
    }

    /// Days on. A biomass too small to matter is kept at a floor: some cells come in with food, plants and dust.
    pub(super) fn run(&self, from: State, days: f64, step: &mut f64) -> Option<State> {
        /// mg/L N, far below what any test or dose shows within a year.
        const FLOOR: f64 = 1e-9;
        // A thousandth is far below the error of any test.
        const FINE: Accuracy = Accuracy { relative: 2e-3, absolute: 2e-3, steps: 4000 };
        // Biomass goes in as its logarithm: it grows over many decades before it shows.
        let rates = |[a, n, x, w]: &[f64; 4]| {
            let (a, n) = (a.max(0.0), n.max(0.0));
            let (ga, gn) = (self.growth[0] * a / (self.half[0] + a), self.growth[1] * n / (self.half[1] + n));
            let (used, passed) = (ga * x.exp(), gn * w.exp());
            let load = if self.loaded { self.load } else { 0.0 };
            [load - used, used - passed, ga - self.decay, gn - self.decay]
        };
        let ln = |z: f64| z.max(FLOOR).ln();
        let [a, n, x, w] = advance(rates, [from[0], from[1], ln(from[2]), ln(from[3])], days, step, FINE)?;
        Some([a.max(0.0), n.max(0.0), x.exp(), w.exp()])
    }

    /// The state after something happened.
    pub(super) fn happens(&mut self, mut s: State, what: Step) -> State {
        match what {
            Step::Dose(n) => s[0] += n,
            Step::Change { share, tap } => (0..2).for_each(|i| s[i] += share * (tap[i] - s[i])),
            Step::Seed => (2..4).for_each(|i| s[i] += self.seed),
            Step::Keep(share) => (2..4).for_each(|i| s[i] *= share),
            Step::Load(on) => self.loaded = on,
            Step::See(_) => {}
        }
        s
    }
}

/// What a tank went through, in days from its beginning, in order.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Course {
    pub(super) steps: Vec<(f64, Step)>,
    /// The day of the forecast.
    pub(super) now: f64,
    /// Decay, 1/day.
    pub(super) decay: f64,
}

impl Course {
    /// What each test would show, in order, and kinetics and state at the end. `None` where the equations have no solution.
    pub(super) fn run(&self, p: &Point, seen: &mut Vec<f64>) -> Option<(Kinetics, State)> {
        seen.clear();
        let mut kinetics = Kinetics::of(p, self.decay);
        let [x, w] = at::BEGIN.map(|i| p[i].exp());
        let (mut s, mut day, mut step) = ([0.0, 0.0, x, w], 0.0, 0.5);
        for (at, what) in &self.steps {
            if *at > day {
                s = kinetics.run(s, at - day, &mut step)?;
                day = *at;
            }
            match what {
                Step::See(which) => seen.push(s[*which]),
                _ => s = kinetics.happens(s, *what),
            }
        }
        s = kinetics.run(s, self.now - day, &mut step)?;
        Some((kinetics, s))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point() -> Point {
        [0.7f64, 0.6, 1e-4, 2e-4, 0.5, 0.2, 0.3, 0.1].map(f64::ln)
    }

    /// Against an independent integration of the same equations to 1e-10 (Runge–Kutta 5(4) of a general library).
    #[test]
    fn a_dose_is_used_up_in_order() {
        let exact =
            [(5.0, [1.99870, 0.00130]), (18.0, [1.06627, 0.93306]), (22.0, [0.00271, 1.99213]), (30.0, [0.0, 1.72795])];
        let mut steps = vec![(0.0, Step::Dose(2.0))];
        steps.extend(exact.iter().flat_map(|(day, _)| [(*day, Step::See(0)), (*day, Step::See(1))]));
        let (mut seen, course) = (Vec::new(), Course { steps, now: 60.0, decay: 0.05 });
        let (_, end) = course.run(&point(), &mut seen).unwrap();
        for ((day, exact), got) in exact.iter().zip(seen.chunks(2)) {
            for (exact, got) in exact.iter().zip(got) {
                assert!((exact - got).abs() < 5e-3, "day {day}: {got} for {exact}");
            }
        }
        assert!(end[0] < 1e-3 && end[1] < 1e-3, "{end:?}");
    }

    /// While the substrate is far above its half saturation, biomass grows by μ·S/(K+S) − b, and a change leaves it alone.
    #[test]
    fn growth_is_exponential_at_first_and_changes_dilute() {
        let mut k = Kinetics::of(&point(), 0.05);
        let s = k.run([2.0, 0.0, 1e-4, 1e-4], 4.0, &mut 0.5).unwrap();
        let exact = 1e-4 * ((0.7 * 2.0 / 2.5 - 0.05) * 4.0f64).exp();
        assert!((s[2] / exact - 1.0).abs() < 5e-3, "{} for {exact}", s[2]);
        assert!((s[3] / (1e-4 * (-0.05f64 * 4.0).exp()) - 1.0).abs() < 5e-3);
        let changed = k.happens([2.0, 1.0, 0.3, 0.4], Step::Change { share: 0.25, tap: [0.4, 0.0] });
        assert!((changed[0] - 1.6).abs() < 1e-12 && (changed[1] - 0.75).abs() < 1e-12);
        assert_eq!(changed[2..], [0.3, 0.4]);
    }
}
