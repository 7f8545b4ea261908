//! `wait`.

use super::Document;
use super::amount::TimeOut;
use crate::log::{Id, Start, Tank};
use jiff::tz::Offset;
use jiff::{SignedDuration, Timestamp};
use serde::{Serialize, Serializer};
use std::io::{self, Write};

/// `wait`.
#[derive(Debug, Serialize)]
pub struct WaitDone {
    /// Soonest first.
    pub tests: Vec<WaitingOut>,
    /// Whether Ctrl-C ended the counting; the starts stay recorded.
    pub stopped: bool,
}

/// A test that was started.
#[derive(Debug, Serialize)]
pub struct WaitingOut {
    /// The entry of its start.
    pub entry: String,
    pub kit: String,
    pub test: String,
    /// The tank; null where it may be any.
    pub tank: Option<String>,
    pub started: TimeOut,
    /// From when on the colour is read; null where the kit does not say how long the test takes.
    #[serde(serialize_with = "utc")]
    pub ready: Option<Timestamp>,
    /// Until when.
    #[serde(serialize_with = "utc")]
    pub until: Option<Timestamp>,
    #[serde(skip)]
    pub(in crate::faces::cli) told: bool,
    #[serde(skip)]
    short: String,
    #[serde(skip)]
    offset: Offset,
}

fn utc<S: Serializer>(at: &Option<Timestamp>, s: S) -> Result<S::Ok, S::Error> {
    at.map(|t| t.to_string()).serialize(s)
}

impl WaitingOut {
    pub(in crate::faces::cli) fn of(
        id: Id,
        start: &Start,
        tank: Option<&Tank>,
        wait_minutes: Option<f64>,
        window_minutes: f64,
    ) -> Self {
        let after = |minutes: f64| start.at.instant.checked_add(SignedDuration::from_secs_f64(minutes * 60.0)).ok();
        Self {
            entry: id.to_string(),
            kit: start.kit.clone(),
            test: start.test.clone(),
            tank: tank.map(|t| t.name.clone()),
            started: TimeOut::of(&start.at),
            ready: wait_minutes.and_then(after),
            until: wait_minutes.and_then(|w| after(w + window_minutes)),
            told: false,
            short: id.short(),
            offset: start.at.offset,
        }
    }

    fn clock(&self, at: Timestamp) -> String {
        self.offset.to_datetime(at).strftime("%H:%M:%S").to_string()
    }

    /// What to do now that its time has come.
    pub(in crate::faces::cli) fn now_words(&self, now: Timestamp) -> String {
        match self.until {
            Some(until) if until < now => format!(
                "{}: its time ended at {}. Test again; a photo taken now is in doubt.",
                self.test,
                self.clock(until)
            ),
            Some(until) => format!("{}: take the photo now, until {}.", self.test, self.clock(until)),
            None => format!("{}: started.", self.test),
        }
    }
}

impl Document for WaitingOut {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let (test, entry) = (&self.test, &self.short);
        match (self.ready, self.until) {
            (Some(ready), Some(until)) => {
                writeln!(out, "{test}: photo from {} to {} [{entry}]", self.clock(ready), self.clock(until))
            }
            _ => writeln!(out, "{test}: started; the kit does not say how long it takes [{entry}]"),
        }
    }
}

impl Document for WaitDone {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        match self.stopped {
            true => writeln!(out, "Stopped. The start stays recorded; to take it back: tintline log undo ENTRY"),
            false => Ok(()),
        }
    }
}
