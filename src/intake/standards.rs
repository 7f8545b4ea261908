//! Which standards a test wants, from what its kit has.

use super::naming::{standard_of, test};
use super::{Home, IntakeError};
use crate::curve::{Kit, Matrix, Scale, Source, Test};
use crate::log::WaterKind;
use crate::water::standards::{Buffer, Means, Recipe, StandardsError, Wanted, buffers, ladder, recipe, usual_top};
use crate::water::{Analyte, Unit};

/// What was typed about the standards that are wanted.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct StandardsAsked {
    /// The kit; none if the test belongs to the only one, or to none.
    pub kit: Option<String>,
    /// A test of a kit, or an analyte.
    pub test: String,
    /// Unit; a kit's test has its own.
    pub unit: Option<String>,
    /// Concentrations, one a word or with commas.
    pub values: Vec<String>,
    /// The highest; steps are made below it.
    pub top: Option<String>,
    /// The tank they are for.
    pub tank: Option<String>,
    /// For sea water.
    pub marine: bool,
    /// Name of the substance; the usual one where none is said.
    pub substance: Option<String>,
    /// Strength of household ammonia, as on its label.
    pub strength: Option<String>,
    /// Purity on the label, per cent by weight.
    pub purity: Option<f64>,
}

/// Standards for a test.
#[derive(Debug, Clone, PartialEq)]
pub struct StandardsFor {
    /// The kit with the test's name in it, where it is a kit's.
    pub kit: Option<(String, String)>,
    /// What is wanted.
    pub wanted: Wanted,
    /// Whether the concentrations came from the kit: those that its printed shades have and its own standards have not.
    pub missing: bool,
    /// How they come about.
    pub made: Made,
}

/// How standards come about.
#[derive(Debug, Clone, PartialEq)]
pub enum Made {
    /// Weighed and diluted.
    Recipe(Recipe),
    /// Bought: pH buffers.
    Buffers(Vec<Buffer>),
}

/// The range that pH tests of aquaria have, where the kit tells none: common practice.
const PH: (f64, f64) = (6.0, 8.8);

/// Standards for a test with how they come about. Without concentrations those that the kit's shades show and none of its own standards has, else a
/// ladder up to the top of the kit, or to the usual one.
pub fn standards_for(home: &Home, asked: &StandardsAsked, means: &Means) -> Result<StandardsFor, IntakeError> {
    let kit = match &asked.kit {
        Some(name) => Some(home.kit(Some(name))?),
        None => {
            let kits = home.kit_names()?.into_iter().map(|n| home.kit(Some(&n))).collect::<Result<Vec<_>, _>>()?;
            let mut with: Vec<_> = kits.into_iter().filter(|k| test(&k.value, &asked.test).is_ok()).collect();
            if with.len() > 1 {
                return Err(IntakeError::Which { what: "kit", known: with.into_iter().map(|k| k.name).collect() });
            }
            with.pop()
        }
    };
    let of_kit: Option<(&Kit, &Test)> = match &kit {
        Some(kit) => Some((&kit.value, test(&kit.value, &asked.test)?)),
        None => None,
    };
    let (analyte, unit) = match of_kit {
        Some((_, t)) => (t.analyte.clone(), t.unit.clone()),
        None => {
            let analyte = Analyte::parse(&asked.test)?;
            let unit = match &asked.unit {
                Some(unit) => Unit::parse(unit, &analyte)?,
                None if analyte == Analyte::Ph => Unit::ph(),
                // The error that names the choices, where there are several.
                None => Unit::parse("mg/L", &analyte)?,
            };
            (analyte, unit)
        }
    };
    let of = |word: &str| {
        let wrong = |e| IntakeError::Value { typed: word.to_string(), source: Box::new(e) };
        standard_of(word, &unit).map(|(value, _)| value).map_err(wrong)
    };
    let words = asked.values.iter().flat_map(|w| w.split([',', ';'])).map(str::trim).filter(|w| !w.is_empty());
    let mut values: Vec<f64> = words.map(of).collect::<Result<_, _>>()?;
    let mut missing = false;
    if values.is_empty() {
        let top = asked.top.as_deref().map(of).transpose()?;
        (values, missing) = match (top, of_kit.map(|(_, t)| wanting(t)).filter(|v| !v.is_empty())) {
            (None, Some(wanting)) => (wanting, true),
            (top, _) => {
                let kits = of_kit.and_then(|(_, t)| t.values().last().copied()).filter(|v| *v > 0.0);
                let top = top.or(kits).or_else(|| usual_top(&analyte, &unit));
                (top.map(ladder).unwrap_or_default(), false)
            }
        };
    }
    values.sort_by(f64::total_cmp);
    values.dedup();
    let tank = match &asked.tank {
        Some(name) => {
            let log = home.log_if_any()?.ok_or(IntakeError::NoneYet { what: "tank" })?;
            Some(home.tank(&log, Some(name))?)
        }
        None => None,
    };
    let marine = asked.marine
        || tank.is_some_and(|t| t.water == WaterKind::Marine)
        || of_kit.is_some_and(|(_, t)| t.matrix == Matrix::Marine);
    let kit = of_kit.map(|(k, t)| (k.name.clone(), t.name.clone()));
    let strength = asked.strength.as_deref().map(crate::water::standards::strength).transpose()?;
    let (substance, purity) = (asked.substance.clone(), asked.purity);
    let wanted = Wanted { analyte, unit, values, substance, strength, purity, marine };
    let made = match wanted.analyte {
        Analyte::Ph => Made::Buffers(ready(&wanted.values, of_kit.map(|(_, t)| t.values()))?),
        _ => Made::Recipe(recipe(&wanted, means)?),
    };
    Ok(StandardsFor { kit, wanted, missing, made })
}

/// Buffers for the pH asked for, else for the kit's range, else for the usual one.
fn ready(values: &[f64], kit: Option<Vec<f64>>) -> Result<Vec<Buffer>, StandardsError> {
    let ends = |v: &[f64]| Some((*v.first()?, *v.last()?));
    let (low, high) = ends(values).or_else(|| ends(&kit?)).unwrap_or(PH);
    let found = buffers(low, high);
    if found.is_empty() { Err(StandardsError::NoBuffer { low, high }) } else { Ok(found) }
}

/// Concentrations of the printed shades that no standard of one's own has, and the zero standard as long as there are not two.
fn wanting(test: &Test) -> Vec<f64> {
    let of = |source| test.swatches.iter().filter(move |s| s.source == source).map(|s| s.value);
    let own: Vec<f64> = of(Source::Standard).collect();
    let mut out: Vec<f64> = of(Source::Print).filter(|v| !own.contains(v)).collect();
    if !out.is_empty() && test.scale == Scale::FromZero && own.iter().filter(|v| **v == 0.0).count() < 2 {
        out.push(0.0);
    }
    out
}
