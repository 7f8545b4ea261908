//! All that is said of a tank at a time.

use super::book::{Book, Happened, hours};
use super::caution::cautions;
use super::danger::{Danger, danger};
use super::doubt;
use super::evidence::Evidence;
use super::next::{Next, next, useful};
use super::nitrite::spoilt_nitrate;
use super::rules::Rule;
use super::stage::{StageShown, stage};
use super::statement::Statement;
use super::today::today;
use super::trouble::trouble;
use jiff::Timestamp;

/// What the log shows of one tank at `now`, and what to do.
#[derive(Debug, Clone, PartialEq)]
pub struct Review {
    /// The tank's name.
    pub tank: String,
    /// When.
    pub now: Timestamp,
    /// First help and unread photos, before all else.
    pub trouble: Vec<Statement>,
    /// Danger now.
    pub danger: Danger,
    /// Stage of the cycle.
    pub stage: StageShown,
    /// What to do today, most urgent first.
    pub today: Vec<Statement>,
    /// The next test.
    pub next: Next,
    /// Tests and results in doubt.
    pub doubts: Vec<Statement>,
    /// Cautions.
    pub cautions: Vec<Statement>,
}

/// Days for which a doubt is said.
const NEWS_DAYS: f64 = 30.0;

/// The review of a book at `now`. Entries later than `now` are left out.
pub fn review(book: &Book, now: Timestamp) -> Review {
    let slips = slips(book, now);
    let mut book = book.until(now);
    doubt::mark_ph(&mut book);
    let evidence = Evidence::of(&book);
    let stage = stage(&book, &evidence, now);
    let useful = useful(&book, &stage, now);
    let danger = danger(&book, &evidence, useful.0, now);
    let next = next(&book, &evidence, &stage, &danger, useful, now);
    // What was wrong long ago counts, and need not be said again.
    let news = |s: &&Statement| s.newest().is_some_and(|at| hours(at, now) <= NEWS_DAYS * 24.0);
    let mut doubts: Vec<Statement> = evidence.statements.iter().filter(news).cloned().collect();
    doubts.extend(slips);
    doubts.extend(spoilt_nitrate(&evidence));
    Review {
        tank: book.facts.name.clone(),
        now,
        trouble: trouble(&book, now),
        today: today(&book, &evidence, &stage, &danger, now),
        cautions: cautions(&book, &evidence, &danger, &next, now),
        danger,
        stage,
        next,
        doubts,
    }
}

/// Entries of the future, which are not counted; doses of unknown size; events that stand twice, which are counted twice.
fn slips(book: &Book, now: Timestamp) -> Vec<Statement> {
    let mut out = Vec::new();
    let later = book.readings.iter().filter(|r| r.at > now).count() + book.events.iter().filter(|e| e.at > now).count();
    if later > 0 {
        let words = format!("Dated in the future, and not counted: {later} of the log's entries. Correct their times.");
        out.push(Statement::new(Rule::Entry, words));
    }
    if let Some(e) = book.events.iter().rfind(|e| e.at <= now && e.what == Happened::Dosed(None)) {
        let words = "How much a dose brought is not known, so it can prove nothing: log its amount with its unit, or mL with the \
                     strength or grams, and the tank's litres.";
        out.push(Statement::new(Rule::Proof, words).on(e));
    }
    let past: Vec<_> = book.events.iter().filter(|e| e.at <= now).collect();
    for (i, e) in past.iter().copied().enumerate() {
        let twice = past[..i].iter().copied().find(|o| o.what == e.what && hours(o.at, e.at).abs() * 60.0 <= 10.0);
        if let Some(other) = twice.filter(|_| e.what != Happened::Other) {
            let words = format!("This stands twice within ten minutes: {}. If it happened once, undo one.", e.words);
            out.push(Statement::new(Rule::Entry, words).on(other).on(e));
        }
    }
    out
}

/// Worst and most overdue first: fish in trouble, then the level to act as for, then what is unknown, then by the next test.
pub fn worst_first(reviews: &mut [Review]) {
    reviews.sort_by(|a, b| {
        let key = |r: &Review| {
            let unknown = r.danger.untested || r.danger.unknown_since.is_some();
            std::cmp::Reverse((!r.trouble.is_empty(), r.danger.act_as(), unknown))
        };
        key(a).cmp(&key(b)).then(a.next.at.cmp(&b.next.at)).then(a.tank.cmp(&b.tank))
    });
}
