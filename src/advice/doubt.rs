//! Chemical false zeros, caught by the log: a dead reagent, an unshaken or a skipped bottle shows a perfect none.

use super::balance;
use super::book::{Book, Happened, Kind, Measured, Shown, hours};
use super::evidence::{looks_none, shows_some};
use super::rules::Rule;
use super::statement::Statement;

/// A test in doubt, with the readings that may then no longer reassure.
pub(super) struct Doubt {
    pub(super) entries: Vec<String>,
    pub(super) statement: Statement,
}

/// What to go through before believing the test again.
pub(super) fn checklist(kind: Kind) -> &'static str {
    match kind {
        Kind::Ammonia => {
            "Check: all bottles used in order, drops counted, the sample at 20 to 25 °C, the waiting time kept, the date \
             opened; then test water with a known amount of ammonia."
        }
        Kind::Nitrite => {
            "Check: all bottles used, drops counted, not expired; high nitrite can look pale, so test a 1+4 dilution too; then \
             test water with a known amount of nitrite."
        }
        Kind::Nitrate => {
            "Check: the second bottle shaken hard for 30 s and the vial for 1 min, drops counted, not expired; then test water \
             with a known amount of nitrate. A mix-up of vials, or a large water change that was not logged, looks the same."
        }
        _ => "Check: drops counted, the waiting time kept, the reagent not expired.",
    }
}

pub(super) const WORDS: &str = "the colour shows none; the test itself is in doubt";

pub(super) fn all(book: &Book) -> Vec<Doubt> {
    let mut out = dose_not_seen(book);
    out.extend(never_changes(book));
    out.extend(balance::doubts(book));
    out.extend(jumps(book));
    out
}

/// A dose that the next hours' tests do not see.
fn dose_not_seen(book: &Book) -> Vec<Doubt> {
    /// From mixing to the time at which a strong filter may have used half of it.
    const SEEN_HOURS: (f64, f64) = (0.5, 3.0);
    let mut out = Vec::new();
    for (i, e) in book.events.iter().enumerate() {
        let Happened::Dosed(Some(dose)) = e.what else { continue };
        // A water change in between takes some of it out.
        let changed =
            |r: &Measured| book.events[i..].iter().any(|c| c.at <= r.at && matches!(c.what, Happened::Changed(_)));
        let missed = book.of_kind(Kind::Ammonia).find(|r| {
            let h = hours(e.at, r.at);
            (SEEN_HOURS.0..=SEEN_HOURS.1).contains(&h) && r.span.high < 0.4 * dose && !changed(r)
        });
        if let Some(r) = missed {
            let words = format!(
                "Ammonia: {} mg/L N was dosed, and the test hours later shows less than half of it: {WORDS}, or the dose \
                 did not reach the water. {}",
                number(dose),
                checklist(Kind::Ammonia)
            );
            // What the same test said since is no better, until it has shown some.
            let since = book.of_kind(Kind::Ammonia).filter(|x| x.at >= r.at && x.test == r.test);
            let entries = since.take_while(|x| !shows_some(x)).map(|x| x.entry.clone()).collect();
            out.push(Doubt { entries, statement: Statement::new(Rule::DoseNotSeen, words).on(e).on(r) });
        }
    }
    out
}

/// An ammonia test that never showed any, though doses went in and nothing else shows where they went.
fn never_changes(book: &Book) -> Vec<Doubt> {
    let doses: Vec<_> = book.events.iter().filter(|e| matches!(e.what, Happened::Dosed(_))).collect();
    let mut out = Vec::new();
    if doses.len() < 2 {
        return out;
    }
    // Nitrate or nitrite that was seen tells where the ammonia went.
    let seen = |kind| book.of_kind(kind).any(shows_some);
    for kind in [Kind::Ammonia, Kind::Nitrite] {
        let of: Vec<&Measured> = book.of_kind(kind).filter(|r| r.at > doses[0].at).collect();
        let elsewhere = if kind == Kind::Ammonia { seen(Kind::Nitrite) } else { seen(Kind::Ammonia) };
        let never = of.len() >= 4 && of.iter().all(|r| looks_none(r)) && !book.of_kind(kind).any(shows_some);
        if never && !elsewhere && !seen(Kind::Nitrate) {
            let words = format!(
                "{}: {} results, all none, though ammonia was dosed and neither nitrite nor nitrate was seen: {WORDS}. {}",
                word(kind),
                of.len(),
                checklist(kind)
            );
            let entries = of.iter().map(|r| r.entry.clone()).collect();
            let statement = Statement::new(Rule::NeverChanges, words).on_all(doses.iter().copied()).on_all(of);
            out.push(Doubt { entries, statement });
        }
    }
    out
}

/// Falls that no filter makes: more than 5 mg/L N a day (2 mg/L N a day is a strong filter), or nitrate halved, without a
/// water change.
fn jumps(book: &Book) -> Vec<Doubt> {
    let mut out = Vec::new();
    for (kind, most_per_day) in [(Kind::Ammonia, 5.0), (Kind::Nitrite, 5.0 * 3.284), (Kind::Nitrate, 0.0)] {
        let of: Vec<&Measured> = book.of_kind(kind).collect();
        for pair in of.windows(2) {
            let [a, b] = pair else { continue };
            let days = hours(a.at, b.at) / 24.0;
            let event = book.between(a.at, b.at).any(|e| {
                let takes = matches!(e.what, Happened::Changed(_) | Happened::Plants | Happened::Medicine);
                takes || (kind == Kind::Nitrate && book.facts.planted == Some(true))
            });
            let fall = a.span.low - b.span.high;
            let too_fast = match kind {
                Kind::Nitrate => days <= 7.0 && b.span.high < 0.5 * a.span.low && fall > 10.0,
                _ => fall > most_per_day * days.max(0.25),
            };
            if too_fast && !event && b.shown != Shown::Above {
                let words = format!(
                    "{} fell from {} to {} faster than any filter works, and no water change is logged: one of the two results \
                     is wrong, or an event is missing. {}",
                    word(kind),
                    a.words,
                    b.words,
                    checklist(kind)
                );
                let entries = vec![b.entry.clone()];
                out.push(Doubt { entries, statement: Statement::new(Rule::Jump, words).on(*a).on(*b) });
            }
        }
    }
    out
}

/// At the beginning of a sentence.
pub(super) fn word(kind: Kind) -> String {
    let s = kind.as_str();
    if kind == Kind::Ph { s.to_string() } else { s[..1].to_uppercase() + &s[1..] }
}

/// Three digits.
pub(super) fn number(x: f64) -> String {
    crate::water::significant(x, 3)
}
