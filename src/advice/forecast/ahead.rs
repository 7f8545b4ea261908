//! From now on: doses and tests every day, until the proof.

use super::fit::Now;
use super::model::Step;
use crate::advice::rules::{MOST_NITRITE, ZERO_DAYS};
use crate::numeric::robust::quantile;
use crate::numeric::stats::normal_quantile;

/// What the keeper does from now on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Routine {
    /// mg/L N of each dose; none with animals, whose ammonia comes by itself.
    pub(super) dose: Option<f64>,
    /// Ammonia and nitrite below which a test shows none, mg/L N.
    pub(super) none: [f64; 2],
    /// Days since a dose that nobody tested yet.
    pub(super) pending: Option<f64>,
    /// Proofs in a row so far.
    pub(super) proofs: usize,
}

/// Days from now: a tenth, the half and nine tenths of the samples are done by then. `None` is later than is looked ahead.
pub(super) type Days = [Option<f64>; 3];

/// Days that are looked ahead.
pub(super) const AHEAD: f64 = 120.0;
/// By how much a tank's growth in the weeks to come may differ from that before, in its logarithm: warmer or colder weeks,
/// alkalinity, oxygen, and the form of the equations itself. Each group's own.
const CHANGES: f64 = 0.3;
/// By how much the days to come differ, in their logarithm, where a filter follows equations of another form: a surface that fills,
/// a film with diffusion, substrate that inhibits. A round figure; with it 84 of 100 ranges of seeds 1 and 2 of the report hold.
const FORM: f64 = 0.25;
/// Proofs in a row that finish a cycle.
const PROOFS: usize = 2;
/// Days a keeper is late with a proof's dose or test, at most.
const LATE: f64 = 1.0;

/// When it is finished: two doses in a row gone a day later, as the rule `proof` asks; with animals, a week of none.
pub(super) fn finished(samples: &[Now], routine: &Routine, seed: u64) -> Days {
    let mut random = fastrand::Rng::with_seed(seed);
    let days: Vec<f64> = samples
        .iter()
        .map(|now| {
            let factor = [0, 1].map(|_| (CHANGES * normal_quantile(random.f64()).unwrap_or(0.0)).exp());
            let form = (FORM * normal_quantile(random.f64()).unwrap_or(0.0)).exp();
            let late = LATE * random.f64();
            let days = match routine.dose {
                Some(dose) => proof(now, factor, dose, routine),
                None => week(now, factor, routine),
            };
            // The days of the proof itself pass as they do.
            let proof = days.unwrap_or(0.0).min(least(routine));
            days.map_or(f64::INFINITY, |d| (d - proof) * form + proof + late)
        })
        .collect();
    [0.1, 0.5, 0.9].map(|p| later(&days, p))
}

/// Days that the proof takes at the least, from now.
fn least(routine: &Routine) -> f64 {
    match routine.dose {
        Some(_) => (PROOFS.saturating_sub(routine.proofs) as f64 - routine.pending.unwrap_or(0.0).min(1.0)).max(0.0),
        None => ZERO_DAYS,
    }
}

/// A quantile; `None` where it lies among those that are not done.
fn later(days: &[f64], p: f64) -> Option<f64> {
    let capped: Vec<f64> = days.iter().map(|d| d.min(AHEAD)).collect();
    quantile(&capped, p).filter(|q| *q < AHEAD)
}

fn proof(now: &Now, factor: [f64; 2], dose: f64, routine: &Routine) -> Option<f64> {
    let mut kinetics = now.kinetics.times(factor);
    let (mut s, mut day, mut step) = (now.state, 0.0, 0.25);
    let none = |s: &[f64; 4]| s[0] < routine.none[0] && s[1] < routine.none[1];
    let most = MOST_NITRITE * crate::advice::balance::as_n(crate::advice::book::Kind::Nitrite);
    let (mut proofs, mut trial) = (routine.proofs, routine.pending.is_some());
    // A dose under way is tested a day after it went in, else the next test and dose are due now.
    let mut wait = routine.pending.map_or(0.0, |since| (1.0 - since).max(0.0));
    while day <= AHEAD {
        s = kinetics.run(s, wait, &mut step)?;
        day += wait;
        if trial {
            proofs = if none(&s) { proofs + 1 } else { 0 };
            if proofs >= PROOFS {
                return Some(day);
            }
        }
        trial = s[0] < routine.none[0] && s[1] < most;
        if trial {
            s = kinetics.happens(s, Step::Dose(dose));
        }
        wait = 1.0;
    }
    None
}

fn week(now: &Now, factor: [f64; 2], routine: &Routine) -> Option<f64> {
    let mut kinetics = now.kinetics.times(factor);
    kinetics.load(true);
    let (mut s, mut step, mut since) = (now.state, 0.25, None);
    for day in 0..AHEAD as usize {
        let day = day as f64;
        if s[0] < routine.none[0] && s[1] < routine.none[1] {
            let begun = *since.get_or_insert(day);
            if day - begun >= ZERO_DAYS {
                return Some(day);
            }
        } else {
            since = None;
        }
        s = kinetics.run(s, 1.0, &mut step)?;
    }
    None
}
