//! What is said of results that are not in the log yet: what they would add to what is said of the tank.

use super::book::{Book, Whose};
use super::danger::Line;
use super::from_log::TestFacts;
use super::review::review;
use super::statement::Statement;
use crate::log::Reading;
use jiff::Timestamp;

/// What results would add.
#[derive(Debug, Clone, PartialEq)]
pub struct Fresh {
    /// Dangers they would show, worst first. Where the log has newer results these count, and nothing is said.
    pub lines: Vec<Line>,
    /// Doubts they would raise, or be in.
    pub doubts: Vec<Statement>,
    /// Said where no animals are in the tank: then nothing is judged.
    pub no_animals: Option<Statement>,
}

impl Fresh {
    /// What is said of one of the results.
    pub fn of(&self, reading: &Reading) -> Self {
        let entry = reading.id.short();
        let own = |s: &Statement| s.rests_on.iter().any(|b| b.entry == entry);
        Self {
            lines: self.lines.iter().filter(|l| own(&l.statement)).cloned().collect(),
            doubts: self.doubts.iter().filter(|s| own(s)).cloned().collect(),
            no_animals: self.no_animals.clone(),
        }
    }
}

/// What readings of the tank's water, as [`NewReading::unwritten`](crate::log::NewReading::unwritten) gives them, would add to
/// the book of their tank at `now`.
pub fn fresh(book: &Book, readings: &[Reading], facts: &dyn Fn(&Reading) -> TestFacts, now: Timestamp) -> Fresh {
    let mut book = book.clone();
    readings.iter().for_each(|r| book.take(r, Whose::Tank, facts));
    resting_on(&book, readings, now)
}

/// What is said at `now` that rests on these readings, which are in the book.
pub fn resting_on(book: &Book, readings: &[Reading], now: Timestamp) -> Fresh {
    let said = review(book, now);
    let entries: Vec<String> = readings.iter().map(|r| r.id.short()).collect();
    let own = |s: &Statement| s.rests_on.iter().any(|b| entries.contains(&b.entry));
    Fresh {
        lines: said.danger.lines.into_iter().filter(|l| own(&l.statement)).collect(),
        doubts: said.doubts.into_iter().filter(own).collect(),
        no_animals: said.danger.no_animals,
    }
}
