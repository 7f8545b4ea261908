//! How well a predicted concentration agrees with what a test showed.

use crate::advice::balance::as_n;
use crate::advice::book::{Measured, Shown};

/// What a test of ammonia or nitrite showed, in mg/L N.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Seen {
    form: Form,
    weight: f64,
    /// A difference that means nothing, of this kind.
    floor: f64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Form {
    Value { best: f64, deviation: f64 },
    Between { low: f64, high: f64 },
    Below(f64),
    Above(f64),
}

/// By how much the equations miss a real tank, as a share of the concentration: filters have films, dead corners, warm and
/// cold days. Not the test's error, which comes with the reading.
const DISCREPANCY: f64 = 0.15;
/// The least difference that counts, in first standards.
const LEAST: f64 = 0.3;
/// Days over which the equations miss a tank by the same: tests closer together count as part of one.
const TOGETHER: f64 = 2.0;

impl Seen {
    /// `since` is days since the test before of the same kind.
    pub(super) fn of(r: &Measured, since: f64) -> Self {
        let n = as_n(r.kind);
        let (low, high) = (r.span.low * n, r.span.high * n);
        let form = match (r.shown, r.span.best) {
            (Shown::None, _) | (Shown::Below, _) => Form::Below(high),
            (Shown::Above, _) => Form::Above(low),
            // 95 % of a normal density.
            (Shown::Some, Some(best)) if high.is_finite() => {
                Form::Value { best: best * n, deviation: (high - low) / 3.92 }
            }
            (Shown::Some, _) if high.is_finite() => Form::Between { low, high },
            (Shown::Some, _) => Form::Above(low),
        };
        Self { form, weight: (since / TOGETHER).clamp(0.25, 1.0), floor: LEAST * r.first_standard * n }
    }

    /// Logarithm of the likelihood of what was shown, if there is `x`.
    pub(super) fn likelihood(&self, x: f64) -> f64 {
        let wide = (DISCREPANCY * x).hypot(self.floor);
        let ln = match self.form {
            Form::Value { best, deviation } => {
                let s = wide.hypot(deviation);
                // Student's t with four degrees of freedom: a mixed-up vial does not drag the fit along.
                -2.5 * (1.0 + ((best - x) / s).powi(2) / 4.0).ln() - s.ln()
            }
            Form::Between { low, high } => (share((high - x) / wide) - share((low - x) / wide)).max(1e-6).ln(),
            Form::Below(limit) => share((limit - x) / wide).max(1e-6).ln(),
            Form::Above(limit) => share((x - limit) / wide).max(1e-6).ln(),
        };
        self.weight * ln
    }
}

/// Distribution function of Student's t with four degrees of freedom, in closed form.
fn share(t: f64) -> f64 {
    if t.is_infinite() {
        return if t > 0.0 { 1.0 } else { 0.0 };
    }
    let r = 1.0 + t * t / 4.0;
    0.5 + 0.375 * t / r.sqrt() * (1.0 - t * t / (12.0 * r))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advice::book::Kind;
    use crate::water::Span;
    use jiff::Timestamp;

    fn seen(span: Span, shown: Shown) -> Seen {
        Seen::of(&Measured::new("e", Timestamp::UNIX_EPOCH, Kind::Ammonia, span, shown), 3.0)
    }

    #[test]
    fn the_share_is_that_of_students_t() {
        use statrs::distribution::{ContinuousCDF, StudentsT};
        let t4 = StudentsT::new(0.0, 1.0, 4.0).unwrap();
        for t in [-9.0, -2.776, -1.0, 0.0, 0.3, 2.132, 30.0] {
            assert!((share(t) - t4.cdf(t)).abs() < 1e-9, "{t}: {} for {}", share(t), t4.cdf(t));
        }
        assert_eq!((share(f64::INFINITY), share(f64::NEG_INFINITY)), (1.0, 0.0));
    }

    #[test]
    fn a_limit_bears_on_one_side_only() {
        let none = seen(Span::between(0.0, 0.1), Shown::None);
        assert!(none.likelihood(0.0) > -0.15 && none.likelihood(1.0) < -4.0);
        let above = seen(Span::between(4.0, f64::INFINITY), Shown::Above);
        assert!(above.likelihood(20.0) > -0.05 && above.likelihood(1.0) < -5.0);
        assert!((above.likelihood(4.0) - 0.5f64.ln()).abs() < 1e-9);
        let some = seen(Span { low: 1.7, best: Some(2.0), high: 2.3 }, Shown::Some);
        assert!(some.likelihood(2.0) > some.likelihood(1.5) && some.likelihood(1.5) > some.likelihood(1.0));
        // Nine tenths away it costs no more than so much: a mixed-up vial.
        assert!(some.likelihood(2.0) - some.likelihood(0.2) < 12.0);
    }
}
