//! `plan standards`.

use crate::faces::cli::wire::Document;
use crate::faces::cli::words::columns;
use crate::intake::{Made, StandardsFor};
use crate::water::significant;
use crate::water::standards::{Buffer, Matrix, Recipe, Solution, Source};
use serde::Serialize;
use std::io::{self, Write};

/// `plan standards`.
#[derive(Debug, Serialize)]
pub struct PlanStandards {
    /// The kit; null where no kit has the test.
    pub kit: Option<String>,
    /// The test, or the analyte.
    pub test: String,
    pub analyte: String,
    /// With its basis; of all concentrations.
    pub unit: String,
    /// Whether these are the concentrations that the kit's printed shades have and its own standards have not.
    pub missing: bool,
    /// What is dissolved; null for ready buffers.
    pub substance: Option<SubstanceOut>,
    /// `pure`, `salt-mix` or `plain-salt`: what standards are made up with.
    pub water: &'static str,
    /// Salt in a litre of it, g.
    pub salt_g_l: f64,
    /// The stock first, then weaker ones made from it.
    pub solutions: Vec<SolutionOut>,
    pub standards: Vec<StandardPlanned>,
    /// In the order of their weight.
    pub said: Vec<String>,
}

/// What is dissolved.
#[derive(Debug, Serialize)]
pub struct SubstanceOut {
    pub name: &'static str,
    pub formula: &'static str,
}

/// A solution that others are made from.
#[derive(Debug, Serialize)]
pub struct SolutionOut {
    /// `stock`, `weaker 1`, `weaker 2` ….
    pub name: String,
    #[serde(flatten)]
    pub made: MadeOut,
}

/// A standard.
#[derive(Debug, Serialize)]
pub struct StandardPlanned {
    /// As asked for.
    pub wanted: f64,
    /// As made; 0 is the zero standard.
    pub value: f64,
    /// Expanded uncertainty (k = 2) of `value`, rounded up; null for the zero standard.
    pub uncertainty: Option<f64>,
    /// How it is made; null for the zero standard and for ready buffers.
    pub made: Option<MadeOut>,
    /// Adds its photo to the kit.
    pub command: String,
}

/// How a solution is made.
#[derive(Debug, Serialize)]
pub struct MadeOut {
    /// What is taken: the substance, or a solution by its name.
    pub from: String,
    /// Weighed; else null.
    pub grams: Option<f64>,
    /// Measured out; else null.
    pub ml: Option<f64>,
    /// With a syringe of so many mL.
    pub syringe_ml: Option<f64>,
    /// Filled so many times, every time to the same line.
    pub fillings: Option<u32>,
    /// Filled up to so many mL …
    pub vessel_ml: f64,
    /// … or by weight to so many g altogether.
    pub vessel_g: Option<f64>,
    /// Concentration.
    pub concentration: f64,
    /// Its standard deviation.
    pub sd: f64,
}

impl PlanStandards {
    pub(in crate::faces::cli) fn of(plan: &StandardsFor) -> Self {
        let (kit, test) = match &plan.kit {
            Some((kit, test)) => (Some(kit.clone()), test.clone()),
            None => (None, plan.wanted.analyte.to_string()),
        };
        let empty = Self {
            kit,
            test,
            analyte: plan.wanted.analyte.to_string(),
            unit: plan.wanted.unit.to_string(),
            missing: plan.missing,
            substance: None,
            water: "pure",
            salt_g_l: 0.0,
            solutions: Vec::new(),
            standards: Vec::new(),
            said: Vec::new(),
        };
        match &plan.made {
            Made::Recipe(recipe) => empty.with_recipe(recipe),
            Made::Buffers(buffers) => empty.with_buffers(buffers, plan.wanted.marine),
        }
    }

    fn command(&self, value: &str) -> String {
        let kit = self.kit.as_deref().unwrap_or("KIT");
        let kit = if kit.contains(' ') { format!("'{kit}'") } else { kit.to_string() };
        format!("tintline kit add {kit} --photo PHOTO 'B={}:{value}'", self.test)
    }

    fn with_recipe(mut self, recipe: &Recipe) -> Self {
        self.substance = Some(SubstanceOut { name: recipe.substance.name, formula: recipe.substance.formula });
        self.water = match recipe.matrix {
            Matrix::Pure => "pure",
            Matrix::SaltMix => "salt-mix",
            Matrix::PlainSalt => "plain-salt",
        };
        self.salt_g_l = recipe.matrix.salt_g_l();
        let out = |made: &Solution| MadeOut::of(made, recipe.substance.name);
        let named = recipe.solutions.iter().enumerate();
        self.solutions = named.map(|(i, s)| SolutionOut { name: name(i), made: out(s) }).collect();
        let standards = recipe.standards.iter().map(|s| match &s.made {
            None => {
                StandardPlanned { wanted: 0.0, value: 0.0, uncertainty: None, made: None, command: self.command("0") }
            }
            Some(made) => {
                let (value, uncertainty) = made.stated();
                StandardPlanned {
                    wanted: s.wanted,
                    value: value.parse().unwrap_or(made.value),
                    uncertainty: uncertainty.parse().ok(),
                    made: Some(out(made)),
                    command: self.command(&format!("{value}±{uncertainty}")),
                }
            }
        });
        self.standards = standards.collect();
        self.said = recipe.substance.cautions.iter().map(|s| s.to_string()).collect();
        self.said.push(recipe.matrix.sentence().into());
        self.said.push(recipe.substance.keeps.into());
        self
    }

    fn with_buffers(mut self, buffers: &[Buffer], marine: bool) -> Self {
        let one = |b: &Buffer| {
            let (value, uncertainty) = (format!("{:.2}", b.ph), format!("{:.2}", crate::water::COVERAGE * b.sd));
            StandardPlanned {
                wanted: b.ph,
                value: b.ph,
                uncertainty: uncertainty.parse().ok(),
                made: None,
                command: self.command(&format!("{value}±{uncertainty}")),
            }
        };
        self.standards = buffers.iter().map(one).collect();
        self.said = Buffer::said(marine).iter().map(|s| s.to_string()).collect();
        self
    }
}

fn name(i: usize) -> String {
    if i == 0 { "stock".to_string() } else { format!("weaker {i}") }
}

impl MadeOut {
    fn of(made: &Solution, substance: &str) -> Self {
        let (grams, measured) = match made.from {
            Source::Weighed { grams } => (Some(grams), None),
            Source::Measured { solution, ml, syringe_ml, fillings } => {
                (None, Some((solution, ml, syringe_ml, fillings)))
            }
        };
        let solution = measured.and_then(|m| m.0);
        Self {
            from: solution.map_or(substance.to_string(), name),
            grams,
            ml: measured.map(|m| m.1),
            syringe_ml: measured.map(|m| m.2),
            fillings: measured.map(|m| m.3),
            vessel_ml: made.vessel_ml,
            vessel_g: made.vessel_g,
            concentration: made.value,
            sd: made.sd,
        }
    }

    /// `5 mL of the stock (20 mL syringe), filled up to 100 mL`.
    fn text(&self) -> String {
        let short = |x: f64| significant(x, 4);
        let what = match (self.grams, self.ml) {
            (Some(grams), _) => format!("{} g of {}", short(grams), self.from),
            (None, Some(ml)) => {
                let syringe = self.syringe_ml.map(short).unwrap_or_default();
                let times = match self.fillings {
                    Some(n) if n > 1 => format!("{n} times {} mL", short(ml / f64::from(n))),
                    _ => format!("{} mL", short(ml)),
                };
                format!("{times} of {} ({syringe} mL syringe)", self.from)
            }
            (None, None) => self.from.clone(),
        };
        match self.vessel_g {
            Some(grams) => format!("{what}, filled up to {} g in all", short(grams)),
            None => format!("{what}, filled up to {} mL", short(self.vessel_ml)),
        }
    }
}

impl Document for PlanStandards {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let lacks = if self.missing { ", those it lacks" } else { "" };
        match &self.kit {
            Some(kit) => writeln!(out, "Standards for '{}' of the kit '{kit}', in {}{lacks}.", self.test, self.unit)?,
            None => writeln!(out, "Standards of {}, in {}.", self.test, self.unit)?,
        }
        // What can hurt comes before what is to be done.
        for (i, said) in self.said.iter().enumerate() {
            writeln!(out, "{}. {said}", i + 1)?;
        }
        if !self.solutions.is_empty() {
            writeln!(out, "Make, in this order:")?;
        }
        let held = |m: &MadeOut| {
            format!("holds {} ± {}", significant(m.concentration, 4), significant(crate::water::COVERAGE * m.sd, 2))
        };
        let rows = self.solutions.iter().map(|s| vec![s.name.clone(), s.made.text(), held(&s.made)]).collect();
        columns(out, "  ", rows)?;
        writeln!(out, "Standards (± is k = 2, about 95 %):")?;
        let row = |s: &StandardPlanned| {
            let how = match (&s.made, s.uncertainty) {
                (Some(made), _) => made.text(),
                (None, None) => "the water itself, with the reagent".to_string(),
                (None, Some(_)) => "a ready buffer".to_string(),
            };
            let value = match s.uncertainty {
                Some(u) => format!("{} ± {u}", s.value),
                None => "zero".to_string(),
            };
            vec![value, how]
        };
        columns(out, "  ", self.standards.iter().map(row).collect())?;
        writeln!(out, "Test each like tank water, one vial a photo, and add it:")?;
        self.standards.iter().try_for_each(|s| writeln!(out, "  {}", s.command))
    }
}
