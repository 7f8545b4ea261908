//! Whether alkalinity may be used up without a test that shows it.

use crate::advice::book::{Animals, Book, Happened, Kind};
use crate::advice::doubt::number;
use crate::advice::evidence::Evidence;
use crate::advice::rules::Rule;
use crate::advice::statement::Statement;
use crate::water::{NitrogenSource, nitrifiable};
use jiff::Timestamp;

/// German degrees that water is taken to have where nobody tested, and that a buffer of unknown amount brings: below 3 counts as
/// low (common practice).
const UNTESTED: f64 = 3.0;

/// The statement that asks for a test, where the doses since alkalinity was last known turn more of it into acid than there was.
/// With animals, whose food has no known amount, nothing is counted.
pub(super) fn doubtful(
    book: &Book,
    evidence: &Evidence<'_>,
    begun: Option<Timestamp>,
    now: Timestamp,
) -> Option<Statement> {
    if book.animals(now) == Animals::Present {
        return None;
    }
    let test = evidence.of_kind(Kind::Alkalinity).next_back();
    let from = test.map(|r| r.at).or(begun)?;
    let mut degrees = test.map_or(UNTESTED, |r| r.span.middle());
    let mut dosed = 0.0;
    for e in book.events.iter().filter(|e| e.at >= from && e.at <= now) {
        match e.what {
            Happened::Dosed(n) => {
                let n = n.unwrap_or(crate::advice::rules::START_DOSE);
                dosed += n;
                degrees -= n / nitrifiable(1.0, NitrogenSource::AmmoniumSalt);
            }
            Happened::Buffer => degrees = degrees.max(0.0) + UNTESTED,
            Happened::Changed(Some(share)) => degrees += share * (UNTESTED - degrees),
            _ => {}
        }
    }
    if degrees > 0.0 {
        return None;
    }
    let since = test.map_or("and it was never tested", |_| "since its last test");
    let words = format!(
        "No date: the doses, {} mg/L N {since}, may have used up the alkalinity, and then the filter stops. Test alkalinity; below 3 \
         German degrees raise it slowly.",
        number(dosed)
    );
    Some(Statement::new(Rule::AlkalinityLow, words).on_all(test))
}
