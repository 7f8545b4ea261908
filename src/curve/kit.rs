//! A kit: tests with swatches made by the keeper (file format 1).

use crate::water::{Analyte, Unit};

/// A colour of known concentration, as one photo showed it.
#[derive(Debug, Clone, PartialEq)]
pub struct Swatch {
    /// Concentration in the test's unit.
    pub value: f64,
    /// CIELAB (D65, the card's own colour space).
    pub lab: [f64; 3],
    /// Covariance of `lab`: sampling noise and correction residual.
    pub cov: [[f64; 3]; 3],
    /// The photo's identity.
    pub photo: String,
    /// Where it stood.
    pub station: String,
    /// The light's signature, to know the place again (see the room light).
    pub light: Vec<f64>,
    /// RFC 3339 time of the photo, if known.
    pub taken: Option<String>,
}

/// Whether a scale starts from none or is bounded on both sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// A concentration: zero means none.
    FromZero,
    /// Like pH: no zero, no detection limit, no dilution.
    Bounded,
}

/// The water a test is made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Matrix {
    Fresh,
    Marine,
    Both,
}

/// One test of a kit.
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// Name, unique in the kit.
    pub name: String,
    /// What it measures.
    pub analyte: Analyte,
    /// Unit of all its numbers.
    pub unit: Unit,
    /// Scale.
    pub scale: Scale,
    /// Water.
    pub matrix: Matrix,
    /// Minutes from the last drop to the reading.
    pub wait_minutes: Option<f64>,
    /// Swatches in the order they were added.
    pub swatches: Vec<Swatch>,
}

/// A kit as calibrated on one card.
#[derive(Debug, Clone, PartialEq)]
pub struct Kit {
    /// The keeper's name for it.
    pub name: String,
    /// Revision of the card it was calibrated with.
    pub card: Option<String>,
    /// Tests.
    pub tests: Vec<Test>,
}
