//! Control charts of a kit's tests.

use super::Document;
use super::kit::KitLine;
use super::kitkeep::UnusedOut;
use crate::curve::Kit;
use crate::curve::control::{ACTION, WARNING};
use crate::faces::cli::words::columns;
use crate::finding::Finding;
use crate::intake::{ControlOf, Kept};
use crate::reading::Standard;
use jiff::civil::Date;
use serde::Serialize;
use std::io::{self, Write};
use std::path::PathBuf;

/// `kit control`.
#[derive(Debug, Serialize)]
pub struct KitControlled {
    pub kit: KitLine,
    pub tests: Vec<ControlOut>,
    pub unused: Vec<UnusedOut>,
}

/// A test's control chart.
#[derive(Debug, Serialize)]
pub struct ControlOut {
    pub test: String,
    /// By its last check; true where there is none yet.
    pub under_control: bool,
    /// The day of the next check, why then, and whether that day is past.
    pub due: String,
    pub why: &'static str,
    pub overdue: bool,
    /// Oldest first.
    pub checks: Vec<CheckOut>,
}

/// A control check.
#[derive(Debug, Serialize)]
pub struct CheckOut {
    pub entry: String,
    pub at: String,
    pub lot: Option<String>,
    pub value: f64,
    pub read: f64,
    /// Read minus said, in standards of the kit, and its standard deviation.
    pub steps: f64,
    pub sigma: f64,
    /// Beyond the warning limit, 2 standard deviations.
    pub warning: bool,
    /// `action-limit`, `two-warnings`, `run`, `trend`: what is out of control by it.
    pub broken: Vec<&'static str>,
    #[serde(skip)]
    words: Vec<&'static str>,
    #[serde(skip)]
    short: String,
}

impl ControlOut {
    pub(super) fn of(c: &ControlOf, today: Date) -> Self {
        let check = |c: &crate::intake::Control| CheckOut {
            entry: c.id.to_string(),
            short: c.id.short(),
            at: c.at.instant.display_with_offset(c.at.offset).to_string(),
            lot: c.lot.clone(),
            value: c.value,
            read: c.read,
            steps: c.point.checked.steps,
            sigma: c.point.sigma,
            warning: c.point.warning,
            broken: c.point.broken.iter().map(|r| r.as_str()).collect(),
            words: c.point.broken.iter().map(|r| r.sentence()).collect(),
        };
        Self {
            test: c.test.clone(),
            under_control: c.checks.last().is_none_or(|c| c.point.broken.is_empty()),
            due: c.due.on.to_string(),
            why: c.due.why.as_str(),
            overdue: c.due.on <= today,
            checks: c.checks.iter().map(check).collect(),
        }
    }

    /// The next check in a line.
    pub(super) fn next(&self) -> String {
        let why = match self.why {
            "off" => ", the last one was off",
            "new-bottle" => ", with the new bottle",
            _ => "",
        };
        let when = if self.overdue { "due since" } else { "due" };
        format!("control check {when} {}{why}", self.due)
    }
}

impl KitControlled {
    pub(in crate::faces::cli) fn of(
        kit: &Kept<Kit>,
        controls: &[ControlOf],
        unused: &[(PathBuf, Standard, Vec<Finding>)],
        today: Date,
    ) -> Self {
        let calibrated = controls.iter().filter(|c| kit.value.test(&c.test).is_ok_and(|t| t.values().len() >= 2));
        let tests = calibrated.map(|c| ControlOut::of(c, today)).collect();
        Self { kit: KitLine::of(kit), tests, unused: UnusedOut::all(unused) }
    }

    /// Whether all is under control and every standard could be read.
    pub(in crate::faces::cli) fn well(&self) -> bool {
        self.unused.is_empty() && self.tests.iter().all(|t| t.under_control)
    }
}

/// Half the width of a chart's line in characters, for four standard deviations.
const HALF: usize = 16;

/// A line of the chart: the middle, warning and action limits, and the check.
fn line(z: f64) -> String {
    let place = |z: f64| (HALF as f64 + (z / 4.0).clamp(-1.0, 1.0) * HALF as f64).round() as usize;
    let mut line = vec![' '; 2 * HALF + 1];
    for (z, sign) in [(0.0, '|'), (WARNING, ':'), (-WARNING, ':'), (ACTION, '!'), (-ACTION, '!')] {
        line[place(z)] = sign;
    }
    line[place(z)] = 'o';
    line.into_iter().collect::<String>()
}

impl Document for KitControlled {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        for t in &self.tests {
            writeln!(out, "{}: {}", t.test, t.next())?;
            if t.checks.is_empty() {
                writeln!(out, "  No check yet under this calibration.")?;
                continue;
            }
            writeln!(out, "  [ action ! at 3 sd, warning : at 2 sd, | as it should be ]")?;
            let row = |c: &CheckOut| {
                let z = c.steps / c.sigma;
                let word = match (c.broken.is_empty(), c.warning) {
                    (false, _) => "OUT",
                    (true, true) => "warning",
                    _ => "good",
                };
                let values = format!("{} reads {:.3}", c.value, c.read);
                let day = c.at.get(..10).unwrap_or(&c.at).to_string();
                vec![c.short.clone(), day, values, format!("{z:+.1} sd"), format!("[{}]", line(z)), word.to_string()]
            };
            columns(out, "  ", t.checks.iter().map(row).collect())?;
            if let Some(last) = t.checks.last().filter(|l| !l.broken.is_empty()) {
                let why = last.words.join(", and ");
                writeln!(
                    out,
                    "  Out of control: {why}. Readings of {} are in doubt until a check is good, a new bottle is in use and \
                     checked, or it is calibrated anew.",
                    t.test
                )?;
            }
        }
        if self.tests.is_empty() {
            writeln!(out, "The kit '{}' has no calibrated test yet.", self.kit.name)?;
        }
        self.unused.iter().try_for_each(|u| u.text(out))
    }
}
