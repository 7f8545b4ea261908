//! What is due.

use super::super::status::{Clock, StatementOut};
use crate::advice::{Due, Kind};
use crate::faces::cli::wire::Document;
use crate::faces::cli::words::columns;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde::Serialize;
use std::io::{self, Write};

/// `plan due`.
#[derive(Debug, Serialize)]
pub struct DueList {
    /// Soonest first.
    pub due: Vec<DueOut>,
    /// The calendar file that was written.
    pub file: Option<String>,
}

/// Something to be done.
#[derive(Debug, Serialize)]
pub struct DueOut {
    /// Null for what concerns the kits.
    pub tank: Option<String>,
    /// Stays the same from one list to the next: `tests`, `nitrate`, `ph`, `alkalinity`, `salinity`, `arrived`, `unbound`, `tap`,
    /// `control-KIT`.
    pub key: String,
    pub what: String,
    pub tests: Vec<&'static str>,
    /// When, with the offset at the tank.
    pub at: String,
    /// Hours past its time; null before it.
    pub overdue_hours: Option<f64>,
    pub why: StatementOut,
    #[serde(skip)]
    when: String,
}

impl DueOut {
    pub(in crate::faces::cli) fn of(tank: Option<&str>, due: &Due, zone: &TimeZone, now: Timestamp) -> Self {
        let clock = Clock::new(zone, now);
        let overdue = Some(due.overdue(now)).filter(|h| *h > 0.0);
        let when = match overdue {
            Some(h) if h >= 1.0 => format!("overdue by {}", clock.age(due.at)),
            _ if due.at <= now => "now".to_string(),
            _ => clock.day(due.at),
        };
        Self {
            tank: tank.map(str::to_string),
            key: due.key.clone(),
            what: due.what.clone(),
            tests: due.tests.iter().map(|k: &Kind| k.as_str()).collect(),
            at: clock.at(due.at),
            overdue_hours: overdue,
            why: clock.statement(&due.why),
            when,
        }
    }
}

impl Document for DueList {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.due.is_empty() {
            writeln!(out, "No tank yet. Add one: tintline tank add NAME --water fresh")?;
        }
        let row =
            |d: &DueOut| vec![d.when.clone(), d.tank.clone().unwrap_or_default(), d.what.clone(), d.why.text.clone()];
        columns(out, "", self.due.iter().map(row).collect())?;
        match &self.file {
            Some(file) => writeln!(out, "Calendar: {file}"),
            None => Ok(()),
        }
    }
}
