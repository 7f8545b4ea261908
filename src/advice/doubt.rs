//! Chemical false zeros, caught by the log: a dead reagent, an unshaken or a skipped bottle shows a perfect none.

use super::balance;
use super::book::{Book, Happened, Kind, Measured, hours};
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

/// Jumps that no water makes without an event.
fn jumps(book: &Book) -> Vec<Doubt> {
    let mut out = Vec::new();
    for kind in [Kind::Ammonia, Kind::Nitrite, Kind::Nitrate, Kind::Ph] {
        let of: Vec<&Measured> = book.of_kind(kind).collect();
        for pair in of.windows(2) {
            let [a, b] = pair else { continue };
            let Some(way) = jump(kind, a, b) else { continue };
            let explained = book.between(a.at, b.at).any(|e| explains(kind, way, &e.what));
            if explained || (kind == Kind::Nitrate && book.facts.planted == Some(true)) {
                continue;
            }
            let words = format!(
                "{} {} from {} to {}, faster than such water changes, and no event that does it is logged: one of the two results \
                 is wrong, or an event is missing. {}",
                word(kind),
                if way == Way::Fell { "fell" } else { "rose" },
                a.words,
                b.words,
                checklist(kind)
            );
            // A fall may be a false none, and a pH decides what is free. A rise stays an alarm whatever the cause.
            let entries = if way == Way::Fell || kind == Kind::Ph { vec![b.entry.clone()] } else { Vec::new() };
            out.push(Doubt { entries, statement: Statement::new(Rule::Jump, words).on(*a).on(*b) });
        }
    }
    out
}

/// Marks a pH that jumped as doubtful, so that it may not calm what is computed from it.
pub(super) fn mark_ph(book: &mut Book) {
    let doubted: Vec<String> = jumps(book).into_iter().flat_map(|d| d.entries).collect();
    for r in book.readings.iter_mut().filter(|r| r.kind == Kind::Ph && doubted.contains(&r.entry)) {
        r.doubtful = true;
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Fell,
    Rose,
}

/// Whether the bounds lie further apart than such water changes: 5 mg/L N a day of ammonia or nitrite (2 a day is a strong filter),
/// nitrate halved within a week, 1.5 pH a day.
fn jump(kind: Kind, a: &Measured, b: &Measured) -> Option<Way> {
    let days = (hours(a.at, b.at) / 24.0).max(0.25);
    let (fall, rise) = (a.span.low - b.span.high, b.span.low - a.span.high);
    let most = match kind {
        Kind::Ammonia => 5.0 * days,
        Kind::Nitrite => 5.0 * 3.284 * days,
        Kind::Ph => 1.5 * days,
        _ if days <= 7.0 && b.span.high < 0.5 * a.span.low && fall > 10.0 => return Some(Way::Fell),
        _ => return None,
    };
    match () {
        _ if fall > most => Some(Way::Fell),
        _ if rise > most => Some(Way::Rose),
        _ => None,
    }
}

/// Whether an event makes such a jump.
fn explains(kind: Kind, way: Way, what: &Happened) -> bool {
    use Happened::*;
    match (kind, way) {
        (Kind::Ph, _) => matches!(what, Changed(_) | Buffer | Dosed(_) | Medicine | ToppedUp | Other),
        (_, Way::Fell) => matches!(what, Changed(_) | Plants | Medicine),
        (_, Way::Rose) => {
            matches!(
                what,
                Changed(_) | Dosed(_) | Fed(_) | AnimalDied(_) | MediaMoved { .. } | MediaRemoved | Medicine | Other
            )
        }
    }
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
