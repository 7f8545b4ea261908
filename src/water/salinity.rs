//! Salinity from a hydrometer or a conductivity meter, and back, each at its temperature.
//!
//! Density: the one-atmosphere equation of state of sea water, UNESCO 1981 (EOS-80; Fofonoff & Millard 1983, UNESCO Technical Papers
//! in Marine Science 44), 0–42 g/kg, 0–40 °C. Conductivity: the Practical Salinity Scale 1978, same paper, 2–42. Coefficients from
//! memory, tested against the check values of that paper. Practical salinity is taken as g/kg: the difference, half a per cent,
//! is below what either instrument shows.

use super::state::{Celsius, Salinity, StateError, within};

/// Density of water of this salinity, kg/m³.
///
/// ```
/// use tintline::water::{Celsius, Salinity, density};
/// let rho = density(Salinity::new(35.0)?, Celsius::new(25.0)?);
/// assert!((rho - 1023.34306).abs() < 1e-4); // UNESCO 44, check value
/// # Ok::<(), tintline::water::StateError>(())
/// ```
pub fn density(s: Salinity, t: Celsius) -> f64 {
    let (s, t) = (s.value(), t.value());
    let poly = |c: &[f64]| c.iter().rev().fold(0.0, |sum, c| sum * t + c);
    let pure = poly(&[999.842_594, 6.793_952e-2, -9.095_290e-3, 1.001_685e-4, -1.120_083e-6, 6.536_332e-9]);
    let a = poly(&[8.244_93e-1, -4.089_9e-3, 7.643_8e-5, -8.246_7e-7, 5.387_5e-9]);
    let b = poly(&[-5.724_66e-3, 1.022_7e-4, -1.654_6e-6]);
    pure + a * s + b * s.powf(1.5) + 4.831_4e-4 * s * s
}

/// Specific gravity that a hydrometer shows in this water: its density over that of pure water at the hydrometer's own
/// temperature, which is printed on it (25 °C on many, 20 °C or 15.6 °C on others). The glass's own expansion is left out.
pub fn specific_gravity(s: Salinity, t: Celsius, printed: Celsius) -> f64 {
    density(s, t) / density(Salinity::FRESH, printed)
}

/// Salinity from what a hydrometer shows, the water's temperature, and the temperature printed on it.
///
/// ```
/// use tintline::water::{Celsius, salinity_of_gravity};
/// let t = Celsius::new(25.0)?;
/// assert!((salinity_of_gravity(1.0264, t, t)?.value() - 35.0).abs() < 0.1);
/// # Ok::<(), tintline::water::StateError>(())
/// ```
pub fn salinity_of_gravity(gravity: f64, t: Celsius, printed: Celsius) -> Result<Salinity, StateError> {
    let ends = [Salinity::FRESH, Salinity::new(MOST)?].map(|s| specific_gravity(s, t, printed));
    // Fresh water may show a little less than it should: a hydrometer is read to half a thousandth.
    within("a specific gravity of", "", gravity, ends[0] - 0.0005, ends[1])?;
    solve(0.0, |s| specific_gravity(s, t, printed), gravity)
}

/// Conductivity of this water at its temperature, mS/cm; for salinities from 2 on.
pub fn conductivity(s: Salinity, t: Celsius) -> Result<f64, StateError> {
    within("a salinity of", "g/kg", s.value(), LEAST, MOST)?;
    // The scale is strictly monotone, so bisection finds the one conductivity.
    let (mut low, mut high) = (0.0, 150.0);
    for _ in 0..60 {
        let mid = f64::midpoint(low, high);
        if practical(mid / AT_35_15 / rt35(t), t) < s.value() { low = mid } else { high = mid }
    }
    Ok(f64::midpoint(low, high))
}

/// Salinity from conductivity as it is at the water's own temperature, mS/cm. A meter that turns its reading to 25 °C by
/// itself is asked with 25 °C. Fresh water, below 2 g/kg, is outside the scale: its conductivity depends on which salts it has.
///
/// ```
/// use tintline::water::{Celsius, salinity_of_conductivity};
/// let s = salinity_of_conductivity(53.06, Celsius::new(25.0)?)?;
/// assert!((s.value() - 35.0).abs() < 0.05);
/// # Ok::<(), tintline::water::StateError>(())
/// ```
pub fn salinity_of_conductivity(ms_cm: f64, t: Celsius) -> Result<Salinity, StateError> {
    within("a conductivity of", "mS/cm", ms_cm, 0.1, 120.0)?;
    let s = practical(ms_cm / AT_35_15 / rt35(t), t);
    within("a salinity of", "g/kg", s, LEAST, MOST).and_then(Salinity::new)
}

/// Range of the scale of 1978.
const LEAST: f64 = 2.0;
const MOST: f64 = 42.0;
/// Conductivity at salinity 35 and 15 °C, mS/cm (Culkin & Smith 1980).
const AT_35_15: f64 = 42.914;

/// Conductivity ratio of standard sea water at t to that at 15 °C.
fn rt35(t: Celsius) -> f64 {
    let t = t.value();
    0.676_609_7 + t * (2.005_64e-2 + t * (1.104_259e-4 + t * (-6.969_8e-7 + t * 1.003_1e-9)))
}

fn practical(rt: f64, t: Celsius) -> f64 {
    let r = rt.sqrt();
    let poly = |c: [f64; 6]| c.iter().rev().fold(0.0, |sum, c| sum * r + c);
    let d = t.value() - 15.0;
    poly([0.0080, -0.1692, 25.3851, 14.0941, -7.0261, 2.7081])
        + d / (1.0 + 0.0162 * d) * poly([0.0005, -0.0056, -0.0066, -0.0375, 0.0636, -0.0144])
}

fn solve(low: f64, of: impl Fn(Salinity) -> f64, wanted: f64) -> Result<Salinity, StateError> {
    let (mut low, mut high) = (low, MOST);
    for _ in 0..60 {
        let mid = f64::midpoint(low, high);
        if of(Salinity::new(mid)?) < wanted { low = mid } else { high = mid }
    }
    Salinity::new(f64::midpoint(low, high))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn c(t: f64) -> Celsius {
        Celsius::new(t).unwrap()
    }

    #[test]
    fn density_as_in_unesco_44() {
        for (s, t, rho) in
            [(0.0, 5.0, 999.96675), (35.0, 5.0, 1027.67547), (0.0, 25.0, 997.04796), (35.0, 25.0, 1023.34306)]
        {
            assert!((density(Salinity::new(s).unwrap(), c(t)) - rho).abs() < 1e-5, "{s} {t}");
        }
    }

    /// The check values of UNESCO 44 stand at pressure, so the pressure term is taken out first.
    #[test]
    fn practical_salinity_as_in_unesco_44() {
        for (ratio, t, p, s) in [(1.0, 15.0, 0.0, 35.0), (1.2, 20.0, 2000.0, 37.245628), (0.65, 5.0, 1500.0, 27.995347)]
        {
            let (upper, lower): (f64, f64) = (
                p * (2.070e-5 + p * (-6.370e-10 + p * 3.989e-15)),
                1.0 + t * (3.426e-2 + 4.464e-4 * t) + (4.215e-1 - 3.107e-3 * t) * ratio,
            );
            let rt = ratio / (rt35(c(t)) * (1.0 + upper / lower));
            assert!((practical(rt, c(t)) - s).abs() < 1e-5, "{ratio} {t} {p}: {}", practical(rt, c(t)));
        }
    }

    #[test]
    fn both_ways_agree() {
        for s in [2.0, 10.0, 18.0, 35.0, 41.0] {
            let known = Salinity::new(s).unwrap();
            for t in [18.0, 25.0, 30.0] {
                let gravity = specific_gravity(known, c(t), c(20.0));
                assert!((salinity_of_gravity(gravity, c(t), c(20.0)).unwrap().value() - s).abs() < 1e-9);
                let ms = conductivity(known, c(t)).unwrap();
                assert!((salinity_of_conductivity(ms, c(t)).unwrap().value() - s).abs() < 1e-6);
            }
        }
    }

    #[test]
    fn what_is_no_salinity_is_refused() {
        assert!(salinity_of_gravity(1.35, c(25.0), c(25.0)).is_err());
        assert!(salinity_of_gravity(0.98, c(25.0), c(25.0)).is_err());
        // 500 µS/cm of fresh water is not on the scale of sea water, nor is 53 mistyped as 530.
        assert!(salinity_of_conductivity(0.5, c(25.0)).is_err());
        assert!(salinity_of_conductivity(530.0, c(25.0)).is_err());
    }
}
