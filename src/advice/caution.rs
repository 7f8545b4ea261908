//! Cautions where they are due.

use super::book::{Animals, Book, Happened, Happening, Kind, Measured, Water, hours};
use super::change::outlook;
use super::danger::{Danger, Hazard, Level};
use super::evidence::{Evidence, looks_none};
use super::next::Next;
use super::rules::{FREE_AMMONIA, Rule};
use super::statement::Statement;
use crate::water::{Known, Span, significant};
use jiff::Timestamp;

pub(super) fn cautions(
    book: &Book,
    evidence: &Evidence<'_>,
    danger: &Danger,
    next: &Next,
    now: Timestamp,
) -> Vec<Statement> {
    let mut out = Vec::new();
    let recent = |days: f64, hit: fn(&Happened) -> bool| {
        book.events.iter().rfind(move |e| hit(&e.what) && hours(e.at, now) <= days * 24.0)
    };
    let mut say = |rule, words: &str, e: Option<&Happening>| out.push(Statement::new(rule, words).on_all(e));
    if book.facts.water == Water::Fresh && danger.line(Hazard::Nitrite).is_some_and(|l| l.act_as() > Level::None) {
        let words = "Salt (sodium chloride) holds nitrite off fish, 10 mg chloride for each mg of nitrite, but harms plants, \
                     snails, shrimp and some fish: a water change comes first.";
        say(Rule::SaltCaution, words, None);
    }
    if let Some(e) = recent(14.0, |w| {
        matches!(w, Happened::MediaMoved { into: true } | Happened::Plants | Happened::AnimalsAdded(_))
    }) {
        say(
            Rule::DiseaseCaution,
            "Media, plants and animals from another tank can carry disease: watch for two weeks.",
            Some(e),
        );
    }
    if let Some(e) = recent(2.0, |w| matches!(w, Happened::Conditioner { .. })) {
        let words = "Too much conditioner can cost oxygen: keep to the label, and the surface moving.";
        say(Rule::ConditionerCaution, words, Some(e));
    }
    if let Some(e) = recent(7.0, |w| matches!(w, Happened::MediaRinsed | Happened::MediaRemoved)) {
        say(
            Rule::FilterCaution,
            "Filters are not washed in tap water: rinse media in water taken from the tank.",
            Some(e),
        );
    }
    if next.tests.contains(&Kind::Ammonia) && next.tests.contains(&Kind::Nitrite) && book.readings.len() < 12 {
        let words = "Used ammonia and nitrite vials never share a cup, and reagents with bleach never meet acid: the gas is \
                     poisonous. Flush each by itself with much water, or as the label and local rules say.";
        say(Rule::ReagentCaution, words, None);
    }
    out.extend(ph_rise(book, evidence, now));
    out
}

/// What new water would do to free ammonia.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NewWater {
    /// No higher pH than the tank's, as far as is known.
    Lowers,
    /// Nobody knows: the tank's pH, or that of the tap for a tank that is rather acid.
    Unknown,
    /// A pH so much higher that half of the water would raise free ammonia.
    Raises,
}

/// What changing half of the water would do, `ammonia` being the tank's.
pub(super) fn new_water(book: &Book, ammonia: &Measured) -> NewWater {
    let (before, _) = book.conditions(ammonia.at);
    let acid = before.ph.span().middle() < 7.4;
    match book.tap(Kind::Ph) {
        _ if before.ph.is_assumed() => NewWater::Unknown,
        None if acid => NewWater::Unknown,
        None => NewWater::Lowers,
        Some(tap) => {
            let after = crate::water::Conditions { ph: Known::Given(tap.span), ..before };
            match outlook(&ammonia.span, 0.0, 0.5, &before, &after) {
                Ok(o) if o.free_after.middle() > o.free_before.middle() => NewWater::Raises,
                Ok(_) => NewWater::Lowers,
                Err(_) => NewWater::Unknown,
            }
        }
    }
}

/// A higher pH while ammonium and animals are there. With the tap's pH known, what half of the water would do.
fn ph_rise(book: &Book, evidence: &Evidence<'_>, now: Timestamp) -> Option<Statement> {
    let ammonia = evidence.of_kind(Kind::Ammonia).next_back().filter(|r| !looks_none(r))?;
    if book.animals(now) == Animals::None || hours(ammonia.at, now) > 336.0 {
        return None;
    }
    let (before, with) = book.conditions(ammonia.at);
    let never =
        "Never raise pH or alkalinity while ammonium and animals are in the tank: it turns ammonium into free ammonia.";
    let base = |words: String| Statement::new(Rule::PhRise, words).on(ammonia).on_all(with.iter().copied());
    let tap_n = book.tap(Kind::Ammonia).map_or(0.0, |r| if looks_none(r) { 0.0 } else { r.span.middle() });
    let tap = book.tap(Kind::Ph);
    let ph = tap.map_or(Span::exact(8.0), |r| r.span);
    let after = crate::water::Conditions { ph: Known::Given(ph), ..before };
    let change = outlook(&ammonia.span, tap_n, 0.5, &before, &after).ok()?;
    let rises = before.ph.span().middle() + 0.3 < ph.middle();
    if !rises || !change.hurts(FREE_AMMONIA[0]) {
        return (before.ph.span().high < 7.5).then(|| base(never.to_string()));
    }
    let n = |s: &Span| significant(s.middle(), 3);
    let words = match tap {
        Some(tap) => format!(
            "Beware of a large change: half of the water of {} would raise free ammonia from {} to {} mg/L NH3-N, {} times. Change \
             small amounts several times, or bind the ammonia first. {never}",
            tap.words,
            n(&change.free_before),
            n(&change.free_after),
            significant(change.times(), 3)
        ),
        None => format!(
            "Beware of a large change: the tap's pH is not logged; with water of pH 8, half of it would raise free ammonia from \
             {} to {} mg/L NH3-N. Test the tap's pH first, and change small amounts. {never}",
            n(&change.free_before),
            n(&change.free_after)
        ),
    };
    Some(base(words).on_all(tap))
}
