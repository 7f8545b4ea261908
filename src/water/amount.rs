//! What was found in the water: an amount with its interval, or which side of a limit it lies on.

use super::Unit;

/// A number with its unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    /// The number, in `unit`.
    pub value: f64,
    /// The unit with its basis.
    pub unit: Unit,
}

/// A 95 % interval in the unit of the value it belongs to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub lower: f64,
    /// Upper end.
    pub upper: f64,
}

/// What a test found. A bare zero cannot be built: 'none' is always 'not detected below a limit'.
#[derive(Debug, Clone, PartialEq)]
pub enum Amount {
    /// A value with its 95 % interval. The lower end may be zero: then none cannot be told from some.
    Measured { value: Quantity, interval95: Interval },
    /// Nothing seen; the test at this place cannot see below `below`.
    NotDetected { below: Quantity },
    /// More than the scale holds.
    Above { limit: Quantity },
    /// Less than a scale bounded below holds (pH).
    Below { limit: Quantity },
}

/// How tank water was diluted before the test: 1 part of it + `added` parts of pure water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dilution {
    /// Parts of pure water to one part of tank water.
    pub added: f64,
}
