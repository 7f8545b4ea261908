//! The pH of two fresh waters mixed, from pH and alkalinity of both: carbonic acid and its two salts, nothing else.
//!
//! Two views, both needed: the mixture as poured, when carbon dioxide has mixed too ([`ph_as_mixed`]), and hours later, when the tank
//! holds as much carbon dioxide as before ([`ph_settled`]). Strong aeration can drive it out and the pH above both. Not for sea water,
//! where borate and salt change the constants.

use super::species::Degree;
use super::state::{Celsius, Ph, StateError, positive, within};

/// pK₁ and pK₂ of carbonic acid in fresh water at 0 to 50 °C: Plummer & Busenberg 1982, Geochim. Cosmochim. Acta 46:1011 (equations
/// from memory; checked by their values at 25 °C, 6.352 and 10.329).
pub fn carbonic_pk(t: Celsius) -> (f64, f64) {
    let t = t.kelvin();
    let log = |a: f64, b: f64, c: f64, d: f64, e: f64| a + b * t + c / t + d * t.log10() + e / (t * t);
    (
        -log(-356.3094, -0.060_919_64, 21_834.37, 126.8339, -1_684_915.0),
        -log(-107.8871, -0.032_528_49, 5_151.79, 38.925_61, -563_713.9),
    )
}

/// A fresh water: its pH and its alkalinity in German degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Buffered {
    /// pH.
    pub ph: Ph,
    /// German degrees, above zero.
    pub degrees: f64,
}

/// Equivalents a litre, per German degree.
fn equivalents(degrees: f64) -> Result<f64, StateError> {
    Ok(positive("an alkalinity", degrees)? * 2.0 * Degree::German.caco3_mmol() / 1000.0)
}

/// What a mole of dissolved inorganic carbon brings of alkalinity at this pH, and what hydroxide and acid bring besides.
fn shares(ph: f64, t: Celsius) -> (f64, f64) {
    let (pk1, pk2) = carbonic_pk(t);
    let (a, b) = (10f64.powf(ph - pk1), 10f64.powf(2.0 * ph - pk1 - pk2));
    // pK of water 14.0 at 25 °C, a few hundredths off elsewhere: hydroxide is nothing beside bicarbonate below pH 10.
    ((a + 2.0 * b) / (1.0 + a + b), 10f64.powf(ph - 14.0) - 10f64.powf(-ph))
}

/// pH of the mixture as poured: `fraction` of the water replaced by `new`. Alkalinity and dissolved inorganic carbon mix in
/// proportion (Stumm & Morgan, Aquatic Chemistry).
///
/// ```
/// use tintline::water::{Buffered, Celsius, Ph, ph_as_mixed};
/// let water = Buffered { ph: Ph::new(7.4)?, degrees: 5.0 };
/// assert!((ph_as_mixed(water, water, 0.3, Celsius::new(25.0)?)? - 7.4).abs() < 1e-6);
/// # Ok::<(), tintline::water::StateError>(())
/// ```
pub fn ph_as_mixed(old: Buffered, new: Buffered, fraction: f64, t: Celsius) -> Result<f64, StateError> {
    let f = within("a share of water of", "", fraction, 0.0, 1.0)?;
    let of = |w: Buffered| -> Result<(f64, f64), StateError> {
        let alkalinity = equivalents(w.degrees)?;
        let (share, rest) = shares(w.ph.value(), t);
        Ok((alkalinity, (alkalinity - rest) / share))
    };
    let ((a0, c0), (a1, c1)) = (of(old)?, of(new)?);
    let (alkalinity, carbon) = (a0 * (1.0 - f) + a1 * f, c0 * (1.0 - f) + c1 * f);
    // Alkalinity rises with the pH at a given carbon, so halving finds it.
    let (mut low, mut high) = (2.0, 13.0);
    for _ in 0..60 {
        let ph = f64::midpoint(low, high);
        let (share, rest) = shares(ph, t);
        if carbon * share + rest < alkalinity { low = ph } else { high = ph }
    }
    Ok(f64::midpoint(low, high))
}

/// pH hours later, when the tank holds as much carbon dioxide as before the change: it moves with the logarithm of the alkalinity.
///
/// ```
/// use tintline::water::{Buffered, Ph, ph_settled};
/// let (old, new) = (Buffered { ph: Ph::new(6.4)?, degrees: 1.0 }, Buffered { ph: Ph::new(7.8)?, degrees: 8.0 });
/// assert!((ph_settled(old, new, 0.5)? - (6.4 + 4.5f64.log10())).abs() < 1e-9);
/// # Ok::<(), tintline::water::StateError>(())
/// ```
pub fn ph_settled(old: Buffered, new: Buffered, fraction: f64) -> Result<f64, StateError> {
    let f = within("a share of water of", "", fraction, 0.0, 1.0)?;
    let mixed = positive("an alkalinity", old.degrees)? * (1.0 - f) + positive("an alkalinity", new.degrees)? * f;
    Ok(old.ph.value() + (mixed / old.degrees).log10())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn constants_are_those_of_the_paper_at_25_degrees() {
        let (pk1, pk2) = carbonic_pk(Celsius::new(25.0).unwrap());
        assert!((pk1 - 6.352).abs() < 5e-4 && (pk2 - 10.329).abs() < 5e-4, "{pk1} {pk2}");
    }

    #[test]
    fn a_mixture_keeps_alkalinity_and_carbon() {
        let t = Celsius::new(25.0).unwrap();
        let old = Buffered { ph: Ph::new(6.4).unwrap(), degrees: 1.0 };
        let new = Buffered { ph: Ph::new(7.8).unwrap(), degrees: 8.0 };
        let ph = ph_as_mixed(old, new, 0.5, t).unwrap();
        // By hand with bicarbonate alone: CO2 = alkalinity · 10^(pK − pH), which mixes.
        let co2 = 0.5 * 10f64.powf(6.352 - 6.4) + 0.5 * 8.0 * 10f64.powf(6.352 - 7.8);
        let by_hand = 6.352 + (4.5 / co2).log10();
        assert!((ph - by_hand).abs() < 0.02, "{ph} {by_hand}");
        assert!((ph_as_mixed(old, new, 0.0, t).unwrap() - 6.4).abs() < 1e-6);
        assert!((ph_as_mixed(old, new, 1.0, t).unwrap() - 7.8).abs() < 1e-6);
    }

    #[test]
    fn water_without_alkalinity_has_no_buffer_to_count_with() {
        let none = Buffered { ph: Ph::new(7.0).unwrap(), degrees: 0.0 };
        let t = Celsius::new(25.0).unwrap();
        assert_eq!(ph_as_mixed(none, none, 0.5, t).unwrap_err().code(), "water-not-positive");
        assert_eq!(ph_settled(none, none, 0.5).unwrap_err().code(), "water-not-positive");
    }
}
