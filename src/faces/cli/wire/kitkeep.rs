//! What keeps a kit true: bottles, curves carried over, cards measured again.

use super::kit::KitLine;
use super::{Document, FindingOut};
use crate::curve::Test;
use crate::faces::cli::words::{columns, short};
use crate::finding::Finding;
use crate::intake::{Carried, CarriedTest, Left, Remeasured};
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
    pub(super) fn all(unused: &[(PathBuf, Standard, Vec<Finding>)]) -> Vec<Self> {
        let one = |(path, s, why): &(PathBuf, Standard, Vec<Finding>)| Self {
            file: path.display().to_string(),
            station: s.station.clone(),
            test: s.test.clone(),
            value: s.value,
            refusal: FindingOut::all(why),
        };
        unused.iter().map(one).collect()
    }

    pub(super) fn text(&self, out: &mut dyn Write) -> io::Result<()> {
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
