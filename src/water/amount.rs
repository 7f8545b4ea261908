//! What was found in the water: an amount with its interval, or which side of a limit it lies on.

use super::text::{decimals, significant};
use super::units::{Quantity, Unit, UnitError};
use super::{Dilution, text};

/// What a test found. A bare zero cannot be built: 'none' is always 'not detected below a limit'.
///
/// Match on the variants freely; build through [`Amount::measured`], [`Amount::not_detected`], [`Amount::above`],
/// [`Amount::below`], which refuse what makes no sense.
///
/// ```
/// use tintline::water::{Amount, Interval, Quantity, Species, Unit};
/// let unit = Unit::mg_l(Species::AmmoniaN);
/// let some = Amount::measured(Quantity::new(0.21, unit.clone()), Interval::new(0.16, 0.27)?)?;
/// assert_eq!(some.to_string(), "0.21 mg/L NH3-N (0.16 to 0.27)");
/// assert_eq!(Amount::measured(Quantity::new(0.0, unit), Interval::new(0.0, 0.1)?).unwrap_err().code(), "amount-zero");
/// # Ok::<(), tintline::water::AmountError>(())
/// ```
///
/// Past the checks there is no way:
///
/// ```compile_fail,E0308
/// use tintline::water::{Amount, Quantity, Species, Unit};
/// let none = Amount::NotDetected { below: Quantity::new(0.0, Unit::mg_l(Species::AmmoniaN)) };
/// ```
#[derive(Debug, Clone, PartialEq)]
pub enum Amount {
    /// A value with its 95 % interval. The lower end may be zero: then none cannot be told from some.
    Measured { value: Level, interval95: Interval },
    /// Nothing seen; the test at this place cannot see below `below`.
    NotDetected { below: Level },
    /// More than the scale holds.
    Above { limit: Level },
    /// Less than a scale bounded below holds (pH).
    Below { limit: Level },
}

/// A quantity that passed the checks of [`Amount`]: a finite number, above zero where zero means none, pH within 0 to 14.
/// Only [`Amount`] makes one; read it as a [`Quantity`].
#[derive(Debug, Clone, PartialEq)]
pub struct Level(Quantity);

/// A 95 % interval in the unit of the value it belongs to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    lower: f64,
    upper: f64,
}

/// Why something is no amount.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AmountError {
    /// Zero, where only 'not detected below' can be said.
    #[error("a test cannot find exactly zero, only less than it can see")]
    Zero,
    /// Less than nothing.
    #[error("{value} {unit} is less than nothing")]
    Negative { value: f64, unit: Unit },
    /// Infinite or not a number.
    #[error("the number is not finite")]
    NotFinite,
    /// Outside 0 to 14.
    #[error("pH {value} does not occur in an aquarium: the scale runs from 0 to 14")]
    PhOutOfRange { value: f64 },
    /// Outside what water with life in it can have.
    #[error("{value} °C does not occur in an aquarium: water freezes at 0, and nothing lives above 50")]
    TemperatureOutOfRange { value: f64 },
    /// The ends and the value out of order.
    #[error("the interval {lower} to {upper} does not hold the value {value}")]
    IntervalOrder { value: f64, lower: f64, upper: f64 },
    /// pH and temperature are never 'not detected'.
    #[error("pH and temperature cannot be 'not detected': they have no zero that means none")]
    NoZero,
    /// pH is no concentration.
    #[error("a diluted sample tells nothing about the tank's pH")]
    DilutionNotForPh,
    /// From the unit.
    #[error(transparent)]
    Unit(#[from] UnitError),
}

impl AmountError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Zero => "amount-zero",
            Self::Negative { .. } => "amount-negative",
            Self::NotFinite => "amount-not-finite",
            Self::PhOutOfRange { .. } => "amount-ph-out-of-range",
            Self::TemperatureOutOfRange { .. } => "amount-temperature-out-of-range",
            Self::IntervalOrder { .. } => "amount-interval-order",
            Self::NoZero => "amount-no-zero",
            Self::DilutionNotForPh => "dilution-not-for-ph",
            Self::Unit(e) => e.code(),
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> String {
        let s = match self {
            Self::Zero => "Give the limit below which the test shows nothing, such as <0.25.",
            Self::Negative { .. } | Self::NotFinite => "Check the number and write it again.",
            Self::PhOutOfRange { .. } => "Check the number, and that it belongs to the pH test.",
            Self::TemperatureOutOfRange { .. } => {
                "Check the number; if it is in degrees Fahrenheit, write °F after it."
            }
            Self::IntervalOrder { .. } => "Give the lower end first; the value lies between the two.",
            Self::NoZero => "Give the value, or the end of the scale it lies beyond, such as <6 or >8.",
            Self::DilutionNotForPh => "Test the pH with undiluted tank water.",
            Self::Unit(e) => return e.remedy(),
        };
        s.to_string()
    }
}

impl Interval {
    /// From `lower` to `upper`, both finite, in order.
    pub fn new(lower: f64, upper: f64) -> Result<Self, AmountError> {
        if !(lower.is_finite() && upper.is_finite()) {
            return Err(AmountError::NotFinite);
        }
        if lower > upper {
            return Err(AmountError::IntervalOrder { value: f64::midpoint(lower, upper), lower, upper });
        }
        Ok(Self { lower, upper })
    }

    /// Lower end.
    pub fn lower(&self) -> f64 {
        self.lower
    }

    /// Upper end.
    pub fn upper(&self) -> f64 {
        self.upper
    }

    /// From end to end.
    pub fn width(&self) -> f64 {
        self.upper - self.lower
    }

    /// Whether `x` lies in it, ends included.
    pub fn contains(&self, x: f64) -> bool {
        (self.lower..=self.upper).contains(&x)
    }
}

impl Level {
    fn new(q: Quantity) -> Result<Self, AmountError> {
        if !q.value.is_finite() {
            return Err(AmountError::NotFinite);
        }
        if let Some((low, high)) = q.unit.bounds() {
            return match (low..=high).contains(&q.value) {
                true => Ok(Self(q)),
                false if q.unit.stands_before() => Err(AmountError::PhOutOfRange { value: q.value }),
                false => Err(AmountError::TemperatureOutOfRange { value: q.value }),
            };
        }
        if q.value == 0.0 {
            return Err(AmountError::Zero);
        }
        if q.value < 0.0 {
            return Err(AmountError::Negative { value: q.value, unit: q.unit });
        }
        Ok(Self(q))
    }

    /// The quantity.
    pub fn quantity(&self) -> &Quantity {
        &self.0
    }
}

impl std::ops::Deref for Level {
    type Target = Quantity;

    fn deref(&self) -> &Quantity {
        &self.0
    }
}

impl From<Level> for Quantity {
    fn from(level: Level) -> Self {
        level.0
    }
}

impl Amount {
    /// A value and the 95 % interval around it, in the value's unit.
    pub fn measured(value: Quantity, interval95: Interval) -> Result<Self, AmountError> {
        let value = Level::new(value)?;
        let Interval { lower, upper } = interval95;
        if !interval95.contains(value.value) {
            return Err(AmountError::IntervalOrder { value: value.value, lower, upper });
        }
        if value.unit.has_zero() && lower < 0.0 {
            return Err(AmountError::Negative { value: lower, unit: value.unit.clone() });
        }
        if !value.unit.has_zero() {
            for end in [lower, upper] {
                Level::new(Quantity::new(end, value.unit.clone()))?;
            }
        }
        Ok(Self::Measured { value, interval95 })
    }

    /// Nothing seen, by a test that cannot see below `below`. Never for pH.
    pub fn not_detected(below: Quantity) -> Result<Self, AmountError> {
        if !below.unit.has_zero() {
            return Err(AmountError::NoZero);
        }
        Ok(Self::NotDetected { below: Level::new(below)? })
    }

    /// More than `limit`, the top of the scale.
    pub fn above(limit: Quantity) -> Result<Self, AmountError> {
        Ok(Self::Above { limit: Level::new(limit)? })
    }

    /// Less than `limit`, the bottom of a scale that does not start from none.
    pub fn below(limit: Quantity) -> Result<Self, AmountError> {
        Ok(Self::Below { limit: Level::new(limit)? })
    }

    /// Stable name of the variant: `measured`, `not-detected`, `above`, `below`.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Measured { .. } => "measured",
            Self::NotDetected { .. } => "not-detected",
            Self::Above { .. } => "above",
            Self::Below { .. } => "below",
        }
    }

    /// The value or limit it is stated by.
    pub fn level(&self) -> &Level {
        match self {
            Self::Measured { value: level, .. }
            | Self::NotDetected { below: level }
            | Self::Above { limit: level }
            | Self::Below { limit: level } => level,
        }
    }

    /// The unit of all its numbers.
    pub fn unit(&self) -> &Unit {
        &self.level().unit
    }

    /// The tank's amount, when this was found in a diluted sample: value, interval and limit times the factor. Not for pH.
    pub fn diluted(&self, dilution: Dilution) -> Result<Self, AmountError> {
        if !self.unit().has_zero() {
            return Err(AmountError::DilutionNotForPh);
        }
        self.times(dilution.factor(), self.unit())
    }

    /// The same amount in another unit of the same analyte.
    pub fn to(&self, unit: &Unit) -> Result<Self, AmountError> {
        let factor = Quantity::new(1.0, self.unit().clone()).to(unit)?.value;
        self.times(factor, unit)
    }

    /// The same amount in the unit its analyte is compared in.
    pub fn canonical(&self) -> Result<Self, AmountError> {
        self.to(&self.unit().canonical())
    }

    fn times(&self, factor: f64, unit: &Unit) -> Result<Self, AmountError> {
        let scaled = |level: &Level| Quantity::new(level.value * factor, unit.clone());
        match self {
            Self::Measured { value, interval95: i } => {
                Self::measured(scaled(value), Interval::new(i.lower * factor, i.upper * factor)?)
            }
            Self::NotDetected { below } => Self::not_detected(scaled(below)),
            Self::Above { limit } => Self::above(scaled(limit)),
            Self::Below { limit } => Self::below(scaled(limit)),
        }
    }
}

impl std::fmt::Display for Amount {
    /// Plain words. The interval decides the digits; its ends are rounded outwards, and a value never shows as zero.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let unit = self.unit();
        let with_unit = |n: String| if unit.stands_before() { format!("{unit} {n}") } else { format!("{n} {unit}") };
        match self {
            Self::Measured { value, interval95: i } if i.width() > 0.0 => {
                // The width shows at least ten steps of the last digit, at most a hundred.
                let places = (1.0 - i.width().log10()).ceil() as i32;
                let value = decimals(value.value, places, false);
                write!(
                    f,
                    "{} ({} to {})",
                    with_unit(value),
                    end(i.lower, places, f64::floor),
                    end(i.upper, places, f64::ceil)
                )
            }
            Self::Measured { value, .. } => write!(f, "{}", value.quantity()),
            Self::NotDetected { below } => {
                let q = &below.0;
                let places = 1 - q.value.log10().floor() as i32;
                write!(f, "not detected (below {})", with_unit(text::trimmed(end(q.value, places, f64::ceil))))
            }
            Self::Above { limit } => write!(f, "above {}", with_unit(significant(limit.value, 3))),
            Self::Below { limit } => write!(f, "below {}", with_unit(significant(limit.value, 3))),
        }
    }
}

/// An end of an interval, rounded by `away` to the decimals given.
fn end(x: f64, places: i32, away: fn(f64) -> f64) -> String {
    let scale = 10f64.powi(places.clamp(0, 12));
    // Keep an end that stands on the grid, but for the last bits, where it is.
    let (near, out) = ((x * scale).round(), away(x * scale));
    let on_grid = (x * scale - near).abs() < 1e-6;
    let rounded = if on_grid { near } else { out } / scale;
    if rounded == 0.0 { "0".to_string() } else { decimals(rounded, places, false) }
}
