//! Water changes.

use super::{SaidOut, SpanOut, at};
use crate::advice::plan::{ChangePlan, RoutinePlan, Step, Water};
use crate::faces::cli::wire::Document;
use crate::faces::cli::words::columns;
use crate::log::Tank;
use crate::water::{Span, significant};
use jiff::Timestamp;
use serde::Serialize;
use std::io::{self, Write};

/// `plan change`.
#[derive(Debug, Serialize)]
pub struct PlanChanged {
    pub tank: String,
    /// `reached` (nothing to do), `once`, `split` or `refused`.
    pub verdict: &'static str,
    /// The changes, a day apart.
    pub steps: Vec<StepOut>,
    /// What it would do all at once, where that is not how it may be done.
    pub at_once: Option<StepOut>,
    #[serde(flatten)]
    pub said: SaidOut,
    #[serde(skip)]
    asked: Option<&'static str>,
}

/// One change.
#[derive(Debug, Serialize)]
pub struct StepOut {
    /// Share of the water, 0 to 1.
    pub share: f64,
    pub litres: Option<f64>,
    pub before: WaterOut,
    pub after: WaterOut,
    #[serde(skip)]
    rows: [Vec<String>; 2],
}

/// The tank's water.
#[derive(Debug, Serialize)]
pub struct WaterOut {
    /// What was asked for, in the unit of the figure `target`.
    pub asked: Option<SpanOut>,
    /// Total, mg/L NH3-N.
    pub ammonia: Option<SpanOut>,
    /// mg/L NH3-N.
    pub free_ammonia: Option<SpanOut>,
    pub ph: SpanOut,
    /// German degrees.
    pub alkalinity: Option<SpanOut>,
    /// °C.
    pub temperature: SpanOut,
    /// g/kg.
    pub salinity: SpanOut,
}

impl From<&Water> for WaterOut {
    fn from(w: &Water) -> Self {
        let some = |s: &Option<Span>| s.as_ref().map(SpanOut::from);
        Self {
            asked: some(&w.asked),
            ammonia: some(&w.ammonia),
            free_ammonia: some(&w.free),
            ph: (&w.ph).into(),
            alkalinity: some(&w.alkalinity),
            temperature: (&w.temperature).into(),
            salinity: (&w.salinity).into(),
        }
    }
}

impl StepOut {
    fn of(step: &Step, name: &str) -> Self {
        let change = format!("{} %", significant(step.share * 100.0, 3));
        let litres = step.litres.map(|l| format!(" = {} L", significant(l, 3))).unwrap_or_default();
        Self {
            share: step.share,
            litres: step.litres,
            before: (&step.before).into(),
            after: (&step.after).into(),
            rows: [row(format!("before {name}"), &step.before), row(format!("after {change}{litres}"), &step.after)],
        }
    }
}

fn row(name: String, w: &Water) -> Vec<String> {
    let n = |s: &Span| {
        let n = |x: f64| significant(x, 3);
        match s.best {
            _ if s.is_open() => format!("{} or more", n(s.low)),
            _ if n(s.low) == n(s.high) => n(s.high),
            Some(b) => format!("{} ({}-{})", n(b), n(s.low), n(s.high)),
            None => format!("{}-{}", n(s.low), n(s.high)),
        }
    };
    let some = |s: &Option<Span>| s.as_ref().map_or("?".to_string(), n);
    vec![name, some(&w.asked), some(&w.free), n(&w.ph), some(&w.alkalinity), n(&w.temperature), n(&w.salinity)]
}

impl PlanChanged {
    pub(in crate::faces::cli) fn of(tank: &Tank, plan: &ChangePlan, now: Timestamp) -> Self {
        Self {
            tank: tank.name.clone(),
            verdict: plan.verdict.as_str(),
            steps: plan.steps.iter().map(|s| StepOut::of(s, "")).collect(),
            at_once: plan.at_once.as_ref().map(|s| StepOut::of(s, "all at once")),
            said: at(tank, now, |clock| SaidOut::of(&plan.said, clock)),
            asked: plan.asked.map(|k| k.as_str()),
        }
    }

    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        let all: Vec<&StepOut> = self.steps.iter().chain(&self.at_once).collect();
        if all.is_empty() {
            return Ok(());
        }
        let head = ["", self.asked.unwrap_or_default(), "free NH3-N", "pH", "KH, dH", "°C", "g/kg"].map(str::to_string);
        let mut rows = vec![head.to_vec()];
        // Each later step begins where the one before ended, a day on.
        rows.extend(self.steps.first().map(|s| s.rows[0].clone()));
        rows.extend(self.steps.iter().map(|s| s.rows[1].clone()));
        rows.extend(self.at_once.iter().flat_map(|s| s.rows.clone()));
        if self.asked.is_none() {
            rows.iter_mut().for_each(|r| drop(r.remove(1)));
        }
        columns(out, "  ", rows)
    }
}

impl Document for PlanChanged {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        self.said.text(out, &|out| self.table(out))
    }
}

/// `plan change --every`.
#[derive(Debug, Serialize)]
pub struct PlanRoutine {
    pub tank: String,
    /// Changes until nine tenths of the way are gone.
    pub changes: u32,
    #[serde(flatten)]
    pub said: SaidOut,
}

impl PlanRoutine {
    pub(in crate::faces::cli) fn of(tank: &Tank, plan: &RoutinePlan, now: Timestamp) -> Self {
        let said = at(tank, now, |clock| SaidOut::of(&plan.said, clock));
        Self { tank: tank.name.clone(), changes: plan.changes, said }
    }
}

impl Document for PlanRoutine {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        self.said.text(out, &|_| Ok(()))
    }
}
