//! Kits, checked.

use super::kit::KitLine;
use super::kitcontrol::ControlOut;
use super::kitkeep::BottleOut;
use super::{Document, FindingOut};
use crate::curve::{Check, Kit, Test};
use crate::faces::cli::words::columns;
use crate::intake::{ControlOf, Kept};
use jiff::civil::Date;
use serde::Serialize;
use std::io::{self, Write};

/// `kit check`.
#[derive(Debug, Serialize)]
pub struct KitChecked {
    pub kit: KitLine,
    /// In the kit's order.
    pub tests: Vec<TestChecked>,
}

/// What there is to say about a test.
#[derive(Debug, Serialize)]
pub struct TestChecked {
    pub test: String,
    /// Each swatch read on the curve of the others.
    pub left_out: Vec<LeftOutOut>,
    /// Neighbouring standards.
    pub gaps: Vec<GapOut>,
    pub findings: Vec<FindingOut>,
    pub bottle: BottleOut,
    pub control: ControlOut,
}

/// A swatch read on the curve of the others.
#[derive(Debug, Serialize)]
pub struct LeftOutOut {
    /// As `kit show` counts it.
    pub number: usize,
    /// Its concentration as said, in the test's unit.
    pub value: f64,
    /// The concentration read without it; null at an end standing alone.
    pub read: Option<f64>,
    /// Error in standards: 1 is from one standard to the next.
    pub steps: Option<f64>,
}

/// Two neighbouring standards.
#[derive(Debug, Serialize)]
pub struct GapOut {
    pub from: f64,
    pub to: f64,
    /// Colour difference ΔE00 of their mean colours.
    pub delta_e: f64,
}

impl KitChecked {
    /// `checks` are of the kit's tests, in its order.
    pub(in crate::faces::cli) fn of(kit: &Kept<Kit>, checks: &[Check], controls: &[ControlOf], today: Date) -> Self {
        let tests = kit.value.tests.iter().zip(checks).zip(controls);
        let tests = tests.map(|((test, check), control)| TestChecked::of(test, check, control, today)).collect();
        Self { kit: KitLine::of(kit), tests }
    }

    /// Whether a test is in doubt.
    pub(in crate::faces::cli) fn doubtful(&self) -> bool {
        self.tests.iter().flat_map(|t| &t.findings).any(|f| f.severity == "doubt")
    }
}

impl TestChecked {
    fn of(test: &Test, check: &Check, control: &ControlOf, today: Date) -> Self {
        let mut findings = check.findings.clone();
        findings.extend(test.expired(today));
        let left_out = check.left_out.iter();
        let gaps = check.gaps.iter();
        Self {
            test: test.name.clone(),
            left_out: left_out
                .map(|l| LeftOutOut { number: l.number, value: l.value, read: l.read, steps: l.steps })
                .collect(),
            gaps: gaps.map(|g| GapOut { from: g.from, to: g.to, delta_e: g.delta_e }).collect(),
            findings: FindingOut::all(&findings),
            bottle: BottleOut::of(test),
            control: ControlOut::of(control, today),
        }
    }
}

impl Document for KitChecked {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        for (line, test) in self.kit.tests.iter().zip(&self.tests) {
            columns(out, "", vec![line.row()])?;
            let row = |l: &LeftOutOut| {
                let read = match (l.read, l.steps) {
                    (Some(read), Some(steps)) => [format!("reads {read:.3}"), format!("{steps:+.2} standards")],
                    _ => ["an end; nothing to read it on".into(), String::new()],
                };
                [vec![format!("swatch {}", l.number), l.value.to_string()], read.to_vec()].concat()
            };
            columns(out, "  ", test.left_out.iter().map(row).collect())?;
            let gap = |g: &GapOut| vec![format!("{} to {}", g.from, g.to), format!("ΔE00 {:.1} apart", g.delta_e)];
            columns(out, "  ", test.gaps.iter().map(gap).collect())?;
            test.bottle.text(out, "  ")?;
            if line.values.len() >= 2 {
                writeln!(out, "  {}", test.control.next())?;
            }
            test.findings.iter().try_for_each(|f| f.text(out, "  ", f.word()))?;
        }
        match self.tests.is_empty() {
            true => writeln!(out, "The kit '{}' has no tests yet.", self.kit.name),
            false => Ok(()),
        }
    }
}
