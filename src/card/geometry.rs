//! The plane of the card: millimetres to upright pixels and back.

use nalgebra::{DMatrix, Matrix3, Vector3};

/// A projective map from card millimetres to upright pixels.
#[derive(Debug, Clone, PartialEq)]
pub struct Plane {
    to_px: Matrix3<f64>,
    to_mm: Matrix3<f64>,
}

impl Plane {
    /// The least-squares map through pairs (mm, px); four or more, not on one line. None if they do not fix a map.
    ///
    /// Normalised direct linear transform: Hartley and Zisserman, Multiple View Geometry, 2nd ed., algorithm 4.2.
    pub fn fit(pairs: &[([f64; 2], [f64; 2])]) -> Option<Self> {
        if pairs.len() < 4 {
            return None;
        }
        let from = normaliser(pairs.iter().map(|p| p.0))?;
        let to = normaliser(pairs.iter().map(|p| p.1))?;
        let mut a = DMatrix::<f64>::zeros(2 * pairs.len(), 9);
        for (i, (m, p)) in pairs.iter().enumerate() {
            let [x, y] = apply(&from, *m);
            let [u, v] = apply(&to, *p);
            for (j, value) in [x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y, -u].into_iter().enumerate() {
                a[(2 * i, j)] = value;
            }
            for (j, value) in [0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y, -v].into_iter().enumerate() {
                a[(2 * i + 1, j)] = value;
            }
        }
        // The null vector of A is the eigenvector of AᵀA with the smallest eigenvalue.
        let eigen = (a.transpose() * &a).symmetric_eigen();
        let least = eigen.eigenvalues.imin();
        let h = eigen.eigenvectors.column(least);
        let h = Matrix3::new(h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], h[8]);
        let to_px = to.try_inverse()? * h * from;
        let to_px = to_px / to_px[(2, 2)];
        let to_mm = to_px.try_inverse()?;
        to_px.iter().all(|v| v.is_finite()).then_some(Self { to_px, to_mm })
    }

    /// The pixel of a point of the card.
    pub fn px(&self, mm: [f64; 2]) -> [f64; 2] {
        apply(&self.to_px, mm)
    }

    /// The point of the card's plane seen at a pixel.
    pub fn mm(&self, px: [f64; 2]) -> [f64; 2] {
        apply(&self.to_mm, px)
    }

    /// Pixels per millimetre at a point, the geometric mean of both directions.
    pub fn scale(&self, mm: [f64; 2]) -> f64 {
        let [a, b] = self.axes(mm);
        (a[0] * b[1] - a[1] * b[0]).abs().sqrt()
    }

    /// Root mean square distance (mm) of pairs (mm, px) from the map.
    pub fn residual(&self, pairs: &[([f64; 2], [f64; 2])]) -> f64 {
        let squared = |(mm, px): &([f64; 2], [f64; 2])| {
            let m = self.mm(*px);
            (m[0] - mm[0]).powi(2) + (m[1] - mm[1]).powi(2)
        };
        (pairs.iter().map(squared).sum::<f64>() / pairs.len() as f64).sqrt()
    }

    /// Pixels along a horizontal line of the card: points at `start` + n · `step` mm.
    pub fn row(&self, start: [f64; 2], step: f64) -> Row {
        let from = self.to_px * Vector3::new(start[0], start[1], 1.0);
        Row { from, by: self.to_px.column(0) * step }
    }

    /// Pixel steps of one millimetre to the right and down, at a point.
    pub fn axes(&self, mm: [f64; 2]) -> [[f64; 2]; 2] {
        let o = self.px(mm);
        [[mm[0] + 0.5, mm[1]], [mm[0], mm[1] + 0.5]].map(|e| {
            let p = self.px(e);
            [2.0 * (p[0] - o[0]), 2.0 * (p[1] - o[1])]
        })
    }

    /// Whether the map shows the card's face, not its mirror image.
    pub fn faces_viewer(&self, mm: [f64; 2]) -> bool {
        let [a, b] = self.axes(mm);
        a[0] * b[1] - a[1] * b[0] > 0.0
    }
}

/// A horizontal line of the card, ready to be walked along.
#[derive(Debug, Clone, Copy)]
pub struct Row {
    from: Vector3<f64>,
    by: Vector3<f64>,
}

impl Row {
    /// The pixel of point `n`.
    #[inline]
    pub fn at(&self, n: usize) -> [f64; 2] {
        let v = self.from + self.by * n as f64;
        let z = 1.0 / v.z;
        [v.x * z, v.y * z]
    }
}

fn apply(h: &Matrix3<f64>, [x, y]: [f64; 2]) -> [f64; 2] {
    let v = h * Vector3::new(x, y, 1.0);
    [v.x / v.z, v.y / v.z]
}

/// Moves the centroid to the origin and scales the mean distance to √2.
fn normaliser(points: impl Iterator<Item = [f64; 2]> + Clone) -> Option<Matrix3<f64>> {
    let n = points.clone().count() as f64;
    let (sx, sy) = points.clone().fold((0.0, 0.0), |(a, b), p| (a + p[0], b + p[1]));
    let (cx, cy) = (sx / n, sy / n);
    let mean = points.map(|p| (p[0] - cx).hypot(p[1] - cy)).sum::<f64>() / n;
    if !(mean.is_finite() && mean > 0.0) {
        return None;
    }
    let s = std::f64::consts::SQRT_2 / mean;
    Some(Matrix3::new(s, 0.0, -s * cx, 0.0, s, -s * cy, 0.0, 0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_known_projection_is_found_again() {
        let truth = Matrix3::new(9.1, 0.7, 210.0, -0.4, 8.8, 330.0, 2e-4, -3e-4, 1.0);
        let mm = [[5.0, 5.0], [145.0, 5.0], [145.0, 95.0], [5.0, 95.0], [17.0, 17.0], [133.0, 83.0]];
        let pairs: Vec<_> = mm.iter().map(|m| (*m, apply(&truth, *m))).collect();
        let plane = Plane::fit(&pairs).unwrap();
        let p = plane.px([75.0, 50.0]);
        let t = apply(&truth, [75.0, 50.0]);
        assert!((p[0] - t[0]).abs() < 1e-6 && (p[1] - t[1]).abs() < 1e-6);
        let back = plane.mm(t);
        assert!((back[0] - 75.0).abs() < 1e-7 && (back[1] - 50.0).abs() < 1e-7);
        assert!(plane.faces_viewer([75.0, 50.0]));
        assert!((plane.scale([5.0, 5.0]) - 8.9).abs() < 0.4);
    }

    #[test]
    fn points_on_a_line_fix_nothing() {
        let pairs: Vec<_> = (0..5).map(|i| ([i as f64, 0.0], [7.0, 7.0])).collect();
        assert!(Plane::fit(&pairs).is_none());
    }
}
