//! What an amount is counted as: measures, bases, degrees of hardness, and the factors between them.

// Atomic masses, g/mol: abridged standard atomic weights of the IUPAC Commission on Isotopic Abundances and Atomic Weights.
const N: f64 = 14.007;
const H: f64 = 1.008;
const O: f64 = 15.999;
const C: f64 = 12.011;
const P: f64 = 30.974;
const CA: f64 = 40.078;

/// How much of the basis, in a litre.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Measure {
    /// mg/L.
    Milligram,
    /// µg/L.
    Microgram,
    /// mmol/L.
    Millimole,
    /// µmol/L.
    Micromole,
}

impl Measure {
    /// All measures.
    pub const ALL: [Self; 4] = [Self::Milligram, Self::Microgram, Self::Millimole, Self::Micromole];

    pub(super) fn text(self) -> &'static str {
        match self {
            Self::Milligram => "mg/L",
            Self::Microgram => "µg/L",
            Self::Millimole => "mmol/L",
            Self::Micromole => "µmol/L",
        }
    }

    pub(super) fn is_mass(self) -> bool {
        matches!(self, Self::Milligram | Self::Microgram)
    }

    /// In mg/L or mmol/L.
    pub(super) fn in_thousandths(self) -> f64 {
        if matches!(self, Self::Milligram | Self::Millimole) { 1.0 } else { 1e-3 }
    }
}

/// The bases a known analyte can be given in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Species {
    /// `NH3-N`: the nitrogen in total ammonia.
    AmmoniaN,
    /// `NH3`: total ammonia as NH₃.
    Ammonia,
    /// `NH4+`: total ammonia as NH₄⁺.
    Ammonium,
    /// `NO2-N`: the nitrogen in nitrite.
    NitriteN,
    /// `NO2-`: nitrite as the ion.
    Nitrite,
    /// `NO3-N`: the nitrogen in nitrate.
    NitrateN,
    /// `NO3-`: nitrate as the ion.
    Nitrate,
    /// `CaCO3`: hardness or alkalinity.
    CalciumCarbonate,
    /// `PO4-P`: the phosphorus in phosphate.
    PhosphateP,
    /// `PO4`: phosphate as the ion.
    Phosphate,
}

impl Species {
    /// All bases.
    pub const ALL: [Self; 10] = [
        Self::AmmoniaN,
        Self::Ammonia,
        Self::Ammonium,
        Self::NitriteN,
        Self::Nitrite,
        Self::NitrateN,
        Self::Nitrate,
        Self::CalciumCarbonate,
        Self::PhosphateP,
        Self::Phosphate,
    ];

    /// Molar mass of what is weighed, g/mol: for `NH3-N` that of N.
    pub fn molar_mass(self) -> f64 {
        match self {
            Self::AmmoniaN | Self::NitriteN | Self::NitrateN => N,
            Self::Ammonia => N + 3.0 * H,
            Self::Ammonium => N + 4.0 * H,
            Self::Nitrite => N + 2.0 * O,
            Self::Nitrate => N + 3.0 * O,
            Self::CalciumCarbonate => CA + C + 3.0 * O,
            Self::PhosphateP => P,
            Self::Phosphate => P + 4.0 * O,
        }
    }

    /// The basis in which this one's analyte is compared.
    pub fn canonical(self) -> Self {
        match self {
            Self::AmmoniaN | Self::Ammonia | Self::Ammonium => Self::AmmoniaN,
            Self::NitriteN | Self::Nitrite => Self::Nitrite,
            Self::NitrateN | Self::Nitrate => Self::Nitrate,
            Self::CalciumCarbonate => Self::CalciumCarbonate,
            Self::PhosphateP | Self::Phosphate => Self::Phosphate,
        }
    }

    /// Text forms of the analytes given in it.
    pub(super) fn serves(self) -> &'static [&'static str] {
        match self.canonical() {
            Self::AmmoniaN => &["ammonia"],
            Self::Nitrite => &["nitrite"],
            Self::Nitrate => &["nitrate"],
            Self::CalciumCarbonate => &["hardness", "alkalinity"],
            _ => &["phosphate"],
        }
    }

    pub(super) fn text(self) -> &'static str {
        match self {
            Self::AmmoniaN => "NH3-N",
            Self::Ammonia => "NH3",
            Self::Ammonium => "NH4+",
            Self::NitriteN => "NO2-N",
            Self::Nitrite => "NO2-",
            Self::NitrateN => "NO3-N",
            Self::Nitrate => "NO3-",
            Self::CalciumCarbonate => "CaCO3",
            Self::PhosphateP => "PO4-P",
            Self::Phosphate => "PO4",
        }
    }
}

/// Units of hardness and alkalinity that bring their basis with them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Degree {
    /// German degree, `dH`: as much as 10 mg/L CaO, by definition (from memory of the German standard).
    German,
    /// French degree, `fH`: 10 mg/L CaCO₃.
    French,
    /// English or Clark degree, `eH`: a grain of CaCO₃ in an imperial gallon.
    English,
    /// Grain of CaCO₃ in a US gallon, `gpg`.
    GrainUs,
    /// `meq/L`: acid equivalents; CaCO₃ takes up two.
    Milliequivalent,
}

impl Degree {
    /// One of these in mmol/L of CaCO₃.
    pub fn caco3_mmol(self) -> f64 {
        /// A grain in mg and the gallons in litres: exact (NIST Handbook 44; UK Weights and Measures Act).
        const GRAIN: f64 = 64.798_91;
        const IMPERIAL_GALLON: f64 = 4.546_09;
        const US_GALLON: f64 = 3.785_411_784;
        let caco3 = Species::CalciumCarbonate.molar_mass();
        match self {
            Self::German => 10.0 / (CA + O),
            Self::French => 10.0 / caco3,
            Self::English => GRAIN / IMPERIAL_GALLON / caco3,
            Self::GrainUs => GRAIN / US_GALLON / caco3,
            Self::Milliequivalent => 0.5,
        }
    }

    pub(super) fn text(self) -> &'static str {
        match self {
            Self::German => "dH",
            Self::French => "fH",
            Self::English => "eH",
            Self::GrainUs => "gpg",
            Self::Milliequivalent => "meq/L",
        }
    }
}
