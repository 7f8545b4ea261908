//! What the log shows of tanks, and what to do.

use super::Document;
use super::forecast::FinishOut;
use crate::advice::{self, Danger, Level, Next, Review, StageShown, Statement};
use crate::faces::cli::words::columns;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde::Serialize;
use std::io::{self, Write};

/// `status`.
#[derive(Debug, Serialize)]
pub struct StatusShown {
    /// Worst and most overdue first.
    pub tanks: Vec<TankStatus>,
    #[serde(skip)]
    whole: bool,
}

/// One tank.
#[derive(Debug, Serialize)]
pub struct TankStatus {
    pub tank: String,
    /// First help and photos that could not be read, before all else.
    pub trouble: Vec<StatementOut>,
    pub danger: DangerOut,
    pub stage: StageOut,
    /// When the cycle is finished; null where `status` shows several tanks, and in a tank that is cycled.
    pub forecast: Option<FinishOut>,
    /// What to do today, most urgent first.
    pub today: Vec<StatementOut>,
    pub next: NextOut,
    /// Tests and results in doubt.
    pub doubts: Vec<StatementOut>,
    pub cautions: Vec<StatementOut>,
    #[serde(skip)]
    row: Vec<String>,
}

/// Something said, with its rule and what it rests on.
#[derive(Debug, Serialize)]
pub struct StatementOut {
    /// Stable text form of the rule.
    pub rule: &'static str,
    /// Where the rule comes from.
    pub source: &'static str,
    pub text: String,
    pub rests_on: Vec<BasisOut>,
    /// How old the newest of these is, in words; null where it rests on nothing logged.
    pub age: Option<String>,
}

/// A reading or event that a statement rests on.
#[derive(Debug, Serialize)]
pub struct BasisOut {
    /// Short form of its entry in the log.
    pub entry: String,
    pub text: String,
    /// When, with the offset at the tank.
    pub at: String,
}

/// Danger now.
#[derive(Debug, Serialize)]
pub struct DangerOut {
    /// `none` (nothing above the limits was shown), `unknown` (nor that), `caution`, `danger`, `urgent`.
    pub level: &'static str,
    /// A worse level that the bounds do not exclude.
    pub may_be: Option<&'static str>,
    /// Since when ammonia or nitrite is not known any more.
    pub unknown_since: Option<String>,
    /// Ammonia or nitrite was never tested, though animals are there or may be.
    pub untested: bool,
    pub text: String,
    /// Worst first.
    pub lines: Vec<LineOut>,
    #[serde(skip)]
    symbol: &'static str,
}

/// One thing that may harm.
#[derive(Debug, Serialize)]
pub struct LineOut {
    /// `free-ammonia`, `nitrite`, `nitrate`, `pH`, `temperature`, `alkalinity`.
    pub hazard: &'static str,
    pub level: &'static str,
    pub may_be: Option<&'static str>,
    pub unknown_since: Option<String>,
    pub statement: StatementOut,
    #[serde(skip)]
    symbol: &'static str,
}

/// Stage of the cycle.
#[derive(Debug, Serialize)]
pub struct StageOut {
    /// `cannot-tell`, `not-started`, `ammonia-waiting`, `ammonia-used`, `nitrite-hump`, `nitrite-clearing`, `proof-once`,
    /// `cycled`, `disturbed`.
    pub stage: &'static str,
    pub text: String,
    /// The keeper's word, not shown by tests.
    pub declared: bool,
    /// Doses in a row that were gone in a day.
    pub proofs: usize,
    /// What must be tested before the stage can be told.
    pub missing: Vec<&'static str>,
    /// When the readings that carry it were drawn.
    pub as_of: Option<String>,
    /// Days without a change, where that is a stall.
    pub stalled_days: Option<f64>,
    /// Why it is this stage; then the causes of a stall, in the order to look.
    pub why: Vec<StatementOut>,
}

/// The next test.
#[derive(Debug, Serialize)]
pub struct NextOut {
    pub at: String,
    /// Hours past its time; null before it.
    pub overdue_hours: Option<f64>,
    pub tests: Vec<&'static str>,
    pub why: StatementOut,
    #[serde(skip)]
    said: String,
}

/// Times of one tank.
pub(in crate::faces::cli::wire) struct Clock<'z> {
    zone: &'z TimeZone,
    now: Timestamp,
}

impl<'z> Clock<'z> {
    pub(in crate::faces::cli::wire) fn new(zone: &'z TimeZone, now: Timestamp) -> Self {
        Self { zone, now }
    }

    /// How long ago, in words.
    pub(in crate::faces::cli::wire) fn age(&self, t: Timestamp) -> String {
        advice::age(t, self.now)
    }

    pub(in crate::faces::cli::wire) fn at(&self, t: Timestamp) -> String {
        t.display_with_offset(self.zone.to_offset(t)).to_string()
    }

    pub(in crate::faces::cli::wire) fn day(&self, t: Timestamp) -> String {
        self.zone.to_datetime(t).strftime("%a %Y-%m-%d %H:%M").to_string()
    }

    pub(in crate::faces::cli::wire) fn statement(&self, s: &Statement) -> StatementOut {
        let basis = |b: &advice::Basis| BasisOut { entry: b.entry.clone(), text: b.words.clone(), at: self.at(b.at) };
        StatementOut {
            rule: s.rule.code(),
            source: s.rule.source(),
            text: s.words.clone(),
            rests_on: s.rests_on.iter().map(basis).collect(),
            age: s.newest().map(|t| advice::age(t, self.now)),
        }
    }

    pub(in crate::faces::cli::wire) fn statements(&self, all: &[Statement]) -> Vec<StatementOut> {
        all.iter().map(|s| self.statement(s)).collect()
    }

    fn danger(&self, d: &Danger) -> DangerOut {
        let line = |l: &advice::Line| LineOut {
            hazard: l.hazard.as_str(),
            level: l.level.as_str(),
            may_be: l.may_be.map(Level::as_str),
            unknown_since: l.unknown_since.map(|t| self.at(t)),
            statement: self.statement(&l.statement),
            symbol: l.act_as().symbol(),
        };
        DangerOut {
            level: if d.is_unknown() { "unknown" } else { d.level.as_str() },
            symbol: d.symbol(),
            may_be: d.may_be.map(Level::as_str),
            unknown_since: d.unknown_since.map(|t| self.at(t)),
            untested: d.untested,
            text: match d.unknown_since {
                Some(t) => format!("{}, since {}", d.words(), self.day(t)),
                None => d.words(),
            },
            lines: d.lines.iter().map(line).collect(),
        }
    }

    fn stage(&self, s: &StageShown) -> StageOut {
        let mut why = self.statements(&s.statements);
        why.extend(s.stall.iter().flat_map(|stall| self.statements(&stall.causes)));
        StageOut {
            stage: s.stage.code(),
            text: match s.as_of {
                Some(t) => format!("{}, last tested {} ago", s.words(), advice::age(t, self.now)),
                None => s.words(),
            },
            declared: s.declared,
            proofs: s.proofs,
            missing: s.missing.iter().map(|k| k.as_str()).collect(),
            as_of: s.as_of.map(|t| self.at(t)),
            stalled_days: s.stall.as_ref().map(|s| s.days),
            why,
        }
    }

    fn next(&self, n: &Next) -> NextOut {
        let overdue = Some(n.overdue(self.now)).filter(|h| *h > 0.0);
        let when = match overdue {
            Some(h) if h >= 1.0 => format!("overdue by {} (since {})", advice::age(n.at, self.now), self.day(n.at)),
            _ if n.at <= self.now => "now".to_string(),
            _ => self.day(n.at),
        };
        let tests: Vec<&str> = n.tests.iter().map(|k| k.as_str()).collect();
        NextOut {
            at: self.at(n.at),
            overdue_hours: overdue,
            said: format!("{when}: {}", tests.join(", ")),
            tests,
            why: self.statement(&n.statement),
        }
    }
}

impl TankStatus {
    pub(in crate::faces::cli) fn of(r: &Review, forecast: Option<&advice::Forecast>, zone: &TimeZone) -> Self {
        let clock = Clock { zone, now: r.now };
        let (danger, stage, next) = (clock.danger(&r.danger), clock.stage(&r.stage), clock.next(&r.next));
        let symbol = if r.trouble.is_empty() { danger.symbol } else { Level::Urgent.symbol() };
        let row = vec![
            symbol.to_string(),
            r.tank.clone(),
            if r.trouble.is_empty() { danger.text.clone() } else { "fish in trouble, or unread".to_string() },
            format!("stage: {}", stage.text),
            format!("next test: {}", next.said),
        ];
        Self {
            tank: r.tank.clone(),
            trouble: clock.statements(&r.trouble),
            danger,
            stage,
            forecast: forecast.map(|f| FinishOut::of(&f.finish, &clock)).filter(|f| f.answer != "done"),
            today: clock.statements(&r.today),
            next,
            doubts: clock.statements(&r.doubts),
            cautions: clock.statements(&r.cautions),
            row,
        }
    }

    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "{}", self.tank)?;
        section(out, "First:", &self.trouble)?;
        writeln!(out, "Danger: {} {}", self.danger.symbol, self.danger.text)?;
        for line in &self.danger.lines {
            let unknown = if line.unknown_since.is_some() {
                " Out of date or in doubt: what it is now is not known."
            } else {
                ""
            };
            writeln!(out, "  {} {}{unknown}{}", line.symbol, line.statement.text, line.statement.behind())?;
        }
        writeln!(out, "Stage of the cycle: {}", self.stage.text)?;
        self.stage.why.iter().try_for_each(|s| s.line(out))?;
        self.forecast.iter().try_for_each(|f| f.line(out))?;
        section(out, "Today:", &self.today)?;
        writeln!(out, "Next test: {}", self.next.said)?;
        writeln!(out, "  {}", self.next.why.text)?;
        section(out, "In doubt:", &self.doubts)?;
        section(out, "Mind:", &self.cautions)
    }
}

impl StatementOut {
    /// Age and rule behind a sentence.
    fn behind(&self) -> String {
        match &self.age {
            Some(age) => format!(" [{}, {age} ago]", self.rule),
            None => format!(" [{}]", self.rule),
        }
    }

    pub(in crate::faces::cli::wire) fn line(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "  {}{}", self.text, self.behind())
    }
}

fn section(out: &mut dyn Write, title: &str, all: &[StatementOut]) -> io::Result<()> {
    if all.is_empty() {
        return Ok(());
    }
    writeln!(out, "{title}")?;
    all.iter().try_for_each(|s| s.line(out))
}

impl StatusShown {
    /// `whole` shows all of each tank, else a line.
    pub(in crate::faces::cli) fn of(tanks: Vec<TankStatus>, whole: bool) -> Self {
        Self { tanks, whole }
    }
}

impl Document for StatusShown {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.tanks.is_empty() {
            writeln!(out, "No tank yet. Add one: tintline tank add NAME --water fresh")?;
            return writeln!(
                out,
                "A fish in trouble now? Air first: move the surface, stop feeding, check heater and filter."
            );
        }
        if self.whole {
            return self.tanks.iter().try_for_each(|t| t.text(out));
        }
        columns(out, "", self.tanks.iter().map(|t| t.row.clone()).collect())?;
        writeln!(out, "More: tintline status TANK")
    }
}

/// `report --text` and `log --text`.
#[derive(Debug, Serialize)]
pub struct Summary {
    pub tank: String,
    /// To paste for somebody who helps: without names, paths, places.
    pub text: String,
}

impl Document for Summary {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        out.write_all(self.text.as_bytes())
    }
}
