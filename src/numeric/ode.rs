//! Ordinary differential equations by an embedded Runge–Kutta pair with its own step.
//!
//! Dormand & Prince, J. Comput. Appl. Math. 6:19 (1980): fifth order, error from the embedded fourth order. The step follows the
//! error alone, so a solution is the same on every machine with the same arithmetic.

/// How exact, and for how long to try.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Error of a step, as a share of the value.
    pub relative: f64,
    /// Error of a step that does no harm whatever the value.
    pub absolute: f64,
    /// Steps, taken or rejected, after which it gives up.
    pub steps: usize,
}

const A: [[f64; 6]; 6] = [
    [1.0 / 5.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [3.0 / 40.0, 9.0 / 40.0, 0.0, 0.0, 0.0, 0.0],
    [44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0, 0.0, 0.0, 0.0],
    [19372.0 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0, 0.0, 0.0],
    [9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0, 0.0],
    [35.0 / 384.0, 0.0, 500.0 / 1113.0, 125.0 / 192.0, -2187.0 / 6784.0, 11.0 / 84.0],
];
/// Fifth minus fourth order.
const E: [f64; 7] =
    [71.0 / 57600.0, 0.0, -71.0 / 16695.0, 71.0 / 1920.0, -17253.0 / 339200.0, 22.0 / 525.0, -1.0 / 40.0];

/// The state after `span`, of a system whose rates depend on the state alone. `step` is the first step to try, and the next one
/// afterwards. `None` where it does not get there: a value that is not finite, or more steps than allowed.
pub fn advance<const N: usize>(
    rates: impl Fn(&[f64; N]) -> [f64; N],
    from: [f64; N],
    span: f64,
    step: &mut f64,
    accuracy: Accuracy,
) -> Option<[f64; N]> {
    let (mut y, mut left) = (from, span);
    if !(left.is_finite() && *step > 0.0) {
        return None;
    }
    let mut k = [[0.0; N]; 7];
    k[0] = rates(&y);
    for _ in 0..accuracy.steps {
        if left <= 0.0 {
            return Some(y);
        }
        let h = step.min(left);
        for s in 0..6 {
            let at = std::array::from_fn(|i| y[i] + h * (0..=s).map(|j| A[s][j] * k[j][i]).sum::<f64>());
            k[s + 1] = rates(&at);
        }
        let next: [f64; N] = std::array::from_fn(|i| y[i] + h * (0..6).map(|j| A[5][j] * k[j][i]).sum::<f64>());
        let off = (0..N).map(|i| {
            let error = h * (0..7).map(|j| E[j] * k[j][i]).sum::<f64>();
            error.abs() / (accuracy.absolute + accuracy.relative * y[i].abs().max(next[i].abs()))
        });
        let off = off.fold(0.0, |a: f64, b| if b.is_nan() { f64::INFINITY } else { a.max(b) });
        // The usual safety of 0.9, and at most five times more or less at once.
        let factor = if off > 0.0 { (0.9 * off.powf(-0.2)).clamp(0.2, 5.0) } else { 5.0 };
        if off <= 1.0 {
            (y, left) = (next, left - h);
            k[0] = k[6];
            // A last step cut short says nothing about the length of the next.
            *step = if h < *step { step.max(h * factor) } else { h * factor };
        } else {
            *step = h * factor;
        }
    }
    (left <= 0.0).then_some(y)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FINE: Accuracy = Accuracy { relative: 1e-9, absolute: 1e-12, steps: 100_000 };

    /// Lambert's W of x ≥ 0 by Newton's method, from its definition W·e^W = x.
    fn lambert(x: f64) -> f64 {
        let mut w = x.ln_1p();
        for _ in 0..50 {
            w -= (w * w.exp() - x) / (w.exp() * (1.0 + w));
        }
        w
    }

    /// S(t) = K·W(S₀/K·exp((S₀ − V·t)/K)): Schnell & Mendoza, J. Theor. Biol. 187:207 (1997).
    #[test]
    fn michaelis_menten_in_closed_form() {
        let (s0, v, k) = (2.0, 0.7, 0.5);
        for t in [0.5, 1.0, 2.0, 3.0, 5.0, 8.0] {
            let [s] = advance(|[s]: &[f64; 1]| [-v * s / (k + s)], [s0], t, &mut 0.1, FINE).unwrap();
            let exact = k * lambert(s0 / k * ((s0 - v * t) / k).exp());
            assert!((s / exact - 1.0).abs() < 1e-7, "{t}: {s} for {exact}");
        }
    }

    #[test]
    fn logistic_growth_in_closed_form() {
        let (y0, r, c) = (1e-4, 0.8, 3.0);
        for t in [1.0, 5.0, 12.0, 20.0, 40.0] {
            let [y] = advance(|[y]: &[f64; 1]| [r * y * (1.0 - y / c)], [y0], t, &mut 0.1, FINE).unwrap();
            let exact = c / (1.0 + (c / y0 - 1.0) * (-r * t).exp());
            assert!((y / exact - 1.0).abs() < 1e-7, "{t}: {y} for {exact}");
        }
    }

    /// Errors fall with the accuracy asked for, and a circle closes.
    #[test]
    fn a_circle_closes_as_well_as_asked() {
        let off = |relative: f64| {
            let accuracy = Accuracy { relative, absolute: relative, steps: 100_000 };
            let [x, y] =
                advance(|[x, y]: &[f64; 2]| [-y, *x], [1.0, 0.0], std::f64::consts::TAU, &mut 0.1, accuracy).unwrap();
            (x - 1.0).hypot(y)
        };
        assert!(off(1e-4) < 1e-3 && off(1e-9) < 1e-8, "{} {}", off(1e-4), off(1e-9));
        assert!(off(1e-9) < off(1e-6) / 20.0 && off(1e-6) < off(1e-3) / 20.0);
    }

    #[test]
    fn what_has_no_solution_ends() {
        // y' = y² from 1 runs off at t = 1.
        assert_eq!(advance(|[y]: &[f64; 1]| [y * y], [1.0], 2.0, &mut 0.1, FINE), None);
        assert_eq!(advance(|_: &[f64; 1]| [f64::NAN], [1.0], 1.0, &mut 0.1, FINE), None);
        assert_eq!(advance(|_: &[f64; 1]| [0.0], [1.0], f64::INFINITY, &mut 0.1, FINE), None);
        assert_eq!(advance(|_: &[f64; 1]| [1.0], [1.0], 0.0, &mut 0.1, FINE), Some([1.0]));
    }
}
