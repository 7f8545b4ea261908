//! Kinetics that agree with a log, as samples.

use super::course::Told;
use super::model::{Kinetics, Point, SIZE, State};
use super::prior::Prior;
use crate::numeric::ensemble::{Walker, walk};

/// How a tank may stand now.
#[derive(Debug, Clone, Copy)]
pub(super) struct Now {
    pub(super) kinetics: Kinetics,
    pub(super) state: State,
}

/// Points drawn from the prior, walkers started from the best of them, rounds they walk, and rounds that are thrown away.
const DRAWS: usize = 600;
const WALKERS: usize = 40;
const ROUNDS: usize = 160;
const BURNT: usize = 80;
/// Every so many rounds all walkers are taken.
const THIN: usize = 16;

/// Samples of how the tank stands now; none where the equations cannot follow the log.
pub(super) fn fit(told: &Told, prior: &Prior, seed: u64) -> Vec<Now> {
    let density = |p: &Point| {
        let mut seen = Vec::with_capacity(told.seen.len());
        if told.course.run(p, &mut seen).is_none() {
            return f64::NEG_INFINITY;
        }
        prior.density(p) + told.seen.iter().zip(&seen).map(|(s, x)| s.likelihood(*x)).sum::<f64>()
    };
    let mut random = fastrand::Rng::with_seed(seed);
    let mut start: Vec<Walker<SIZE>> = (0..DRAWS)
        .map(|_| {
            let p = prior.draw(|| random.f64());
            (p, density(&p))
        })
        .collect();
    start.sort_by(|a, b| b.1.total_cmp(&a.1));
    start.truncate(WALKERS);
    // The two halves move one another: the best must not stand in one of them.
    random.shuffle(&mut start);
    let rounds = walk(start, ROUNDS, random.u64(..), density);
    let kept = rounds.iter().skip(BURNT).step_by(THIN).flatten();
    let now = |w: &Walker<SIZE>| {
        let (kinetics, state) = told.course.run(&w.0, &mut Vec::new())?;
        Some(Now { kinetics, state })
    };
    kept.filter_map(now).collect()
}
