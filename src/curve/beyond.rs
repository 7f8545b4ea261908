//! Colours of a dye that is beyond its scale: it may pale, as an excess of what is tested destroys it, or turn brown, and must
//! not be taken for a lower amount because the curve comes near by.

use nalgebra::Matrix3;

use super::density::{Density, density};
use super::invert::Seen;
use super::path::Path;

/// How a dye browns: blue light is taken above all, green some, red little (the general slope of brown products, as of caramel and humic
/// matter; common practice). A pale brown takes hardly any red.
const BROWNS: [[f64; 3]; 2] = [[0.2, 0.5, 1.0], [0.08, 0.3, 1.0]];
/// At most so much brown comes, in densities of the last standard's strongest band.
const MOST: f64 = 1.2;

/// Distance of a colour from those that a dye of this test turns to beyond its last standard, what is left of it and what brown has come being
/// free: root of the squared Mahalanobis distance, to be held against the distance from the path. What a dye that merely pales shares
/// with the path is as near to both.
pub(super) fn off_turned(path: &Path, seen: &Seen) -> f64 {
    let last = path.last();
    let top = path.density(last);
    let s = seen.own(path.nuisance().rest) + path.scatter(last) + seen.bands(&top);
    let Some(inverse) = s.try_inverse() else { return f64::MAX };
    let d = density(seen.lab);
    let browns = BROWNS.map(|b| Density::from(b) * (MOST * top.max()));
    browns.map(|brown| nearest(&d, [&top, &brown], &inverse)).into_iter().fold(f64::MAX, f64::min).sqrt()
}

/// The least squared distance of `d` from the mixtures of two densities, each with a share from 0 to 1.
fn nearest(d: &Density, [a, b]: [&Density; 2], inverse: &Matrix3<f64>) -> f64 {
    let dot = |x: &Density, y: &Density| x.dot(&(inverse * y));
    let off = |share: [f64; 2]| {
        let r = d - a * share[0] - b * share[1];
        dot(&r, &r).max(0.0)
    };
    let (aa, ab, bb, da, db) = (dot(a, a), dot(a, b), dot(b, b), dot(d, a), dot(d, b));
    let inside = |v: f64| if v.is_finite() { v.clamp(0.0, 1.0) } else { 0.0 };
    // The best of the four edges, and of the inner point where there is one.
    let mut shares: Vec<[f64; 2]> = Vec::new();
    for end in [0.0, 1.0] {
        shares.push([end, inside((db - end * ab) / bb)]);
        shares.push([inside((da - end * ab) / aa), end]);
    }
    let whole = aa * bb - ab * ab;
    let inner = [(da * bb - db * ab) / whole, (db * aa - da * ab) / whole];
    if inner.iter().all(|v| (0.0..=1.0).contains(v)) {
        shares.push(inner);
    }
    shares.into_iter().map(off).fold(f64::MAX, f64::min)
}

#[cfg(test)]
mod tests;
