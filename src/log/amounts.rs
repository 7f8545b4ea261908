//! Amounts and moments as columns, and back.

use super::LogError;
use super::export::rows::{FindingRow, MomentRow, ReadingRow};
use crate::finding::{Code, Finding, Severity};
use crate::moment::{Certainty, Moment, TimeSource};
use crate::water::{Amount, Analyte, Interval, Quantity, Unit};
use jiff::Timestamp;
use jiff::tz::Offset;

/// An amount's columns.
pub(super) struct Numbers {
    pub(super) value: Option<f64>,
    pub(super) lower: Option<f64>,
    pub(super) upper: Option<f64>,
    pub(super) bound: Option<f64>,
    pub(super) unit: String,
}

/// Takes an amount apart.
pub(super) fn numbers(amount: &Amount) -> Numbers {
    let unit = amount.unit().as_str().to_string();
    match amount {
        Amount::Measured { value, interval95: i } => {
            Numbers { value: Some(value.value), lower: Some(i.lower()), upper: Some(i.upper()), bound: None, unit }
        }
        Amount::NotDetected { below: limit } | Amount::Above { limit } | Amount::Below { limit } => {
            Numbers { value: None, lower: None, upper: None, bound: Some(limit.value), unit }
        }
    }
}

/// Puts an amount together, or none for a refusal. The checks of [`Amount`] run again: a row that fails them is damage.
pub(super) fn amount(status: &str, n: &Numbers, analyte: &Analyte) -> Result<Option<Amount>, LogError> {
    if status == "refused" {
        return Ok(None);
    }
    let unit = unit(&n.unit, analyte)?;
    let quantity = |x: Option<f64>| match x {
        Some(x) => Ok(Quantity::new(x, unit.clone())),
        None => Err(LogError::row(format!("a number is missing beside the status '{status}'"))),
    };
    let built = match (status, n.lower, n.upper) {
        ("measured", Some(lower), Some(upper)) => {
            let value = quantity(n.value)?;
            Interval::new(lower, upper).and_then(|i| Amount::measured(value, i))
        }
        ("not-detected", ..) => Amount::not_detected(quantity(n.bound)?),
        ("above", ..) => Amount::above(quantity(n.bound)?),
        ("below", ..) => Amount::below(quantity(n.bound)?),
        _ => return Err(LogError::row(format!("a reading of status '{status}' without its numbers"))),
    };
    built.map(Some).map_err(LogError::row)
}

/// A stored unit.
pub(super) fn unit(text: &str, analyte: &Analyte) -> Result<Unit, LogError> {
    Unit::parse(text, analyte).map_err(LogError::row)
}

impl ReadingRow {
    /// The amount as entered.
    pub(super) fn amount(&self, analyte: &Analyte) -> Result<Option<Amount>, LogError> {
        let n = Numbers {
            value: self.value,
            lower: self.lower,
            upper: self.upper,
            bound: self.bound,
            unit: self.unit.clone(),
        };
        amount(&self.status, &n, analyte)
    }

    /// The amount in the unit its analyte is compared in.
    pub(super) fn canonical(&self, analyte: &Analyte) -> Result<Option<Amount>, LogError> {
        let n = Numbers {
            value: self.canonical_value,
            lower: self.canonical_lower,
            upper: self.canonical_upper,
            bound: self.canonical_bound,
            unit: self.canonical_unit.clone(),
        };
        amount(&self.status, &n, analyte)
    }
}

/// Keeps out years that do not sort as text.
pub(super) fn storable(instant: Timestamp) -> Result<Timestamp, LogError> {
    let first = Timestamp::constant(-62_135_596_800, 0); // 0001-01-01
    if instant >= first { Ok(instant) } else { Err(LogError::Time { instant }) }
}

/// A time as columns.
pub(super) fn moment_row(m: &Moment) -> Result<MomentRow, LogError> {
    Ok(MomentRow {
        utc: storable(m.instant)?,
        offset_seconds: m.offset.seconds(),
        source: m.source.as_str().to_string(),
        certainty: m.certainty.as_str().to_string(),
    })
}

/// A time from its columns.
pub(super) fn moment(row: &MomentRow) -> Result<Moment, LogError> {
    let certainty = [Certainty::Sure, Certainty::Unsure].into_iter().find(|c| c.as_str() == row.certainty);
    match (Offset::from_seconds(row.offset_seconds), TimeSource::parse(&row.source), certainty) {
        (Ok(offset), Some(source), Some(certainty)) => Ok(Moment { instant: row.utc, offset, source, certainty }),
        _ => Err(LogError::row(format!("a time with offset {}, source '{}'", row.offset_seconds, row.source))),
    }
}

/// A finding as it was logged. Its code may be one that only a later program knows.
#[derive(Debug, Clone, PartialEq)]
pub struct LoggedFinding {
    /// Stable text form of the code.
    pub code: String,
    /// How much it weighed.
    pub severity: Severity,
    /// What was seen.
    pub sentence: String,
}

impl LoggedFinding {
    /// A finding of now in the logged form.
    pub(super) fn of(f: &Finding) -> Self {
        Self { code: f.code.as_str().to_string(), severity: f.severity, sentence: f.sentence.clone() }
    }

    /// The code, where this program knows it.
    pub fn known(&self) -> Option<Code> {
        Code::ALL.iter().copied().find(|c| c.as_str() == self.code)
    }

    /// What the keeper can do about it, where this program knows the code.
    pub fn remedy(&self) -> Option<&'static str> {
        self.known().map(Code::remedy)
    }

    /// Whether a value with it may reassure. A note of a later program, which this one cannot judge, lets it not.
    pub fn may_reassure(&self) -> bool {
        self.severity == Severity::Note && self.known().is_some_and(Code::reassures)
    }

    /// Whether a value with it may alarm.
    pub fn may_alarm(&self) -> bool {
        self.known().is_none_or(Code::alarms)
    }
}

const SEVERITIES: [(Severity, &str); 2] = [(Severity::Note, "note"), (Severity::Doubt, "doubt")];

pub(super) fn finding_row(f: &Finding) -> FindingRow {
    let severity = SEVERITIES.iter().find(|(s, _)| *s == f.severity).map_or("doubt", |(_, text)| text);
    FindingRow { code: f.code.as_str().to_string(), severity: severity.to_string(), sentence: f.sentence.clone() }
}

pub(super) fn finding(row: &FindingRow) -> Result<LoggedFinding, LogError> {
    let severity = SEVERITIES.iter().find(|(_, text)| *text == row.severity).map(|(s, _)| *s);
    let severity = severity.ok_or_else(|| LogError::row(format!("a finding of severity '{}'", row.severity)))?;
    Ok(LoggedFinding { code: row.code.clone(), severity, sentence: row.sentence.clone() })
}
