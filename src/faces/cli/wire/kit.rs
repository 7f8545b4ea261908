//! Kits.

use super::kitkeep::BottleOut;
use super::{Document, FindingOut};
use crate::colour::{Lab, colour_words};
use crate::curve::{Kit, Matrix, Scale, Source, Swatch, Test};
use crate::faces::cli::words::{columns, count, quoted, short};
use crate::finding::Finding;
use crate::intake::{Added, Kept, PhotoStandards};
use crate::reading::Standard;
use crate::water::{COVERAGE, Quantity, Unit, significant};
use serde::Serialize;
use std::io::{self, Write};

/// A kit in short.
#[derive(Debug, Serialize)]
pub struct KitLine {
    pub name: String,
    pub revision: String,
    /// Revision of the card it was calibrated with; null where none was enrolled.
    pub card: Option<String>,
    pub tests: Vec<TestLine>,
}

/// A test in short.
#[derive(Debug, Serialize)]
pub struct TestLine {
    pub name: String,
    pub analyte: String,
    /// With its basis.
    pub unit: String,
    /// `from-zero` or `bounded`.
    pub scale: &'static str,
    /// `fresh`, `marine` or `both`.
    pub matrix: &'static str,
    pub wait_minutes: Option<f64>,
    /// Number of swatches.
    pub swatches: usize,
    /// Their concentrations, ascending, each once.
    pub values: Vec<f64>,
}

impl KitLine {
    pub(in crate::faces::cli) fn of(kit: &Kept<Kit>) -> Self {
        Self {
            name: kit.name.clone(),
            revision: kit.revision.as_str().to_string(),
            card: kit.value.card.clone(),
            tests: kit.value.tests.iter().map(TestLine::of).collect(),
        }
    }
}

impl TestLine {
    fn of(t: &Test) -> Self {
        Self {
            name: t.name.clone(),
            analyte: t.analyte.as_str().to_string(),
            unit: t.unit.as_str().to_string(),
            scale: if t.scale == Scale::FromZero { "from-zero" } else { "bounded" },
            matrix: match t.matrix {
                Matrix::Fresh => "fresh",
                Matrix::Marine => "marine",
                Matrix::Both => "both",
            },
            wait_minutes: t.wait_minutes,
            swatches: t.swatches.len(),
            values: t.values(),
        }
    }

    pub(super) fn row(&self) -> Vec<String> {
        let scale = if self.scale == "bounded" { "no zero" } else { "from zero" };
        let water = match self.matrix {
            "both" => "any water".to_string(),
            kind => format!("{kind} water"),
        };
        let wait = self.wait_minutes.map_or(String::new(), |m| format!("wait {m} min"));
        let mut values: String = self.values.iter().map(|v| format!("{v} ")).collect();
        if values.is_empty() {
            values = "no swatches yet".into();
        }
        let unit = if self.unit == self.name { String::new() } else { self.unit.clone() };
        vec![self.name.clone(), unit, scale.into(), water, wait, values]
    }
}

/// `kit new`, `kit add-test`, `kit remove`, `kit import`.
#[derive(Debug, Serialize)]
pub struct KitChanged {
    pub kit: KitLine,
    #[serde(skip)]
    said: String,
}

impl KitChanged {
    pub(in crate::faces::cli) fn new(kit: &Kept<Kit>, said: String) -> Self {
        Self { kit: KitLine::of(kit), said }
    }
}

impl Document for KitChanged {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "{} Revision {}.", self.said, short(&self.kit.revision))
    }
}

/// `kit list`.
#[derive(Debug, Serialize)]
pub struct KitList {
    pub kits: Vec<KitLine>,
}

impl Document for KitList {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.kits.is_empty() {
            return writeln!(out, "No kit yet. Make one: tintline kit new NAME");
        }
        let row = |k: &KitLine| {
            let tests: Vec<&str> = k.tests.iter().map(|t| t.name.as_str()).collect();
            let tests = if tests.is_empty() { "no tests yet".to_string() } else { tests.join(", ") };
            vec![k.name.clone(), tests, short(&k.revision).to_string()]
        };
        columns(out, "", self.kits.iter().map(row).collect())
    }
}

/// `kit add`.
#[derive(Debug, Serialize)]
pub struct KitAdded {
    pub kit: KitLine,
    pub photos: Vec<StandardsOut>,
}

/// What a photo of standards gave.
#[derive(Debug, Serialize)]
pub struct StandardsOut {
    pub file: String,
    pub standards: Vec<StandardOut>,
}

/// A standard.
#[derive(Debug, Serialize)]
pub struct StandardOut {
    pub station: String,
    pub test: String,
    /// In the test's unit.
    pub value: f64,
    /// Its standard deviation, where it was said.
    pub value_sd: Option<f64>,
    pub unit: String,
    #[serde(skip)]
    amount: String,
    /// CIELAB (D65, the card's own colour space); null if it was not used.
    pub lab: Option<[f64; 3]>,
    /// The same in words.
    pub colour: Option<String>,
    /// Why it was not used.
    pub refusal: Vec<FindingOut>,
}

impl KitAdded {
    pub(in crate::faces::cli) fn of(added: &Added) -> Self {
        let standard = |(s, swatch): &(Standard, Result<Swatch, Vec<Finding>>)| {
            let unit = added.kit.value.test(&s.test).ok().map(|t| &t.unit);
            StandardOut {
                station: s.station.clone(),
                test: s.test.clone(),
                value: s.value,
                value_sd: s.value_sd,
                unit: unit.map(|u| u.as_str().to_string()).unwrap_or_default(),
                amount: unit.map(|u| amount(s, u)).unwrap_or_default(),
                lab: swatch.as_ref().ok().map(|s| s.lab),
                colour: swatch.as_ref().ok().map(|s| colour_words(Lab(s.lab))),
                refusal: swatch.as_ref().err().map(|f| FindingOut::all(f)).unwrap_or_default(),
            }
        };
        let photo = |p: &PhotoStandards| StandardsOut {
            file: p.path.display().to_string(),
            standards: p.standards.iter().map(standard).collect(),
        };
        Self { kit: KitLine::of(&added.kit), photos: added.photos.iter().map(photo).collect() }
    }

    /// Whether some standard could not be used.
    pub(in crate::faces::cli) fn refused(&self) -> bool {
        self.photos.iter().flat_map(|p| &p.standards).any(|s| s.lab.is_none())
    }
}

impl Document for KitAdded {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let mut used = 0;
        for p in &self.photos {
            writeln!(out, "{}:", p.file)?;
            let row = |s: &StandardOut| {
                let lab = s.lab.map_or("not used".to_string(), lab);
                let colour = s.colour.clone().unwrap_or_default();
                vec![s.station.clone(), s.test.clone(), s.amount.clone(), colour, lab]
            };
            columns(out, "  ", p.standards.iter().map(row).collect())?;
            used += p.standards.iter().filter(|s| s.lab.is_some()).count();
            // A photo refused as a whole gives every standard the same reasons: say them once.
            let mut said: Vec<&FindingOut> = Vec::new();
            for (s, f) in p.standards.iter().flat_map(|s| s.refusal.iter().map(move |f| (s, f))) {
                if !said.contains(&f) {
                    let alone = p.standards.iter().filter(|o| o.refusal.contains(f)).count() == 1;
                    let place = if alone && p.standards.len() > 1 { format!("{}: ", s.station) } else { String::new() };
                    f.text(out, "  ", &format!("{place}not used: "))?;
                    said.push(f);
                }
            }
        }
        let (swatches, revision) = (count(used, "swatch"), short(&self.kit.revision));
        let swatches = swatches.replace("swatchs", "swatches");
        let name = &self.kit.name;
        writeln!(out, "{swatches} added to the kit '{name}'. Revision {revision}.")?;
        writeln!(out, "What comes next: tintline kit start {}", quoted(name))
    }
}

/// With its expanded uncertainty where it is known.
fn amount(s: &Standard, unit: &Unit) -> String {
    let quantity = Quantity::new(s.value, unit.clone());
    match s.value_sd {
        Some(sd) => format!("{quantity} ± {}", significant(COVERAGE * sd, 2)),
        None => quantity.to_string(),
    }
}

fn lab([l, a, b]: [f64; 3]) -> String {
    format!("L* {l:.1}, a* {a:.1}, b* {b:.1}")
}

/// `kit show`.
#[derive(Debug, Serialize)]
pub struct KitShown {
    pub kit: KitLine,
    pub note: Option<String>,
    /// Test by test, in the kit's order.
    pub swatches: Vec<TestSwatches>,
    /// All revisions, oldest first, the present one last.
    pub revisions: Vec<String>,
}

/// The swatches of a test.
#[derive(Debug, Serialize)]
pub struct TestSwatches {
    pub test: String,
    pub bottle: BottleOut,
    pub swatches: Vec<SwatchOut>,
}

/// A swatch.
#[derive(Debug, Serialize)]
pub struct SwatchOut {
    /// By which it can be removed.
    pub number: usize,
    pub value: f64,
    /// Standard deviation of `value`; null where it is not known.
    pub value_sd: Option<f64>,
    /// `standard`, or `print` for a shade printed by the kit's maker.
    pub source: &'static str,
    pub lab: [f64; 3],
    /// Its colour in words.
    pub colour: String,
    pub station: String,
    /// Hash of the photo.
    pub photo: String,
    pub taken: Option<String>,
}

impl KitShown {
    pub(in crate::faces::cli) fn of(kit: &Kept<Kit>, revisions: Vec<String>) -> Self {
        let swatch = |(i, s): (usize, &Swatch)| SwatchOut {
            number: i + 1,
            value: s.value,
            value_sd: s.value_sd,
            source: if s.source == Source::Print { "print" } else { "standard" },
            lab: s.lab,
            colour: colour_words(Lab(s.lab)),
            station: s.station.clone(),
            photo: s.photo.clone(),
            taken: s.taken.clone(),
        };
        let test = |t: &Test| TestSwatches {
            test: t.name.clone(),
            bottle: BottleOut::of(t),
            swatches: t.swatches.iter().enumerate().map(swatch).collect(),
        };
        Self {
            kit: KitLine::of(kit),
            note: kit.value.note.clone(),
            swatches: kit.value.tests.iter().map(test).collect(),
            revisions,
        }
    }
}

impl Document for KitShown {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let card = match &self.kit.card {
            Some(revision) => format!("card revision {}", short(revision)),
            None => "no enrolled card".to_string(),
        };
        let revisions = count(self.revisions.len(), "revision");
        writeln!(out, "{}: revision {} of {revisions}, {card}", self.kit.name, short(&self.kit.revision))?;
        if let Some(note) = &self.note {
            writeln!(out, "  {note}")?;
        }
        for (test, own) in self.kit.tests.iter().zip(&self.swatches) {
            columns(out, "  ", vec![test.row()])?;
            own.bottle.text(out, "    ")?;
            let row = |s: &SwatchOut| {
                let taken = s.taken.clone().unwrap_or_default();
                let photo = if s.photo.is_empty() { String::new() } else { format!("photo {}", short(&s.photo)) };
                let value = match s.value_sd {
                    Some(sd) => format!("{} ± {}", s.value, significant(COVERAGE * sd, 2)),
                    None => s.value.to_string(),
                };
                let source = if s.source == "print" { "printed shade" } else { "" }.to_string();
                let number = format!("{}.", s.number);
                vec![number, value, source, s.colour.clone(), lab(s.lab), s.station.clone(), photo, taken]
            };
            columns(out, "    ", own.swatches.iter().map(row).collect())?;
        }
        Ok(())
    }
}
