//! The forecast: when the cycle is finished, and when nitrate reaches its limit.
//!
//! Kinetics of two groups of nitrifiers after Monod (`model`) are fitted to a tank's log: what is believed of such tanks beforehand
//! (`prior`) and every test as a range or a limit (`seen`) give an ensemble of tanks that agree with the log (`fit`); each is carried
//! on with a dose and a test a day (`ahead`) until two doses in a row are gone a day later, which is what the rule `proof` asks. A
//! tenth of them is done before the range begins, a tenth after it ends. A straight balance gives nitrate (`nitrate`).
//!
//! Gives no date before ammonia has measurably fallen, while the cycle stands still, or from old tests, and says what is needed.
//! The same log, time and seed give the same forecast.

mod ahead;
mod alkaline;
mod course;
mod fallen;
mod fit;
mod model;
mod nitrate;
mod prior;
mod seen;

pub use nitrate::{Limit, Reached};

use super::balance::as_n;
use super::book::{Animals, Book, Happened, Happening, Kind, hours};
use super::evidence::{Evidence, looks_none};
use super::rules::{MOST_AMMONIA, PROOF_DOSE, PROOF_HOURS, Rule, START_DOSE};
use super::stage::{Stage, StageShown, stage};
use super::statement::Statement;
use ahead::Routine;
use jiff::{SignedDuration, Timestamp};

/// A tank's forecast.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// The tank's name.
    pub tank: String,
    /// From when on.
    pub now: Timestamp,
    /// When the cycle is finished.
    pub finish: Finish,
    /// When nitrate reaches its limit.
    pub nitrate: Limit,
}

/// When the cycle is finished.
#[derive(Debug, Clone, PartialEq)]
pub struct Finish {
    /// The answer.
    pub when: When,
    /// The answer in words, then what it takes and what speaks against it, each with what it rests on.
    pub statements: Vec<Statement>,
}

/// The answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum When {
    /// It is.
    Done,
    /// No date can be given.
    Unknown(Why),
    /// Four times in five between these; an end that lies too far off is not given.
    Range {
        /// Nine in ten are later.
        early: Timestamp,
        /// As many earlier as later.
        middle: Option<Timestamp>,
        /// Nine in ten are earlier.
        late: Option<Timestamp>,
    },
}

/// Why there is no date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Why {
    /// Ammonia has not measurably fallen.
    NotFallen,
    /// Too little of the cycle was seen: the first two weeks, or no test showed what came of the ammonia.
    Early,
    /// It has taken longer than cycles do: something slows or stops it.
    Long,
    /// The doses since alkalinity was last known may have used it up.
    Alkalinity,
    /// Nothing changes any more.
    Stalled,
    /// Something keeps nitrifiers from working.
    Blocked,
    /// The tests are too old.
    Old,
    /// Later than is looked ahead, or the equations cannot follow the log.
    TooFar,
}

impl Why {
    /// Stable text form.
    pub fn code(self) -> &'static str {
        match self {
            Self::NotFallen => "not-fallen",
            Self::Early => "early",
            Self::Long => "long",
            Self::Alkalinity => "alkalinity-unknown",
            Self::Stalled => "stalled",
            Self::Blocked => "blocked",
            Self::Old => "old-tests",
            Self::TooFar => "too-far",
        }
    }
}

/// Days after which the last tests tell too little of now to look ahead from.
const OLD_DAYS: f64 = 7.0;
/// pH and alkalinity (German degrees) below which nitrifiers hardly work: near stop at pH 6.0 to 6.5 in filters that are not used
/// to it (textbook range, from memory); the acid they make needs alkalinity.
const STOPS: (f64, f64) = (6.2, 0.5);
/// Days from the first dose before which no date is given: on invented logs ranges given earlier held in 44 to 74 of 100, and the
/// rule of thumb erred no more.
const EARLY_DAYS: f64 = 14.0;
/// Days from the first dose after which no date is given: published start-ups took up to 56 days, most six weeks or less (the sources
/// stand in `fixtures/published/water/startup_curves.csv`). Of invented tanks that had a date later than this, more than four in ten
/// never finished, and nothing in their tests told them from the others.
const LONG_DAYS: f64 = 42.0;
/// Days for which a test of alkalinity tells that it lasts.
const ALKALINITY_DAYS: f64 = 14.0;
/// A test that is to show none needs this share of its first standard at most: its own range must stay below that standard.
const SHOWS_NONE: f64 = 0.8;

/// The forecast of a book at `now`. Entries later than `now` are left out. `seed` chooses the samples: another one moves the ends
/// of the range by about a tenth of its width.
pub fn forecast(book: &Book, now: Timestamp, seed: u64) -> Forecast {
    let book = book.until(now);
    let evidence = Evidence::of(&book);
    let stage = stage(&book, &evidence, now);
    Forecast {
        tank: book.facts.name.clone(),
        now,
        finish: finish(&book, &evidence, &stage, now, seed),
        nitrate: nitrate::limit(&book, &evidence, now),
    }
}

fn unknown(why: Why, statements: Vec<Statement>) -> Finish {
    Finish { when: When::Unknown(why), statements }
}

fn finish(book: &Book, evidence: &Evidence<'_>, stage: &StageShown, now: Timestamp, seed: u64) -> Finish {
    if stage.stage == Stage::Cycled {
        let words = if stage.declared {
            "The keeper declared it cycled; there is nothing to forecast."
        } else {
            "It is cycled; there is nothing to forecast."
        };
        let on = stage.statements.first().map(|s| s.rests_on.clone()).unwrap_or_default();
        return Finish { when: When::Done, statements: vec![Statement::new(Rule::Forecast, words).on_all(on)] };
    }
    if let Some(stall) = &stage.stall {
        let words = format!(
            "No date: the tests have not changed for {:.0} days, and a filter that stands still gives none. In the order to look:",
            stall.days
        );
        let mut all = vec![Statement::new(Rule::Forecast, words)];
        all.extend(stall.causes.iter().cloned());
        return unknown(Why::Stalled, all);
    }
    let Some((from, to)) = fallen::fallen(book, evidence) else { return not_fallen(book, evidence, now) };
    if let Some(blocked) = blocked(evidence) {
        return unknown(Why::Blocked, vec![blocked]);
    }
    let begun = begun(book, evidence);
    let days = begun.map_or(0.0, |at| hours(at, now) / 24.0);
    if days > LONG_DAYS {
        let words = format!(
            "No date: it has taken {days:.0} days, and many that take longer than six weeks never finish as they are. Look for what \
             slows or stops it: alkalinity, pH, temperature, flow, medicine, and doses larger than the filter can carry."
        );
        return unknown(Why::Long, vec![Statement::new(Rule::Forecast, words).on(to)]);
    }
    if days < EARLY_DAYS || !fallen::converted(evidence) {
        let words = if days < EARLY_DAYS {
            "No date yet: ammonia falls, so the first half of the filter works. In the first two weeks a log tells too little of \
             how fast the second half grows. Test ammonia and nitrite every day or two."
        } else {
            "No date: ammonia fell, but no test showed nitrite or nitrate that came of it. Plants or a product that binds ammonia \
             may have taken it. Test nitrite, then nitrate."
        };
        return unknown(Why::Early, vec![Statement::new(Rule::Forecast, words).on_all(from).on(to)]);
    }
    if let Some(statement) = alkaline::doubtful(book, evidence, begun, now) {
        return unknown(Why::Alkalinity, vec![statement]);
    }
    let prior = prior::Prior::of(book, now);
    let last = |kind| evidence.of_kind(kind).next_back();
    let (Some(ammonia), Some(nitrite)) = (last(Kind::Ammonia), last(Kind::Nitrite)) else {
        return unknown(Why::Old, vec![test("Nitrite was never tested, and without it nothing can be forecast.")]);
    };
    if let Some(r) = [ammonia, nitrite].into_iter().find(|r| hours(r.at, now) > OLD_DAYS * 24.0) {
        let words = "No date: the last tests are too old to look ahead from. Test ammonia and nitrite.";
        return unknown(Why::Old, vec![Statement::new(Rule::Forecast, words).on(r)]);
    }
    let Some(told) = course::told(book, evidence, prior.decay, now) else {
        return unknown(Why::Old, vec![test("No test counts in full.")]);
    };
    let samples = fit::fit(&told, &prior, seed);
    let routine = routine(book, stage, now, [ammonia.first_standard, nitrite.first_standard]);
    let days = ahead::finished(&samples, &routine, seed);
    let at = |d: Option<f64>| d.and_then(|d| now.checked_add(SignedDuration::from_secs_f64(d * 86_400.0)).ok());
    let basis = |s: Statement| s.on_all(from).on(to).on_all([ammonia, nitrite]);
    let Some(early) = at(days[0]) else {
        let words = format!(
            "No date: most tanks that agree with this log take more than {:.0} days from now. Look for what slows the filter: pH, \
             alkalinity, temperature, and whether doses are given when ammonia is gone.",
            ahead::AHEAD
        );
        return unknown(Why::TooFar, vec![basis(Statement::new(Rule::Forecast, words))]);
    };
    let mut statements = vec![basis(Statement::new(Rule::Forecast, said(&days))), takes(&routine)];
    statements.extend(warnings(book, evidence, &routine, now));
    Finish { when: When::Range { early, middle: at(days[1]), late: at(days[2]) }, statements }
}

fn test(words: &str) -> Statement {
    Statement::new(Rule::Forecast, format!("No date: {} Test ammonia and nitrite on the same day.", lower(words)))
}

fn lower(words: &str) -> String {
    let mut c = words.chars();
    c.next().map(|first| first.to_lowercase().chain(c).collect()).unwrap_or_default()
}

fn said(days: &[Option<f64>; 3]) -> String {
    let n = |d: f64| format!("{:.0}", d.max(1.0));
    match days {
        [Some(a), _, Some(b)] if n(*a) == n(*b) => {
            format!(
                "Finished in about {} days (four chances in five) if nothing stops the filter, as far as this log tells.",
                n(*a)
            )
        }
        [Some(a), _, Some(b)] => {
            format!(
                "Finished in {} to {} days (four chances in five) if nothing stops the filter, as far as this log tells.",
                n(*a),
                n(*b)
            )
        }
        [Some(a), ..] => format!(
            "Finished in {} days at the earliest (nine chances in ten); how late it may get, this log does not tell yet.",
            n(*a)
        ),
        _ => String::new(),
    }
}

/// What the date takes for granted.
fn takes(routine: &Routine) -> Statement {
    let words = match routine.dose {
        Some(dose) => format!(
            "That counts from one dose of {} mg/L N to the next as soon as ammonia shows none, tests of ammonia and nitrite a day \
             after each, and two doses in a row gone; a date is an estimate, the tests decide.",
            super::doubt::number(dose)
        ),
        None => "That counts a week in which ammonia and nitrite show none, with the animals and the food of now; a date is an \
                 estimate, the tests decide."
            .to_string(),
    };
    Statement::new(Rule::Proof, words)
}

fn not_fallen(book: &Book, evidence: &Evidence<'_>, now: Timestamp) -> Finish {
    let last = evidence.of_kind(Kind::Ammonia).next_back();
    let source = book.animals(now) == Animals::Present
        || book.events.iter().any(|e| matches!(e.what, Happened::Dosed(_) | Happened::Fed(_)));
    let words = match last {
        None => {
            "No date: ammonia was never tested. Log each dose with its amount and test ammonia and nitrite every two to three days."
        }
        Some(_) if !source => {
            "No date: nothing that brings ammonia is logged. Log doses with their amounts, or animals and food, then go on testing."
        }
        Some(r) if looks_none(r) => {
            "No date: ammonia shows none, and no fall from a known amount was seen. Log a dose with its amount, test an hour later \
             and then daily."
        }
        Some(_) => {
            "No date yet: ammonia has not fallen by more than its tests may err. How many nitrifiers there are shows only when it \
             falls; until then it may be days or weeks. Test ammonia and nitrite every two to three days."
        }
    };
    unknown(Why::NotFallen, vec![Statement::new(Rule::Forecast, words).on_all(last)])
}

/// When it began: the first dose, else the first test of ammonia.
fn begun(book: &Book, evidence: &Evidence<'_>) -> Option<Timestamp> {
    let dose = book.events.iter().find(|e| matches!(e.what, Happened::Dosed(_))).map(|e| e.at);
    dose.or_else(|| evidence.of_kind(Kind::Ammonia).next().map(|r| r.at))
}

/// What keeps nitrifiers from working, as the last test shows it for sure.
fn blocked(evidence: &Evidence<'_>) -> Option<Statement> {
    let last = |kind| evidence.of_kind(kind).next_back();
    let say = |words: &str, r| Some(Statement::new(Rule::Forecast, words).on(r));
    if let Some(r) = last(Kind::Alkalinity).filter(|r| r.span.middle() < STOPS.1) {
        return say(
            "No date: the alkalinity is used up, and without it ammonia is hardly turned into nitrite. Raise it slowly, or change \
             water, then test again.",
            r,
        );
    }
    let r = last(Kind::Ph).filter(|r| r.span.high.min(r.span.middle()) < STOPS.0)?;
    say("No date: at so low a pH nitrifiers hardly work. Look at the alkalinity first, and raise it slowly.", r)
}

/// What slows it, though it does not stop it.
fn warnings(book: &Book, evidence: &Evidence<'_>, routine: &Routine, now: Timestamp) -> Vec<Statement> {
    use crate::water::{NitrogenSource, nitrifiable};
    let mut out = Vec::new();
    let last = evidence.of_kind(Kind::Alkalinity).next_back();
    if let Some((r, dose)) = last.zip(routine.dose)
        && nitrifiable(r.span.middle(), NitrogenSource::AmmoniumSalt) < 2.0 * dose
    {
        let words = "The alkalinity does not last for two more doses: raise it, or the cycle stops.";
        out.push(Statement::new(Rule::AlkalinityLow, words).on(r));
    }
    if last.is_none_or(|r| hours(r.at, now) > ALKALINITY_DAYS * 24.0) {
        let words = "The alkalinity was not tested lately: a cycle uses it up, and where it runs out the filter stops and no date \
                     holds. Test it once a week.";
        out.push(Statement::new(Rule::AlkalinityLow, words).on_all(last));
    }
    let harm = |e: &&Happening| matches!(e.what, Happened::Medicine | Happened::FilterOff(_) | Happened::PowerCut(_));
    if let Some(e) = book.events.iter().rfind(harm) {
        let words = "What medicine or a filter without flow did to it, the tests since then must show first.";
        out.push(Statement::new(Rule::Lapse, words).on(e));
    }
    out
}

/// The dose of the last proof-worthy size, and where the present trial stands.
fn routine(book: &Book, stage: &StageShown, now: Timestamp, first_standards: [f64; 2]) -> Routine {
    let none = [first_standards[0], first_standards[1] * as_n(Kind::Nitrite)].map(|x| x * SHOWS_NONE);
    if book.animals(now) == Animals::Present {
        return Routine { dose: None, none, pending: None, proofs: 0 };
    }
    let doses = || book.events.iter().filter_map(|e| if let Happened::Dosed(n) = e.what { Some((e, n)) } else { None });
    let usual = doses().filter_map(|d| d.1).rfind(|n| (PROOF_DOSE..=MOST_AMMONIA).contains(n));
    let age = doses().next_back().map(|(e, _)| hours(e.at, now));
    let pending = age.filter(|h| *h < PROOF_HOURS.1).map(|h| h / 24.0);
    Routine { dose: Some(usual.unwrap_or(START_DOSE)), none, pending, proofs: stage.proofs }
}
