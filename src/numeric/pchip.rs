//! A smooth curve through points that neither overshoots nor turns where the points do not: the piecewise cubic
//! Hermite interpolant of Fritsch & Carlson.
//!
//! Data with several coordinates take one instance a coordinate over the same `x`.

/// How the slopes at the knots are found. Both keep the curve monotone between points that are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Slopes {
    /// Weighted harmonic mean of the neighbouring chords: F. N. Fritsch, J. Butland, SIAM J. Sci. Stat. Comput. 5,
    /// 300-304 (1984). What most libraries call PCHIP.
    #[default]
    FritschButland,
    /// Three-point slopes, then cut back to the circle of radius 3: F. N. Fritsch, R. E. Carlson, SIAM J. Numer. Anal.
    /// 17, 238-246 (1980). Follows a parabola exactly where no cutting is needed.
    FritschCarlson,
}

/// The curve. At least two points, `x` strictly ascending.
#[derive(Debug, Clone, PartialEq)]
pub struct Pchip {
    x: Vec<f64>,
    y: Vec<f64>,
    slopes: Vec<f64>,
}

impl Pchip {
    /// The curve through (x, y). `None` unless there are two points or more, as many `y` as `x`, all finite, and `x`
    /// strictly ascending.
    pub fn new(x: &[f64], y: &[f64], slopes: Slopes) -> Option<Self> {
        let finite = x.iter().chain(y).all(|v| v.is_finite());
        if x.len() < 2 || x.len() != y.len() || !finite || x.windows(2).any(|w| w[1] <= w[0]) {
            return None;
        }
        let step: Vec<f64> = x.windows(2).map(|w| w[1] - w[0]).collect();
        let chord: Vec<f64> = y.windows(2).zip(&step).map(|(w, h)| (w[1] - w[0]) / h).collect();
        let slopes = match slopes {
            Slopes::FritschButland => butland(&step, &chord),
            Slopes::FritschCarlson => carlson(&step, &chord),
        };
        Some(Self { x: x.to_vec(), y: y.to_vec(), slopes })
    }

    /// First and last `x`.
    pub fn domain(&self) -> (f64, f64) {
        (self.x[0], self.x[self.x.len() - 1])
    }

    /// The curve at `x`; outside the points it runs on along its end slope.
    pub fn value(&self, x: f64) -> f64 {
        let (first, last) = self.domain();
        let n = self.x.len() - 1;
        if x < first {
            return self.y[0] + (x - first) * self.slopes[0];
        }
        if x > last {
            return self.y[n] + (x - last) * self.slopes[n];
        }
        let i = self.piece(x);
        self.cubic(i, x - self.x[i])
    }

    /// The slope dy/dx at `x`; outside the points the end slope.
    pub fn slope(&self, x: f64) -> f64 {
        let (first, last) = self.domain();
        let x = x.clamp(first, last);
        let i = self.piece(x);
        self.cubic_slope(i, x - self.x[i])
    }

    /// The slope at each knot.
    pub fn knot_slopes(&self) -> &[f64] {
        &self.slopes
    }

    /// The `x` at which the curve takes the value `y`. `None` when `y` lies outside the points, or when the points do
    /// not rise or fall strictly, so that there may be more than one.
    pub fn inverse(&self, y: f64) -> Option<f64> {
        let rising = self.y.windows(2).all(|w| w[1] > w[0]);
        let falling = self.y.windows(2).all(|w| w[1] < w[0]);
        if !(rising || falling) {
            return None;
        }
        let sign = if rising { 1.0 } else { -1.0 };
        let n = self.y.len() - 1;
        if !(sign * self.y[0] <= sign * y && sign * y <= sign * self.y[n]) {
            return None;
        }
        let i = self.y[1..n].partition_point(|v| sign * v <= sign * y);
        let (mut low, mut high) = (0.0, self.x[i + 1] - self.x[i]);
        let mut t = high * (y - self.y[i]) / (self.y[i + 1] - self.y[i]);
        // Newton inside a bracket that each step narrows; halving where Newton would leave it.
        for _ in 0..200 {
            let miss = self.cubic(i, t) - y;
            if sign * miss > 0.0 {
                high = t;
            } else {
                low = t;
            }
            let newton = t - miss / self.cubic_slope(i, t);
            let next = if newton > low && newton < high { newton } else { (low + high) / 2.0 };
            if miss == 0.0 || (next - t).abs() <= f64::EPSILON * self.x[i].abs().max(t) {
                break;
            }
            t = next;
        }
        Some(self.x[i] + t)
    }

    fn piece(&self, x: f64) -> usize {
        self.x[1..self.x.len() - 1].partition_point(|knot| *knot <= x)
    }

    /// Coefficients of piece `i` in powers of the distance from its left knot, from the first power on.
    fn coefficients(&self, i: usize) -> (f64, f64, f64) {
        let h = self.x[i + 1] - self.x[i];
        let chord = (self.y[i + 1] - self.y[i]) / h;
        let (left, right) = (self.slopes[i], self.slopes[i + 1]);
        (left, (3.0 * chord - 2.0 * left - right) / h, (left + right - 2.0 * chord) / (h * h))
    }

    fn cubic(&self, i: usize, t: f64) -> f64 {
        let (one, two, three) = self.coefficients(i);
        self.y[i] + t * (one + t * (two + t * three))
    }

    fn cubic_slope(&self, i: usize, t: f64) -> f64 {
        let (one, two, three) = self.coefficients(i);
        one + t * (2.0 * two + t * 3.0 * three)
    }
}

/// Slope at an end from the nearest two chords, kept from turning or overshooting (Fritsch & Butland's end rule).
fn end(h0: f64, h1: f64, chord0: f64, chord1: f64) -> f64 {
    let three_point = ((2.0 * h0 + h1) * chord0 - h0 * chord1) / (h0 + h1);
    if three_point * chord0 <= 0.0 {
        0.0
    } else if chord0 * chord1 < 0.0 && three_point.abs() > 3.0 * chord0.abs() {
        3.0 * chord0
    } else {
        three_point
    }
}

fn ends(step: &[f64], chord: &[f64], slopes: &mut [f64]) {
    let n = chord.len();
    if n == 1 {
        slopes.fill(chord[0]);
        return;
    }
    slopes[0] = end(step[0], step[1], chord[0], chord[1]);
    slopes[n] = end(step[n - 1], step[n - 2], chord[n - 1], chord[n - 2]);
}

fn butland(step: &[f64], chord: &[f64]) -> Vec<f64> {
    let mut slopes = vec![0.0; chord.len() + 1];
    for i in 1..chord.len() {
        let (before, after) = (chord[i - 1], chord[i]);
        if before * after > 0.0 {
            let (near, far) = (2.0 * step[i] + step[i - 1], step[i] + 2.0 * step[i - 1]);
            slopes[i] = (near + far) / (near / before + far / after);
        }
    }
    ends(step, chord, &mut slopes);
    slopes
}

fn carlson(step: &[f64], chord: &[f64]) -> Vec<f64> {
    let mut slopes = vec![0.0; chord.len() + 1];
    for i in 1..chord.len() {
        let (before, after) = (chord[i - 1], chord[i]);
        if before * after > 0.0 {
            slopes[i] = (step[i] * before + step[i - 1] * after) / (step[i - 1] + step[i]);
        }
    }
    ends(step, chord, &mut slopes);
    for (i, &c) in chord.iter().enumerate() {
        // Monotone inside the circle α² + β² ≤ 9 of the slopes at both ends in units of the chord.
        let radius = if c == 0.0 { f64::INFINITY } else { (slopes[i] / c).hypot(slopes[i + 1] / c) };
        if c == 0.0 {
            (slopes[i], slopes[i + 1]) = (0.0, 0.0);
        } else if radius > 3.0 {
            slopes[i] *= 3.0 / radius;
            slopes[i + 1] *= 3.0 / radius;
        }
    }
    slopes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn refuses_what_is_no_curve() {
        for (x, y) in [
            (&[1.0][..], &[1.0][..]),
            (&[0.0, 0.0], &[1.0, 2.0]),
            (&[0.0, 1.0], &[1.0]),
            (&[0.0, f64::NAN], &[0.0, 1.0]),
        ] {
            assert_eq!(Pchip::new(x, y, Slopes::default()), None, "{x:?} {y:?}");
        }
    }

    #[test]
    fn two_points_are_a_line_and_run_on() {
        for slopes in [Slopes::FritschButland, Slopes::FritschCarlson] {
            let line = Pchip::new(&[1.0, 3.0], &[10.0, 4.0], slopes).unwrap();
            for x in [-2.0, 1.0, 1.7, 3.0, 8.0] {
                assert!((line.value(x) - (13.0 - 3.0 * x)).abs() < 1e-13, "{x}");
                assert_eq!(line.slope(x), -3.0);
            }
            assert_eq!(line.inverse(7.0), Some(2.0));
            assert_eq!(line.inverse(11.0), None);
        }
    }

    #[test]
    fn three_point_slopes_follow_a_parabola() {
        let x = [0.0, 1.0, 2.5, 4.0, 7.0];
        let y = x.map(|x| x * x + 2.0 * x);
        let curve = Pchip::new(&x, &y, Slopes::FritschCarlson).unwrap();
        for x in [0.3, 1.2, 2.5, 3.9, 6.0] {
            assert!((curve.value(x) - (x * x + 2.0 * x)).abs() < 1e-12, "{x}");
            assert!((curve.slope(x) - (2.0 * x + 2.0)).abs() < 1e-12, "{x}");
        }
    }

    #[test]
    fn monotone_between_points_that_are_and_inverse_agrees() {
        let x = [7.99, 8.09, 8.19, 8.7, 9.2, 10.0, 12.0, 15.0, 20.0];
        let y = [0.0, 2.76429e-5, 4.37498e-2, 0.169183, 0.469428, 0.943740, 0.998636, 0.999919, 0.999994];
        let down = y.map(|v| -v);
        for slopes in [Slopes::FritschButland, Slopes::FritschCarlson] {
            let (up, down) = (Pchip::new(&x, &y, slopes).unwrap(), Pchip::new(&x, &down, slopes).unwrap());
            let mut before = -1.0;
            for k in 0..=12010 {
                let at = 7.99 + k as f64 * 0.001;
                let value = up.value(at);
                assert!(value >= before - 1e-15, "{slopes:?} turns at {at}");
                assert_eq!(down.value(at), -value);
                before = value;
            }
            for k in 0..=1000 {
                let wanted = 0.999994 * k as f64 / 1000.0;
                let at = up.inverse(wanted).unwrap();
                assert!((up.value(at) - wanted).abs() < 1e-14, "{slopes:?} {wanted} at {at}");
                assert_eq!(down.inverse(-wanted), Some(at));
            }
        }
    }

    #[test]
    fn a_turn_among_the_points_has_no_inverse() {
        let curve = Pchip::new(&[0.0, 1.0, 2.0], &[0.0, 5.0, 1.0], Slopes::default()).unwrap();
        assert_eq!(curve.inverse(3.0), None);
        assert_eq!(curve.slope(1.0), 0.0);
    }
}
