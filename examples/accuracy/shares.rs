//! How the distance of a sample's colour from the true one is shared out to what the curve reckons with.
//!
//! The distance is seen, since the truth is known; which share of it each cause has is what the covariances of the causes make most
//! likely: of C = ΣCᵢ, cause i has Cᵢ·C⁻¹ of the distance (mean of a normal distribution, given the sum). The shares add up to the
//! distance. Each is taken off the colour in turn, and moves the position by what is printed.

use nalgebra::{Matrix3, Vector3};
use tintline::curve::Seen;
use tintline::curve::density::{coloured, covariance, density};

use super::budget::Curve;

/// One sample as it was seen, and where it should lie.
pub struct Told {
    pub seen: Seen,
    /// Covariances in CIELAB: of the region's noise, of the correction, of tints from beside.
    pub noise: [[f64; 3]; 3],
    pub correction: [[f64; 3]; 3],
    pub tint: [[f64; 3]; 3],
    /// True position on the curve.
    pub truth: f64,
}

/// Names of the causes with what each moves the position by, in steps.
pub fn of(curve: &Curve, told: &Told) -> Vec<(&'static str, f64)> {
    let path = &curve.path;
    let (lab, there) = (told.seen.lab, path.density(told.truth));
    let seen = density(lab);
    let total = path.spread(&told.seen, told.truth);
    let Some(inverse) = total.try_inverse() else { return Vec::new() };
    let own = |cov: &[[f64; 3]; 3]| covariance(lab, &Matrix3::from_fn(|r, c| cov[r][c]));
    let nuisance = path.nuisance();
    let brightness = Matrix3::repeat(nuisance.brightness.powi(2));
    let way = there * there.transpose() * nuisance.way.powi(2);
    let [noise, correction, tint] = [&told.noise, &told.correction, &told.tint].map(own);
    let curve_own = path.scatter(told.truth) - brightness - way;
    let rest = total - noise - correction - tint - brightness - way - curve_own;
    let causes = [
        ("brightness behind the vial (share)", brightness),
        ("way of the light through the liquid (share)", way),
        ("colour correction, patches left out (share)", correction),
        ("noise and unevenness of the region (share)", noise),
        ("tint from a vial beside (share)", tint),
        ("standards and the curve through them (share)", curve_own),
        ("what else differs from photo to photo, dyes against inks among it (share)", rest),
    ];
    let from_truth = inverse * (seen - there);
    let at = curve.position(&told.seen);
    let moved = |cov: &Matrix3<f64>| {
        let less: Vector3<f64> = seen - cov * from_truth;
        curve.position(&Seen { lab: coloured(&less), ..told.seen }) - at
    };
    causes.iter().filter(|(_, cov)| cov.norm() > 0.0).map(|(name, cov)| (*name, moved(cov))).collect()
}
