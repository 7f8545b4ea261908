//! A log as the equations take it: what happened, and what tests showed.

use super::model::{Course, Step};
use super::seen::Seen;
use crate::advice::balance::as_n;
use crate::advice::book::{Animals, Book, Happened, Kind, Measured, Shown, hours};
use crate::advice::evidence::{Evidence, Weight};
use crate::advice::rules::START_DOSE;
use jiff::{SignedDuration, Timestamp};

/// The course of a tank, and what its tests showed in the order of its steps.
pub(super) struct Told {
    pub(super) course: Course,
    pub(super) seen: Vec<Seen>,
}

/// Days back from now that are looked at: what was before says little about a filter now.
const BACK: i64 = 150;
/// Share of the biomass left after media were taken out, and after they were rinsed. Nobody knows how much it was: guesses.
const REMOVED: f64 = 0.5;
const RINSED: f64 = 0.8;
/// Share of the water where a change's was not logged.
const CHANGED: f64 = 0.25;

/// Readings of ammonia and nitrite that count in full, oldest first: what is in doubt may hide a false none.
pub(super) fn counted<'b>(book: &'b Book, evidence: &Evidence<'b>, from: Timestamp) -> Vec<&'b Measured> {
    let full = |k: Kind| evidence.of_kind(k).filter(move |r| r.at >= from && evidence.weight(r) == Weight::Full);
    let mut all: Vec<_> = full(Kind::Ammonia).chain(full(Kind::Nitrite)).collect();
    debug_assert!(all.iter().all(|r| book.readings.iter().any(|b| b.entry == r.entry)));
    all.sort_by_key(|r| r.at);
    all
}

/// What the log tells up to `now`; nothing without tests.
pub(super) fn told(book: &Book, evidence: &Evidence<'_>, decay: f64, now: Timestamp) -> Option<Told> {
    let from = now.checked_sub(SignedDuration::from_hours(24 * BACK)).unwrap_or(now);
    let readings = counted(book, evidence, from);
    // Media that came in before the first dose are part of the story.
    let source = |w: &Happened| {
        matches!(
            w,
            Happened::Dosed(_) | Happened::Fed(_) | Happened::AnimalsAdded(_) | Happened::MediaMoved { into: true }
        )
    };
    let first = book.events.iter().find(|e| e.at >= from && source(&e.what)).map(|e| e.at);
    let begin = first.into_iter().chain(readings.first().map(|r| r.at)).min()?;
    let day = |at: Timestamp| hours(begin, at) / 24.0;
    let tap = [Kind::Ammonia, Kind::Nitrite].map(|k| {
        let tested = book.tap(k).filter(|r| r.shown == Shown::Some);
        tested.map_or(0.0, |r| r.span.middle() * as_n(k))
    });
    let mut steps: Vec<(f64, Step)> = Vec::new();
    if book.animals(begin) == Animals::Present {
        steps.push((0.0, Step::Load(true)));
    }
    for e in book.events.iter().filter(|e| e.at >= begin) {
        let at = day(e.at);
        let step = match e.what {
            Happened::Dosed(Some(n)) => Step::Dose(n),
            Happened::Changed(share) => Step::Change { share: share.unwrap_or(CHANGED).clamp(0.0, 1.0), tap },
            // New media bring room, not life.
            Happened::MediaMoved { into: true } => Step::Seed,
            Happened::MediaMoved { into: false } | Happened::MediaRemoved => Step::Keep(REMOVED),
            Happened::MediaRinsed => Step::Keep(RINSED),
            Happened::AnimalsAdded(_)
            | Happened::AnimalsRemoved(_)
            | Happened::AnimalDied(_)
            | Happened::AnimalsCounted(_)
            | Happened::Fed(_) => {
                let fed = matches!(e.what, Happened::Fed(_));
                Step::Load(fed || book.animals(e.at) == Animals::Present)
            }
            _ => continue,
        };
        steps.push((at, step));
    }
    if !steps.iter().any(|s| matches!(s.1, Step::Load(_))) {
        steps.extend(unlogged(book, &readings, &day));
    }
    steps.extend(readings.iter().map(|r| (day(r.at), Step::See(usize::from(r.kind == Kind::Nitrite)))));
    // Stable: what is logged for the same moment as a test comes before it.
    steps.sort_by(|a, b| a.0.total_cmp(&b.0));
    let since = |i: usize| {
        let r: &Measured = readings[i];
        let before = readings[..i].iter().rfind(|b| b.kind == r.kind);
        before.map_or(f64::INFINITY, |b| hours(b.at, r.at) / 24.0)
    };
    let seen = readings.iter().enumerate().map(|(i, r)| Seen::of(r, since(i))).collect();
    Some(Told { course: Course { steps, now: day(now).max(0.0), decay }, seen })
}

/// Doses that the log does not hold, or not how much, but the tests show: ammonia rose by more than their bounds and the logged
/// doses explain. Half way between the two tests, or when the dose of unknown size went in.
fn unlogged(book: &Book, readings: &[&Measured], day: &dyn Fn(Timestamp) -> f64) -> Vec<(f64, Step)> {
    let of: Vec<&Measured> = readings.iter().copied().filter(|r| r.kind == Kind::Ammonia).collect();
    let mut out = Vec::new();
    let mut before: Option<&Measured> = None;
    for r in of {
        // The first test may stand before any dose.
        let from = before.map_or(Timestamp::MIN, |b| b.at);
        let between = || book.between(from, r.at).filter(|e| e.at != from);
        let doses = || between().filter_map(|e| if let Happened::Dosed(n) = e.what { Some((e.at, n)) } else { None });
        let known: f64 = doses().filter_map(|d| d.1).sum();
        let (best, high) = before.map_or((0.0, 0.0), |b| match b.shown {
            Shown::None => (0.0, b.span.high),
            _ => (b.span.middle(), b.span.high),
        });
        let some = matches!(r.shown, Shown::Some | Shown::Above);
        let unknown = doses().find(|d| d.1.is_none());
        // A dose that was logged is rarely more than a fifth off.
        let risen = some && r.span.low > high + 1.2 * known + r.first_standard;
        let rise = (r.span.middle() - best - known).max(0.0);
        match unknown {
            Some((at, _)) if some && rise > 0.0 => out.push((day(at), Step::Dose(rise))),
            Some((at, _)) => out.push((day(at), Step::Dose(START_DOSE))),
            None if risen => {
                let at = before.map_or(0.0, |b| f64::midpoint(day(b.at), day(r.at)));
                out.push((at, Step::Dose(rise)));
            }
            None => {}
        }
        before = Some(r);
    }
    out
}
