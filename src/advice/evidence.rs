//! What a reading counts for.

use super::book::{Book, Kind, Measured, Shown, Timing};
use super::doubt;
use super::rules::Rule;
use super::statement::Statement;
use std::collections::BTreeMap;

/// What a reading may be used for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// Nothing: none, read after its time.
    Nothing,
    /// To alarm, never to reassure.
    Alarm,
    /// All.
    Full,
}

/// Every reading's weight, and what was said about those of less.
pub(super) struct Evidence<'b> {
    book: &'b Book,
    /// By entry: why it is in doubt.
    doubted: BTreeMap<String, Rule>,
    /// About tests in doubt.
    pub(super) statements: Vec<Statement>,
}

impl<'b> Evidence<'b> {
    pub(super) fn of(book: &'b Book) -> Self {
        let mut doubted = BTreeMap::new();
        let mut statements = Vec::new();
        for d in doubt::all(book) {
            doubted.extend(d.entries.into_iter().map(|e| (e, d.statement.rule)));
            statements.push(d.statement);
        }
        let late: Vec<&Measured> = book.readings.iter().filter(|r| r.timing == Timing::Late).collect();
        if let Some(last) = late.last() {
            let words = format!(
                "The {} result was read after its time and is likely high: it may alarm, and shows nothing to be well. Test \
                 again and read it in time.",
                last.kind.as_str()
            );
            statements.push(Statement::new(Rule::OutOfTime, words).on(*last));
        }
        Self { book, doubted, statements }
    }

    pub(super) fn weight(&self, r: &Measured) -> Weight {
        match r.timing {
            // What has gone on colouring may alarm; that it still shows none proves nothing.
            Timing::Late if looks_none(r) => Weight::Nothing,
            _ if r.doubtful
                || matches!(r.timing, Timing::Early | Timing::Late)
                || self.doubted.contains_key(&r.entry) =>
            {
                Weight::Alarm
            }
            _ => Weight::Full,
        }
    }

    /// The rule by which the test itself is in doubt.
    pub(super) fn doubt(&self, r: &Measured) -> Option<Rule> {
        self.doubted.get(&r.entry).copied()
    }

    /// Readings of the tank of one kind that count for anything, oldest first.
    pub(super) fn of_kind(&self, kind: Kind) -> impl DoubleEndedIterator<Item = &'b Measured> {
        self.book.of_kind(kind).filter(|r| self.weight(r) > Weight::Nothing)
    }

    /// Whether it shows none as a proof must show it.
    pub(super) fn proves_none(&self, r: &Measured) -> bool {
        looks_none(r) && self.weight(r) == Weight::Full
    }
}

/// Whether the colour shows none: the upper bound below the first standard, or nothing seen by a test that would show that
/// standard.
pub(super) fn looks_none(r: &Measured) -> bool {
    match r.shown {
        Shown::None => r.span.high <= r.first_standard,
        Shown::Some => r.span.high < r.first_standard,
        Shown::Above | Shown::Below => false,
    }
}

/// Whether it shows some: at least the first standard, by its best value.
pub(super) fn shows_some(r: &Measured) -> bool {
    match r.shown {
        Shown::Above => true,
        Shown::Some => r.span.middle() >= r.first_standard,
        Shown::None | Shown::Below => false,
    }
}
