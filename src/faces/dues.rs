//! What is due for the household, beside each tank's own.

use crate::advice::Due;
use crate::intake::{Home, IntakeError};
use crate::log::Log;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use std::collections::HashSet;

/// Controls of kits, of each the test that comes first, at noon of its day.
pub(super) fn controls(home: &Home, log: &Log, zone: &TimeZone, now: Timestamp) -> Result<Vec<Due>, IntakeError> {
    let mut named = HashSet::new();
    let mut out = Vec::new();
    for control in home.control_dues(Some(log), zone.to_datetime(now).date())? {
        let at = zone.to_timestamp(control.due.on.at(12, 0, 0, 0)).unwrap_or(now);
        if named.insert(control.kit.clone()) {
            out.push(Due::control(&control.kit, at, control.due.why.words()));
        }
    }
    Ok(out)
}
