//! A statement: words, the rule behind them, and the readings and events they rest on.

use super::book::{Happening, Measured, hours};
use super::rules::Rule;
use jiff::Timestamp;

/// A reading or event that a statement rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Basis {
    /// Its entry in the log.
    pub entry: String,
    /// What it is, in words.
    pub words: String,
    /// When.
    pub at: Timestamp,
}

impl From<&Measured> for Basis {
    fn from(m: &Measured) -> Self {
        Self { entry: m.entry.clone(), words: format!("{} {}", m.kind.as_str(), m.words), at: m.at }
    }
}

impl From<&Happening> for Basis {
    fn from(e: &Happening) -> Self {
        Self { entry: e.entry.clone(), words: e.words.clone(), at: e.at }
    }
}

/// Something said about a tank.
#[derive(Debug, Clone, PartialEq)]
pub struct Statement {
    /// The rule.
    pub rule: Rule,
    /// The words: full sentences without a time of day.
    pub words: String,
    /// What it rests on; empty where it rests on nothing having been logged.
    pub rests_on: Vec<Basis>,
}

impl Statement {
    /// A statement that rests on nothing yet.
    pub fn new(rule: Rule, words: impl Into<String>) -> Self {
        Self { rule, words: words.into(), rests_on: Vec::new() }
    }

    /// With one more thing it rests on.
    pub fn on(mut self, basis: impl Into<Basis>) -> Self {
        self.rests_on.push(basis.into());
        self
    }

    /// With several more.
    pub fn on_all<B: Into<Basis>>(mut self, all: impl IntoIterator<Item = B>) -> Self {
        self.rests_on.extend(all.into_iter().map(Into::into));
        self
    }

    /// The newest thing it rests on: its age is the statement's.
    pub fn newest(&self) -> Option<Timestamp> {
        self.rests_on.iter().map(|b| b.at).max()
    }
}

/// How long ago, in words: `20 min`, `5 h`, `3 days`.
pub fn age(at: Timestamp, now: Timestamp) -> String {
    let h = hours(at, now);
    match h {
        _ if h < 0.0 => "in the future".to_string(),
        _ if h < 1.5 => format!("{:.0} min", h * 60.0),
        _ if h < 47.5 => format!("{h:.0} h"),
        _ => format!("{:.0} days", h / 24.0),
    }
}
