//! Stage of the cycle.

use super::book::{Animals, Book, Happened, Happening, Kind, Shown, hours};
use super::evidence::{Evidence, looks_none, shows_some};
use super::proof::{Outcome, Pair, Trial, pairs, trials};
use super::rules::{Rule, SAME_DAY_HOURS, SOURCE_DAYS, ZERO_DAYS, retest};
use super::stall::{self, Stall};
use super::statement::Statement;
use jiff::Timestamp;

/// Where the cycle stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stage {
    /// Too little is known.
    CannotTell,
    /// No source of ammonia is logged and none shows.
    NotStarted,
    /// Ammonia is there, nothing uses it yet.
    AmmoniaWaiting,
    /// Nitrite shows: ammonia is being used.
    AmmoniaUsed,
    /// Ammonia is cleared, nitrite stands high.
    NitriteHump,
    /// Nitrite falls.
    NitriteClearing,
    /// One dose was gone in a day.
    ProofOnce,
    /// Shown twice, or once and a week of none with animals, or declared.
    Cycled,
    /// It was cycled, and something speaks against it now.
    Disturbed,
}

impl Stage {
    /// All, in order.
    pub const ALL: [Self; 9] = [
        Self::CannotTell,
        Self::NotStarted,
        Self::AmmoniaWaiting,
        Self::AmmoniaUsed,
        Self::NitriteHump,
        Self::NitriteClearing,
        Self::ProofOnce,
        Self::Cycled,
        Self::Disturbed,
    ];

    /// Stable text form.
    pub fn code(self) -> &'static str {
        match self {
            Self::CannotTell => "cannot-tell",
            Self::NotStarted => "not-started",
            Self::AmmoniaWaiting => "ammonia-waiting",
            Self::AmmoniaUsed => "ammonia-used",
            Self::NitriteHump => "nitrite-hump",
            Self::NitriteClearing => "nitrite-clearing",
            Self::ProofOnce => "proof-once",
            Self::Cycled => "cycled",
            Self::Disturbed => "disturbed",
        }
    }

    /// Words for people.
    pub fn words(self) -> &'static str {
        match self {
            Self::CannotTell => "cannot tell",
            Self::NotStarted => "not started",
            Self::AmmoniaWaiting => "waiting for ammonia to be used",
            Self::AmmoniaUsed => "ammonia being used",
            Self::NitriteHump => "nitrite hump",
            Self::NitriteClearing => "nitrite clearing",
            Self::ProofOnce => "proof passed once",
            Self::Cycled => "cycled",
            Self::Disturbed => "disturbed",
        }
    }
}

/// The stage, and what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct StageShown {
    /// The stage.
    pub stage: Stage,
    /// Whether it is the keeper's word, not the readings'.
    pub declared: bool,
    /// The readings that carry it were drawn then.
    pub as_of: Option<Timestamp>,
    /// Doses in a row that were gone in a day.
    pub proofs: usize,
    /// What has to be tested before more can be said.
    pub missing: Vec<Kind>,
    /// Nothing changes any more.
    pub stall: Option<Stall>,
    /// Why it is this stage.
    pub statements: Vec<Statement>,
}

impl StageShown {
    /// In words: the stage, and what it is if not shown by readings.
    pub fn words(&self) -> String {
        let declared = if self.declared { " (declared, not shown by tests here)" } else { "" };
        let stalled = if self.stall.is_some() { ", stalled" } else { "" };
        format!("{}{declared}{stalled}", self.stage.words())
    }
}

/// The stage at `now`.
pub(super) fn stage(book: &Book, evidence: &Evidence<'_>, now: Timestamp) -> StageShown {
    let pairs = pairs(evidence);
    let mut out = shown(book, evidence, &pairs, now);
    out.stall = stall::stall(book, evidence, out.stage, now);
    out
}

fn shown(book: &Book, evidence: &Evidence<'_>, pairs: &[Pair<'_>], now: Timestamp) -> StageShown {
    let trials = trials(book, evidence, pairs);
    let declared = book.facts.established.filter(|at| *at <= now);
    let proofs = row(&trials);
    // A proof in a row counts; a week of none with animals stands for the second.
    let week = proofs.first().is_some_and(|t| week_of_none(book, evidence, pairs, t.pair.at()));
    let cycled_at = match proofs.len() {
        0 => None,
        1 if week => pairs.last().map(Pair::at),
        1 => None,
        _ => proofs.get(1).map(|t| t.pair.at()),
    };
    let cycled = cycled_at.or(declared);
    let report = |stage, statements: Vec<Statement>, proofs: usize| StageShown {
        stage,
        declared: false,
        as_of: pairs.last().map(Pair::at),
        proofs,
        missing: Vec::new(),
        stall: None,
        statements,
    };
    if let Some(since) = cycled {
        let by = if cycled_at.is_some() {
            let words = match proofs.len() {
                1 => "One dose was gone in a day, and ammonia and nitrite showed none for a week with animals."
                    .to_string(),
                n => format!("{n} doses in a row were gone within 20 to 28 hours."),
            };
            proof_statement(words, &proofs)
        } else {
            let words = "The tank was declared established; no dose shows it in this log.";
            Statement::new(Rule::Declared, words)
                .on_all(pairs.last().map(|p| p.ammonia))
                .on_all(pairs.last().map(|p| p.nitrite))
        };
        if let Some(why) = disturbed(book, evidence, pairs, since, now) {
            return report(Stage::Disturbed, vec![why, by], proofs.len());
        }
        let declared = cycled_at.is_none();
        return StageShown { declared, ..report(Stage::Cycled, vec![by], proofs.len()) };
    }
    let Some(last) = pairs.last() else { return missing(book, evidence, now) };
    // Ammonia or nitrite much newer than the last pair: the other of that day is missing.
    let gap = newest_alone(evidence, last.at());
    if let Some(needed) = gap {
        let words = format!("Ammonia and nitrite must be of one day: test {}.", needed.as_str());
        let mut out = report(Stage::CannotTell, vec![Statement::new(Rule::SameDay, words)], proofs.len());
        out.missing = vec![needed];
        return out;
    }
    if let Some(first) = proofs.first() {
        if let Some(why) = disturbed(book, evidence, pairs, first.pair.at(), now) {
            return report(Stage::Disturbed, vec![why], proofs.len());
        }
        let words =
            "A dose was gone within 20 to 28 hours, once; a second dose in a row has to show the same.".to_string();
        return report(Stage::ProofOnce, vec![proof_statement(words, &proofs)], 1);
    }
    let stage = furthest(book, pairs);
    report(stage, vec![carried(stage, last)], 0)
}

/// The trials passed in a row at the end: an open one does not break the row, a failed one does.
fn row<'b>(trials: &[Trial<'b>]) -> Vec<Trial<'b>> {
    let mut out = Vec::new();
    for t in trials {
        match t.outcome {
            Outcome::Passed => out.push(*t),
            // Once cycled, a failed dose is a disturbance and does not undo what was shown.
            Outcome::Failed if out.len() < 2 => out.clear(),
            _ => {}
        }
    }
    out
}

fn proof_statement(words: String, proofs: &[Trial<'_>]) -> Statement {
    proofs.iter().fold(Statement::new(Rule::Proof, words), |s, t| s.on(t.dose).on(t.pair.ammonia).on(t.pair.nitrite))
}

/// Whether none showed for a week with animals after `since`: at least three pairs over the week, none showing some.
fn week_of_none(book: &Book, evidence: &Evidence<'_>, pairs: &[Pair<'_>], since: Timestamp) -> bool {
    let after: Vec<&Pair<'_>> =
        pairs.iter().filter(|p| p.at() > since && book.animals(p.at()) == Animals::Present).collect();
    let none = after.iter().filter(|p| p.proves_none(evidence)).count();
    let some = after.iter().any(|p| shows_some(p.ammonia) || shows_some(p.nitrite));
    let span = after.first().zip(after.last()).map_or(0.0, |(a, b)| hours(a.at(), b.at()) / 24.0);
    none >= 3 && !some && span >= ZERO_DAYS
}

/// What speaks against 'cycled' since it was shown.
fn disturbed(
    book: &Book,
    evidence: &Evidence<'_>,
    pairs: &[Pair<'_>],
    since: Timestamp,
    now: Timestamp,
) -> Option<Statement> {
    // Two pairs of none a day apart, or a dose gone in a day, after the trouble: it is over.
    let over = |from: Timestamp| {
        let none: Vec<&Pair<'_>> = pairs.iter().filter(|p| p.at() > from && p.proves_none(evidence)).collect();
        let apart = none.first().zip(none.last()).is_some_and(|(a, b)| hours(a.at(), b.at()) >= 20.0);
        let proved = trials(book, evidence, pairs).iter().any(|t| t.outcome == Outcome::Passed && t.dose.at > from);
        (apart && book.animals(now) != Animals::None) || proved
    };
    let dosed = |p: &Pair<'_>| {
        book.events
            .iter()
            .any(|e| matches!(e.what, Happened::Dosed(_)) && e.at <= p.at() && hours(e.at, p.at()) <= 48.0)
    };
    let rise = pairs.iter().rfind(|p| p.at() > since && (shows_some(p.ammonia) || shows_some(p.nitrite)) && !dosed(p));
    if let Some(p) = rise.filter(|p| !over(p.at())) {
        let causes: Vec<&Happening> = book
            .between(p.at() - jiff::SignedDuration::from_hours(14 * 24), p.at())
            .filter(|e| may_disturb(e))
            .collect();
        let named = if causes.is_empty() {
            "No event is logged that explains it: think of filter, food, deaths, medicine, tap water.".to_string()
        } else {
            let names: Vec<String> = causes.iter().map(|e| e.words.clone()).collect();
            format!("In the two weeks before: {}.", names.join("; "))
        };
        let words = format!("Ammonia or nitrite shows again without a dose. {named}");
        return Some(Statement::new(Rule::StageRule, words).on(p.ammonia).on(p.nitrite).on_all(causes));
    }
    let blow = book.between(since, now).rfind(|e| match e.what {
        Happened::Medicine | Happened::MediaRemoved => true,
        Happened::PowerCut(h) | Happened::FilterOff(h) => h.is_none_or(|h| h >= 2.0),
        _ => false,
    });
    if let Some(e) = blow.filter(|e| !over(e.at)) {
        let words = format!(
            "What was shown before does not count any more since this: {}. Show it again: test ammonia and nitrite on two days, or by a dose if no animals are in.",
            e.words
        );
        return Some(Statement::new(Rule::Lapse, words).on(e));
    }
    if book.animals(now) == Animals::None {
        let last = book.events.iter().rfind(|e| matches!(e.what, Happened::Dosed(_) | Happened::Fed(_)));
        let fed = last.map_or(since, |e| e.at);
        if hours(fed, now) > SOURCE_DAYS * 24.0 {
            let days = (hours(fed, now) / 24.0).round();
            let words = format!(
                "What was shown has lapsed: no source of ammonia is logged for {days} days. Show it again by a dose."
            );
            return Some(Statement::new(Rule::Lapse, words).on_all(last));
        }
    }
    None
}

/// Events after which a cycle can break.
fn may_disturb(e: &Happening) -> bool {
    use Happened::*;
    matches!(
        e.what,
        AnimalsAdded(_)
            | AnimalDied(_)
            | MediaAdded
            | MediaRemoved
            | MediaRinsed
            | MediaMoved { .. }
            | DecorRemoved
            | Changed(_)
            | Medicine
            | PowerCut(_)
            | FilterOff(_)
            | HeaterFault
            | Fed(_)
    )
}

/// Without a pair: what is missing.
fn missing(book: &Book, evidence: &Evidence<'_>, now: Timestamp) -> StageShown {
    let has = |kind| evidence.of_kind(kind).next_back().is_some_and(|r| hours(r.at, now) <= SAME_DAY_HOURS);
    let needed: Vec<Kind> = [Kind::Ammonia, Kind::Nitrite].into_iter().filter(|k| !has(*k)).collect();
    let names: Vec<&str> = needed.iter().map(|k| k.as_str()).collect();
    let late = book.readings.len() - Kind::ALL.iter().map(|k| evidence.of_kind(*k).count()).sum::<usize>();
    let why = if late > 0 && !names.is_empty() { " What was read outside its time does not count." } else { "" };
    let words = format!("No ammonia and nitrite of one day are logged: test {}.{why}", names.join(" and "));
    StageShown {
        stage: Stage::CannotTell,
        declared: false,
        as_of: None,
        proofs: 0,
        missing: needed,
        stall: None,
        statements: vec![Statement::new(Rule::SameDay, words)],
    }
}

/// The kind to test, where the other was tested long after the last pair.
fn newest_alone(evidence: &Evidence<'_>, pair: Timestamp) -> Option<Kind> {
    for (kind, other) in [(Kind::Ammonia, Kind::Nitrite), (Kind::Nitrite, Kind::Ammonia)] {
        let newest = evidence.of_kind(kind).next_back();
        if newest.is_some_and(|r| hours(pair, r.at) > retest::FISHLESS) {
            return Some(other);
        }
    }
    None
}

/// The furthest stage that the pairs show. A stage shown by one pair counts unless both pairs after it show less: so one odd
/// reading moves nothing for long, and what was passed stays passed.
fn furthest(book: &Book, pairs: &[Pair<'_>]) -> Stage {
    let mut levels: Vec<Stage> = Vec::with_capacity(pairs.len());
    let mut out = Stage::NotStarted;
    for i in 0..pairs.len() {
        levels.push(one(book, &pairs[..=i], out));
        // Go over again with what later pairs confirm.
        out = Stage::NotStarted;
        for (j, level) in levels.iter().enumerate() {
            let after = &levels[j + 1..];
            let confirmed = after.len() < 2 || after.iter().take(2).any(|l| l >= level);
            if confirmed {
                out = out.max(*level);
            }
        }
    }
    out
}

/// What the last of these pairs shows, having come as far as `before`.
fn one(book: &Book, pairs: &[Pair<'_>], before: Stage) -> Stage {
    let Some(p) = pairs.last() else { return Stage::NotStarted };
    let (ammonia, nitrite) = (shows_some(p.ammonia), shows_some(p.nitrite));
    let falling = before >= Stage::NitriteHump && nitrite_falls(pairs);
    let source = source_logged(book, p.at());
    match (ammonia, nitrite) {
        _ if falling => Stage::NitriteClearing,
        (false, true) => Stage::NitriteHump,
        (true, true) => Stage::AmmoniaUsed,
        (true, false) => Stage::AmmoniaWaiting,
        // A dose that does not show yet, or any more.
        (false, false) if source && before > Stage::NotStarted => before,
        (false, false) if source && !looks_none(p.ammonia) => Stage::AmmoniaWaiting,
        (false, false) => Stage::NotStarted,
    }
}

/// Whether nitrite fell on two tests in a row from its highest, clear of the errors. Results above the scale make no trend.
fn nitrite_falls(pairs: &[Pair<'_>]) -> bool {
    let of: Vec<_> = pairs.iter().map(|p| p.nitrite).filter(|r| r.shown != Shown::Above).collect();
    let [.., a, b, c] = of[..] else { return false };
    let peak = of.iter().map(|r| r.span.low).fold(0.0, f64::max);
    c.span.high < peak && b.span.middle() <= a.span.middle() && c.span.middle() < b.span.middle()
}

/// Whether anything that brings ammonia was logged up to `at`.
fn source_logged(book: &Book, at: Timestamp) -> bool {
    let event = |e: &Happening| matches!(e.what, Happened::Dosed(_) | Happened::Fed(_));
    book.animals(at) == Animals::Present || book.events.iter().any(|e| e.at <= at && event(e))
}

/// What the last pair says in this stage.
fn carried(stage: Stage, p: &Pair<'_>) -> Statement {
    let words = match stage {
        Stage::NotStarted => "Ammonia and nitrite show none, and no source of ammonia was used up in this log.",
        Stage::AmmoniaWaiting => "Ammonia is there; nitrite was not seen yet.",
        Stage::AmmoniaUsed => "Nitrite was seen while ammonia is there: ammonia is being turned into nitrite.",
        Stage::NitriteHump => "Ammonia went down to none, and nitrite was seen with it.",
        Stage::NitriteClearing => "Nitrite fell from its highest on two tests in a row.",
        _ => "The last ammonia and nitrite of one day.",
    };
    Statement::new(Rule::StageRule, words).on(p.ammonia).on(p.nitrite)
}
