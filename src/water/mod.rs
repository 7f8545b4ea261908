//! Water: analytes, units with their basis, amounts, dilutions. A leaf that names no other room.
//!
//! Takes what a keeper typed or a curve found; gives numbers that carry their unit, basis and interval.
//! Promises: text forms read back to the same thing; conversions follow published atomic masses.
//! Never: a bare zero, a unit without its basis, general hardness turned into alkalinity.

pub mod amount;
pub mod analyte;
pub mod dilution;
pub mod typed;
pub mod units;

mod species;
mod text;
mod unit_text;

pub use amount::{Amount, AmountError, Interval, Level};
pub use analyte::Analyte;
pub use dilution::{Dilution, DilutionError};
pub use typed::{Typed, TypedError};
pub use units::{Measure, Quantity, Species, Unit, UnitError};
