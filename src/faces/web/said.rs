//! Statements of advice, for a page.

use crate::advice::{self, Due, Review, Statement};
use jiff::Timestamp;
use jiff::tz::TimeZone;

/// Sentences, how old what they rest on is, and their rule.
#[derive(Debug, Clone)]
pub(super) struct Line {
    pub(super) words: String,
    pub(super) age: Option<String>,
    pub(super) rule: &'static str,
    /// The symbol of the level, for a danger.
    pub(super) symbol: &'static str,
    /// The same in words.
    pub(super) level: &'static str,
}

impl Line {
    pub(super) fn of(s: &Statement, now: Timestamp) -> Self {
        let age = s.newest().map(|t| format!("{} ago", advice::age(t, now)));
        Self { words: s.words.clone(), age, rule: s.rule.code(), symbol: "", level: "" }
    }

    pub(super) fn all(statements: &[Statement], now: Timestamp) -> Vec<Self> {
        statements.iter().map(|s| Self::of(s, now)).collect()
    }
}

/// A review in the order of a page.
#[derive(Debug, Clone)]
pub(super) struct Said {
    pub(super) symbol: &'static str,
    pub(super) danger: String,
    pub(super) unknown_since: Option<String>,
    pub(super) trouble: Vec<Line>,
    pub(super) dangers: Vec<Line>,
    pub(super) stage: String,
    pub(super) tested: Option<String>,
    pub(super) why: Vec<Line>,
    pub(super) today: Vec<Line>,
    pub(super) next: String,
    pub(super) tests: String,
    pub(super) next_why: Line,
    pub(super) doubts: Vec<Line>,
    pub(super) cautions: Vec<Line>,
}

impl Said {
    pub(super) fn of(review: &Review, zone: &TimeZone) -> Self {
        let (danger, stage, next, now) = (&review.danger, &review.stage, &review.next, review.now);
        let lines = danger.lines.iter().map(|l| {
            let mut line = Line::of(&l.statement, now);
            if l.unknown_since.is_some() {
                line.words.push_str(" Out of date or in doubt.");
            }
            Line { symbol: l.act_as().symbol(), level: l.act_as().as_str(), ..line }
        });
        let causes = stage.stall.iter().flat_map(|s| &s.causes);
        let tests: Vec<&str> = next.tests.iter().map(|k| k.as_str()).collect();
        Self {
            symbol: danger.symbol(),
            danger: danger.words(),
            unknown_since: danger.unknown_since.map(|t| moment(zone, t)),
            trouble: Line::all(&review.trouble, now),
            dangers: danger.no_animals.iter().map(|s| Line::of(s, now)).chain(lines).collect(),
            stage: stage.words(),
            tested: stage.as_of.map(|t| format!("last tested {} ago", advice::age(t, now))),
            why: stage.statements.iter().chain(causes).map(|s| Line::of(s, now)).collect(),
            today: Line::all(&review.today, now),
            next: when(zone, next.at, now),
            tests: tests.join(", "),
            next_why: Line::of(&next.statement, now),
            doubts: Line::all(&review.doubts, now),
            cautions: Line::all(&review.cautions, now),
        }
    }
}

/// Something due, for a page.
#[derive(Debug, Clone)]
pub(super) struct DueLine {
    pub(super) what: String,
    pub(super) when: String,
    pub(super) why: String,
    pub(super) overdue: bool,
}

impl DueLine {
    pub(super) fn of(due: &Due, zone: &TimeZone, now: Timestamp) -> Self {
        let overdue = due.overdue(now) >= 0.0;
        Self { what: due.what.clone(), when: when(zone, due.at, now), why: due.why.words.clone(), overdue }
    }
}

fn when(zone: &TimeZone, at: Timestamp, now: Timestamp) -> String {
    if at <= now { "due now".to_string() } else { moment(zone, at) }
}

/// Date and time at the tank.
pub(super) fn moment(zone: &TimeZone, at: Timestamp) -> String {
    zone.to_datetime(at).strftime("%-d %b %Y %H:%M").to_string()
}
