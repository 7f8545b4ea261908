//! Optical density: the scale on which a dye adds up and the two nuisances of a vial are straight lines.
//!
//! D = −ln of linear light relative to paper, one number each for long, middle and short wavelengths. More light on the
//! paper behind a vial moves D by the same amount in all three; a longer way through the liquid multiplies it
//! (Beer–Lambert). The primaries are those of Recommendation ITU-R BT.2020: dyes that leave the sRGB gamut stay positive
//! there.

use nalgebra::{Matrix3, Vector3};

use crate::colour::{Lab, LinRgb, jacobian_lab_of_linear, lab_from_linear, linear_from_lab};

/// Optical density in three bands.
pub type Density = Vector3<f64>;

/// Linear sRGB to linear BT.2020, both D65 (Recommendation ITU-R BT.2087-0, matrix M2).
const WIDE: [[f64; 3]; 3] = [[0.6274, 0.3293, 0.0433], [0.0691, 0.9195, 0.0114], [0.0164, 0.0880, 0.8956]];

/// Light below this share of paper is not told from black; there the logarithm goes over into a straight line.
const BLACK: f64 = 0.012;

fn wide() -> Matrix3<f64> {
    Matrix3::from_fn(|r, c| WIDE[r][c])
}

/// Density of a colour relative to paper.
pub fn density(colour: Lab) -> Density {
    let LinRgb(rgb) = linear_from_lab(colour);
    (wide() * Vector3::from(rgb)).map(|w| if w > BLACK { -w.ln() } else { -BLACK.ln() - (w - BLACK) / BLACK })
}

/// The colour of a density: the inverse of [`density`].
pub fn coloured(density: &Density) -> Lab {
    let light = density.map(|d| if d < -BLACK.ln() { (-d).exp() } else { BLACK * (1.0 - BLACK.ln() - d) });
    let linear = wide().try_inverse().unwrap_or_else(Matrix3::identity) * light;
    lab_from_linear(LinRgb(linear.into()))
}

/// Covariance of the density of a colour whose CIELAB has the covariance `cov`, to first order.
pub fn covariance(colour: Lab, cov: &Matrix3<f64>) -> Matrix3<f64> {
    let j = slopes(colour);
    j * cov * j.transpose()
}

/// The other way: covariance in CIELAB of a colour whose density has the covariance `cov`.
pub fn lab_covariance(colour: Lab, cov: &Matrix3<f64>) -> Matrix3<f64> {
    let j = slopes(colour).try_inverse().unwrap_or_else(Matrix3::identity);
    j * cov * j.transpose()
}

/// ∂density/∂Lab.
fn slopes(colour: Lab) -> Matrix3<f64> {
    let linear = linear_from_lab(colour);
    let lab_of_linear = jacobian_lab_of_linear(linear);
    let lab_of_linear = Matrix3::from_fn(|r, c| lab_of_linear[r][c]);
    let w = wide() * Vector3::from(linear.0);
    let density_of_linear = Matrix3::from_diagonal(&w.map(|w| -1.0 / w.max(BLACK))) * wide();
    // CIELAB of linear light is invertible everywhere: its slopes never vanish.
    density_of_linear * lab_of_linear.try_inverse().unwrap_or_else(Matrix3::identity)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn more_light_moves_all_bands_alike_and_paper_is_none() {
        let at = |r, g, b| density(lab_from_linear(LinRgb([r, g, b])));
        let paper = at(1.0, 1.0, 1.0);
        assert!(paper.amax() < 1e-4, "{paper}");
        let d = at(0.2, 0.5, 0.3) - at(0.4, 1.0, 0.6);
        assert!((d - Vector3::repeat(2f64.ln())).amax() < 1e-9, "{d}");
    }

    #[test]
    fn a_density_has_its_colour_back() {
        // The last is below black in one band.
        for d in [[0.0, 0.0, 0.0], [0.2, 1.1, 0.6], [2.9, 2.1, 2.4], [1.4, 5.2, 1.2]] {
            let d = Density::from(d);
            assert!((density(coloured(&d)) - d).amax() < 1e-9, "{d}");
        }
    }

    #[test]
    fn covariance_follows_a_small_change() {
        let lab = lab_from_linear(LinRgb([0.3, 0.6, 0.2]));
        let step = Vector3::new(0.01, -0.02, 0.03);
        let moved = Lab([lab.0[0] + step[0], lab.0[1] + step[1], lab.0[2] + step[2]]);
        let d = density(moved) - density(lab);
        let c = covariance(lab, &(step * step.transpose()));
        assert!((c - d * d.transpose()).amax() < 2e-3 * c.amax(), "{c}");
    }
}
