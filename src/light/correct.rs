//! Straightened camera light to the card's own colour space: a matrix and a root polynomial, mixed as left-out patches prove them.

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
    /// Root polynomial of degree 2 (Finlayson, Mackiewicz, Hurlbert 2015, IEEE Trans. Image Process. 24:1460), or its mixture with a matrix.
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
    /// The predictions, of the patches that count.
    predicted: Vec<Lab>,
}

impl Correction {
    /// Fits both models and mixes them as it predicts left-out patches best.
    pub fn fit(pairs: &[Pair]) -> Option<Self> {
        let linear = Self::cross(Model::Linear, pairs)?;
        if without(Part::Root) {
            return Some(linear);
        }
        if without(Part::Matrix) {
            let rows = [0, 1, 2].map(|r| [0, 1, 2].map(|c| f64::from(u8::from(r == c))).to_vec());
            return Some(Self { rows, ..linear });
        }
        let Some(root) = Self::cross(Model::Root, pairs) else { return Some(linear) };
        Some(linear.mixed(&root, pairs))
    }

    /// The mixture of both that predicts left-out patches best: stacking (Breiman 1996, Machine Learning 24:49). Choosing one of the two
    /// would make the colour jump with a single patch.
    fn mixed(self, root: &Self, pairs: &[Pair]) -> Self {
        let counted: Vec<&Pair> = pairs.iter().filter(|p| p.weight > 0.0).collect();
        let (mut along, mut apart) = (0.0, 0.0);
        for ((p, a), b) in counted.iter().zip(&self.predicted).zip(&root.predicted) {
            let (off, by) = (difference(*a, lab_from_linear(LinRgb(p.truth))), difference(*a, *b));
            along += p.weight * (0..3).map(|k| off[k] * by[k]).sum::<f64>();
            apart += p.weight * by.iter().map(|v| v * v).sum::<f64>();
        }
        let share = if apart > 0.0 { (along / apart).clamp(0.0, 1.0) } else { 0.0 };
        let rows = [0, 1, 2].map(|c| {
            let of_linear = |i: usize| self.rows[c].get(i).copied().unwrap_or(0.0);
            root.rows[c].iter().enumerate().map(|(i, v)| share * v + (1.0 - share) * of_linear(i)).collect()
        });
        let between = |(a, b): (&Lab, &Lab)| Lab([0, 1, 2].map(|k| (1.0 - share) * a.0[k] + share * b.0[k]));
        let predicted: Vec<Lab> = self.predicted.iter().zip(&root.predicted).map(between).collect();
        let model = if share > 0.0 { Model::Root } else { Model::Linear };
        let rows = if share > 0.0 { rows } else { self.rows };
        Self { model, rows, plain: self.plain, ..Self::judged(predicted, &counted) }
    }

    /// Colour relative to paper in the card's space (linear light, sRGB primaries, D65; paper is (1, 1, 1)).
    pub fn apply(&self, seen: [f64; 3]) -> LinRgb {
        applied(self.model, &self.rows, seen)
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
        let counted: Vec<&Pair> = pairs.iter().filter(|p| p.weight > 0.0).collect();
        let mut predicted = Vec::with_capacity(counted.len());
        for (i, p) in pairs.iter().enumerate().filter(|(_, p)| p.weight > 0.0) {
            let mut rest = pairs.to_vec();
            rest[i].weight = 0.0;
            predicted.push(lab_from_linear(applied(model, &solve(model, &rest)?, p.seen)));
        }
        Some(Self { model, rows, plain, ..Self::judged(predicted, &counted) })
    }

    /// How well patches were predicted that were left out; the rest is to be filled in.
    fn judged(predicted: Vec<Lab>, counted: &[&Pair]) -> Self {
        let (mut left_out, mut residual, mut weights) = (0.0, [[0.0; 3]; 3], 0.0);
        for (a, p) in predicted.iter().zip(counted) {
            let b = lab_from_linear(LinRgb(p.truth));
            left_out += p.weight * delta_e_2000(*a, b);
            weights += p.weight;
            let d = difference(*a, b);
            for r in 0..3 {
                for c in 0..3 {
                    residual[r][c] += p.weight * d[r] * d[c];
                }
            }
        }
        residual.iter_mut().flatten().for_each(|v| *v /= weights);
        let (model, rows, plain) = (Model::Linear, [Vec::new(), Vec::new(), Vec::new()], [[0.0; 3]; 3]);
        Self { model, rows, plain, left_out: left_out / weights, residual, predicted }
    }
}

/// A model's colour of straightened light.
fn applied(model: Model, rows: &[Vec<f64>; 3], seen: [f64; 3]) -> LinRgb {
    let t = model.terms(seen);
    LinRgb([0, 1, 2].map(|c| rows[c].iter().zip(&t).map(|(a, b)| a * b).sum()))
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Patches of a camera that mixes its channels and bends strong colours by so much, with an error of its own in each.
    fn pairs(bent: f64) -> Vec<Pair> {
        let mut seed = 7u32;
        let mut error = || {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            0.02 * (f64::from(seed >> 8) / f64::from(1u32 << 24) - 0.5)
        };
        let levels = [0.08, 0.35, 0.8];
        let all = levels.iter().flat_map(|r| levels.iter().flat_map(move |g| levels.map(|b| [*r, *g, b])));
        all.map(|[r, g, b]: [f64; 3]| {
            let truth = [r, g, b].map(|v| v * (1.0 + error()));
            let seen = [0.9 * r + 0.1 * g, 0.05 * r + 0.9 * g + 0.05 * b, 0.15 * g + 0.85 * b];
            let seen = [seen[0] + bent * ((r * g).sqrt() - r), seen[1], seen[2] + bent * ((g * b).sqrt() - b)];
            Pair { seen, truth, weight: 1.0 }
        })
        .collect()
    }

    #[test]
    fn the_mixture_predicts_no_worse_than_either_and_hardly_jumps() {
        let spread = |c: &Correction| (0..3).map(|k| c.residual[k][k]).sum::<f64>();
        for bent in [0.0, 0.05, 0.15] {
            let pairs = pairs(bent);
            let (linear, root) =
                (Correction::cross(Model::Linear, &pairs).unwrap(), Correction::cross(Model::Root, &pairs).unwrap());
            let mixed = Correction::fit(&pairs).unwrap();
            assert!(spread(&mixed) <= spread(&linear).min(spread(&root)) + 1e-9, "{bent}");
            assert_eq!(mixed.matrix(), linear.matrix(), "a light is known again by the plain matrix");
            // A mixture of the two colours, in the same share in every band and patch.
            let between = |a: f64, b: f64, m: f64| (m - a) / (b - a);
            let at = |c: &Correction| c.apply([0.2, 0.5, 0.4]).0;
            let (a, b, m) = (at(&linear), at(&root), at(&mixed));
            let share = between(a[0], b[0], m[0]);
            assert!((-1e-9..=1.0 + 1e-9).contains(&share), "{bent}: {share}");
            assert!((1..3).all(|c| (between(a[c], b[c], m[c]) - share).abs() < 1e-6), "{bent}: {a:?} {b:?} {m:?}");
            if bent > 0.1 {
                assert!(share > 0.5 && spread(&mixed) < 0.8 * spread(&linear), "the bend is seen: {share}");
            }
        }
    }
}
