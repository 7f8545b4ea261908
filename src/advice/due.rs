//! What is due: tests for each tank, and the monthly control of every kit.

use super::book::{Animals, Book, Happened, Kind, Measured, Water, hours};
use super::evidence::{looks_none, shows_some};
use super::review::Review;
use super::rules::{BOUND_HOURS, NITRATE_FRESH, Rule, every};
use super::statement::Statement;
use jiff::{SignedDuration, Timestamp};

/// Something to be done, and when.
#[derive(Debug, Clone, PartialEq)]
pub struct Due {
    /// Stays the same from one list to the next, so that a calendar moves an entry instead of adding one: `tests`, `tap` …
    pub key: String,
    /// In a few words, such as `Test ammonia, nitrite`.
    pub what: String,
    /// Which tests of tank or tap; none for a control.
    pub tests: Vec<Kind>,
    /// When.
    pub at: Timestamp,
    /// Why then.
    pub why: Statement,
}

impl Due {
    /// Hours by which it is overdue; below zero before its time.
    pub fn overdue(&self, now: Timestamp) -> f64 {
        hours(self.at, now)
    }

    /// The control of a kit with a known standard: when and why, as the control charts of its tests say.
    pub fn control(kit: &str, at: Timestamp, words: &str) -> Self {
        Self {
            key: format!("control-{kit}"),
            what: format!("Control the kit '{kit}' with a known standard"),
            tests: Vec::new(),
            at,
            why: Statement::new(Rule::ControlDue, words),
        }
    }
}

/// What is due for a tank, soonest first. What would be due within a day after the next test is made with it.
pub fn due(book: &Book, review: &Review) -> Vec<Due> {
    let now = review.now;
    let book = book.until(now);
    let mut out = vec![main(review)];
    let together = after(out[0].at.max(now), 24.0);
    for (key, kind, at, why) in routine(&book, review) {
        let at = at.unwrap_or(out[0].at);
        if out[0].tests.contains(&kind) {
            continue;
        }
        if at <= together {
            out[0].tests.push(kind);
        } else {
            out.push(of_tests(key, vec![kind], at, Statement::new(Rule::DueRule, why)));
        }
    }
    out[0].what = test(&out[0].tests);
    out.extend(arrival(&book, now));
    out.extend(unbound(&book));
    out.extend(tap(&book, now));
    out.sort_by(|a, b| a.at.cmp(&b.at).then(a.key.cmp(&b.key)));
    out
}

fn after(at: Timestamp, h: f64) -> Timestamp {
    at.checked_add(SignedDuration::from_secs_f64(h * 3600.0)).unwrap_or(at)
}

fn test(tests: &[Kind]) -> String {
    format!("Test {}", tests.iter().map(|k| k.as_str()).collect::<Vec<_>>().join(", "))
}

fn of_tests(key: &str, tests: Vec<Kind>, at: Timestamp, why: Statement) -> Due {
    Due { key: key.to_string(), what: test(&tests), tests, at, why }
}

/// The next test, as the review has it.
fn main(review: &Review) -> Due {
    of_tests("tests", review.next.tests.clone(), review.next.at, review.next.statement.clone())
}

/// When each of the slower tests is due; without a time, with the next test.
fn routine(book: &Book, review: &Review) -> Vec<(&'static str, Kind, Option<Timestamp>, &'static str)> {
    let last = |kind| book.of_kind(kind).next_back();
    let next = |r: &Measured, h: f64| Some(after(r.at, h));
    let dosing =
        book.animals(review.now) == Animals::None && book.events.iter().any(|e| matches!(e.what, Happened::Dosed(_)));
    let mut out = Vec::new();
    let nitrate = last(Kind::Nitrate);
    let high = nitrate.is_some_and(|r| r.span.high >= NITRATE_FRESH[0]);
    let often = if high { every::NITRATE_HIGH } else { every::NITRATE };
    if !dosing || nitrate.is_some() {
        let why =
            if high { "A week after the last, which may have passed 20 mg/L." } else { "Two weeks after the last." };
        out.push(("nitrate", Kind::Nitrate, nitrate.and_then(|r| next(r, often)), why));
    }
    let often = if dosing { every::BUFFER_DOSING } else { every::BUFFER };
    let why = if dosing {
        "A week after the last: doses use alkalinity up, and the pH follows."
    } else {
        "Two weeks after the last."
    };
    out.push(("ph", Kind::Ph, last(Kind::Ph).and_then(|r| next(r, often)), why));
    // Not everybody has this test: it is due where it was made before, or where doses use alkalinity up.
    let alkalinity = last(Kind::Alkalinity);
    if dosing || alkalinity.is_some() {
        out.push(("alkalinity", Kind::Alkalinity, alkalinity.and_then(|r| next(r, often)), why));
    }
    if book.facts.water != Water::Fresh {
        let salinity = last(Kind::Salinity).and_then(|r| next(r, every::SALINITY));
        out.push((
            "salinity",
            Kind::Salinity,
            salinity,
            "A week after the last: what evaporates leaves its salt behind.",
        ));
    }
    out
}

/// Ammonia an hour after a dose, to see that it arrived.
fn arrival(book: &Book, now: Timestamp) -> Option<Due> {
    let dose = book.events.iter().rfind(|e| matches!(e.what, Happened::Dosed(_)))?;
    let tested = book.of_kind(Kind::Ammonia).any(|r| r.at > dose.at);
    let still = hours(dose.at, now) <= every::ARRIVED.1 && !tested;
    let why = Statement::new(Rule::DoseNotSeen, "An hour after the dose, to see that it arrived.").on(dose);
    still.then(|| of_tests("arrived", vec![Kind::Ammonia], after(dose.at, every::ARRIVED.0), why))
}

/// Ammonia when what a conditioner bound no longer shows.
fn unbound(book: &Book) -> Option<Due> {
    let binds = |e: &&super::book::Happening| matches!(e.what, Happened::Conditioner { binds: true });
    let e = book.events.iter().rfind(binds)?;
    let r = book.of_kind(Kind::Ammonia).next_back().filter(|r| !looks_none(r) && shows_some(r))?;
    let h = hours(e.at, r.at);
    if !(0.0..BOUND_HOURS).contains(&h) {
        return None;
    }
    let words = "48 hours after the conditioner: until then the test may show what it bound.";
    let why = Statement::new(Rule::BoundAmmonia, words).on(e).on(r);
    Some(of_tests("unbound", vec![Kind::Ammonia, Kind::Nitrite], after(e.at, BOUND_HOURS), why))
}

/// The tap, where water is changed.
fn tap(book: &Book, now: Timestamp) -> Option<Due> {
    let change = book.events.iter().rfind(|e| matches!(e.what, Happened::Changed(_)))?;
    let tests = [Kind::Nitrate, Kind::Ph, Kind::Alkalinity, Kind::Ammonia];
    let oldest = tests.iter().map(|k| book.tap(*k).map(|r| r.at)).min().flatten();
    let (at, words) = match oldest {
        Some(t) => (after(t, every::TAP), "Three months after the last: tap water changes with the seasons."),
        None => (now, "Water is changed, and the tap's own nitrate, pH, alkalinity or ammonia was never logged."),
    };
    let mut due = of_tests("tap", tests.to_vec(), at, Statement::new(Rule::DueRule, words).on(change));
    due.what = "Test the tap water: nitrate, pH, alkalinity, ammonia".to_string();
    Some(due)
}
