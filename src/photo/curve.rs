//! Curves of colour profiles (ICC.1 curveType and parametricCurveType), evaluated in f64.
//!
//! moxcms parses them; its own evaluator takes a shortcut for powers that breaks down at zero.

use moxcms::{ParametricCurve, ToneReprCurve};

/// A curve over 0 to 1.
#[derive(Debug)]
pub(super) enum Curve {
    Straight,
    Power(f64),
    /// Values at even steps, straight between them.
    Table(Vec<f64>),
    Parametric(ParametricCurve),
}

impl Curve {
    /// A curve as a profile has it.
    pub(super) fn new(curve: &ToneReprCurve) -> Result<Self, String> {
        match curve {
            ToneReprCurve::Lut(v) => Ok(match v.as_slice() {
                [] => Self::Straight,
                // ICC.1, 10.6: a single entry is a power in 1/256.
                [power] => Self::Power(f64::from(*power) / 256.0),
                _ => Self::table(v.iter().map(|&x| f64::from(x) / 65535.0).collect()),
            }),
            ToneReprCurve::Parametric(p) if p.is_empty() => Err("a curve has no parameters".into()),
            ToneReprCurve::Parametric(p) => {
                ParametricCurve::new(p).map(Self::Parametric).ok_or_else(|| "a curve has the wrong parameters".into())
            }
        }
    }

    /// A table of at least two values; one that is straight becomes [`Curve::Straight`].
    pub(super) fn table(values: Vec<f64>) -> Self {
        let last = (values.len().max(2) - 1) as f64;
        let straight = values.iter().enumerate().all(|(i, v)| (v - i as f64 / last).abs() < 1e-5);
        if straight { Self::Straight } else { Self::Table(values) }
    }

    /// The value at `v`.
    pub(super) fn at(&self, v: f64) -> f64 {
        match self {
            Self::Straight => v,
            Self::Power(p) => v.max(0.0).powf(*p),
            Self::Table(t) => {
                let place = v.clamp(0.0, 1.0) * (t.len() - 1) as f64;
                let low = (place as usize).min(t.len() - 2);
                t[low] + (place - low as f64) * (t[low + 1] - t[low])
            }
            Self::Parametric(c) => {
                let [g, a, b, cc, d, e, f] = [c.g, c.a, c.b, c.c, c.d, c.e, c.f].map(f64::from);
                if v < d { cc * v + f } else { (a * v + b).max(0.0).powf(g) + e }
            }
        }
    }

    pub(super) fn is_straight(&self) -> bool {
        matches!(self, Self::Straight)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(curve: ToneReprCurve, v: f64) -> f64 {
        Curve::new(&curve).unwrap().at(v)
    }

    #[test]
    fn every_form_at_its_ends_and_between() {
        assert_eq!(at(ToneReprCurve::Lut(vec![]), 0.3), 0.3);
        assert_eq!(at(ToneReprCurve::Lut(vec![461]), 0.0), 0.0);
        // 461/256 = 1.80078125.
        assert!((at(ToneReprCurve::Lut(vec![461]), 0.5) - 0.287_0).abs() < 5e-5);
        assert!((at(ToneReprCurve::Lut(vec![0, 0, 65535]), 0.75) - 0.5).abs() < 1e-12);
        let srgb = || ToneReprCurve::Parametric(vec![2.4, 1.0 / 1.055, 0.055 / 1.055, 1.0 / 12.92, 0.04045]);
        assert!((at(srgb(), 119.0 / 255.0) - 0.184_474_995).abs() < 1e-7);
        assert!((at(srgb(), 10.0 / 255.0) - 0.003_035_270).abs() < 1e-8);
        assert!((at(ToneReprCurve::Parametric(vec![2.0, 0.5, 0.5, 0.1]), 0.0) - 0.35).abs() < 1e-7);
        assert!(Curve::new(&ToneReprCurve::Parametric(vec![])).is_err());
        assert!(Curve::table((0..256).map(|i| f64::from(i) / 255.0).collect()).is_straight());
    }
}
