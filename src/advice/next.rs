//! When to test again, and what.

use super::book::{Animals, Book, Happened, Kind, Measured, hours};
use super::danger::{Danger, Hazard, Level};
use super::evidence::{Evidence, looks_none};
use super::rules::{PROOF_HOURS, Rule, retest};
use super::stage::{Stage, StageShown};
use super::statement::Statement;
use jiff::{SignedDuration, Timestamp};

/// The next test.
#[derive(Debug, Clone, PartialEq)]
pub struct Next {
    /// When.
    pub at: Timestamp,
    /// What.
    pub tests: Vec<Kind>,
    /// Why then.
    pub statement: Statement,
}

impl Next {
    /// Hours by which it is overdue; below zero before its time.
    pub fn overdue(&self, now: Timestamp) -> f64 {
        hours(self.at, now)
    }
}

fn after(at: Timestamp, h: f64) -> Timestamp {
    at.checked_add(SignedDuration::from_secs_f64(h * 3600.0)).unwrap_or(at)
}

/// For how many hours a result of ammonia or nitrite is of use at this stage, danger aside; and why.
pub(super) fn useful(book: &Book, stage: &StageShown, now: Timestamp) -> (f64, &'static str) {
    let animals = book.animals(now);
    let since = |hit: fn(&Happened) -> bool| book.events.iter().rfind(|e| hit(&e.what)).map(|e| hours(e.at, now));
    let stocked = since(|w| matches!(w, Happened::AnimalsAdded(_)));
    let filter = since(|w| {
        use Happened::*;
        matches!(
            w,
            MediaAdded
                | MediaRemoved
                | MediaRinsed
                | MediaMoved { .. }
                | DecorRemoved
                | PowerCut(_)
                | FilterOff(_)
                | Medicine
        )
    });
    let cycled = matches!(stage.stage, Stage::Cycled);
    match (animals, stage.stage) {
        (Animals::None, Stage::CannotTell | Stage::NotStarted | Stage::AmmoniaWaiting) => {
            (retest::FISHLESS_EARLY, "nothing changes fast before ammonia is used")
        }
        (Animals::None, Stage::ProofOnce) => (retest::PROOF, "a proof is tested 24 hours after its dose"),
        (Animals::None, _) => (retest::FISHLESS, "the cycle is under way"),
        _ if !cycled => (retest::FISH_IN, "animals are in, or may be, and the tank is not shown to be cycled"),
        _ if stocked.is_some_and(|h| h <= 168.0) => (retest::AFTER_EVENT, "animals came within the last week"),
        _ if filter.is_some_and(|h| h <= 168.0) => {
            (retest::AFTER_EVENT, "the filter was disturbed within the last week")
        }
        _ if stocked.is_some_and(|h| h <= 720.0) => (retest::FIRST_MONTH, "animals came within the last month"),
        _ => (retest::ESTABLISHED, "the tank runs, and nothing above the limits was shown"),
    }
}

/// The next test at `now`.
pub(super) fn next(
    book: &Book,
    evidence: &Evidence<'_>,
    stage: &StageShown,
    danger: &Danger,
    useful: (f64, &'static str),
    now: Timestamp,
) -> Next {
    let mut tests = vec![Kind::Ammonia, Kind::Nitrite];
    let say = |words: String| Statement::new(Rule::RetestRule, words);
    if !stage.missing.is_empty() && danger.act_as() < Level::Danger {
        let statement = say("Today: without it the stage cannot be told.".to_string());
        return Next { at: now, tests: stage.missing.clone(), statement };
    }
    let (conditions, _) = book.conditions(now);
    if conditions.ph.is_assumed() || conditions.ph.span().is_open() {
        tests.push(Kind::Ph);
    }
    if let Some(proof) = running_proof(book, now) {
        let at = after(proof.at, retest::PROOF);
        tests.push(Kind::Nitrate);
        let words = "24 hours after the dose, between 20 and 28 hours, so that it can prove something.".to_string();
        return Next { at, tests, statement: say(words).on(proof) };
    }
    let worst = danger.lines.iter().filter(|l| matches!(l.hazard, Hazard::FreeAmmonia | Hazard::Nitrite));
    let worst = worst.max_by_key(|l| l.act_as());
    if let Some(line) = worst.filter(|l| l.act_as() >= Level::Danger) {
        if line.level < Level::Danger {
            let words = format!("Now: it may be {}.", line.act_as().as_str());
            return Next { at: now, tests, statement: say(words) };
        }
        let every = if line.act_as() == Level::Urgent { retest::URGENT } else { retest::DANGER };
        let words = format!("Two hours after the water change, to see what it did; then every {every} hours.");
        // From the change, if it was made, else from the result that asks for it.
        let result = line.statement.newest().unwrap_or(now);
        let change = book.events.iter().rfind(|e| matches!(e.what, Happened::Changed(_)) && e.at >= result);
        let from = change.map_or(result, |e| e.at);
        return Next { at: after(from, retest::AFTER_CHANGE), tests, statement: say(words).on_all(change) };
    }
    let last: Vec<&Measured> =
        [Kind::Ammonia, Kind::Nitrite].iter().filter_map(|k| evidence.of_kind(*k).next_back()).collect();
    let Some(base) = last.iter().map(|r| r.at).min() else {
        return Next { at: now, tests, statement: say("Today: nothing is logged yet.".to_string()) };
    };
    if stage.stage == Stage::ProofOnce && book.animals(now) == Animals::None {
        let words = "24 hours after the next dose, which is due now.".to_string();
        tests.push(Kind::Nitrate);
        return Next { at: after(base, retest::PROOF), tests, statement: say(words) };
    }
    let trace = last.iter().any(|r| !looks_none(r)) && book.animals(now) != Animals::None;
    let (h, why) = match danger.level {
        Level::Caution => (useful.0.min(retest::DANGER), "a caution stands"),
        _ if trace => (useful.0.min(retest::TRACE), "there may be a trace, which does no harm as far as is shown"),
        _ => useful,
    };
    let at = after(base, h);
    if danger.lines.iter().any(|l| l.hazard == Hazard::Nitrate && l.level > Level::None) || h >= retest::FIRST_MONTH {
        tests.push(Kind::Nitrate);
    }
    Next { at, tests, statement: say(format!("{} hours after the last: {why}.", h)).on_all(last) }
}

/// A dose whose window has not passed and which is not tested yet.
fn running_proof(book: &Book, now: Timestamp) -> Option<&super::book::Happening> {
    let dose =
        book.events.iter().rfind(|e| matches!(e.what, Happened::Dosed(Some(n)) if n >= super::rules::PROOF_DOSE))?;
    let tested = book.of_kind(Kind::Nitrite).any(|r| hours(dose.at, r.at) >= PROOF_HOURS.0);
    (hours(dose.at, now) < PROOF_HOURS.1 && !tested && book.animals(now) == Animals::None).then_some(dose)
}
