//! Water changes: to a target or of a share, in as many steps as do no harm.

use super::super::book::{Animals, Book, Kind, Water as Sort};
use super::super::from_log::canonical;
use super::super::rules::{FREE_AMMONIA, Rule};
use super::error::{PlanError, share};
use super::level::{Given, Level, Look};
use super::mixed::{New, Step, Water};
use super::said::{Figure, Said, bounds, formulas};
use crate::water::{Amount, Analyte, Span, StateError, change_needed, chloramine_ammonia, free_ammonia, significant};
use jiff::Timestamp;
use waters::{Waters, always, waters};

pub(super) use waters::names;

mod waters;
mod words;

/// What a change is for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Aim {
    /// To bring something down, in the unit of its kind.
    To {
        /// What.
        kind: Kind,
        /// To how much.
        target: f64,
    },
    /// To exchange this share of the water, 0 to 1.
    Share(f64),
}

impl Aim {
    /// To bring something down to an amount; none for what no plan counts with.
    pub fn to(analyte: &Analyte, amount: &Amount) -> Option<Self> {
        let (kind, span, _) = canonical(analyte, amount)?;
        let end = if span.is_open() { span.low } else { span.high };
        Some(Self::To { kind, target: span.best.unwrap_or(end) })
    }
}

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
pub struct ChangeRequest {
    /// What for.
    pub aim: Aim,
    /// Litres of water, else those of the tank, else not known.
    pub litres: Option<f64>,
    /// What the tank has now, where the log shall not be asked.
    pub now: Given,
    /// What the new water has, where the log shall not be asked for the tap.
    pub new: Given,
}

/// How it may be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// The target is reached already.
    Reached,
    /// In one change.
    Once,
    /// In several.
    Split,
    /// Not with this water, or not before something else is done.
    Refused,
}

impl Verdict {
    /// Stable text form.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Reached => "reached",
            Self::Once => "once",
            Self::Split => "split",
            Self::Refused => "refused",
        }
    }
}

/// The plan of a change.
#[derive(Debug, Clone, PartialEq)]
pub struct ChangePlan {
    /// How it may be done.
    pub verdict: Verdict,
    /// The changes, a day apart; none where refused.
    pub steps: Vec<Step>,
    /// What was to be brought down.
    pub asked: Option<Kind>,
    /// What it would do all at once, where that is not how it may be done.
    pub at_once: Option<Step>,
    /// The rest.
    pub said: Said,
}

/// At most this share at once, common practice; and most changes of one plan.
const MOST_AT_ONCE: f64 = 0.5;
const MOST_STEPS: usize = 20;
/// g/kg a day, see [`Rule::SalinitySwing`]; °C up and down, see [`Rule::TemperatureSwing`]; pH, a caution.
const SALINITY: f64 = 1.5;
const WARMER: f64 = 2.0;
const COLDER: f64 = 1.0;
const PH: f64 = 0.3;
/// mg/L chlorine as Cl₂ that tap water may legally carry (US EPA MRDL): what nobody tested is at most that.
const CHLORINE: f64 = 4.0;

/// The plan of a change at `now`. Refused as an error where the new water has as much as the target.
pub fn change(book: &Book, request: &ChangeRequest, now: Timestamp) -> Result<ChangePlan, PlanError> {
    let look = Look::at(book, now);
    let mut said = Said::default();
    let litres = look.litres(request.litres).ok();
    let Waters { water, new, asked } = waters(&look, request, &mut said)?;
    said.inputs.extend(litres.iter().map(|l| l.figure("water", "L")));
    let may = look.book.animals(now) != Animals::None;
    let todo = Todo { aim: request.aim, asked, new: &new, may, litres: litres.as_ref().map(|l| l.span.middle()) };

    let first = todo.wanted(&water, 1.0)?;
    let (steps, hurts) = todo.steps(&water)?;
    let endless = steps.is_none() && !hurts.iter().any(|h| *h != Hurt::Half);
    // All at once: the whole share that the aim needs, however large.
    let at_once = (first > 0.0).then(|| todo.step(&water, first)).transpose()?;
    let verdict = match (first <= 0.0, &steps) {
        (true, _) => Verdict::Reached,
        (_, None) => Verdict::Refused,
        (_, Some(steps)) if steps.len() == 1 => Verdict::Once,
        _ => Verdict::Split,
    };
    let steps = steps.unwrap_or_default();
    let plan =
        ChangePlan { verdict, asked: asked.map(|a| a.0), at_once: at_once.filter(|_| steps.len() != 1), steps, said };
    Ok(words::spoken(plan, &todo, &look, request, &hurts, endless))
}

/// What a step would do that it must not.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Hurt {
    /// Free ammonia rises, to this upper bound.
    FreeAmmonia { from: f64, to: f64 },
    /// °C in one go.
    Temperature(f64),
    /// g/kg in one go.
    Salinity(f64),
    /// More than half of the water.
    Half,
}

struct Todo<'n> {
    aim: Aim,
    asked: Option<(Kind, f64)>,
    new: &'n New,
    /// Whether animals are in the tank, or may be.
    may: bool,
    litres: Option<f64>,
}

impl Todo<'_> {
    /// The share still to change, `left` of the first water being in the tank. Upper bounds count for what harms fast.
    fn wanted(&self, water: &Water, left: f64) -> Result<f64, StateError> {
        match (self.aim, self.asked) {
            (Aim::To { target, .. }, Some((kind, tap))) => {
                let level = water.asked.map_or(0.0, |s| worst(kind, &s));
                change_needed(level, tap, target)
            }
            (Aim::Share(f), _) => Ok((1.0 - (1.0 - f) / left).max(0.0)),
            _ => Ok(0.0),
        }
    }

    fn step(&self, before: &Water, share: f64) -> Result<Step, StateError> {
        let after = before.after(self.new, share)?;
        Ok(Step { share, litres: self.litres.map(|l| l * share), before: before.clone(), after })
    }

    /// The changes, or none where the smallest does harm; and what kept them small.
    fn steps(&self, water: &Water) -> Result<(Option<Vec<Step>>, Vec<Hurt>), StateError> {
        let (mut out, mut hurts): (Vec<Step>, Vec<Hurt>) = (Vec::new(), Vec::new());
        let (first, mut water, mut left) = (water, water.clone(), 1.0);
        loop {
            let wanted = self.wanted(&water, left)?;
            if wanted < 1e-6 {
                return Ok((Some(out), hurts));
            }
            if out.len() == MOST_STEPS {
                return Ok((None, hurts));
            }
            let mut found = None;
            for share in smaller(wanted) {
                let step = self.step(&water, share)?;
                match self.hurt(&step) {
                    None => {
                        found = Some(step);
                        break;
                    }
                    // What all at once would do is told; smaller ones do less of the same.
                    Some(h) if !hurts.iter().any(|k| std::mem::discriminant(k) == std::mem::discriminant(&h)) => {
                        hurts.push(h);
                    }
                    Some(_) => {}
                }
            }
            let Some(step) = found else { return Ok((None, hurts)) };
            left *= 1.0 - step.share;
            // A day later the heater has brought the temperature back, and the tank's carbon dioxide is what it was.
            let ph = first.settled(self.new, 1.0 - left)?.unwrap_or(step.after.ph);
            water = Water { temperature: first.temperature, ph, ..step.after.clone() };
            water.free = water.ammonia.and_then(|n| free_ammonia(&n, &water.conditions()).ok());
            out.push(step);
        }
    }

    fn hurt(&self, step: &Step) -> Option<Hurt> {
        if step.share > MOST_AT_ONCE + 1e-9 {
            return Some(Hurt::Half);
        }
        if !self.may {
            return None;
        }
        if let (Some(from), Some(to)) = (step.before.free, step.after.free)
            && rises_to_harm(&from, &to)
        {
            return Some(Hurt::FreeAmmonia { from: from.high, to: to.high });
        }
        let warmer = step.after.temperature.middle() - step.before.temperature.middle();
        if !(-COLDER - 1e-9..=WARMER + 1e-9).contains(&warmer) {
            return Some(Hurt::Temperature(warmer));
        }
        let saltier = step.after.salinity.middle() - step.before.salinity.middle();
        (saltier.abs() > SALINITY + 1e-9).then_some(Hurt::Salinity(saltier))
    }
}

/// Whether free ammonia rises, past the caution by its best value or past the danger by its upper bound.
fn rises_to_harm(from: &Span, to: &Span) -> bool {
    let more = |a: f64, b: f64| b > a * (1.0 + 1e-9);
    let best = more(from.middle(), to.middle()) && to.middle() >= FREE_AMMONIA[0];
    best || (more(from.high, to.high) && to.high >= FREE_AMMONIA[1])
}

/// The share wanted, then smaller ones by twentieths.
fn smaller(wanted: f64) -> impl Iterator<Item = f64> {
    let grid = (1..=19).rev().map(|n| f64::from(n) / 20.0).filter(move |s| *s < wanted - 1e-9);
    std::iter::once(wanted).chain(grid)
}

/// What counts of a level: the upper bound of what harms fast, the best value of what harms slowly.
fn worst(kind: Kind, span: &Span) -> f64 {
    if matches!(kind, Kind::Ammonia | Kind::Nitrite) { span.high } else { span.middle() }
}
