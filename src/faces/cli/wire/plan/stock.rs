//! Animals, filters, media.

use super::{SaidOut, SpanOut, at};
use crate::advice::plan::{CapacityPlan, SeedPlan, StockPlan};
use crate::faces::cli::wire::Document;
use crate::log::Tank;
use jiff::Timestamp;
use serde::Serialize;
use std::io::{self, Write};

/// `plan capacity`.
#[derive(Debug, Serialize)]
pub struct PlanCapacity {
    pub tank: String,
    /// Whether what is left carries the load by the bounds; null where the load is not known.
    pub carries: Option<bool>,
    #[serde(flatten)]
    pub said: SaidOut,
}

impl PlanCapacity {
    pub(in crate::faces::cli) fn of(tank: &Tank, plan: &CapacityPlan, now: Timestamp) -> Self {
        let said = at(tank, now, |clock| SaidOut::of(&plan.said, clock));
        Self { tank: tank.name.clone(), carries: plan.margin.map(|m| m.low >= 0.0), said }
    }
}

impl Document for PlanCapacity {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        self.said.text(out, &|_| Ok(()))
    }
}

/// `plan stock`.
#[derive(Debug, Serialize)]
pub struct PlanStocked {
    pub tank: String,
    /// None where not even one animal is covered.
    pub batches: Vec<BatchOut>,
    #[serde(flatten)]
    pub said: SaidOut,
}

/// Some animals on one day.
#[derive(Debug, Serialize)]
pub struct BatchOut {
    /// How many, where they were counted.
    pub number: Option<u32>,
    /// Share of all to come, 0 to 1.
    pub share: f64,
    /// Days from today.
    pub day: u32,
    /// mg N a day afterwards.
    pub load_after: SpanOut,
}

impl PlanStocked {
    pub(in crate::faces::cli) fn of(tank: &Tank, plan: &StockPlan, now: Timestamp) -> Self {
        let batch = |b: &crate::advice::plan::Batch| BatchOut {
            number: b.number,
            share: b.share,
            day: b.day,
            load_after: (&b.load_after).into(),
        };
        Self {
            tank: tank.name.clone(),
            batches: plan.batches.iter().map(batch).collect(),
            said: at(tank, now, |clock| SaidOut::of(&plan.said, clock)),
        }
    }
}

impl Document for PlanStocked {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        self.said.text(out, &|_| Ok(()))
    }
}

/// `plan seed`.
#[derive(Debug, Serialize)]
pub struct PlanSeeded {
    /// The tank to be seeded.
    pub tank: String,
    /// The giving tank.
    pub from: String,
    /// Share of the need covered, 1 for all; no upper bound where what was shown has none.
    pub covers: SpanOut,
    #[serde(flatten)]
    pub said: SaidOut,
}

impl PlanSeeded {
    pub(in crate::faces::cli) fn of(tank: &Tank, from: &Tank, plan: &SeedPlan, now: Timestamp) -> Self {
        Self {
            tank: tank.name.clone(),
            from: from.name.clone(),
            covers: (&plan.covers).into(),
            said: at(tank, now, |clock| SaidOut::of(&plan.said, clock)),
        }
    }
}

impl Document for PlanSeeded {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        self.said.text(out, &|_| Ok(()))
    }
}
