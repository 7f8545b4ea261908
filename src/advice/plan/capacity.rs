//! What the filter carries, and what is left of it after media were taken out or rinsed.

use super::super::book::Book;
use super::super::rules::Rule;
use super::super::statement::{Statement, age};
use super::error::{PlanError, share};
use super::feed::{Load, fed};
use super::filter::{How, Shown, shown};
use super::level::Look;
use super::said::{Figure, Said, bounds, formulas};
use crate::water::{Span, food_of_ammonia, rise, significant};
use jiff::Timestamp;

/// What is done to the media, as a share of all of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Loss {
    /// Taken out or replaced with new ones.
    Removed(f64),
    /// Rinsed in water from the tank.
    RinsedInTankWater(f64),
    /// Rinsed in tap water.
    RinsedInTapWater(f64),
}

/// What is asked.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CapacityRequest {
    /// Litres of water, else those of the tank.
    pub litres: Option<f64>,
    /// What is done to the media.
    pub losses: Vec<Loss>,
    /// Animals and food, else the feedings of the log.
    pub load: Option<Load>,
}

/// What it carries.
#[derive(Debug, Clone, PartialEq)]
pub struct CapacityPlan {
    /// mg N a day as shown.
    pub shown: Span,
    /// mg N a day after the losses.
    pub left: Span,
    /// mg N a day that animals and food make, where that is known.
    pub load: Option<Span>,
    /// What is left beyond the load; below zero where it may not be carried.
    pub margin: Option<Span>,
    /// The rest.
    pub said: Said,
}

const MG: &str = "mg N a day";

/// What a rinse may cost the share rinsed: in tank water up to a third, in tap water all. Common practice; nobody measured this filter.
const RINSED: f64 = 0.3;

/// What the filter carries at `now`.
pub fn capacity(book: &Book, request: &CapacityRequest, now: Timestamp) -> Result<CapacityPlan, PlanError> {
    let look = Look::at(book, now);
    let litres = look.litres(request.litres)?;
    let volume = litres.span.middle();
    let found = shown(&look, volume).ok_or_else(|| PlanError::Capacity { tank: look.book.facts.name.clone() })?;
    let mut said = Said { inputs: vec![litres.figure("water", "L")], ..Said::default() };
    tell_shown(&mut said, &found, now);

    let mut left = found.span;
    for loss in &request.losses {
        let (name, s, kept) = match *loss {
            Loss::Removed(s) => ("media-removed", share("media", s)?, (1.0 - s, 1.0 - s)),
            Loss::RinsedInTankWater(s) => ("media-rinsed-in-tank-water", share("media", s)?, (1.0 - s * RINSED, 1.0)),
            Loss::RinsedInTapWater(s) => ("media-rinsed-in-tap-water", share("media", s)?, (1.0 - s, 1.0)),
        };
        said.inputs.push(Figure::given(name, s * 100.0, "% of the media"));
        left = Span { low: left.low * kept.0, best: None, high: left.high * kept.1 };
    }
    if left.high.is_nan() {
        left.high = 0.0;
    }
    said.results.push(Figure::out("capacity-left", left, MG));
    if !request.losses.is_empty() {
        let left = match left.low {
            0.0 if left.is_open() => "perhaps nothing".to_string(),
            low if left.is_open() => format!("at least {} {MG}", significant(low, 3)),
            _ => format!("{} {MG}", bounds(&left)),
        };
        let words = format!(
            "That leaves {left} of what was shown. Media that stay wet and fed grow it back in two to four weeks, common practice."
        );
        said.answer(Rule::MediaShare, words);
        said.caution(Rule::FilterCaution, "Rinse media in water taken from the tank, a part at a time, weeks apart.");
    }

    let load = match &request.load {
        Some(load) => Some(load.nitrogen(&mut said, "load")?),
        None => fed(&look.book, now).map(|(load, grams)| {
            said.inputs.push(Figure::out("food-logged", Span::exact(grams), "g a day"));
            said.results.push(Figure::out("load", load, MG));
            said.formulas.push(formulas::FOOD);
            load
        }),
    };
    let margin = load.map(|load| margin(&left, &load));
    match (load, margin) {
        (Some(load), Some(margin)) => judge(&mut said, &left, &load, &margin, volume)?,
        _ => said.unknown(
            Rule::FoodLoad,
            "What animals and food make: no feedings with grams are logged over three days or more. Give --food.",
        ),
    }
    Ok(CapacityPlan { shown: found.span, left, load, margin, said })
}

pub(super) fn margin(left: &Span, load: &Span) -> Span {
    Span { low: left.low - load.high, best: None, high: left.high - load.low }
}

pub(super) fn tell_shown(said: &mut Said, found: &Shown, now: Timestamp) {
    said.results.push(Figure::out("capacity-shown", found.span, MG));
    said.formulas.push(if found.how == How::Dose { formulas::SHOWN } else { formulas::FOOD });
    let how = match (found.how, found.span.is_open()) {
        (How::Dose, true) => "a dose that was gone in a day",
        (How::Dose, false) => "a dose of which some was left a day later",
        (How::Food, _) => "food that left no ammonia and no nitrite",
    };
    let words = format!(
        "The filter has shown {} {MG} oxidised to the end, by {how}, {} ago.",
        if found.span.is_open() { format!("at least {}", significant(found.span.low, 3)) } else { bounds(&found.span) },
        age(found.at, now)
    );
    let mut statement = Statement::new(Rule::Capacity, words);
    statement.rests_on = found.rests_on.clone();
    said.answer.push(statement);
    if !found.since.is_empty() {
        let what: Vec<&str> = found.since.iter().map(|e| e.words.as_str()).collect();
        let words = format!(
            "What is left of it: since then there was {}. Give the share with --removed or --rinsed, or show it anew.",
            what.join(", ")
        );
        said.unknown.push(Statement::new(Rule::MediaShare, words).on_all(&found.since));
    }
    said.unknown(
        Rule::Capacity,
        "What it does colder, after days without food or after medicine: less. A filter keeps about what it is fed.",
    );
}

fn judge(said: &mut Said, left: &Span, load: &Span, margin: &Span, litres: f64) -> Result<(), PlanError> {
    said.results.push(Figure::out("margin", *margin, MG));
    let n = |x: f64| significant(x, 3);
    if margin.low >= 0.0 {
        let words = format!("It carries the load of {} {MG} with at least {} to spare.", bounds(load), n(margin.low));
        said.answer(Rule::Capacity, words);
        return Ok(());
    }
    // The food whose ammonia, at its upper bound, is what was shown.
    let fits = food_of_ammonia(left.low / (1.0 + crate::water::FEED_SPREAD), 0.5)?;
    let (worst, _) = rise(-margin.low, litres)?;
    let sure = margin.high < 0.0;
    let words = format!(
        "It {} the load of {} {MG}: up to {} of it {} beyond what was shown, which would raise ammonia by up to {} mg/L N a day. \
         {} for now, test ammonia and nitrite daily for a week, and be ready to change water.",
        if sure { "does not carry" } else { "may not carry" },
        bounds(load),
        n(-margin.low),
        if sure { "is" } else { "may be" },
        n(worst),
        if fits > 0.0 { format!("Feed at most {} g a day", n(fits)) } else { "Feed nothing".to_string() }
    );
    said.answer(Rule::Capacity, words);
    Ok(())
}
