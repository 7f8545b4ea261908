//! The phone's tone curve, straightened by the greys.

use super::solve::{mad_scale, ridge, tukey};
use crate::colour::encode_srgb;

/// ln of straightened light as a function of the camera's linear light, one channel:
/// T(u) = k₀·ln u + k₁·e + k₂·e², e the sRGB code of u. A pure gain has k₀ = 1; an S-shaped curve needs the code terms;
/// towards black it tends to a power law, so dark colours are not thrown about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tone([f64; 3]);

fn basis(u: f64) -> [f64; 3] {
    let u = u.max(2e-4);
    let e = encode_srgb(u);
    [u.ln(), e, e * e]
}

/// A grey as seen, the paper at its place as seen, and its light relative to paper on the card.
#[derive(Debug, Clone, Copy)]
pub struct Grey {
    pub seen: f64,
    pub paper: f64,
    pub truth: f64,
    /// How far its light is trusted, 0 to 1.
    pub weight: f64,
}

impl Tone {
    /// The camera's light is straight already.
    pub const STRAIGHT: Tone = Tone([1.0, 0.0, 0.0]);

    /// Fits T so that T(seen) − T(paper) = ln truth for the greys, robustly. Returns the fit and each grey's residual.
    pub fn fit(greys: &[Grey]) -> Option<(Self, Vec<f64>)> {
        let rows: Vec<[f64; 3]> = greys
            .iter()
            .map(|g| {
                let (a, b) = (basis(g.seen), basis(g.paper));
                [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
            })
            .collect();
        let y: Vec<f64> = greys.iter().map(|g| g.truth.ln()).collect();
        let mut w: Vec<f64> = greys.iter().map(|g| g.weight).collect();
        let mut fit = Self::STRAIGHT;
        let mut r = vec![0.0; y.len()];
        for _ in 0..10 {
            // A weak hold on a straight curve keeps the terms apart where the greys leave room.
            fit = Self(ridge(&rows, &y, &w, &[1.0, 0.0, 0.0], &[2e-3, 2e-3, 2e-3])?);
            r = rows.iter().zip(&y).map(|(x, y)| y - x.iter().zip(fit.0).map(|(a, b)| a * b).sum::<f64>()).collect();
            let trusted: Vec<f64> = r.iter().zip(greys).filter(|(_, g)| g.weight > 0.5).map(|(r, _)| *r).collect();
            let scale = mad_scale(&trusted).max(0.008);
            w = r.iter().zip(greys).map(|(r, g)| g.weight * tukey(r / (4.7 * scale))).collect();
        }
        fit.rises().then_some((fit, r))
    }

    /// ln of straightened light.
    pub fn ln(&self, u: f64) -> f64 {
        basis(u).iter().zip(self.0).map(|(a, b)| a * b).sum()
    }

    fn rises(&self) -> bool {
        let at = |i: usize| self.ln((i as f64 / 40.0).powi(2).max(2e-4));
        (1..=40).all(|i| at(i) > at(i - 1))
    }
}
