//! What a book holds results of.

use super::rules::FIRST_STANDARD;
use crate::water::Analyte;

/// What was measured, and the unit of its numbers in the book.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// Total ammonia, mg/L NH₃-N.
    Ammonia,
    /// mg/L NO₂⁻.
    Nitrite,
    /// mg/L NO₃⁻.
    Nitrate,
    /// pH.
    Ph,
    /// German degrees.
    Alkalinity,
    /// German degrees.
    Hardness,
    /// °C.
    Temperature,
    /// g/kg.
    Salinity,
    /// mg/L Cl⁻.
    Chloride,
    /// mg/L as Cl₂.
    Chlorine,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Self; 10] = [
        Self::Ammonia,
        Self::Nitrite,
        Self::Nitrate,
        Self::Ph,
        Self::Alkalinity,
        Self::Hardness,
        Self::Temperature,
        Self::Salinity,
        Self::Chloride,
        Self::Chlorine,
    ];

    /// Stable text form, and the word for people.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Ammonia => "ammonia",
            Self::Nitrite => "nitrite",
            Self::Nitrate => "nitrate",
            Self::Ph => "pH",
            Self::Alkalinity => "alkalinity",
            Self::Hardness => "hardness",
            Self::Temperature => "temperature",
            Self::Salinity => "salinity",
            Self::Chloride => "chloride",
            Self::Chlorine => "chlorine",
        }
    }

    /// The unit of its numbers in a book, with the basis; empty for pH.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Ammonia => "mg/L NH3-N",
            Self::Nitrite => "mg/L NO2-",
            Self::Nitrate => "mg/L NO3-",
            Self::Ph => "",
            Self::Alkalinity | Self::Hardness => "dH",
            Self::Temperature => "°C",
            Self::Salinity => "g/kg",
            Self::Chloride => "mg/L Cl-",
            Self::Chlorine => "mg/L Cl2",
        }
    }

    /// Whether zero means none.
    pub fn has_zero(self) -> bool {
        !matches!(self, Self::Ph | Self::Temperature)
    }

    /// The kind of an analyte that rules know.
    pub fn of(analyte: &Analyte) -> Option<Self> {
        Some(match analyte {
            Analyte::Ammonia => Self::Ammonia,
            Analyte::Nitrite => Self::Nitrite,
            Analyte::Nitrate => Self::Nitrate,
            Analyte::Ph => Self::Ph,
            Analyte::Alkalinity => Self::Alkalinity,
            Analyte::Hardness => Self::Hardness,
            Analyte::Temperature => Self::Temperature,
            Analyte::Salinity => Self::Salinity,
            Analyte::Other(name) if name == "chloride" => Self::Chloride,
            Analyte::Other(name) if name == "chlorine" || name == "total chlorine" => Self::Chlorine,
            _ => return None,
        })
    }

    /// The first standard above none of such a test, where nobody said.
    pub fn first_standard(self) -> f64 {
        match self {
            Self::Ammonia => FIRST_STANDARD.0,
            Self::Nitrite => FIRST_STANDARD.1,
            Self::Nitrate => FIRST_STANDARD.2,
            _ => 0.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::water::Unit;

    #[test]
    fn units_are_those_the_program_writes() {
        assert_eq!(Kind::Alkalinity.unit(), Unit::german_degree().to_string());
        let analyte = |kind: Kind| Analyte::parse(kind.as_str()).unwrap();
        let mut checked = 0;
        for kind in Kind::ALL.into_iter().filter(|k| !k.unit().is_empty()) {
            assert_eq!(Kind::of(&analyte(kind)), Some(kind));
            assert_eq!(Unit::parse(kind.unit(), &analyte(kind)).unwrap().to_string(), kind.unit());
            checked += 1;
        }
        assert_eq!((checked, Kind::of(&analyte(Kind::Ph))), (9, Some(Kind::Ph)));
        assert_eq!(Kind::of(&Analyte::parse("phosphate").unwrap()), None);
    }
}
