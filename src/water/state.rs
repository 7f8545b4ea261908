//! What is known about a tank's water: temperature, pH, salinity, each checked, each able to be a range.

use super::Amount;
use super::units::Species;

/// Why a number is no temperature, pH, salinity or volume, or a sum cannot be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum StateError {
    /// Outside what the formulas hold for.
    #[error("{what} {value} {unit} lies outside {low} to {high} {unit}")]
    OutOfRange { what: &'static str, value: f64, unit: &'static str, low: f64, high: f64 },
    /// Not a finite number above zero.
    #[error("{what} must be a number above zero, not {value}")]
    NotPositive { what: &'static str, value: f64 },
    /// A share that is no share.
    #[error("a water change of {percent} % is no part of the tank")]
    NotAShare { percent: f64 },
    /// No water change reaches it.
    #[error("no water change can bring {from} to {target}: the new water itself has {tap}")]
    TapAboveTarget { from: f64, target: f64, tap: f64 },
}

impl StateError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::OutOfRange { .. } => "water-out-of-range",
            Self::NotPositive { .. } => "water-not-positive",
            Self::NotAShare { .. } => "change-not-a-share",
            Self::TapAboveTarget { .. } => "change-tap-above-target",
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::OutOfRange { .. } => "Check the number and its unit.",
            Self::NotPositive { .. } => "Check the number and write it again.",
            Self::NotAShare { .. } => "Give between 0 and 100 %.",
            Self::TapAboveTarget { .. } => {
                "Use other source water, more plants or less food, or aim at what the tap has."
            }
        }
    }
}

/// `value` if it lies in `low..=high`.
pub(super) fn within(
    what: &'static str,
    unit: &'static str,
    value: f64,
    low: f64,
    high: f64,
) -> Result<f64, StateError> {
    if (low..=high).contains(&value) { Ok(value) } else { Err(StateError::OutOfRange { what, value, unit, low, high }) }
}

/// `value` if it is finite and above zero.
pub(super) fn positive(what: &'static str, value: f64) -> Result<f64, StateError> {
    if value.is_finite() && value > 0.0 { Ok(value) } else { Err(StateError::NotPositive { what, value }) }
}

macro_rules! checked {
    ($($(#[$doc:meta])* $name:ident $what:literal $unit:literal $low:literal $high:literal;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// Lowest and highest that the formulas hold for.
            pub const RANGE: (f64, f64) = ($low, $high);

            /// The number, checked.
            pub fn new(value: f64) -> Result<Self, StateError> {
                within($what, $unit, value, $low, $high).map(Self)
            }

            /// The bare number.
            pub fn value(self) -> f64 {
                self.0
            }
        }
    )*};
}

checked! {
    /// A water temperature, 0 to 50 °C: the domain of Emerson's equation.
    ///
    /// ```compile_fail,E0308
    /// use tintline::water::{Celsius, Ph, Salinity, free_fraction};
    /// let (ph, t) = (Ph::new(7.0)?, Celsius::new(25.0)?);
    /// free_fraction(t, ph, Salinity::FRESH); // pH and temperature cannot be swapped
    /// # Ok::<(), tintline::water::StateError>(())
    /// ```
    Celsius "a temperature of" "°C" 0.0 50.0;
    /// A pH, 4 to 11: what occurs in a tank with room to spare.
    Ph "a pH of" "" 4.0 11.0;
    /// Salinity, 0 to 45 g/kg.
    Salinity "a salinity of" "g/kg" 0.0 45.0;
}

impl Celsius {
    /// From degrees Fahrenheit: (F − 32)·5/9, by definition.
    ///
    /// ```
    /// # use tintline::water::Celsius;
    /// assert!((Celsius::from_fahrenheit(78.0)?.value() - 25.556).abs() < 0.001);
    /// # Ok::<(), tintline::water::StateError>(())
    /// ```
    pub fn from_fahrenheit(f: f64) -> Result<Self, StateError> {
        Self::new((f - 32.0) * 5.0 / 9.0)
    }

    /// In degrees Fahrenheit.
    pub fn fahrenheit(self) -> f64 {
        self.0 * 9.0 / 5.0 + 32.0
    }

    /// In kelvin.
    pub(super) fn kelvin(self) -> f64 {
        self.0 + 273.15
    }
}

impl Salinity {
    /// Fresh water.
    pub const FRESH: Self = Self(0.0);
}

/// A number known only within bounds. `high` may be infinite and `low` may be minus infinity: one-sided.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// At least this.
    pub low: f64,
    /// The best guess, where there is one.
    pub best: Option<f64>,
    /// At most this.
    pub high: f64,
}

impl Span {
    /// Known exactly.
    pub fn exact(x: f64) -> Self {
        Self { low: x, best: Some(x), high: x }
    }

    /// Anything from `low` to `high`.
    pub fn between(low: f64, high: f64) -> Self {
        Self { low, best: None, high }
    }

    /// What an amount says, in its own unit. 'Not detected' reaches from zero to its limit; 'above' has no upper bound.
    pub fn of(amount: &Amount) -> Self {
        match amount {
            Amount::Measured { value, interval95: i } => {
                Self { low: i.lower(), best: Some(value.value), high: i.upper() }
            }
            Amount::NotDetected { below } => Self::between(0.0, below.value),
            Amount::Above { limit } => Self::between(limit.value, f64::INFINITY),
            Amount::Below { limit } if limit.unit.has_zero() => Self::between(0.0, limit.value),
            Amount::Below { limit } => Self::between(f64::NEG_INFINITY, limit.value),
        }
    }

    /// The best guess, else the middle of a bounded span, else its finite end.
    pub fn middle(&self) -> f64 {
        match self.best {
            Some(best) => best,
            None if self.low.is_finite() && self.high.is_finite() => f64::midpoint(self.low, self.high),
            None if self.low.is_finite() => self.low,
            None => self.high,
        }
    }

    /// All three times a factor above zero.
    pub fn times(&self, factor: f64) -> Self {
        Self { low: self.low * factor, best: self.best.map(|b| b * factor), high: self.high * factor }
    }

    /// Whether there is no upper bound.
    pub fn is_open(&self) -> bool {
        self.high.is_infinite()
    }
}

/// Something that is known, or assumed to lie in a range because nobody measured it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Known {
    /// Measured or stated.
    Given(Span),
    /// Nobody said: the range such tanks have, never one number.
    Assumed(Span),
}

impl Known {
    /// The span.
    pub fn span(&self) -> Span {
        match self {
            Self::Given(s) | Self::Assumed(s) => *s,
        }
    }

    /// Whether nobody said.
    pub fn is_assumed(&self) -> bool {
        matches!(self, Self::Assumed(_))
    }
}

/// What decides how much of the ammonia is free.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// pH.
    pub ph: Known,
    /// °C.
    pub temperature: Known,
    /// g/kg.
    pub salinity: Known,
}

/// Ranges taken where nobody measured. Common practice: kept tanks lie in them.
pub mod unknown {
    use super::Span;

    /// °C, unheated in a cool room to warm tropical.
    pub const TEMPERATURE: Span = Span { low: 18.0, best: None, high: 30.0 };
    /// pH of fresh water tanks.
    pub const PH_FRESH: Span = Span { low: 6.0, best: None, high: 8.6 };
    /// pH of brackish and sea water tanks.
    pub const PH_SALT: Span = Span { low: 7.6, best: None, high: 8.6 };
    /// g/kg of brackish tanks.
    pub const SALINITY_BRACKISH: Span = Span { low: 2.0, best: None, high: 20.0 };
    /// g/kg of sea water tanks.
    pub const SALINITY_MARINE: Span = Span { low: 30.0, best: None, high: 37.0 };
}

/// mg/L of a basis to mg/L of another of the same analyte, by molar mass.
pub(super) fn per(from: Species, to: Species) -> f64 {
    to.molar_mass() / from.molar_mass()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_no_formula_holds_for_is_no_number() {
        for bad in [-0.1, 50.1, f64::NAN, f64::INFINITY] {
            assert_eq!(Celsius::new(bad).unwrap_err().code(), "water-out-of-range", "{bad}");
        }
        assert!(Ph::new(3.9).is_err() && Ph::new(15.0).is_err() && Ph::new(11.0).is_ok());
        assert!(Salinity::new(-1.0).is_err() && Salinity::new(45.1).is_err() && Salinity::new(45.0).is_ok());
        // 78 typed as Celsius is caught; as Fahrenheit it is 25.6.
        assert!(Celsius::new(78.0).is_err());
        assert_eq!(Celsius::from_fahrenheit(77.0).unwrap().value(), 25.0);
        assert_eq!(Celsius::new(25.0).unwrap().fahrenheit(), 77.0);
    }
}
