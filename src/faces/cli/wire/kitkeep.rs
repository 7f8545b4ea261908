//! What keeps a kit true: bottles, curves carried over, control charts.

use super::kit::KitLine;
use super::{Document, FindingOut};
use crate::curve::control::{ACTION, WARNING};
use crate::curve::{Kit, Test};
use crate::faces::cli::words::{columns, short};
use crate::finding::Finding;
use crate::intake::{Carried, CarriedTest, ControlOf, Kept, Left, Remeasured};
use crate::reading::Standard;
use jiff::civil::Date;
use serde::Serialize;
use std::io::{self, Write};
use std::path::PathBuf;

/// The bottle of a test in use, and what its curve was carried over to.
#[derive(Debug, Serialize)]
pub struct BottleOut {
    pub lot: Option<String>,
    pub opened: Option<String>,
    pub expiry: Option<String>,
    /// Whether its standards were made with an earlier one.
    pub new: bool,
    /// Lots of the bottles before it; null where it was not noted.
    pub earlier: Vec<Option<String>>,
    pub adopted: Vec<AdoptedOut>,
}

/// A curve carried over.
#[derive(Debug, Serialize)]
pub struct AdoptedOut {
    pub date: String,
    pub card: Option<String>,
    pub camera: Option<String>,
    pub lot: Option<String>,
    /// Concentrations of the standards.
    pub standards: Vec<f64>,
    /// Standard deviations by which readings are widened: of each band's density, relative to it, and of the factor on all.
    pub flat: f64,
    pub share: f64,
    pub way: f64,
}

impl BottleOut {
    pub(super) fn of(test: &Test) -> Self {
        let text = |d: Option<Date>| d.map(|d| d.to_string());
        let adopted = test.adopted.iter().map(|a| AdoptedOut {
            date: a.date.to_string(),
            card: a.card.clone(),
            camera: a.camera.clone(),
            lot: a.lot.clone(),
            standards: a.standards.iter().map(|s| s.value).collect(),
            flat: a.extra.flat,
            share: a.extra.share,
            way: a.extra.way,
        });
        Self {
            lot: test.lot.clone(),
            opened: text(test.opened),
            expiry: text(test.expiry),
            new: test.new_lot(None),
            earlier: test.earlier.iter().map(|b| b.lot.clone()).collect(),
            adopted: adopted.collect(),
        }
    }

    /// Nothing where nothing is known of it.
    pub(super) fn text(&self, out: &mut dyn Write, indent: &str) -> io::Result<()> {
        let lot = self.lot.as_ref().map(|lot| format!("lot {lot}"));
        let opened = self.opened.as_ref().map(|d| format!("opened {d}"));
        let expiry = self.expiry.as_ref().map(|d| format!("good until {d}"));
        let earlier = match self.earlier.len() {
            0 => None,
            n => Some(format!("{n} before it")),
        };
        let said: Vec<String> = [lot, opened, expiry, earlier].into_iter().flatten().collect();
        if !said.is_empty() {
            writeln!(out, "{indent}bottle: {}", said.join(", "))?;
        }
        for a in &self.adopted {
            let card = a.card.as_ref().map(|c| format!("card revision {}", short(c)));
            let camera = a.camera.as_ref().map(|c| format!("phone {c}"));
            let lot = a.lot.as_ref().map(|l| format!("lot {l}"));
            let to: Vec<String> = [card, camera, lot].into_iter().flatten().collect();
            let by: Vec<String> = a.standards.iter().map(f64::to_string).collect();
            let more = format!("{:.3} in density, {:.0} % of way", a.flat, 100.0 * a.way.hypot(a.share));
            let (date, to, by) = (&a.date, to.join(", "), by.join(", "));
            writeln!(out, "{indent}carried over {date} to {to} with {by}; more uncertain by {more}")?;
        }
        Ok(())
    }
}

/// `kit adopt`.
#[derive(Debug, Serialize)]
pub struct KitAdopted {
    pub kit: KitLine,
    pub tests: Vec<TrialOut>,
    pub unused: Vec<UnusedOut>,
}

/// What the standards of a test said.
#[derive(Debug, Serialize)]
pub struct TrialOut {
    pub test: String,
    /// Whether the curve was carried over.
    pub adopted: bool,
    /// `card`, `phone`, `bottle`: what is new.
    pub new: Vec<&'static str>,
    pub standards: Vec<ShiftOut>,
    /// χ² of the differences, its degrees of freedom, and how often chance makes it as large; null where too few standards could be
    /// used.
    pub chi_squared: Option<f64>,
    pub freedom: Option<usize>,
    pub p: Option<f64>,
    /// Standard deviations by which readings are widened.
    pub flat: Option<f64>,
    pub share: Option<f64>,
    pub way: Option<f64>,
}

/// How a standard stands to the curve.
#[derive(Debug, Serialize)]
pub struct ShiftOut {
    pub value: f64,
    pub read: f64,
    /// In standards of the kit.
    pub steps: f64,
    /// Distance to the curve in standard deviations.
    pub off: f64,
}

/// A standard that could not be used.
#[derive(Debug, Serialize)]
pub struct UnusedOut {
    pub file: String,
    pub station: String,
    pub test: String,
    pub value: f64,
    pub refusal: Vec<FindingOut>,
}

impl UnusedOut {
    fn all(unused: &[(PathBuf, Standard, Vec<Finding>)]) -> Vec<Self> {
        let one = |(path, s, why): &(PathBuf, Standard, Vec<Finding>)| Self {
            file: path.display().to_string(),
            station: s.station.clone(),
            test: s.test.clone(),
            value: s.value,
            refusal: FindingOut::all(why),
        };
        unused.iter().map(one).collect()
    }

    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let head = format!("{} in {}, {} {}: not used: ", self.station, self.file, self.test, self.value);
        self.refusal.iter().try_for_each(|f| f.text(out, "  ", &head))
    }
}

impl KitAdopted {
    pub(in crate::faces::cli) fn of(carried: &Carried) -> Self {
        let test = |t: &CarriedTest| {
            let (new, trial) = (t.new, t.trial.as_ref());
            let words = [(new.card, "card"), (new.camera, "phone"), (new.lot, "bottle")];
            TrialOut {
                test: t.test.clone(),
                adopted: new.any() && trial.is_some_and(|t| t.holds),
                new: words.into_iter().filter(|w| w.0).map(|w| w.1).collect(),
                standards: trial.iter().flat_map(|t| &t.shifts).map(ShiftOut::of).collect(),
                chi_squared: trial.map(|t| t.chi_squared),
                freedom: trial.map(|t| t.freedom),
                p: trial.map(|t| t.p),
                flat: trial.map(|t| t.extra.flat),
                share: trial.map(|t| t.extra.share),
                way: trial.map(|t| t.extra.way),
            }
        };
        let tests = carried.tests.iter().map(test).collect();
        Self { kit: KitLine::of(&carried.kit), tests, unused: UnusedOut::all(&carried.unused) }
    }

    /// Whether every test was carried over, or had nothing new.
    pub(in crate::faces::cli) fn all_hold(&self) -> bool {
        self.unused.is_empty() && self.tests.iter().all(|t| t.adopted || t.p.is_some() && t.new.is_empty())
    }
}

impl ShiftOut {
    fn of(s: &crate::curve::Shift) -> Self {
        Self { value: s.value, read: s.read, steps: s.steps, off: s.off }
    }
}

impl Document for KitAdopted {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        for t in &self.tests {
            let what = if t.new.is_empty() { "nothing new".to_string() } else { format!("new: {}", t.new.join(", ")) };
            writeln!(out, "{} ({what})", t.test)?;
            let row = |s: &ShiftOut| {
                let steps = format!("{:+.2} standards", s.steps);
                vec![s.value.to_string(), format!("reads {:.3}", s.read), steps, format!("{:.1} sd off", s.off)]
            };
            columns(out, "  ", t.standards.iter().map(row).collect())?;
            let p =
                t.p.map_or(String::new(), |p| format!(" (chance makes it as large in {:.1} % of cases)", 100.0 * p));
            match (t.p, t.adopted, t.way.zip(t.flat).zip(t.share)) {
                (None, ..) => writeln!(
                    out,
                    "  Not carried over: at least two concentrations are needed, zero and one in the upper half best."
                )?,
                (_, true, Some(((way, flat), share))) => writeln!(
                    out,
                    "  Carried over{p}; readings stay more uncertain by {flat:.3} in density and {:.0} % of way.",
                    100.0 * way.hypot(share)
                )?,
                (_, false, _) if t.new.is_empty() => writeln!(out, "  Nothing to carry over.")?,
                _ => writeln!(
                    out,
                    "  Not carried over{p}: the curve does not hold any more. Calibrate it anew: a new kit, and all standards \
                     with 'kit add'."
                )?,
            }
        }
        self.unused.iter().try_for_each(|u| u.text(out))?;
        writeln!(out, "Kit '{}', revision {}.", self.kit.name, short(&self.kit.revision))
    }
}

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

/// `kit remeasure`.
#[derive(Debug, Serialize)]
pub struct KitRemeasured {
    pub kit: KitLine,
    pub measured: usize,
    /// Those that could not be measured: then nothing was changed.
    pub left: Vec<LeftOut>,
}

/// A swatch that could not be measured.
#[derive(Debug, Serialize)]
pub struct LeftOut {
    pub test: String,
    pub number: usize,
    /// Whether its photo is kept.
    pub kept: bool,
    pub refusal: Vec<FindingOut>,
}

impl KitRemeasured {
    pub(in crate::faces::cli) fn of(done: &Remeasured) -> Self {
        let left = |(test, number, why): &(String, usize, Left)| LeftOut {
            test: test.clone(),
            number: *number,
            kept: *why != Left::NotKept,
            refusal: match why {
                Left::NotKept => Vec::new(),
                Left::Refused(why) => FindingOut::all(why),
            },
        };
        Self { kit: KitLine::of(&done.kit), measured: done.measured, left: done.left.iter().map(left).collect() }
    }
}

impl Document for KitRemeasured {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        for l in &self.left {
            let head = format!("{}, swatch {}: ", l.test, l.number);
            match l.kept {
                false => writeln!(out, "  {head}its photo was not kept")?,
                true => l.refusal.iter().try_for_each(|f| f.text(out, "  ", &head))?,
            }
        }
        let (name, revision) = (&self.kit.name, short(&self.kit.revision));
        match self.left.is_empty() {
            true => {
                writeln!(out, "Measured {} swatches of the kit '{name}' again. Revision {revision}.", self.measured)
            }
            false => writeln!(
                out,
                "Nothing was changed: take these swatches out with 'kit remove' and measure again, or add their photos anew."
            ),
        }
    }
}
