//! Straightened camera light to the card's own colour space: a matrix, or a root polynomial where it proves better.

use nalgebra::{DMatrix, DVector};

use crate::colour::{Lab, LinRgb, delta_e_2000, jacobian_lab_of_linear, lab_from_linear};
use crate::trial::{Part, without};

/// A patch as straightened and relative to paper, with its colour on the card.
#[derive(Debug, Clone, Copy)]
pub struct Pair {
    pub seen: [f64; 3],
    pub truth: [f64; 3],
    /// Weight, 0 to leave it out.
    pub weight: f64,
}

/// Which terms the correction has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Model {
    /// A 3 × 3 matrix.
    Linear,
    /// Root polynomial of degree 2 (Finlayson, Mackiewicz, Hurlbert 2015, IEEE Trans. Image Process. 24:1460).
    Root,
}

impl Model {
    fn terms(self, [r, g, b]: [f64; 3]) -> Vec<f64> {
        let root = |p: f64| p.max(0.0).sqrt();
        match self {
            Self::Linear => vec![r, g, b],
            Self::Root => vec![r, g, b, root(r * g), root(g * b), root(b * r)],
        }
    }
}

/// The correction of one photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Correction {
    model: Model,
    rows: [Vec<f64>; 3],
    plain: [[f64; 3]; 3],
    /// Mean ΔE00 of patches, each predicted by a correction fitted without it.
    pub left_out: f64,
    /// Covariance in CIELAB of those predictions.
    pub residual: [[f64; 3]; 3],
}

impl Correction {
    /// Fits both models and keeps the root terms only where they predict left-out patches clearly better.
    pub fn fit(pairs: &[Pair]) -> Option<Self> {
        let linear = Self::cross(Model::Linear, pairs)?;
        let plain = linear.plain;
        if without(Part::Root) {
            return Some(linear);
        }
        if without(Part::Matrix) {
            let rows = [0, 1, 2].map(|r| [0, 1, 2].map(|c| f64::from(u8::from(r == c))).to_vec());
            return Some(Self { rows, ..linear });
        }
        // A tenth: less is chance with so few patches.
        let best = Self::cross(Model::Root, pairs).filter(|r| r.left_out < 0.9 * linear.left_out).unwrap_or(linear);
        Some(Self { plain, ..best })
    }

    /// Colour relative to paper in the card's space (linear light, sRGB primaries, D65; paper is (1, 1, 1)).
    pub fn apply(&self, seen: [f64; 3]) -> LinRgb {
        let t = self.model.terms(seen);
        LinRgb([0, 1, 2].map(|c| self.rows[c].iter().zip(&t).map(|(a, b)| a * b).sum()))
    }

    /// The model in use.
    pub fn model(&self) -> Model {
        self.model
    }

    /// The plain 3 × 3 matrix that fits best, row by row, whichever model is in use: a light is known again by it.
    pub fn matrix(&self) -> [[f64; 3]; 3] {
        self.plain
    }

    fn cross(model: Model, pairs: &[Pair]) -> Option<Self> {
        let rows = solve(model, pairs)?;
        let plain = [0, 1, 2].map(|c| [rows[c][0], rows[c][1], rows[c][2]]);
        let mut fit = Self { model, rows, plain, left_out: 0.0, residual: [[0.0; 3]; 3] };
        let mut weights = 0.0;
        for (i, p) in pairs.iter().enumerate().filter(|(_, p)| p.weight > 0.0) {
            let mut rest = pairs.to_vec();
            rest[i].weight = 0.0;
            let without = Self { rows: solve(model, &rest)?, ..fit.clone() };
            let (a, b) = (lab_from_linear(without.apply(p.seen)), lab_from_linear(LinRgb(p.truth)));
            fit.left_out += p.weight * delta_e_2000(a, b);
            weights += p.weight;
            let d = difference(a, b);
            for r in 0..3 {
                for c in 0..3 {
                    fit.residual[r][c] += p.weight * d[r] * d[c];
                }
            }
        }
        fit.left_out /= weights;
        fit.residual.iter_mut().flatten().for_each(|v| *v /= weights);
        Some(fit)
    }
}

fn difference(a: Lab, b: Lab) -> [f64; 3] {
    [0, 1, 2].map(|i| a.0[i] - b.0[i])
}

/// Least squares in CIELAB to first order: residuals in linear light are weighed by ∂Lab/∂rgb at the patch. Paper is held.
fn solve(model: Model, pairs: &[Pair]) -> Option<[Vec<f64>; 3]> {
    let n = model.terms([1.0; 3]).len();
    let mut a = DMatrix::<f64>::zeros(3 * n, 3 * n);
    let mut b = DVector::<f64>::zeros(3 * n);
    let white = Pair { seen: [1.0; 3], truth: [1.0; 3], weight: 8.0 };
    for p in pairs.iter().chain([&white]).filter(|p| p.weight > 0.0) {
        let t = model.terms(p.seen);
        let j = jacobian_lab_of_linear(LinRgb(p.truth));
        for row in j {
            // The residual's Lab coordinate is Σ row[c]·(M_c·t − truth_c).
            let y: f64 = (0..3).map(|c| row[c] * p.truth[c]).sum();
            let x: Vec<f64> = (0..3).flat_map(|c| t.iter().map(move |v| row[c] * v)).collect();
            for (i, xi) in x.iter().enumerate() {
                b[i] += p.weight * xi * y;
                for (k, xk) in x.iter().enumerate() {
                    a[(i, k)] += p.weight * xi * xk;
                }
            }
        }
    }
    let prior = if model == Model::Root { 1.0 } else { 1e-6 };
    (0..3 * n).for_each(|i| a[(i, i)] += if i % n >= 3 { prior } else { 1e-6 });
    let x = a.cholesky()?.solve(&b);
    x.iter().all(|v| v.is_finite()).then(|| [0, 1, 2].map(|c| x.as_slice()[c * n..(c + 1) * n].to_vec()))
}
