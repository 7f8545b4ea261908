//! Water: analytes, units with their basis, amounts. A leaf that names no other room.
//!
//! Takes numbers with units; gives numbers with units. Never: a bare zero, a unit without its basis.

pub mod amount;
pub mod units;

pub use amount::{Amount, Dilution, Interval, Quantity};
pub use units::{Analyte, Unit};
