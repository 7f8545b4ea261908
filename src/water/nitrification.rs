//! What becomes of ammonia in the filter, and what that uses up: oxygen and alkalinity.
//!
//! NH₄⁺ + 1.5 O₂ → NO₂⁻ + 2 H⁺ + H₂O, then NO₂⁻ + 0.5 O₂ → NO₃⁻; without growth of cells, which uses a few per cent less
//! (printed: 3.43, 1.14 and 4.57 mg O₂, 7.14 mg CaCO₃ per mg N). Factors from the molar masses of `species`.

use super::species::Degree;
use super::state::{Celsius, per};
use super::units::Species;

/// Molar mass of O₂, g/mol.
const O2: f64 = 31.998;

/// Where the nitrogen came from: ammonia brings alkalinity with it, its salts do not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NitrogenSource {
    /// Ammonium chloride, or ammonia that was already counted in a test.
    AmmoniumSalt,
    /// Ammonia dissolved in water: one equivalent of alkalinity a mole.
    AmmoniaWater,
    /// Food: its protein is released as ammonia, one equivalent a mole in the long run.
    Food,
}

/// What a litre's ammonia leaves and uses when it is oxidised to the end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nitrified {
    /// mg/L O₂ for the first step, and for both.
    pub oxygen: (f64, f64),
    /// mg/L CaCO₃ used, net of what the source brought.
    pub alkalinity: f64,
    /// The same in German degrees.
    pub alkalinity_degrees: f64,
    /// mg/L NO₂⁻ if all stood as nitrite at once.
    pub nitrite: f64,
    /// mg/L NO₃⁻ in the end.
    pub nitrate: f64,
}

/// What `n` mg/L NH₃-N leaves and uses.
///
/// ```
/// use tintline::water::{NitrogenSource, nitrified};
/// let of = nitrified(4.0, NitrogenSource::AmmoniumSalt);
/// assert!((of.alkalinity_degrees - 1.60).abs() < 0.01 && (of.nitrate - 17.7).abs() < 0.1);
/// ```
pub fn nitrified(n: f64, source: NitrogenSource) -> Nitrified {
    let mol = n / Species::AmmoniaN.molar_mass();
    let brought = match source {
        NitrogenSource::AmmoniumSalt => 0.0,
        NitrogenSource::AmmoniaWater | NitrogenSource::Food => 1.0,
    };
    // CaCO3 takes up two equivalents a mole.
    let caco3 = mol * (2.0 - brought) / 2.0;
    Nitrified {
        oxygen: (mol * 1.5 * O2, mol * 2.0 * O2),
        alkalinity: caco3 * Species::CalciumCarbonate.molar_mass(),
        alkalinity_degrees: caco3 / Degree::German.caco3_mmol(),
        nitrite: mol * Species::Nitrite.molar_mass(),
        nitrate: mol * Species::Nitrate.molar_mass(),
    }
}

/// mg/L NH₃-N that can be oxidised before this alkalinity (German degrees) is gone.
pub fn nitrifiable(degrees: f64, source: NitrogenSource) -> f64 {
    degrees / nitrified(1.0, source).alkalinity_degrees
}

/// mg/L NO₃⁻ that `nitrite` mg/L NO₂⁻ shows as in a nitrate test, which first turns nitrate into nitrite and so reads both. At
/// least this: some reagents count nitrite more than once.
pub fn nitrite_read_as_nitrate(nitrite: f64) -> f64 {
    nitrite * per(Species::Nitrite, Species::Nitrate)
}

/// Which of the two groups of nitrifiers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Oxidiser {
    /// Ammonia to nitrite.
    Ammonia,
    /// Nitrite to nitrate.
    Nitrite,
}

/// How many times faster nitrifiers grow at `to` than at `from`: θ^(to − from), θ 1.072 and 1.063 (Tchobanoglous et al.,
/// Wastewater Engineering, 5th ed. 2014, table 8-14; 1.063 from memory).
pub fn growth_ratio(of: Oxidiser, from: Celsius, to: Celsius) -> f64 {
    let theta: f64 = match of {
        Oxidiser::Ammonia => 1.072,
        Oxidiser::Nitrite => 1.063,
    };
    theta.powf(to.value() - from.value())
}

/// The same after Arrhenius with 68 and 44 kJ/mol (Vannecke & Volcke, appendix of a biofilm model; R = 8.31 J/mol/K).
pub fn growth_ratio_arrhenius(of: Oxidiser, from: Celsius, to: Celsius) -> f64 {
    let ea = match of {
        Oxidiser::Ammonia => 68e3,
        Oxidiser::Nitrite => 44e3,
    };
    (ea * (to.kelvin() - from.kelvin()) / (8.31 * from.kelvin() * to.kelvin())).exp()
}
