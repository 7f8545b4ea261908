//! Tests that were started and not photographed yet.

use super::{IntakeError, KitFacts};
use crate::log::{Event, Filter, Id, Log, Reading, ReadingTime, Start, WINDOW_MINUTES};
use jiff::{SignedDuration, Timestamp};

/// A start without a wait that is known is shown for this long.
const SHOWN_HOURS: i64 = 1;

/// A test that was started.
#[derive(Debug, Clone, PartialEq)]
pub struct Timer {
    /// Its entry in the log.
    pub entry: Id,
    /// What was started, and when.
    pub start: Start,
    /// When the photo is to be taken; none where the kit does not say.
    pub ready: Option<Timestamp>,
    /// Until when the colour counts.
    pub last: Timestamp,
}

impl Timer {
    fn of(event: &Event, kits: &KitFacts) -> Option<Self> {
        let start = Start::of(event)?;
        // A kit that is not here any more only says less.
        let test = kits.kit(&start.kit).and_then(|k| k.test(&start.test).ok());
        let after = |minutes: f64| {
            start.at.instant.checked_add(SignedDuration::from_secs_f64(minutes * 60.0)).unwrap_or(start.at.instant)
        };
        let time = test.and_then(|t| {
            Some(ReadingTime { wait: t.wait_minutes?, window: t.window_minutes.unwrap_or(WINDOW_MINUTES) })
        });
        let ready = time.map(|t| after(t.wait));
        let last = time.map_or(after(60.0 * SHOWN_HOURS as f64), |t| after(t.wait + t.window));
        Some(Self { entry: event.id, start, ready, last })
    }
}

/// The started tests of a tank, or of any, whose time is not over, the next to be photographed first. One that was photographed
/// since is left out.
pub fn timers(kits: &KitFacts, log: &Log, tank: Id, now: Timestamp) -> Result<Vec<Timer>, IntakeError> {
    let all = log.events(None)?;
    let own = all.iter().filter_map(|e| Timer::of(e, kits));
    let open = own.filter(|t| t.start.tank.is_none_or(|id| id == tank) && t.last >= now && t.start.at.instant <= now);
    let mut out: Vec<Timer> = open.collect();
    if let Some(since) = out.iter().map(|t| t.start.at.instant).min() {
        let filter = Filter { tank: Some(tank), since: Some(since), ..Filter::default() };
        let readings = log.readings(&filter)?;
        out.retain(|t| {
            let same = |r: &&Reading| r.test.kit.as_ref() == Some(&t.start.kit) && r.test.name == t.start.test;
            !readings.iter().filter(same).any(|r| r.sample.photo.is_some_and(|p| p.instant >= t.start.at.instant))
        });
    }
    out.sort_by_key(|t| (t.ready.unwrap_or(t.last), t.entry));
    Ok(out)
}
