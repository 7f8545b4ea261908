//! Amounts and times.

use crate::log::{Reading, Status};
use crate::moment::Moment;
use crate::reading::{Outcome, SampleReading};
use crate::water::{Amount, Dilution, Quantity, Unit};
use serde::Serialize;

/// What was found: a value, or on which side of a limit it lies, or nothing.
#[derive(Debug, Clone, Serialize)]
pub struct AmountOut {
    /// `measured`, `not-detected`, `above`, `below` or `refused`.
    pub status: &'static str,
    /// Only for `measured`; dilution counted in.
    pub value: Option<f64>,
    /// Ends of the 95 % interval, only for `measured`.
    pub lower: Option<f64>,
    pub upper: Option<f64>,
    /// For `not-detected`, `above`, `below`: below or above what.
    pub limit: Option<f64>,
    /// Below this the test cannot tell some from none; null for scales and kits without zero.
    pub detection_limit: Option<f64>,
    /// Unit of all these numbers, with its basis.
    pub unit: String,
    /// Parts of pure water to one part of tank water.
    pub dilution_added: Option<f64>,
    /// The same in words, as a person reads it.
    pub text: String,
}

impl AmountOut {
    /// Of a reading; the unit of a refusal is the test's.
    pub(in crate::faces::cli) fn said(said: &SampleReading, unit: Option<&Unit>) -> Self {
        let amount = match &said.outcome {
            Outcome::Read(amount) => Some(amount),
            Outcome::Refused(_) => None,
        };
        Self::new(amount, unit, said.detection_limit.as_ref(), said.dilution)
    }

    /// Of a logged reading.
    pub(in crate::faces::cli) fn logged(r: &Reading) -> Self {
        let amount = r.amount.as_ref().filter(|_| r.status != Status::Refused);
        Self::new(amount, Some(&r.test.unit), r.detection_limit.as_ref(), r.dilution)
    }

    fn new(
        amount: Option<&Amount>,
        unit: Option<&Unit>,
        detection_limit: Option<&Quantity>,
        dilution: Option<Dilution>,
    ) -> Self {
        let (mut value, mut lower, mut upper, mut limit) = (None, None, None, None);
        match amount {
            Some(Amount::Measured { value: v, interval95: i }) => {
                (value, lower, upper) = (Some(v.value), Some(i.lower()), Some(i.upper()));
            }
            Some(other) => limit = Some(other.level().value),
            None => {}
        }
        Self {
            status: amount.map_or("refused", Amount::kind),
            value,
            lower,
            upper,
            limit,
            detection_limit: detection_limit.map(|q| q.value),
            unit: amount.map(Amount::unit).or(unit).map(|u| u.as_str().to_string()).unwrap_or_default(),
            dilution_added: dilution.map(Dilution::added),
            text: amount.map_or("not read".to_string(), |a| match dilution {
                Some(d) => format!("{a}, diluted {d}"),
                None => a.to_string(),
            }),
        }
    }
}

/// A time and how surely it is known.
#[derive(Debug, Clone, Serialize)]
pub struct TimeOut {
    /// Local, with the offset from UTC (RFC 3339).
    pub at: String,
    /// `exif-offset`, `tank-zone`, `keeper` or `file`.
    pub source: &'static str,
    /// `sure` or `unsure`.
    pub certainty: &'static str,
}

impl TimeOut {
    pub(in crate::faces::cli) fn of(m: &Moment) -> Self {
        Self {
            at: m.instant.display_with_offset(m.offset).to_string(),
            source: m.source.as_str(),
            certainty: m.certainty.as_str(),
        }
    }
}

/// Date and time of day at the tank.
pub(in crate::faces::cli) fn local(m: &Moment) -> String {
    m.offset.to_datetime(m.instant).strftime("%Y-%m-%d %H:%M").to_string()
}
