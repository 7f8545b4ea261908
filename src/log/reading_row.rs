//! A new reading as the row that will be written.

use super::amounts::{finding_row, numbers};
use super::export::rows::ReadingRow;
use super::new::NewReading;
use super::{Id, LogError};
use crate::reading::Outcome;
use crate::water::{Amount, Quantity, Unit};
use jiff::Timestamp;

/// The row of a reading that is the first of its kind; the caller fills in sample, test, photo and origin.
pub(super) fn reading_row(new: &NewReading, id: Id, recorded: Timestamp) -> Result<ReadingRow, LogError> {
    let (amount, refusal) = match &new.outcome {
        Outcome::Read(amount) => (Some(amount), [].as_slice()),
        Outcome::Refused(why) if why.is_empty() => return Err(LogError::Empty { what: "the reason of a refusal" }),
        Outcome::Refused(why) => (None, why.as_slice()),
    };
    let unfit = |cause: String| LogError::Unfit { test: new.test.name.clone(), cause };
    let unit = amount.map_or(&new.test.unit, Amount::unit).clone();
    if !unit.fits(&new.test.analyte) {
        return Err(unfit(format!("{unit} is no unit of {}", new.test.analyte)));
    }
    let canonical = amount.map(Amount::canonical).transpose().map_err(|e| unfit(e.to_string()))?;
    let (own, canonical) = (amount.map(numbers), canonical.as_ref().map(numbers));
    let (own, canonical) = (own.as_ref(), canonical.as_ref());
    Ok(ReadingRow {
        id,
        recorded,
        root: id,
        origin: String::new(),
        sample: id,
        test: id,
        photo: None,
        station: None,
        kit_revision: None,
        card_revision: None,
        program: filled("the program's version", &new.program)?,
        status: amount.map_or("refused", Amount::kind).to_string(),
        entered: amount.map(|a| entered(new, a)).transpose()?,
        value: own.and_then(|n| n.value),
        lower: own.and_then(|n| n.lower),
        upper: own.and_then(|n| n.upper),
        bound: own.and_then(|n| n.bound),
        detection_limit: new.detection_limit.as_ref().map(|q| limit(q, &unit)).transpose()?,
        unit: unit.as_str().to_string(),
        canonical_value: canonical.and_then(|n| n.value),
        canonical_lower: canonical.and_then(|n| n.lower),
        canonical_upper: canonical.and_then(|n| n.upper),
        canonical_bound: canonical.and_then(|n| n.bound),
        canonical_unit: unit.canonical().as_str().to_string(),
        dilution_added: new.dilution.map(|d| d.added()),
        refusal: refusal.iter().map(finding_row).collect(),
        findings: new.findings.iter().map(finding_row).collect(),
        lab: new.lab.map(|lab| all_finite("CIELAB", &lab).map(|()| lab)).transpose()?,
        off_curve: new.off_curve.map(|d| finite("the distance from the curve", d)).transpose()?,
        light: new.light.as_ref().map(|l| all_finite("the light's signature", l).map(|()| l.clone())).transpose()?,
        place: new.place.clone(),
    })
}

/// The number as it was typed, or the shortest text that reads back to it.
fn entered(new: &NewReading, amount: &Amount) -> Result<String, LogError> {
    match &new.entered {
        Some(text) => filled("the number as it was entered", text),
        None => Ok(amount.level().value.to_string()),
    }
}

/// A detection limit in the reading's own unit.
fn limit(q: &Quantity, unit: &Unit) -> Result<f64, LogError> {
    let what = "the detection limit";
    let value = q.to(unit).map_err(|e| LogError::Unfit { test: what.into(), cause: e.to_string() })?.value;
    finite(what, value)?;
    if value > 0.0 { Ok(value) } else { Err(LogError::Number { what, value, why: "it must be more than 0" }) }
}

fn filled(what: &'static str, text: &str) -> Result<String, LogError> {
    let text = text.trim();
    if text.is_empty() { Err(LogError::Empty { what }) } else { Ok(text.to_string()) }
}

fn finite(what: &'static str, value: f64) -> Result<f64, LogError> {
    if value.is_finite() { Ok(value) } else { Err(LogError::Number { what, value, why: "it must be finite" }) }
}

fn all_finite(what: &'static str, values: &[f64]) -> Result<(), LogError> {
    values.iter().try_for_each(|v| finite(what, *v).map(|_| ()))
}
