//! What a test measures.

use super::unit_text;
use super::units::{Measure, Species, Unit, UnitError};

/// What a test measures. Names typed by a keeper come in through [`Analyte::parse`].
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Analyte {
    /// Total ammonia: NH₃ and NH₄⁺ together, as tests measure it.
    Ammonia,
    /// Nitrite.
    Nitrite,
    /// Nitrate.
    Nitrate,
    /// pH.
    Ph,
    /// General hardness: calcium and magnesium.
    Hardness,
    /// Alkalinity, also called carbonate hardness. Not a part of [`Analyte::Hardness`]; the two never convert.
    Alkalinity,
    /// Temperature of the water.
    Temperature,
    /// Salinity.
    Salinity,
    /// Electrical conductivity, as it is at the water's own temperature or as the meter turns it to 25 °C.
    Conductivity,
    /// The keeper's own, such as `phosphate`: lower case, as [`Analyte::parse`] leaves it.
    Other(String),
}

/// Spellings in lower case, common practice.
const SPELLINGS: &[(Analyte, &[&str])] = &[
    (
        Analyte::Ammonia,
        &[
            "ammonia",
            "total ammonia",
            "ammonium",
            "tan",
            "nh3",
            "nh4",
            "nh4+",
            "nh3/nh4",
            "nh3/nh4+",
            "nh4/nh3",
            "nh3+nh4",
        ],
    ),
    (Analyte::Nitrite, &["nitrite", "no2", "no2-"]),
    (Analyte::Nitrate, &["nitrate", "no3", "no3-"]),
    (Analyte::Ph, &["ph"]),
    (Analyte::Hardness, &["hardness", "gh", "general hardness", "total hardness"]),
    (Analyte::Alkalinity, &["alkalinity", "kh", "carbonate hardness"]),
    (Analyte::Temperature, &["temperature", "temp"]),
    (Analyte::Salinity, &["salinity"]),
    (Analyte::Conductivity, &["conductivity", "ec"]),
];

/// Other names of analytes that have no variant of their own.
const OTHERS: &[(&str, &str)] = &[("fe", "iron"), ("cu", "copper"), ("ca", "calcium"), ("mg", "magnesium")];

impl Analyte {
    /// The analyte of a name as typed: `NH3/NH4`, `Nitrite`, `pH`, `KH`, or a name of the keeper's own.
    pub fn parse(text: &str) -> Result<Self, UnitError> {
        let name = super::text::plain(text).to_lowercase();
        if let Some((known, _)) = SPELLINGS.iter().find(|(_, s)| s.contains(&name.as_str())) {
            return Ok(known.clone());
        }
        if let Some((_, own)) = OTHERS.iter().find(|(s, _)| *s == name) {
            return Ok(Self::Other((*own).to_string()));
        }
        // A formula such as `NO3-N` names its analyte; `CaCO3` could be either of two.
        match unit_text::species(&name).map(Species::canonical) {
            Some(Species::AmmoniaN) => Ok(Self::Ammonia),
            Some(Species::Nitrite) => Ok(Self::Nitrite),
            Some(Species::Nitrate) => Ok(Self::Nitrate),
            Some(Species::Phosphate) => Ok(Self::Other("phosphate".to_string())),
            None if unit_text::own_basis(&name).is_some() => Ok(Self::Other(name)),
            _ => Err(UnitError::AnalyteName { typed: text.to_string() }),
        }
    }

    /// The stable text form; [`Analyte::parse`] reads it back.
    pub fn as_str(&self) -> &str {
        match self {
            Self::Ammonia => "ammonia",
            Self::Nitrite => "nitrite",
            Self::Nitrate => "nitrate",
            Self::Ph => "pH",
            Self::Hardness => "hardness",
            Self::Alkalinity => "alkalinity",
            Self::Temperature => "temperature",
            Self::Salinity => "salinity",
            Self::Conductivity => "conductivity",
            Self::Other(name) => name,
        }
    }

    /// The unit in which values of this analyte are compared.
    pub fn canonical_unit(&self) -> Unit {
        match self {
            Self::Ammonia => Unit::mg_l(Species::AmmoniaN),
            Self::Nitrite => Unit::mg_l(Species::Nitrite),
            Self::Nitrate => Unit::mg_l(Species::Nitrate),
            Self::Ph => Unit::ph(),
            Self::Hardness | Self::Alkalinity => Unit::mg_l(Species::CalciumCarbonate),
            Self::Temperature => Unit::celsius(),
            Self::Salinity => Unit::g_kg(),
            Self::Conductivity => Unit::ms_cm(),
            Self::Other(name) if name == "phosphate" => Unit::mg_l(Species::Phosphate),
            Self::Other(name) => Unit::own(Measure::Milligram, unit_text::own_basis(name).unwrap_or(name)),
        }
    }

    /// Whether zero means none. Not so for pH and temperature, which have no detection limit and no dilution.
    pub fn has_zero(&self) -> bool {
        !matches!(self, Self::Ph | Self::Temperature)
    }
}

impl std::fmt::Display for Analyte {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spellings_are_understood() {
        for (typed, want) in [
            ("Ammonia", Analyte::Ammonia),
            ("NH3/NH4", Analyte::Ammonia),
            ("NH₃/NH₄⁺", Analyte::Ammonia),
            ("NO2", Analyte::Nitrite),
            ("NO₃⁻", Analyte::Nitrate),
            ("PH", Analyte::Ph),
            ("gh", Analyte::Hardness),
            (" KH ", Analyte::Alkalinity),
            ("Temp", Analyte::Temperature),
            ("EC", Analyte::Conductivity),
            ("PO₄³⁻", Analyte::Other("phosphate".into())),
            ("Phosphate", Analyte::Other("phosphate".into())),
            ("Silicic  Acid", Analyte::Other("silicic acid".into())),
        ] {
            assert_eq!(Analyte::parse(typed), Ok(want), "{typed}");
        }
    }

    #[test]
    fn names_that_are_none_are_refused() {
        for typed in ["", "   ", "12", "a\u{7}b", "a\"b", &"x".repeat(41)] {
            assert_eq!(Analyte::parse(typed).unwrap_err().code(), "analyte-name", "{typed:?}");
        }
    }

    #[test]
    fn text_form_reads_back() {
        for (a, _) in SPELLINGS {
            assert_eq!(Analyte::parse(a.as_str()).as_ref(), Ok(a));
        }
        for (_, own) in OTHERS {
            assert_eq!(Analyte::parse(own).unwrap().as_str(), *own);
        }
    }
}
