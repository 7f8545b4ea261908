//! Criteria of the US EPA for ammonia in wild fresh water, 2013: to check arithmetic by, and to show how a rule for rivers looks.
//!
//! EPA-822-R-13-001. They are averages over time that guard young mussels and salmon: no target for a tank.

use super::state::{Celsius, Ph};

/// Which criterion.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Criterion {
    /// One hour's average where trout and salmon live.
    AcuteSalmonid,
    /// One hour's average elsewhere.
    Acute,
    /// Thirty days' average.
    Chronic,
}

/// The criterion as total ammonia, mg/L NH₃-N.
///
/// ```
/// use tintline::water::{Celsius, Criterion, Ph, epa2013};
/// let chronic = epa2013(Criterion::Chronic, Ph::new(7.0)?, Celsius::new(20.0)?);
/// assert!((chronic - 1.887).abs() < 0.002); // printed 1.9
/// # Ok::<(), tintline::water::StateError>(())
/// ```
pub fn epa2013(criterion: Criterion, ph: Ph, t: Celsius) -> f64 {
    let (ph, t) = (ph.value(), t.value());
    let s = |a: f64, b: f64, at: f64| a / (1.0 + 10f64.powf(at - ph)) + b / (1.0 + 10f64.powf(ph - at));
    let warm = 23.12 * 10f64.powf(0.036 * (20.0 - t));
    let acute = 0.7249 * s(0.0114, 1.6181, 7.204);
    match criterion {
        Criterion::AcuteSalmonid => s(0.275, 39.0, 7.204).min(acute * warm),
        Criterion::Acute => acute * warm.min(51.93),
        Criterion::Chronic => 0.8876 * s(0.0278, 1.1994, 7.688) * 2.126 * 10f64.powf(0.028 * (20.0 - t.max(7.0))),
    }
}
