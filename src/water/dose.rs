//! What to weigh or measure out: ammonia for a fishless cycle, bicarbonate, salt. Arithmetic from molar masses.
//!
//! The litres are those of the water itself, without gravel, rock and air. Ammonia solution must be plain ammonia in water, without
//! scent, colour or surfactant.

use super::species::Degree;
use super::state::{StateError, per, positive, within};
use super::units::Species;

/// Molar masses, g/mol, of the same atomic masses as in `species` (Cl 35.45, Na 22.990).
pub mod molar {
    /// NH₄Cl.
    pub const AMMONIUM_CHLORIDE: f64 = 53.489;
    /// NaHCO₃.
    pub const BICARBONATE: f64 = 84.006;
    /// Na₂CO₃.
    pub const CARBONATE: f64 = 105.988;
    /// NaCl.
    pub const SALT: f64 = 58.44;
    /// Cl.
    pub const CHLORIDE: f64 = 35.45;
}

/// How an ammonia solution's label states its strength.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Strength {
    /// Grams NH₃ per 100 g, with the density in g/mL.
    ByWeight { percent: f64, density: f64 },
    /// Grams NH₃ per 100 mL.
    ByVolume { percent: f64 },
}

impl Strength {
    /// By weight, with the density from [`ammonia_density`].
    pub fn by_weight(percent: f64) -> Result<Self, StateError> {
        Ok(Self::ByWeight { percent, density: ammonia_density(percent)? })
    }

    /// Grams NH₃ in a mL.
    pub(super) fn g_ml(self) -> Result<f64, StateError> {
        let (percent, density) = match self {
            Self::ByWeight { percent, density } => (percent, within("a density of", "g/mL", density, 0.85, 1.0)?),
            Self::ByVolume { percent } => (percent, 1.0),
        };
        Ok(within("an ammonia solution of", "%", percent, 0.1, 36.0)? / 100.0 * density)
    }
}

/// Density of ammonia in water, g/mL, at about 15 to 20 °C, between the printed points: 0.9800 at 4.956 %, 0.9625 at 9.462 %, 0.9600 at
/// 10.119 % (pharmaceutical table of the 19th century), 0.91 at 25 %, 0.88 at 35 % (British Pharmacopoeia).
pub fn ammonia_density(percent: f64) -> Result<f64, StateError> {
    const POINTS: [(f64, f64); 6] =
        [(0.0, 0.9991), (4.956, 0.98), (9.462, 0.9625), (10.119, 0.96), (25.0, 0.91), (36.0, 0.877)];
    within("an ammonia solution of", "%", percent, 0.1, 36.0)?;
    let i = POINTS.iter().rposition(|p| p.0 <= percent).unwrap_or(0).min(POINTS.len() - 2);
    let ((x0, y0), (x1, y1)) = (POINTS[i], POINTS[i + 1]);
    Ok(y0 + (y1 - y0) * (percent - x0) / (x1 - x0))
}

/// mL of ammonia solution that bring `mg_l` (on `basis`: as N, NH₃ or NH₄⁺) to a tank.
///
/// ```
/// use tintline::water::{Species, Strength, ammonia_solution_ml};
/// let label = Strength::ByWeight { percent: 9.5, density: 0.963 };
/// assert!((ammonia_solution_ml(2.0, Species::AmmoniaN, 100.0, label)? - 2.66).abs() < 0.01);
/// assert!((ammonia_solution_ml(2.0, Species::Ammonia, 100.0, label)? - 2.19).abs() < 0.01);
/// # Ok::<(), tintline::water::StateError>(())
/// ```
pub fn ammonia_solution_ml(mg_l: f64, basis: Species, litres: f64, strength: Strength) -> Result<f64, StateError> {
    let nh3_mg = positive("a dose", mg_l)? * per(basis, Species::Ammonia) * positive("litres of water", litres)?;
    Ok(nh3_mg / 1000.0 / strength.g_ml()?)
}

/// mg/L NH₃-N that `ml` of ammonia solution bring: the other way round.
pub fn ammonia_of_solution(ml: f64, litres: f64, strength: Strength) -> Result<f64, StateError> {
    let nh3_mg = positive("millilitres", ml)? * strength.g_ml()? * 1000.0;
    Ok(nh3_mg * per(Species::Ammonia, Species::AmmoniaN) / positive("litres of water", litres)?)
}

/// mg/L NH₃-N that `grams` of ammonium chloride bring.
pub fn ammonia_of_chloride(grams: f64, litres: f64) -> Result<f64, StateError> {
    let mg = positive("grams", grams)? * 1000.0 * Species::AmmoniaN.molar_mass() / molar::AMMONIUM_CHLORIDE;
    Ok(mg / positive("litres of water", litres)?)
}

/// Grams of ammonium chloride that bring `mg_l` on `basis`. It brings no alkalinity.
pub fn ammonium_chloride_g(mg_l: f64, basis: Species, litres: f64) -> Result<f64, StateError> {
    let mg = positive("a dose", mg_l)? * molar::AMMONIUM_CHLORIDE / basis.molar_mass();
    Ok(mg * positive("litres of water", litres)? / 1000.0)
}

/// mL of a stock solution of `g_l` grams per litre that hold `grams`.
pub fn stock_ml(grams: f64, g_l: f64) -> Result<f64, StateError> {
    Ok(positive("grams", grams)? / positive("grams per litre", g_l)? * 1000.0)
}

/// Grams of sodium hydrogen carbonate that raise alkalinity by `degrees` (German): 3.0 g per 100 L and degree.
///
/// Never while the tank holds ammonium and fish: it raises the pH too, and turns ammonium into free ammonia.
pub fn bicarbonate_g(degrees: f64, litres: f64) -> Result<f64, StateError> {
    let mmol = 2.0 * Degree::German.caco3_mmol() * positive("degrees", degrees)?;
    Ok(mmol * molar::BICARBONATE * positive("litres of water", litres)? / 1000.0)
}

/// Grams of sodium carbonate that raise alkalinity by `degrees`; it raises the pH much more than hydrogen carbonate does.
pub fn carbonate_g(degrees: f64, litres: f64) -> Result<f64, StateError> {
    let mmol = Degree::German.caco3_mmol() * positive("degrees", degrees)?;
    Ok(mmol * molar::CARBONATE * positive("litres of water", litres)? / 1000.0)
}

/// mg chloride in `g` grams of salt.
pub fn chloride_of_salt(g: f64) -> f64 {
    g * 1000.0 * molar::CHLORIDE / molar::SALT
}

/// mg chloride that should stand against each mg nitrite ion, so that fish take up little nitrite: Durborow, Crosby & Brunson, SRAC
/// publication 462. Its basis is not stated in most copies; the ion is the careful reading.
pub const CHLORIDE_PER_NITRITE: f64 = 10.0;

/// mg/L chloride still wanting against this nitrite (mg/L NO₂⁻), and mg/L salt that bring it.
///
/// ```
/// let (chloride, salt) = tintline::water::chloride_wanting(6.0, 15.0);
/// assert!((chloride - 45.0).abs() < 1e-9 && (salt - 74.2).abs() < 0.1);
/// ```
pub fn chloride_wanting(nitrite: f64, chloride: f64) -> (f64, f64) {
    let wanting = (nitrite * CHLORIDE_PER_NITRITE - chloride).max(0.0);
    (wanting, wanting * molar::SALT / molar::CHLORIDE)
}
