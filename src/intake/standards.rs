//! Which standards a test wants, from what its kit has.

use super::naming::{standard_of, test};
use super::{Home, IntakeError};
use crate::curve::{Kit, Matrix, Scale, Source, Test};
use crate::log::WaterKind;
use crate::water::standards::{Wanted, ladder, usual_top};
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
}

/// Standards wanted for a test.
#[derive(Debug, Clone, PartialEq)]
pub struct StandardsFor {
    /// The kit with the test's name in it, where it is a kit's.
    pub kit: Option<(String, String)>,
    /// What is wanted; substance, strength and purity left open.
    pub wanted: Wanted,
    /// Whether the concentrations came from the kit: those that its printed shades have and its own standards have not.
    pub missing: bool,
}

/// The standards asked for. Without concentrations those that the kit's shades show and none of its own standards has, else a
/// ladder up to the top of the kit, or to the usual one.
pub fn standards_for(home: &Home, asked: &StandardsAsked) -> Result<StandardsFor, IntakeError> {
    let kit = match &asked.kit {
        Some(name) => Some(home.kit(Some(name))?),
        None => home.kit_names()?.into_iter().map(|n| home.kit(Some(&n))).find_map(|k| {
            let k = k.ok()?;
            test(&k.value, &asked.test).is_ok().then_some(k)
        }),
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
    let wanted = Wanted { analyte, unit, values, substance: None, strength: None, purity: None, marine };
    Ok(StandardsFor { kit, wanted, missing })
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
