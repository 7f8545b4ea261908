//! Free (un-ionised) ammonia from total ammonia, pH, temperature and salinity.

use super::state::{Celsius, Conditions, Ph, Salinity, Span, StateError};

/// The pH at which half of the ammonia is free.
///
/// pKa = 0.09018 + 2729.92/T + 0.003071·S, T in kelvin, S in g/kg. First two terms: Emerson, Russo, Lund & Thurston 1975,
/// J. Fish. Res. Board Can. 32:2379, fresh water, 0–50 °C. Salt term: Bell, Johnson, Jickells & Liss 2007, Environ. Chem. 4:183.
/// Together they make no jump between fresh and salt water and lie within 1.5 % of the printed table for sea water of Bower &
/// Bidwell 1978, J. Fish. Res. Board Can. 35:1012 (both seen in reprints).
///
/// Traps: 2727.92 in some copies is a misprint (1.5 % too much). The temperature equation of Khoo 1977 for sea water is
/// misprinted, up to five times too much. Without the salt term sea water reads 23 to 28 % too high. Home pH tests are matched
/// to buffers of the NBS kind, for which this holds; a pH on the total scale would need another equation.
pub fn ammonia_pka(t: Celsius, s: Salinity) -> f64 {
    0.09018 + 2729.92 / t.kelvin() + 0.003071 * s.value()
}

/// Share of total ammonia that is free NH₃, 0 to 1. See [`ammonia_pka`] for the sources.
///
/// ```
/// use tintline::water::{Celsius, Ph, Salinity, free_fraction};
/// let f = free_fraction(Ph::new(7.0)?, Celsius::new(20.0)?, Salinity::FRESH);
/// assert!((f - 0.0039).abs() <= 0.00006); // printed table, four decimals
/// # Ok::<(), tintline::water::StateError>(())
/// ```
pub fn free_fraction(ph: Ph, t: Celsius, s: Salinity) -> f64 {
    share(ph.value(), t, s)
}

/// `ph` may be infinite: then all or nothing is free.
fn share(ph: f64, t: Celsius, s: Salinity) -> f64 {
    1.0 / (1.0 + 10f64.powf(ammonia_pka(t, s) - ph))
}

/// Free ammonia (mg/L NH₃-N) that `total` (mg/L NH₃-N) holds under these conditions: a range from ranges.
///
/// An end of the pH scale ('above 7.6') enters as a bound: with no upper bound of the pH, all of the ammonia may be free. The
/// best guess is there only where all four have one.
pub fn free_ammonia(total: &Span, conditions: &Conditions) -> Result<Span, StateError> {
    let (ph, t, s) = (conditions.ph.span(), conditions.temperature.span(), conditions.salinity.span());
    let at = |ph: f64, t: f64, s: f64| -> Result<f64, StateError> {
        let ph = if ph.is_infinite() { ph } else { Ph::new(ph)?.value() };
        Ok(share(ph, Celsius::new(t)?, Salinity::new(s)?))
    };
    let low = total.low * at(ph.low, t.low, s.high)?;
    // An amount without an upper bound stays without one, whatever the share.
    let high = if total.is_open() { f64::INFINITY } else { total.high * at(ph.high, t.high, s.low)? };
    let best = match (total.best, ph.best, t.best, s.best) {
        (Some(n), Some(ph), Some(t), Some(s)) => Some(n * at(ph, t, s)?),
        _ => None,
    };
    Ok(Span { low, best, high })
}

/// Total ammonia at which free ammonia reaches `free`, on the same basis.
pub fn total_at(free: f64, ph: Ph, t: Celsius, s: Salinity) -> f64 {
    free / free_fraction(ph, t, s)
}

/// Free ammonia (mg/L NH₃) as the inhibition of nitrifiers is stated in it: Anthonisen, Loehr, Prakasam & Srinath 1976,
/// J. Water Pollut. Control Fed. 48:835 (equation from memory). `total_n` in mg/L NH₃-N. A little off [`free_fraction`]; use it
/// with the limits of that paper only: 0.1–1.0 slows nitrite oxidisers, 10–150 ammonia oxidisers.
pub fn free_ammonia_anthonisen(total_n: f64, ph: Ph, t: Celsius) -> f64 {
    let p = 10f64.powf(ph.value());
    17.0 / 14.0 * total_n * p / ((6344.0 / (273.0 + t.value())).exp() + p)
}

/// Free nitrous acid (mg/L HNO₂) after the same paper, `nitrite_n` in mg/L NO₂-N; 0.22–2.8 begins to slow nitrifiers.
pub fn free_nitrous_acid(nitrite_n: f64, ph: Ph, t: Celsius) -> f64 {
    46.0 / 14.0 * nitrite_n / ((-2300.0 / (273.0 + t.value())).exp() * 10f64.powf(ph.value()))
}
