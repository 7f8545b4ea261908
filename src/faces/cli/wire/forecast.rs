//! When a cycle is finished, and when nitrate reaches its limit.

use super::Document;
use super::status::{Clock, StatementOut};
use crate::advice::forecast::{Forecast, Limit, Reached};
use crate::advice::{Finish, When};
use crate::intake;
use crate::log::Tank;
use jiff::Timestamp;
use serde::Serialize;
use std::io::{self, Write};

/// `plan forecast`.
#[derive(Debug, Serialize)]
pub struct PlanForecast {
    pub tank: String,
    pub finish: FinishOut,
    pub nitrate: NitrateOut,
}

/// When the cycle is finished.
#[derive(Debug, Serialize)]
pub struct FinishOut {
    /// `done`, `range`, or why there is no date: `not-fallen`, `early`, `long`, `alkalinity-unknown`, `stalled`, `blocked`,
    /// `old-tests`, `too-far`.
    pub answer: &'static str,
    /// Four times in five between `early` and `late`; null where no date is given, `late` and `middle` also where they lie too
    /// far off.
    pub early: Option<String>,
    pub middle: Option<String>,
    pub late: Option<String>,
    pub statements: Vec<StatementOut>,
    /// In a line.
    #[serde(skip)]
    said: String,
}

/// When nitrate reaches its limit.
#[derive(Debug, Serialize)]
pub struct NitrateOut {
    /// mg/L NO3-.
    pub limit: f64,
    /// mg/L NO3- a day that come beside changes; null where that cannot be told.
    pub daily: Option<f64>,
    pub daily_lower: Option<f64>,
    pub daily_upper: Option<f64>,
    pub without_changes: ReachedOut,
    /// With water changes as they were.
    pub with_changes: ReachedOut,
    pub statements: Vec<StatementOut>,
}

/// The day of a limit.
#[derive(Debug, Serialize)]
pub struct ReachedOut {
    /// `already`, `between`, `not` (within a year), `unknown`.
    pub answer: &'static str,
    pub early: Option<String>,
    /// Null also where it lies beyond a year.
    pub late: Option<String>,
}

impl FinishOut {
    pub(in crate::faces::cli::wire) fn of(finish: &Finish, clock: &Clock<'_>) -> Self {
        let day = |t: Timestamp| clock.day(t).chars().take_while(|c| *c != ':').collect::<String>();
        let date = |t: Timestamp| day(t).split(' ').nth(1).unwrap_or_default().to_string();
        let at = |t: Timestamp| Some(clock.at(t));
        let statements = clock.statements(&finish.statements);
        let (answer, early, middle, late, said) = match finish.when {
            When::Done => ("done", None, None, None, "done".to_string()),
            When::Unknown(why) => {
                (why.code(), None, None, None, statements.first().map(|s| s.text.clone()).unwrap_or_default())
            }
            When::Range { early, middle, late } => {
                let said = match late {
                    Some(late) if date(early) == date(late) => format!("{}, four chances in five", date(early)),
                    Some(late) => format!("{} to {}, four chances in five", date(early), date(late)),
                    None => format!("not before {}, nine chances in ten", date(early)),
                };
                ("range", at(early), middle.and_then(at), late.and_then(at), said)
            }
        };
        Self { answer, early, middle, late, statements, said }
    }

    /// In a line: the dates, or why there are none.
    pub(in crate::faces::cli::wire) fn line(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.answer == "done" { Ok(()) } else { writeln!(out, "Finished: {}", self.said) }
    }
}

impl NitrateOut {
    fn of(l: &Limit, clock: &Clock<'_>) -> Self {
        let reached = |r: &Reached| {
            let (answer, early, late) = match r {
                Reached::Already => ("already", None, None),
                Reached::Not => ("not", None, None),
                Reached::Unknown => ("unknown", None, None),
                Reached::Between(early, late) => ("between", Some(clock.at(*early)), late.map(|t| clock.at(t))),
            };
            ReachedOut { answer, early, late }
        };
        Self {
            limit: l.limit,
            daily: l.daily.map(|d| d.0),
            daily_lower: l.daily.map(|d| d.1),
            daily_upper: l.daily.map(|d| d.2),
            without_changes: reached(&l.without_changes),
            with_changes: reached(&l.with_changes),
            statements: clock.statements(&l.statements),
        }
    }
}

impl PlanForecast {
    pub(in crate::faces::cli) fn of(forecast: &Forecast, tank: &Tank) -> Self {
        let zone = intake::zone(&tank.zone);
        let clock = Clock::new(&zone, forecast.now);
        Self {
            tank: forecast.tank.clone(),
            finish: FinishOut::of(&forecast.finish, &clock),
            nitrate: NitrateOut::of(&forecast.nitrate, &clock),
        }
    }
}

impl Document for PlanForecast {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let list = |out: &mut dyn Write, all: &[StatementOut]| {
            all.iter().try_for_each(|s| {
                s.line(out)?;
                s.rests_on.iter().try_for_each(|b| writeln!(out, "    from {} [{}], {}", b.text, b.entry, b.at))
            })
        };
        writeln!(out, "{}", self.tank)?;
        self.finish.line(out)?;
        list(out, &self.finish.statements)?;
        writeln!(out, "Nitrate at {} mg/L:", self.nitrate.limit)?;
        list(out, &self.nitrate.statements)
    }
}
