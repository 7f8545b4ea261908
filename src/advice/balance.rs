//! Nitrogen added minus nitrogen found.

use super::book::{Animals, Book, Happened, Kind, Measured, Shown, hours};
use super::doubt::{self, Doubt, WORDS, number};
use super::evidence::looks_none;
use super::rules::{BALANCE, Rule, SAME_DAY_HOURS};
use super::statement::Statement;
use crate::water::Span;

/// mg/L N in 1 mg/L of the book's units.
pub(super) fn as_n(kind: Kind) -> f64 {
    use crate::water::Species;
    let n = Species::AmmoniaN.molar_mass();
    match kind {
        Kind::Nitrite => n / Species::Nitrite.molar_mass(),
        Kind::Nitrate => n / Species::Nitrate.molar_mass(),
        _ => 1.0,
    }
}

/// The last set of ammonia, nitrite and nitrate of one day whose nitrogen does not fit what was dosed.
pub(super) fn doubts(book: &Book) -> Vec<Doubt> {
    let mut out: Vec<Doubt> = Vec::new();
    for nitrate in book.of_kind(Kind::Nitrate) {
        let near = |kind| {
            book.of_kind(kind)
                .filter(|r| hours(r.at, nitrate.at).abs() <= SAME_DAY_HOURS)
                .min_by(|a, b| hours(a.at, nitrate.at).abs().total_cmp(&hours(b.at, nitrate.at).abs()))
        };
        let (Some(ammonia), Some(nitrite)) = (near(Kind::Ammonia), near(Kind::Nitrite)) else { continue };
        let at = ammonia.at.min(nitrite.at).min(nitrate.at);
        let Some(added) = added(book, at) else { continue };
        let found = found(ammonia, nitrite, nitrate);
        out.extend(surplus(book, added, &found, [ammonia, nitrite, nitrate]));
        // Plants take up what is missing.
        let missing = found.high < (1.0 - BALANCE) * added && book.facts.planted != Some(true);
        if added < 1.0 || !missing {
            continue;
        }
        let plants = if book.facts.planted.is_none() {
            " Plants would explain it: say so of this tank if it has them."
        } else {
            ""
        };
        let words = format!(
            "Nitrogen is missing: doses brought {} mg/L N, the tests find at most {}: {WORDS}. The nitrate test is the first \
             to suspect: {} would be expected. {}{plants}",
            number(added),
            number(found.high),
            expected(added),
            doubt::checklist(Kind::Nitrate)
        );
        let set = [ammonia, nitrite, nitrate];
        let entries =
            set.iter().filter(|r| looks_none(r) || r.kind == Kind::Nitrate).map(|r| r.entry.clone()).collect();
        let doses = book.events.iter().filter(|e| e.at <= at && matches!(e.what, Happened::Dosed(_)));
        let statement = Statement::new(Rule::NitrogenBalance, words).on_all(doses).on_all(set);
        out.push(Doubt { entries, statement });
    }
    // Of many sets one statement, the newest, is said; all their readings are in doubt.
    let entries = out.iter().flat_map(|d| d.entries.clone()).collect();
    out.pop().map(|d| vec![Doubt { entries, statement: d.statement }]).unwrap_or_default()
}

/// More nitrogen than went in: only where nothing else could have brought it, and the tap's own nitrate is known.
fn surplus(book: &Book, added: f64, found: &Span, set: [&Measured; 3]) -> Option<Doubt> {
    let tap = book.tap(Kind::Nitrate)?.span.high * as_n(Kind::Nitrate);
    let at = set[2].at;
    let brought = book.events.iter().any(|e| {
        e.at <= at
            && matches!(
                e.what,
                Happened::Fed(_) | Happened::AnimalDied(_) | Happened::MediaMoved { .. } | Happened::Other
            )
    });
    let only_doses = book.animals(at) == Animals::None && !brought;
    (only_doses && added >= 1.0 && found.low > (1.0 + BALANCE) * (added + tap)).then(|| {
        let words = format!(
            "More nitrogen is found (at least {} mg/L N) than doses and tap water brought ({}): a test is out by more than its \
             range, a vial was mixed up, or a dose or food is not logged.",
            number(found.low),
            number(added + tap)
        );
        Doubt { entries: Vec::new(), statement: Statement::new(Rule::NitrogenBalance, words).on_all(set) }
    })
}

/// All of it as nitrate.
fn expected(added: f64) -> String {
    format!("about {} mg/L nitrate", number(added / as_n(Kind::Nitrate)))
}

/// mg/L N that doses left in the water at `at`; none where a dose or a change of unknown size is among them.
fn added(book: &Book, at: jiff::Timestamp) -> Option<f64> {
    let mut n = 0.0;
    for e in book.events.iter().filter(|e| e.at < at) {
        match e.what {
            Happened::Dosed(dose) => n += dose?,
            Happened::Changed(share) => n *= 1.0 - share?,
            _ => {}
        }
    }
    Some(n)
}

/// mg/L N found: a nitrate test reads nitrite too, so the larger of the two ways of counting is the upper bound.
fn found(ammonia: &Measured, nitrite: &Measured, nitrate: &Measured) -> Span {
    let n = |r: &Measured| {
        let low = if r.shown == Shown::None { 0.0 } else { r.span.low };
        (low * as_n(r.kind), r.span.high * as_n(r.kind))
    };
    let (a, b, c) = (n(ammonia), n(nitrite), n(nitrate));
    Span::between(a.0 + b.0.max(c.0), a.1 + b.1 + c.1)
}
