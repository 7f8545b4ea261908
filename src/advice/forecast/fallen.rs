//! Whether ammonia and nitrite have measurably fallen.

use crate::advice::book::{Book, Happened, Kind, Measured};
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

/// Whether nitrite fell between two tests by more than their bounds and a water change explain.
pub(super) fn nitrite(book: &Book, evidence: &Evidence<'_>) -> bool {
    let mut most: Option<(f64, jiff::Timestamp)> = None;
    for r in evidence.of_kind(Kind::Nitrite).filter(|r| evidence.weight(r) == Weight::Full) {
        if let Some((low, at)) = most {
            let changes = book.events.iter().filter(|e| at < e.at && e.at < r.at);
            let left: f64 = changes
                .map(|e| match e.what {
                    Happened::Changed(Some(share)) => 1.0 - share,
                    // Of unknown size: perhaps all of it.
                    Happened::Changed(None) => 0.0,
                    _ => 1.0,
                })
                .product();
            if r.span.high < low * left {
                return true;
            }
            if low * left >= r.span.low {
                most = Some((low * left, r.at));
                continue;
            }
        }
        most = (r.span.low > 0.0).then_some((r.span.low, r.at));
    }
    false
}
