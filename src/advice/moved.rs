//! What entries that came late changed in what is said now.

use super::book::Book;
use super::review::{Review, review};
use super::statement::Statement;
use jiff::Timestamp;

/// What is said at `now` with all entries of the book, against what was said without those of these names: stage, danger and
/// doubts, in sentences. Empty where nothing changed. Both are of now: a bad value of last week that was overtaken since moves
/// no danger.
pub fn moved_by(book: &Book, late: &[String], now: Timestamp) -> Vec<String> {
    let mut before = book.clone();
    before.readings.retain(|r| !late.contains(&r.entry));
    before.events.retain(|e| !late.contains(&e.entry));
    moved(&review(&before, now), &review(book, now))
}

/// What differs between two reviews of one tank at one time, in sentences.
pub fn moved(before: &Review, after: &Review) -> Vec<String> {
    let mut out = Vec::new();
    let mut was = |what: &str, old: String, new: String| {
        if old != new {
            out.push(format!("{what} was '{old}', is now '{new}'."));
        }
    };
    was("Stage of the cycle", before.stage.words(), after.stage.words());
    was("Danger now", before.danger.words(), after.danger.words());
    let gone = |from: &[Statement], other: &[Statement]| -> Vec<String> {
        from.iter().map(|s| &s.words).filter(|w| other.iter().all(|o| o.words != **w)).cloned().collect()
    };
    out.extend(gone(&after.doubts, &before.doubts).iter().map(|w| format!("Now in doubt: {w}")));
    out.extend(gone(&before.doubts, &after.doubts).iter().map(|w| format!("No longer in doubt: {w}")));
    out
}
