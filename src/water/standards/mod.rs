//! Standards made at home: what to weigh, what to dilute, and how well the result is known.
//!
//! Takes a substance, the concentrations wanted and the keeper's means (scale, syringes, vessels); gives a stock, where needed
//! weaker solutions made from it, and the standards, each with its standard deviation. Chemistry by molar masses; uncertainty
//! after JCGM 100:2008 (GUM): limits of error as rectangular distributions (4.3.7), relative variances added for products (5.1.6),
//! what comes from one and the same instrument added straight (5.2.2). Shelf lives, cautions and the purity of goods sold to
//! households are common practice. A bought standard of stated concentration is the safer way.

mod error;
mod means;
mod recipe;
mod spread;
mod substance;

pub use error::StandardsError;
pub use means::{Means, Syringe, Vessel, strength};
pub use recipe::{Recipe, Solution, Source, Standard, Wanted, recipe};
pub use substance::{Buffer, Matrix, Substance, buffers};

use super::{Analyte, Quantity, Species, Unit};

/// Coverage factor of expanded uncertainties: U = 2 u holds about 95 % (GUM 6.2, 6.3.3).
pub const COVERAGE: f64 = 2.0;

/// Concentrations for a test nothing is known of: none, and five steps, each twice the last, up to `top`.
pub fn ladder(top: f64) -> Vec<f64> {
    [0.0, 1.0 / 16.0, 1.0 / 8.0, 1.0 / 4.0, 1.0 / 2.0, 1.0].map(|share| share * top).to_vec()
}

/// Where tests of an analyte usually end, in `unit`: common practice. None where there is no usual one.
pub fn usual_top(analyte: &Analyte, unit: &Unit) -> Option<f64> {
    let (value, of) = match analyte {
        Analyte::Ammonia => (4.0, Unit::mg_l(Species::AmmoniaN)),
        Analyte::Nitrite => (4.0, Unit::mg_l(Species::Nitrite)),
        Analyte::Nitrate => (80.0, Unit::mg_l(Species::Nitrate)),
        Analyte::Hardness => (16.0, Unit::german_degree()),
        Analyte::Alkalinity => (12.0, Unit::german_degree()),
        _ => return None,
    };
    Quantity::new(value, of).to(unit).ok().map(|q| q.value)
}

#[cfg(test)]
mod tests;
