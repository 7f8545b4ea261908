//! What animals and their food make of ammonia in a day.

use super::super::book::{Book, Happened, hours};
use super::error::PlanError;
use super::said::{Figure, Said, formulas};
use crate::water::{FEED_SPREAD, Span, StateError, ammonia_of_food};
use jiff::Timestamp;

/// Animals of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// How many.
    pub number: u32,
    /// Length of one, cm.
    pub size_cm: Option<f64>,
    /// Mass of one, g.
    pub mass_g: Option<f64>,
}

/// Animals and food, as far as they are known. Food given counts; else it is told from the animals' mass.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Load {
    /// Grams of food a day.
    pub food_g: Option<f64>,
    /// Share of protein in it, 0 to 1.
    pub protein: Option<f64>,
    /// The animals.
    pub animals: Vec<Group>,
}

/// Grams for each cm³ of length, see [`formulas::MASS`].
const BODY: Span = Span { low: 0.008, best: Some(0.0134), high: 0.025 };
/// Food a day as a share of the body; and protein in prepared food. Common practice.
const FED: Span = Span { low: 0.01, best: Some(0.02), high: 0.03 };
const PROTEIN: Span = Span { low: 0.35, best: Some(0.45), high: 0.5 };

fn product(a: &Span, b: &Span) -> Span {
    Span { low: a.low * b.low, best: a.best.zip(b.best).map(|(a, b)| a * b), high: a.high * b.high }
}

impl Group {
    /// Grams of all of them.
    fn mass(&self) -> Result<Span, PlanError> {
        let one = match (self.mass_g, self.size_cm) {
            (Some(g), _) => Span::exact(g),
            (None, Some(cm)) => BODY.times(cm.powi(3)),
            (None, None) => {
                return Err(PlanError::LoadUnknown { why: "neither food nor the animals' size was given" });
            }
        };
        Ok(one.times(f64::from(self.number)))
    }
}

impl Load {
    /// How many animals.
    pub(super) fn number(&self) -> u32 {
        self.animals.iter().map(|g| g.number).sum()
    }

    /// Grams of all animals, where each has a size or mass.
    pub(super) fn mass(&self) -> Result<Span, PlanError> {
        let none = Span::exact(0.0);
        self.animals.iter().try_fold(none, |sum, g| {
            let m = g.mass()?;
            Ok(Span { low: sum.low + m.low, best: sum.best.zip(m.best).map(|(a, b)| a + b), high: sum.high + m.high })
        })
    }

    /// mg NH₃-N a day.
    pub(super) fn nitrogen(&self, said: &mut Said, name: &'static str) -> Result<Span, PlanError> {
        let food = match self.food_g {
            Some(g) if g.is_finite() && g >= 0.0 => Span::exact(g),
            Some(value) => return Err(StateError::NotPositive { what: "grams of food", value }.into()),
            None if self.animals.is_empty() => {
                return Err(PlanError::LoadUnknown { why: "neither food nor animals were given" });
            }
            None => {
                let mass = self.mass()?;
                said.inputs.push(Figure::out("body-mass", mass, "g"));
                note(said, formulas::MASS);
                product(&mass, &FED)
            }
        };
        let protein = self.protein.map_or(PROTEIN, Span::exact);
        said.inputs.push(Figure::out("food", food, "g a day"));
        said.inputs.push(Figure::out("protein", protein.times(100.0), "% of the food"));
        note(said, formulas::FOOD);
        let n = nitrogen(&food, &protein)?;
        said.results.push(Figure::out(name, n, "mg N a day"));
        Ok(n)
    }
}

fn note(said: &mut Said, formula: super::said::Formula) {
    if !said.formulas.contains(&formula) {
        said.formulas.push(formula);
    }
}

fn nitrogen(food: &Span, protein: &Span) -> Result<Span, StateError> {
    let best = food.best.zip(protein.best).map(|(f, p)| ammonia_of_food(f, p)).transpose()?;
    Ok(Span {
        low: ammonia_of_food(food.low, protein.low)? * (1.0 - FEED_SPREAD),
        best,
        high: ammonia_of_food(food.high, protein.high)? * (1.0 + FEED_SPREAD),
    })
}

/// Days over which feedings are averaged, and the fewest that make an average.
const FED_DAYS: f64 = 14.0;
const LEAST_DAYS: f64 = 3.0;

/// mg NH₃-N a day of the feedings logged with their grams in the last two weeks, and grams a day.
pub(super) fn fed(book: &Book, now: Timestamp) -> Option<(Span, f64)> {
    let recent: Vec<(Timestamp, f64)> = book
        .events
        .iter()
        .filter(|e| (0.0..=FED_DAYS * 24.0).contains(&hours(e.at, now)))
        .filter_map(|e| match e.what {
            Happened::Fed(Some(g)) => Some((e.at, g)),
            _ => None,
        })
        .collect();
    let (first, _) = recent.first()?;
    // The last feeding counts for the day after it.
    let days = hours(*first, now) / 24.0;
    if days < LEAST_DAYS {
        return None;
    }
    let grams = recent.iter().map(|r| r.1).sum::<f64>() / days;
    Some((nitrogen(&Span::exact(grams), &PROTEIN).ok()?, grams))
}
