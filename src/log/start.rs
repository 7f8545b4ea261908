//! When reagent went into a sample: what the reaction timer records, and what follows for a photo.

use super::happening::TEST_STARTED;
use super::{Event, Id, Log, LogError, NewEvent};
use crate::moment::Moment;
use jiff::{SignedDuration, Timestamp};
use serde_json::{Map, Value};
use std::cmp::Ordering;

/// The last drop of reagent went in. Kept as an event of the kind `test-started`, whose payload has `kit` and `test`.
#[derive(Debug, Clone, PartialEq)]
pub struct Start {
    /// The kit's name.
    pub kit: String,
    /// The test's name in the kit.
    pub test: String,
    /// Of which tank's water.
    pub tank: Option<Id>,
    /// When.
    pub at: Moment,
}

/// A start says nothing of photos taken later than this: by then it is another test, started without the timer.
const CONCERNS_HOURS: i64 = 6;
/// The clocks of camera and computer, and the hand on the key, are trusted to this; less towards too early, where a colour is
/// still pale.
const SLACK_MINUTES: f64 = 1.0;
const EARLY_MINUTES: f64 = 0.25;

impl Start {
    /// As an event to be added.
    pub fn event(&self) -> NewEvent {
        let mut payload = Map::new();
        payload.insert("kit".into(), Value::String(self.kit.clone()));
        payload.insert("test".into(), Value::String(self.test.clone()));
        NewEvent { payload, ..NewEvent::new(TEST_STARTED, self.tank, self.at) }
    }

    /// What an event says; none if it is another kind, or of a later version.
    pub fn of(event: &Event) -> Option<Self> {
        let word = |key: &str| event.payload.get(key).and_then(Value::as_str).map(str::to_string);
        let own = event.kind == TEST_STARTED;
        Some(Self { kit: word("kit")?, test: word("test")?, tank: event.tank, at: event.at }).filter(|_| own)
    }

    /// Of some starts the one that a photo of a test of a tank shows: the last before it, within six hours. A minute after the
    /// photo is still before it, as clocks differ.
    pub fn before<'s>(
        starts: &'s [Self],
        kit: &str,
        test: &str,
        tank: Option<Id>,
        photo: Timestamp,
    ) -> Option<&'s Self> {
        let own = |s: &&Self| s.kit == kit && s.test == test && (s.tank.is_none() || s.tank == tank);
        let since = |s: &Self| photo.duration_since(s.at.instant);
        let (from, to) =
            (SignedDuration::from_secs_f64(-60.0 * SLACK_MINUTES), SignedDuration::from_hours(CONCERNS_HOURS));
        let near = starts.iter().filter(own).filter(|s| (from..=to).contains(&since(s)));
        near.max_by_key(|s| s.at.instant)
    }
}

impl Log {
    /// The starts that stand, oldest first.
    pub fn starts(&self) -> Result<Vec<Start>, LogError> {
        Ok(self.events(None)?.iter().filter_map(Start::of).collect())
    }
}

/// When a test's colour is read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadingTime {
    /// Minutes from the last drop.
    pub wait: f64,
    /// Minutes after those.
    pub window: f64,
}

impl ReadingTime {
    /// Whether a photo so many minutes after the last drop is too early (less), in time (equal) or too late (greater). A quarter
    /// of a minute before and a minute after are left to the clocks.
    pub fn judge(&self, minutes: f64) -> Ordering {
        match minutes {
            m if m < self.wait - EARLY_MINUTES => Ordering::Less,
            m if m > self.wait + self.window + SLACK_MINUTES => Ordering::Greater,
            _ => Ordering::Equal,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn little_is_left_to_the_clocks() {
        let time = ReadingTime { wait: 5.0, window: 10.0 };
        let judged = [4.7, 4.8, 5.0, 15.0, 15.9, 16.1].map(|m| time.judge(m));
        use Ordering::{Equal, Greater, Less};
        assert_eq!(judged, [Less, Equal, Equal, Equal, Equal, Greater]);
    }
}
