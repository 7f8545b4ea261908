//! What a filter has shown: what it oxidises in a day, at least.

use super::super::book::{Animals, Happened, Happening, hours};
use super::super::evidence::{Evidence, shows_some};
use super::super::proof::{Outcome, pairs, trials};
use super::super::statement::Basis;
use super::feed::fed;
use super::level::Look;
use crate::water::{Span, Species};
use jiff::Timestamp;

/// How it was shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum How {
    /// A dose that was tested a day later.
    Dose,
    /// Food that left no ammonia and no nitrite.
    Food,
}

/// What was shown.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shown {
    /// mg N a day. Without an upper bound where all was gone: it may do more.
    pub(super) span: Span,
    pub(super) how: How,
    /// When.
    pub(super) at: Timestamp,
    pub(super) rests_on: Vec<Basis>,
    /// What befell the filter since.
    pub(super) since: Vec<Happening>,
}

/// Days after which food that leaves nothing says more than an old dose.
const DOSE_DAYS: f64 = 30.0;

/// The newest that was shown in a tank of so many litres.
pub(super) fn shown(look: &Look, litres: f64) -> Option<Shown> {
    let dose = by_dose(look, litres);
    let old = dose.as_ref().is_none_or(|d| hours(d.at, look.now) > DOSE_DAYS * 24.0);
    let food = if old { by_food(look) } else { None };
    let mut found = food.or(dose)?;
    found.since = look.book.between(found.at, look.now).filter(|e| disturbs(&e.what)).cloned().collect();
    Some(found)
}

fn disturbs(what: &Happened) -> bool {
    use Happened::*;
    matches!(
        what,
        MediaRemoved | MediaRinsed | MediaMoved { into: false } | DecorRemoved | PowerCut(_) | FilterOff(_) | Medicine
    )
}

fn by_dose(look: &Look, litres: f64) -> Option<Shown> {
    let book = &look.book;
    let evidence = Evidence::of(book);
    let pairs = pairs(&evidence);
    let all = trials(book, &evidence, &pairs);
    let told = all.iter().rfind(|t| {
        let changed = book.between(t.dose.at, t.pair.at()).any(|e| matches!(e.what, Happened::Changed(_)));
        t.outcome != Outcome::Open && !changed
    })?;
    let Happened::Dosed(Some(dose)) = told.dose.what else { return None };
    let as_n = Species::NitriteN.molar_mass() / Species::Nitrite.molar_mass();
    let (a, n) = (&told.pair.ammonia.span, &told.pair.nitrite.span);
    let per_day = litres * 24.0 / hours(told.dose.at, told.pair.at());
    let gone = |left: f64| (dose - left).max(0.0) * per_day;
    let low = gone(a.high + n.high * as_n);
    let high = if told.outcome == Outcome::Passed { f64::INFINITY } else { gone(a.low + n.low * as_n) };
    let rests_on = vec![Basis::from(told.dose), told.pair.ammonia.into(), told.pair.nitrite.into()];
    let span = Span { low, best: None, high };
    Some(Shown { span, how: How::Dose, at: told.pair.at(), rests_on, since: Vec::new() })
}

/// Food of the last weeks, where ammonia and nitrite of the last week show none and nothing else in between.
fn by_food(look: &Look) -> Option<Shown> {
    if look.book.animals(look.now) == Animals::None {
        return None;
    }
    let (load, _) = fed(&look.book, look.now)?;
    let evidence = Evidence::of(&look.book);
    let all = pairs(&evidence);
    let week: Vec<_> = all.iter().filter(|p| hours(p.at(), look.now) <= 168.0).collect();
    if week.iter().any(|p| shows_some(p.ammonia) || shows_some(p.nitrite)) {
        return None;
    }
    let pair = week.iter().rfind(|p| p.proves_none(&evidence))?;
    let meals = look.book.events.iter().filter(|e| matches!(e.what, Happened::Fed(Some(_))));
    let mut rests_on: Vec<Basis> = meals.rev().take(3).map(Basis::from).collect();
    rests_on.extend([Basis::from(pair.ammonia), Basis::from(pair.nitrite)]);
    // Not more than the food surely made.
    let span = Span { low: load.low, best: None, high: f64::INFINITY };
    Some(Shown { span, how: How::Food, at: pair.at(), rests_on, since: Vec::new() })
}
