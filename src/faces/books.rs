//! A tank's book and its trends, with what the kits at hand know.

use crate::advice::{self, Book, TestFacts, Trend};
use crate::intake::KitFacts;
use crate::log::{Filter, Log, LogError, Reading, Tank};
use jiff::Timestamp;

/// The book of a tank.
pub(super) fn book(log: &Log, tank: &Tank, kits: &KitFacts) -> Result<Book, LogError> {
    Book::of(log, tank, &facts(kits))
}

/// What the kits at hand know about the test of a reading.
pub(super) fn facts(kits: &KitFacts) -> impl Fn(&Reading) -> TestFacts {
    |r| TestFacts {
        wait_minutes: kits.wait_minutes(r),
        window_minutes: kits.window_minutes(r),
        first_standard: kits.first_standard(r),
    }
}

/// All trends of a tank, and the book they come from.
pub(super) fn trends(log: &Log, tank: &Tank, kits: &KitFacts, now: Timestamp) -> Result<(Book, Vec<Trend>), LogError> {
    let book = book(log, tank, kits)?;
    let mut trends = advice::trends(&book, now);
    let readings = log.readings(&Filter { tank: Some(tank.id), ..Filter::default() })?;
    trends.extend(advice::other_trends(&readings, now));
    Ok((book, trends))
}
