//! Units with their basis, and conversions between the units of one analyte.
//!
//! `ppm` is read as mg/L. That holds in fresh water; in sea water (density about 1.023 kg/L) 1 mg/kg is 1.023 mg/L, a difference
//! no colour test can tell.

use super::Analyte;
use super::species::Degree;
use super::text::significant;

pub use super::species::{Measure, Species};

/// A unit with its basis, such as `mg/L NO3-`. Built by [`Unit::parse`] or [`Unit::mg_l`], never without a basis.
///
/// `mg/L NH3` means total ammonia, given as the mass it would have as NH₃; not the free part of it.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Unit {
    kind: Kind,
    text: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum Kind {
    Of(Measure, Species),
    /// The keeper's own analyte; its molar mass is unknown.
    Own(Measure, String),
    Hardness(Degree),
    Ph,
    Celsius,
    /// g/kg.
    Salinity,
    /// Conductivity, in so many mS/cm.
    Siemens(Measure),
}

/// A number with its unit. Any number: what a test found is an [`Amount`](super::Amount), which is checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    /// The number, in `unit`.
    pub value: f64,
    /// The unit with its basis.
    pub unit: Unit,
}

/// Why a text is no unit, or a conversion cannot be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum UnitError {
    /// The amount is clear, but not of what.
    #[error("'{typed}' does not say what {analyte} is counted as")]
    NeedsBasis { typed: String, analyte: Analyte, choices: Vec<String> },
    /// Not a unit known here.
    #[error("'{typed}' is not a unit for {analyte}")]
    Unknown { typed: String, analyte: Analyte, choices: Vec<String> },
    /// A unit, but of something else.
    #[error("'{typed}' is a unit of {belongs}, not of {analyte}")]
    OtherAnalyte { typed: String, belongs: String, analyte: Analyte, choices: Vec<String> },
    /// Two units with no fixed factor between them.
    #[error("{from} cannot be turned into {to}")]
    NoConversion { from: String, to: String },
    /// Not a name for an analyte.
    #[error("'{typed}' is not a name for what a test measures")]
    AnalyteName { typed: String },
}

impl UnitError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::NeedsBasis { .. } => "unit-needs-basis",
            Self::Unknown { .. } => "unit-unknown",
            Self::OtherAnalyte { .. } => "unit-other-analyte",
            Self::NoConversion { .. } => "unit-no-conversion",
            Self::AnalyteName { .. } => "analyte-name",
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> String {
        match self {
            Self::NeedsBasis { choices, .. } => {
                format!("Look on the test's leaflet and write one of: {}.", choices.join(", "))
            }
            Self::Unknown { choices, .. } | Self::OtherAnalyte { choices, .. } => {
                format!("Write one of: {}.", choices.join(", "))
            }
            Self::NoConversion { .. } => "Give both values in units of the same analyte.".to_string(),
            Self::AnalyteName { .. } => {
                "Write ammonia, nitrite, nitrate, pH, hardness (GH), alkalinity (KH), or a name of \
                                         your own of at most 40 letters, digits and spaces."
                    .to_string()
            }
        }
    }
}

impl Unit {
    /// A unit of a known basis, such as `µmol/L NO3-`.
    pub fn of(measure: Measure, species: Species) -> Self {
        Self { kind: Kind::Of(measure, species), text: format!("{} {}", measure.text(), species.text()) }
    }

    /// mg/L of a known basis.
    pub fn mg_l(species: Species) -> Self {
        Self::of(Measure::Milligram, species)
    }

    /// pH.
    pub fn ph() -> Self {
        Self { kind: Kind::Ph, text: "pH".to_string() }
    }

    /// Degrees Celsius.
    pub fn celsius() -> Self {
        Self { kind: Kind::Celsius, text: "°C".to_string() }
    }

    /// Grams of salts in a kilogram of water.
    pub fn g_kg() -> Self {
        Self { kind: Kind::Salinity, text: "g/kg".to_string() }
    }

    /// Millisiemens per centimetre.
    pub fn ms_cm() -> Self {
        Self { kind: Kind::Siemens(Measure::Milligram), text: "mS/cm".to_string() }
    }

    /// Microsiemens per centimetre.
    pub(super) fn us_cm() -> Self {
        Self { kind: Kind::Siemens(Measure::Microgram), text: "µS/cm".to_string() }
    }

    /// German degrees of hardness or alkalinity.
    pub fn german_degree() -> Self {
        Self::degree(Degree::German)
    }

    pub(super) fn degree(degree: Degree) -> Self {
        Self { kind: Kind::Hardness(degree), text: degree.text().to_string() }
    }

    /// Of a keeper's own analyte; `basis` is a name as [`super::unit_text`] leaves it.
    pub(super) fn own(measure: Measure, basis: &str) -> Self {
        Self { kind: Kind::Own(measure, basis.to_string()), text: format!("{} {basis}", measure.text()) }
    }

    /// The unit of a text as typed, for this analyte. `mg/l NO3`, `ppm NO₃⁻` and `mg/L (as NO3)` are one unit; a bare
    /// `ppm` or `mg/L` is an error that offers the choices, except for a keeper's own analyte, where it means the analyte itself.
    ///
    /// ```
    /// use tintline::water::{Analyte, Unit};
    /// assert_eq!(Unit::parse("ppm NO₃⁻", &Analyte::Nitrate)?.as_str(), "mg/L NO3-");
    /// assert_eq!(Unit::parse("ppm", &Analyte::Nitrate).unwrap_err().code(), "unit-needs-basis");
    /// # Ok::<(), tintline::water::UnitError>(())
    /// ```
    pub fn parse(text: &str, analyte: &Analyte) -> Result<Self, UnitError> {
        super::unit_text::parse(text, analyte)
    }

    /// What may be written for this analyte: the usual ones.
    pub fn choices(analyte: &Analyte) -> Vec<String> {
        let bases = Species::ALL.into_iter().filter(|s| s.serves().contains(&analyte.as_str()));
        let mut out: Vec<String> = bases.map(|s| Self::mg_l(s).text).collect();
        match analyte {
            Analyte::Hardness | Analyte::Alkalinity => out.extend(["dH".into(), "meq/L".into()]),
            Analyte::Conductivity => out = vec!["mS/cm".into(), "µS/cm".into()],
            _ if out.is_empty() => out.push(analyte.canonical_unit().text),
            _ => {}
        }
        out
    }

    /// The canonical text; [`Unit::parse`] reads it back to the same unit.
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// Whether values of this analyte can be given in this unit.
    pub fn fits(&self, analyte: &Analyte) -> bool {
        Self::parse(&self.text, analyte).as_ref() == Ok(self)
    }

    /// Whether zero means none in this unit. Not so for pH and °C.
    pub fn has_zero(&self) -> bool {
        !matches!(self.kind, Kind::Ph | Kind::Celsius)
    }

    /// Lowest and highest that can be, where zero does not mean none. Of temperatures those of water that something lives in:
    /// 0 to 50 °C, the first left out.
    pub(super) fn bounds(&self) -> Option<(f64, f64)> {
        match self.kind {
            Kind::Ph => Some((0.0, 14.0)),
            Kind::Celsius => Some((f64::MIN_POSITIVE, 50.0)),
            _ => None,
        }
    }

    /// How far a meter of this unit is usually off, common practice; none for what is no meter's unit.
    pub(super) fn meter_error(&self, value: f64) -> Option<f64> {
        match self.kind {
            Kind::Salinity => Some(1.0),
            Kind::Siemens(_) => Some(value * 0.05),
            _ => None,
        }
    }

    /// Whether the unit is said before the number.
    pub(super) fn stands_before(&self) -> bool {
        self.kind == Kind::Ph
    }

    /// The unit in which values given in this one are compared.
    pub fn canonical(&self) -> Self {
        match &self.kind {
            Kind::Of(_, species) => Self::mg_l(species.canonical()),
            Kind::Own(m, basis) => Self::own(if m.is_mass() { Measure::Milligram } else { Measure::Millimole }, basis),
            Kind::Hardness(_) => Self::mg_l(Species::CalciumCarbonate),
            Kind::Ph => Self::ph(),
            Kind::Celsius => Self::celsius(),
            Kind::Salinity => Self::g_kg(),
            Kind::Siemens(_) => Self::ms_cm(),
        }
    }

    /// Factor to `to`, if there is a fixed one.
    fn factor_to(&self, to: &Self) -> Option<f64> {
        match (self.in_moles(), to.in_moles()) {
            (Some((a, x)), Some((b, y))) if x == y => return Some(a / b),
            _ => {}
        }
        match (&self.kind, &to.kind) {
            (Kind::Own(a, x), Kind::Own(b, y)) if x == y && a.is_mass() == b.is_mass() => {
                Some(a.in_thousandths() / b.in_thousandths())
            }
            (Kind::Siemens(a), Kind::Siemens(b)) => Some(a.in_thousandths() / b.in_thousandths()),
            (a, b) if a == b && matches!(a, Kind::Ph | Kind::Celsius | Kind::Salinity) => Some(1.0),
            _ => None,
        }
    }

    /// One of this unit in mmol/L, and of what.
    fn in_moles(&self) -> Option<(f64, Species)> {
        match &self.kind {
            Kind::Of(m, s) if m.is_mass() => Some((m.in_thousandths() / s.molar_mass(), s.canonical())),
            Kind::Of(m, s) => Some((m.in_thousandths(), s.canonical())),
            Kind::Hardness(d) => Some((d.caco3_mmol(), Species::CalciumCarbonate)),
            Kind::Own(..) | Kind::Ph | Kind::Celsius | Kind::Salinity | Kind::Siemens(_) => None,
        }
    }
}

impl std::fmt::Display for Unit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.text)
    }
}

impl Quantity {
    /// A number with its unit.
    pub fn new(value: f64, unit: Unit) -> Self {
        Self { value, unit }
    }

    /// The same amount in another unit of the same analyte.
    ///
    /// ```
    /// use tintline::water::{Quantity, Species, Unit};
    /// let limit = Quantity::new(50.0, Unit::mg_l(Species::Nitrate)).to(&Unit::mg_l(Species::NitrateN))?;
    /// assert!((limit.value - 11.295).abs() < 0.001);
    /// # Ok::<(), tintline::water::UnitError>(())
    /// ```
    pub fn to(&self, unit: &Unit) -> Result<Self, UnitError> {
        match self.unit.factor_to(unit) {
            Some(factor) => Ok(Self { value: self.value * factor, unit: unit.clone() }),
            None => Err(UnitError::NoConversion { from: self.unit.text.clone(), to: unit.text.clone() }),
        }
    }

    /// The same amount in the unit its analyte is compared in.
    pub fn canonical(&self) -> Self {
        // A unit and its canonical one are of one kind, so the conversion always stands; the tests go through all of them.
        self.to(&self.unit.canonical()).unwrap_or_else(|_| self.clone())
    }
}

impl std::fmt::Display for Quantity {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let number = significant(self.value, 4);
        match self.unit.stands_before() {
            true => write!(f, "{} {number}", self.unit),
            false => write!(f, "{number} {}", self.unit),
        }
    }
}
