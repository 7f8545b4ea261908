//! The phone's tone curve, straightened by the greys.

use super::solve::{mad_scale, ridge, tukey};
use crate::colour::encode_srgb;
use std::sync::LazyLock;

/// ln of straightened light as a function of the camera's linear light, one channel:
/// T(u) = k₀·ln u + k₁·e + k₂·e², e the sRGB code of u. A pure gain has k₀ = 1; an S-shaped curve needs the code terms;
/// towards black it tends to a power law, so dark colours are not thrown about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tone([f64; 3]);

fn basis(u: f64) -> [f64; 3] {
    let u = u.max(2e-4);
    let e = encoded(u);
    [u.ln(), e, e * e]
}

/// Steps of the table of sRGB codes, and its end, as square roots of light: over those the code is nearly straight.
const STEPS: f64 = 1024.0;
const END: f64 = 1.5;
static CODES: LazyLock<Vec<f64>> =
    LazyLock::new(|| (0..=(STEPS * END) as usize + 1).map(|i| encode_srgb((i as f64 / STEPS).powi(2))).collect());

/// The sRGB code of light that is not negative, to 4 in a million: a tone curve is asked at every pixel of a sample.
fn encoded(u: f64) -> f64 {
    let place = u.sqrt() * STEPS;
    let i = place as usize;
    match CODES.get(i..i + 2) {
        Some([a, b]) => a + (b - a) * (place - i as f64),
        _ => encode_srgb(u),
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_of_codes_is_as_good_as_it_says() {
        let worst = (0..=40_000).map(|i| {
            let u = i as f64 / 16_000.0;
            (encoded(u) - encode_srgb(u)).abs()
        });
        let worst = worst.fold(0.0, f64::max);
        assert!(worst > 1e-7 && worst < 4e-6, "{worst}");
    }
}
