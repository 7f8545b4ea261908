//! Proofs: a dose that is gone a day later.

use super::book::{Book, Happened, Happening, Kind, Measured, hours};
use super::evidence::{Evidence, looks_none, shows_some};
use super::rules::{PROOF_DOSE, PROOF_HOURS, SAME_DAY_HOURS};
use jiff::Timestamp;

/// Ammonia and nitrite of one day.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pair<'b> {
    pub(super) ammonia: &'b Measured,
    pub(super) nitrite: &'b Measured,
}

impl Pair<'_> {
    /// When the later of the two was drawn.
    pub(super) fn at(&self) -> Timestamp {
        self.ammonia.at.max(self.nitrite.at)
    }

    /// Whether both show none, as a proof must.
    pub(super) fn proves_none(&self, evidence: &Evidence<'_>) -> bool {
        evidence.proves_none(self.ammonia) && evidence.proves_none(self.nitrite)
    }
}

/// All pairs, oldest first. Each nitrite stands with the nearest ammonia within a day.
pub(super) fn pairs<'b>(evidence: &Evidence<'b>) -> Vec<Pair<'b>> {
    let mut out: Vec<Pair<'b>> = Vec::new();
    for nitrite in evidence.of_kind(Kind::Nitrite) {
        let near = evidence
            .of_kind(Kind::Ammonia)
            .filter(|a| hours(a.at, nitrite.at).abs() <= SAME_DAY_HOURS)
            .min_by(|a, b| hours(a.at, nitrite.at).abs().total_cmp(&hours(b.at, nitrite.at).abs()));
        if let Some(ammonia) = near {
            out.push(Pair { ammonia, nitrite });
        }
    }
    out.sort_by_key(Pair::at);
    out
}

/// What became of a dose.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Outcome {
    /// None of either, in time.
    Passed,
    /// Some was left.
    Failed,
    /// Tested in time, but the tests do not tell, or something else may have taken it.
    Open,
}

/// A dose that was tested in the window.
#[derive(Debug, Clone, Copy)]
pub(super) struct Trial<'b> {
    pub(super) dose: &'b Happening,
    pub(super) pair: Pair<'b>,
    pub(super) outcome: Outcome,
}

/// Every dose large enough with a pair in its window, oldest first.
pub(super) fn trials<'b>(book: &'b Book, evidence: &Evidence<'b>, pairs: &[Pair<'b>]) -> Vec<Trial<'b>> {
    let mut out = Vec::new();
    for dose in &book.events {
        let Happened::Dosed(Some(n)) = dose.what else { continue };
        if n < PROOF_DOSE {
            continue;
        }
        let inside = |at: Timestamp| (PROOF_HOURS.0..=PROOF_HOURS.1).contains(&hours(dose.at, at));
        let in_window = |p: &&Pair<'b>| inside(p.ammonia.at) && inside(p.nitrite.at);
        let Some(pair) = pairs.iter().rfind(in_window).copied() else { continue };
        // Changed water took it out, moved media helped; either makes the test say nothing about this filter.
        let mut between = book.between(dose.at, pair.at());
        let disturbed = between.any(|e| matches!(e.what, Happened::Changed(_) | Happened::MediaMoved { .. }));
        let outcome = if shows_some(pair.ammonia) || shows_some(pair.nitrite) {
            Outcome::Failed
        } else if pair.proves_none(evidence) && !disturbed && nitrogen_went_on(book, dose, &pair) {
            Outcome::Passed
        } else {
            Outcome::Open
        };
        out.push(Trial { dose, pair, outcome });
    }
    out
}

/// Whether something besides the two nones tells that the tests work: nitrate, nitrite or ammonia was seen since the first dose.
fn nitrogen_went_on(book: &Book, dose: &Happening, pair: &Pair<'_>) -> bool {
    let nitrate = book
        .of_kind(Kind::Nitrate)
        .any(|r| r.at > dose.at && hours(pair.at(), r.at) <= SAME_DAY_HOURS && !looks_none(r));
    let seen = |kind, test: &str| book.of_kind(kind).any(|r| r.at < pair.at() && r.test == test && shows_some(r));
    nitrate || seen(Kind::Ammonia, &pair.ammonia.test)
}
