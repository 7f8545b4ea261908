//! Water changes: mass balance of anything dissolved. Values in one unit throughout; `fraction` is of the real water, 0 to 1.

use super::state::{StateError, positive};
use super::units::Species;

/// `fraction` of the water, as a share that can be changed.
fn share(fraction: f64) -> Result<f64, StateError> {
    if (0.0..=1.0).contains(&fraction) {
        Ok(fraction)
    } else {
        Err(StateError::NotAShare { percent: fraction * 100.0 })
    }
}

/// After one change: C₀(1 − f) + C_new·f.
///
/// ```
/// assert_eq!(tintline::water::after_change(40.0, 5.0, 0.25)?, 31.25);
/// # Ok::<(), tintline::water::StateError>(())
/// ```
pub fn after_change(before: f64, new: f64, fraction: f64) -> Result<f64, StateError> {
    let f = share(fraction)?;
    Ok(before * (1.0 - f) + new * f)
}

/// After `times` such changes in a row: C_new + (C₀ − C_new)(1 − f)ⁿ.
pub fn after_changes(before: f64, new: f64, fraction: f64, times: u32) -> Result<f64, StateError> {
    Ok(new + (before - new) * (1.0 - share(fraction)?).powf(f64::from(times)))
}

/// After a slow exchange of `volumes` tank volumes: C_new + (C₀ − C_new)·e^(−volumes).
pub fn after_drip(before: f64, new: f64, volumes: f64) -> Result<f64, StateError> {
    Ok(new + (before - new) * (-positive("tank volumes", volumes)?).exp())
}

/// The share to change at once to come from `before` down to `target`: (C₀ − target)/(C₀ − C_new). Zero where it is reached
/// already; refused where the new water has as much as the target.
pub fn change_needed(before: f64, new: f64, target: f64) -> Result<f64, StateError> {
    if before <= target {
        return Ok(0.0);
    }
    if new >= target {
        return Err(StateError::TapAboveTarget { from: before, target, tap: new });
    }
    Ok((before - target) / (before - new))
}

/// What a routine settles at, just before and just after each change, when the tank rises by `rise` in between.
pub fn steady_state(rise: f64, new: f64, fraction: f64) -> Result<(f64, f64), StateError> {
    let f = positive("a share of water", share(fraction)?)?;
    Ok((new + rise / f, new + rise * (1.0 - f) / f))
}

/// Molar mass of Cl₂, g/mol, in which chloramine is stated.
const CL2: f64 = 70.906;

/// mg/L NH₃-N in new water whose `total_chlorine` (mg/L as Cl₂) is all monochloramine; a conditioner that breaks chloramine leaves
/// this ammonia in the tank.
///
/// ```
/// use tintline::water::{after_change, chloramine_ammonia};
/// assert!((after_change(0.0, chloramine_ammonia(3.0), 0.5)? - 0.2963).abs() < 1e-4);
/// # Ok::<(), tintline::water::StateError>(())
/// ```
pub fn chloramine_ammonia(total_chlorine: f64) -> f64 {
    total_chlorine * Species::AmmoniaN.molar_mass() / CL2
}
