//! Plans: a document each, all with what went in, what comes out, words, cautions and formulas.

mod change;
mod due;
mod standards;
mod stock;
mod table;

pub use change::{PlanChanged, PlanRoutine, StepOut, WaterOut};
pub use due::{DueList, DueOut};
pub use standards::PlanStandards;
pub use stock::{BatchOut, PlanCapacity, PlanSeeded, PlanStocked};
pub use table::{CellOut as FreeOut, PlanAmmonia, RowOut};

use super::Document;
use super::status::{Clock, StatementOut};
use crate::advice::plan::{DosePlan, Figure, Origin, Said};
use crate::faces::cli::words::columns;
use crate::log::Tank;
use crate::water::Span;
use jiff::Timestamp;
use serde::Serialize;
use std::io::{self, Write};

/// A number with its bounds.
#[derive(Debug, Clone, Serialize)]
pub struct FigureOut {
    /// Stable text form, such as `ammonia-present`.
    pub name: &'static str,
    /// The best value; null where only bounds are known.
    pub value: Option<f64>,
    /// Bounds; null where there is none on that side.
    pub lower: Option<f64>,
    pub upper: Option<f64>,
    /// With its basis; empty for pH and counts.
    pub unit: &'static str,
    /// `given`, `log`, `stated` (of the tank), `assumed` or `computed`.
    pub origin: &'static str,
    /// Short form of the entry in the log.
    pub entry: Option<String>,
    /// When that was, with the offset at the tank.
    pub at: Option<String>,
    /// The number in words.
    pub text: String,
}

/// Bounds without a name.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct SpanOut {
    pub value: Option<f64>,
    pub lower: Option<f64>,
    pub upper: Option<f64>,
}

/// A formula that was used.
#[derive(Debug, Clone, Serialize)]
pub struct FormulaOut {
    pub text: &'static str,
    pub source: &'static str,
}

/// What every plan says.
#[derive(Debug, Serialize)]
pub struct SaidOut {
    /// All that went in.
    pub inputs: Vec<FigureOut>,
    /// What comes out.
    pub results: Vec<FigureOut>,
    /// The answer in words.
    pub answer: Vec<StatementOut>,
    /// What cannot be known.
    pub unknown: Vec<StatementOut>,
    pub cautions: Vec<StatementOut>,
    pub formulas: Vec<FormulaOut>,
    #[serde(skip)]
    origins: Vec<String>,
}

impl From<&Span> for SpanOut {
    fn from(s: &Span) -> Self {
        let end = |x: f64| Some(x).filter(|x| x.is_finite());
        Self { value: s.best, lower: end(s.low), upper: end(s.high) }
    }
}

impl FigureOut {
    fn of(f: &Figure, clock: &Clock<'_>) -> Self {
        let SpanOut { value, lower, upper } = (&f.span).into();
        let (origin, entry, at) = match &f.origin {
            Origin::Given => ("given", None, None),
            Origin::Log { entry, at } => ("log", Some(entry.clone()), Some(clock.at(*at))),
            Origin::Stated => ("stated", None, None),
            Origin::Assumed => ("assumed", None, None),
            Origin::Computed => ("computed", None, None),
        };
        Self { name: f.name, value, lower, upper, unit: f.unit, origin, entry, at, text: f.words() }
    }

    /// Its name in words.
    fn title(&self) -> String {
        self.name.replace('-', " ")
    }
}

impl SaidOut {
    fn of(said: &Said, clock: &Clock<'_>) -> Self {
        let figures = |all: &[Figure]| all.iter().map(|f| FigureOut::of(f, clock)).collect();
        let from = |f: &Figure| match &f.origin {
            Origin::Given => "as given".to_string(),
            Origin::Log { entry, at } => format!("log, {} ago [{entry}]", clock.age(*at)),
            Origin::Stated => "as the tank is logged".to_string(),
            Origin::Assumed => "nobody measured it: what such tanks have".to_string(),
            Origin::Computed => String::new(),
        };
        Self {
            inputs: figures(&said.inputs),
            results: figures(&said.results),
            answer: clock.statements(&said.answer),
            unknown: clock.statements(&said.unknown),
            cautions: clock.statements(&said.cautions),
            formulas: said.formulas.iter().map(|f| FormulaOut { text: f.text, source: f.source }).collect(),
            origins: said.inputs.iter().map(from).collect(),
        }
    }

    /// The answer first; then the numbers, what is not known, cautions, and how it was worked out.
    fn text(&self, out: &mut dyn Write, between: &dyn Fn(&mut dyn Write) -> io::Result<()>) -> io::Result<()> {
        self.answer.iter().try_for_each(|s| writeln!(out, "{} [{}]", s.text, s.rule))?;
        between(out)?;
        let rows = self.inputs.iter().zip(&self.origins);
        let rows = rows.map(|(f, from)| vec![f.title(), f.text.clone(), from.clone()]).collect::<Vec<_>>();
        if !rows.is_empty() {
            writeln!(out, "From:")?;
            columns(out, "  ", rows)?;
        }
        if !self.results.is_empty() {
            writeln!(out, "Comes out:")?;
            columns(out, "  ", self.results.iter().map(|f| vec![f.title(), f.text.clone()]).collect())?;
        }
        for (title, all) in [("Not known:", &self.unknown), ("Mind:", &self.cautions)] {
            if !all.is_empty() {
                writeln!(out, "{title}")?;
                all.iter().try_for_each(|s| writeln!(out, "  {} [{}]", s.text, s.rule))?;
            }
        }
        if !self.formulas.is_empty() {
            writeln!(out, "Worked out by:")?;
            self.formulas.iter().try_for_each(|f| writeln!(out, "  {} ({})", f.text, f.source))?;
        }
        Ok(())
    }
}

/// Shows with the times of a tank.
fn at<T>(tank: &Tank, now: Timestamp, show: impl FnOnce(&Clock<'_>) -> T) -> T {
    let zone = crate::intake::zone(&tank.zone);
    show(&Clock::new(&zone, now))
}

/// `plan dose`.
#[derive(Debug, Serialize)]
pub struct PlanDosed {
    pub tank: String,
    /// How much of the product.
    pub amount: f64,
    /// `mL` or `g`.
    pub unit: &'static str,
    #[serde(flatten)]
    pub said: SaidOut,
}

impl PlanDosed {
    pub(in crate::faces::cli) fn of(tank: &Tank, plan: &DosePlan, now: Timestamp) -> Self {
        let said = at(tank, now, |clock| SaidOut::of(&plan.said, clock));
        Self { tank: tank.name.clone(), amount: plan.amount, unit: plan.unit, said }
    }
}

impl Document for PlanDosed {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        self.said.text(out, &|_| Ok(()))
    }
}
