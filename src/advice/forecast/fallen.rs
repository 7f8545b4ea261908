//! Whether ammonia has measurably fallen, and become something.

use crate::advice::book::{Book, Happened, Kind, Measured, Shown};
use crate::advice::evidence::{Evidence, Weight};

/// By how much a dose may fall short of what was logged.
const SHORT: f64 = 0.75;

/// Two tests between which ammonia fell by more than their bounds, water changes and short doses explain: the earlier, or nothing
/// where a dose alone went before, and the later.
pub(super) fn fallen<'b>(book: &Book, evidence: &Evidence<'b>) -> Option<(Option<&'b Measured>, &'b Measured)> {
    let of: Vec<&Measured> = evidence.of_kind(Kind::Ammonia).filter(|r| evidence.weight(r) == Weight::Full).collect();
    // At least so much must be there, if nothing used any.
    let mut least = 0.0;
    let mut from: Option<&Measured> = None;
    let mut events = book.events.iter().peekable();
    for r in of {
        while let Some(e) = events.next_if(|e| e.at < r.at) {
            match e.what {
                Happened::Dosed(Some(n)) => least += SHORT * n,
                Happened::Changed(Some(share)) => least *= 1.0 - share,
                // Of unknown size: perhaps all of it.
                Happened::Changed(None) => (least, from) = (0.0, None),
                _ => {}
            }
        }
        if least > r.first_standard && r.span.high < least {
            return Some((from, r));
        }
        if r.span.low > least {
            (least, from) = (r.span.low, Some(r));
        }
    }
    None
}

/// Whether a test that counts in full showed nitrite or nitrate, which is what ammonia becomes.
pub(super) fn converted(evidence: &Evidence<'_>) -> bool {
    let shown = |r: &Measured| matches!(r.shown, Shown::Some | Shown::Above) && evidence.weight(r) == Weight::Full;
    [Kind::Nitrite, Kind::Nitrate].into_iter().any(|kind| evidence.of_kind(kind).any(shown))
}
