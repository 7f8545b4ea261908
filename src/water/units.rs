//! Analytes and units with their basis.

/// What a test measures.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Analyte {
    Ammonia,
    Nitrite,
    Nitrate,
    Ph,
    Hardness,
    Alkalinity,
    /// The keeper's own, such as phosphate.
    Other(String),
}

/// A unit with its basis, such as `mg/L NO3-`.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Unit(pub String);
