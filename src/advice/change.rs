//! What a water change does, and how to come to a target in steps.

use crate::water::{Conditions, Span, StateError, after_change, change_needed, free_ammonia};

/// Total and free ammonia before and after a change, mg/L NH₃-N.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outlook {
    /// Total ammonia after it.
    pub total_after: Span,
    /// Free ammonia before it.
    pub free_before: Span,
    /// Free ammonia after it.
    pub free_after: Span,
}

impl Outlook {
    /// By how much free ammonia is multiplied, from best to best or middle to middle.
    pub fn times(&self) -> f64 {
        self.free_after.middle() / self.free_before.middle()
    }

    /// Whether the change may free ammonia into danger: more than before, and above `line`.
    pub fn hurts(&self, line: f64) -> bool {
        self.free_after.high > self.free_before.high && self.free_after.high >= line
    }
}

/// What changing `share` of the water does: `total` and `tap` are total ammonia (mg/L NH₃-N) of tank and new water, `before` and
/// `after` the conditions in the tank before and after. The pH after a change is not the mean of both waters, for it hangs on
/// their buffers: give that of the new water, the careful reading.
pub fn outlook(
    total: &Span,
    tap: f64,
    share: f64,
    before: &Conditions,
    after: &Conditions,
) -> Result<Outlook, StateError> {
    let one = |x: f64| if x.is_infinite() { Ok(x) } else { after_change(x, tap, share) };
    let total_after = Span { low: one(total.low)?, best: total.best.map(one).transpose()?, high: one(total.high)? };
    Ok(Outlook {
        total_after,
        free_before: free_ammonia(total, before)?,
        free_after: free_ammonia(&total_after, after)?,
    })
}

/// At most this share at once.
const MOST_AT_ONCE: f64 = 0.5;

/// Shares to change, one after another, to come from `now` down to `target` with new water of `tap`; empty where it is reached.
/// Refused where the new water has as much as the target.
pub fn towards(now: f64, tap: f64, target: f64) -> Result<Vec<f64>, StateError> {
    let (mut level, mut out) = (now, Vec::new());
    // Each step of a half halves the distance, so the loop ends; the bound is for targets a hair above the tap.
    while level > target && out.len() < 12 {
        let share = change_needed(level, tap, target)?.min(MOST_AT_ONCE);
        level = after_change(level, tap, share)?;
        out.push(share);
        if share < MOST_AT_ONCE {
            break;
        }
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_come_to_the_target() {
        assert_eq!(towards(30.0, 0.0, 40.0).unwrap(), Vec::<f64>::new());
        assert_eq!(towards(40.0, 0.0, 30.0).unwrap(), [0.25]);
        // 60 to 20 with 10 in the tap needs 80 %: a half, then 60 % would be left, so a half again, and a fifth.
        let steps = towards(60.0, 10.0, 20.0).unwrap();
        let end = steps.iter().fold(60.0, |c, f| after_change(c, 10.0, *f).unwrap());
        assert!(steps.len() == 3 && steps.iter().all(|f| *f <= 0.5) && (end - 20.0).abs() < 1e-9, "{steps:?}");
        assert_eq!(towards(80.0, 40.0, 30.0).unwrap_err().code(), "change-tap-above-target");
    }
}
