//! Volumes in litres. Definitions are exact: NIST Handbook 44; UK Weights and Measures Act.

/// A US gallon.
pub const US_GALLON: f64 = 3.785_411_784;
/// An imperial gallon.
pub const IMPERIAL_GALLON: f64 = 4.546_09;
/// A cubic foot.
pub const CUBIC_FOOT: f64 = 28.316_846_592;
/// A cubic inch.
pub const CUBIC_INCH: f64 = 0.016_387_064;
/// A US fluid ounce.
pub const US_FLUID_OUNCE: f64 = 0.029_573_529_562_5;
/// A US teaspoon; the metric one holds 5 mL. Spoons of powder are no weights.
pub const US_TEASPOON: f64 = 0.004_928_921_593_75;
