//! One row a sample: the form that is relied on from outside.

use serde::Serialize;
use tintline::finding::Severity;
use tintline::reading::{Outcome, SampleReading};
use tintline::water::Amount;

#[derive(Serialize, Clone, Debug, PartialEq)]
pub struct Row {
    pub file: String,
    pub place: String,
    pub analyte: String,
    pub unit: String,
    /// `read`, `not-detected`, `over-range`, `under-range` or `refused`.
    pub outcome: &'static str,
    pub value: Option<f64>,
    pub lower: Option<f64>,
    pub upper: Option<f64>,
    /// Detection limit for `not-detected` (below it) and `read`; the end of the scale for `over-range` and `under-range`.
    pub limit: Option<f64>,
    /// Codes of severity *doubt*.
    pub findings: Vec<String>,
    pub photo_ms: f64,
}

impl Row {
    pub fn new(file: &str, analyte: &str, unit: &str, r: &SampleReading, photo_ms: f64) -> Self {
        let doubts = r.findings.iter().filter(|f| f.severity == Severity::Doubt);
        let mut findings: Vec<String> = doubts.map(|f| f.code.as_str().to_string()).collect();
        findings.dedup();
        let mut row = Self {
            file: file.into(),
            place: r.station.clone(),
            analyte: analyte.into(),
            unit: unit.into(),
            outcome: "refused",
            value: None,
            lower: None,
            upper: None,
            limit: None,
            findings,
            photo_ms,
        };
        match &r.outcome {
            Outcome::Refused(_) => {}
            Outcome::Read(Amount::Measured { value, interval95 }) => {
                row.outcome = "read";
                row.value = Some(value.value);
                row.lower = Some(interval95.lower());
                row.upper = Some(interval95.upper());
                row.limit = r.detection_limit.as_ref().map(|q| q.value);
            }
            Outcome::Read(Amount::NotDetected { below }) => {
                row.outcome = "not-detected";
                row.limit = Some(below.value);
            }
            Outcome::Read(Amount::Above { limit }) => {
                row.outcome = "over-range";
                row.limit = Some(limit.value);
            }
            Outcome::Read(Amount::Below { limit }) => {
                row.outcome = "under-range";
                row.limit = Some(limit.value);
            }
        }
        row
    }

    /// A sample of a photo that could not even be opened.
    pub fn unopened(file: &str, place: &str, analyte: &str, unit: &str, code: &str, photo_ms: f64) -> Self {
        Self {
            file: file.into(),
            place: place.into(),
            analyte: analyte.into(),
            unit: unit.into(),
            outcome: "refused",
            value: None,
            lower: None,
            upper: None,
            limit: None,
            findings: vec![code.into()],
            photo_ms,
        }
    }
}
