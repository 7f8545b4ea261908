//! A book from the log.

use super::book::Timing;
use super::rules::WINDOW_MINUTES;

/// What a kit knows about a test, and the log does not.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct TestFacts {
    /// Minutes from the last drop to the reading.
    pub wait_minutes: Option<f64>,
    /// The first standard above none, in the unit in which the analyte is compared.
    pub first_standard: Option<f64>,
}

impl TestFacts {
    /// Whether a colour is read in its time, so many minutes after the last drop.
    pub fn timing(&self, minutes: f64) -> Timing {
        match self.wait_minutes {
            None => Timing::Unknown,
            Some(wait) if minutes < wait => Timing::Early,
            Some(wait) if minutes > wait + WINDOW_MINUTES => Timing::Late,
            Some(_) => Timing::InTime,
        }
    }
}
