//! Between linear light, code values, XYZ and CIELAB.
//!
//! The transfer curve and the CIELAB function are those of the `palette` crate. Its RGB matrix and its D65 are rounded
//! to seven and five decimals, which moves CIELAB by up to 0.011; so the matrix is derived here from chromaticities,
//! and the crate sees XYZ already divided by our white.

use super::{Lab, LinRgb, Matrix, Srgb, White, Xyz, apply, inverse};
use palette::convert::FromColorUnclamped;
use palette::encoding::{FromLinear, IntoLinear};

/// Chromaticities xy of the three primaries of an RGB space.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Primaries {
    /// Red.
    pub r: (f64, f64),
    /// Green.
    pub g: (f64, f64),
    /// Blue.
    pub b: (f64, f64),
}

impl Primaries {
    /// sRGB (IEC 61966-2-1:1999, the same as ITU-R BT.709).
    pub const SRGB: Primaries = Primaries { r: (0.64, 0.33), g: (0.30, 0.60), b: (0.15, 0.06) };
    /// Display P3 (the primaries of SMPTE RP 431-2).
    pub const DISPLAY_P3: Primaries = Primaries { r: (0.680, 0.320), g: (0.265, 0.690), b: (0.150, 0.060) };
}

/// The matrix from linear RGB to XYZ: columns are the primaries, scaled so that (1, 1, 1) gives the white.
pub const fn rgb_to_xyz_matrix(primaries: Primaries, white: White) -> Matrix {
    let (r, g, b) = (
        White::from_xy(primaries.r.0, primaries.r.1),
        White::from_xy(primaries.g.0, primaries.g.1),
        White::from_xy(primaries.b.0, primaries.b.1),
    );
    let (r, g, b) = (r.xyz().0, g.xyz().0, b.xyz().0);
    let mut m = [[r[0], g[0], b[0]], [r[1], g[1], b[1]], [r[2], g[2], b[2]]];
    let share = apply(&inverse(&m), white.xyz().0);
    let mut i = 0;
    while i < 3 {
        let mut j = 0;
        while j < 3 {
            m[i][j] *= share[j];
            j += 1;
        }
        i += 1;
    }
    m
}

const TO_XYZ: Matrix = rgb_to_xyz_matrix(Primaries::SRGB, White::D65);
const FROM_XYZ: Matrix = inverse(&TO_XYZ);
const WHITE: [f64; 3] = White::D65.xyz().0;

/// The white (1, 1, 1): what remains of a white after dividing by it.
struct Unit;

impl palette::white_point::WhitePoint<f64> for Unit {
    fn get_xyz() -> palette::Xyz<palette::white_point::Any, f64> {
        palette::Xyz::new(1.0, 1.0, 1.0)
    }
}

/// One code value to linear light (IEC 61966-2-1), continued below 0 as an odd function, above 1 by the same power.
pub fn decode_srgb(code: f64) -> f64 {
    let linear: f64 = palette::encoding::Srgb::into_linear(code.abs());
    linear.copysign(code)
}

/// One channel of linear light to its code value; the inverse of [`decode_srgb`] (to 2e-7 between the two thresholds
/// the standard prints, 0.04045 / 12.92 and 0.0031308).
pub fn encode_srgb(linear: f64) -> f64 {
    let code: f64 = palette::encoding::Srgb::from_linear(linear.abs());
    code.copysign(linear)
}

/// Code values to linear light.
pub fn linear_from_srgb(colour: Srgb) -> LinRgb {
    LinRgb(colour.0.map(decode_srgb))
}

/// Linear light to code values.
pub fn srgb_from_linear(colour: LinRgb) -> Srgb {
    Srgb(colour.0.map(encode_srgb))
}

/// Linear light to XYZ under D65.
pub fn xyz_from_linear(colour: LinRgb) -> Xyz {
    Xyz(apply(&TO_XYZ, colour.0))
}

/// XYZ under D65 to linear light, unclipped.
pub fn linear_from_xyz(colour: Xyz) -> LinRgb {
    LinRgb(apply(&FROM_XYZ, colour.0))
}

/// XYZ under D65 to CIELAB (CIE 15, with the exact constants 216/24389 and 24389/27).
pub fn lab_from_xyz(colour: Xyz) -> Lab {
    let [x, y, z] = relative(colour);
    let lab = palette::Lab::<Unit, f64>::from_color_unclamped(palette::Xyz::<Unit, f64>::new(x, y, z));
    Lab([lab.l, lab.a, lab.b])
}

/// CIELAB to XYZ under D65.
pub fn xyz_from_lab(colour: Lab) -> Xyz {
    let [l, a, b] = colour.0;
    let xyz = palette::Xyz::<Unit, f64>::from_color_unclamped(palette::Lab::<Unit, f64>::new(l, a, b));
    Xyz([xyz.x * WHITE[0], xyz.y * WHITE[1], xyz.z * WHITE[2]])
}

/// Linear light to CIELAB. Holds for channels outside 0 to 1.
pub fn lab_from_linear(colour: LinRgb) -> Lab {
    lab_from_xyz(xyz_from_linear(colour))
}

/// CIELAB to linear light, unclipped.
pub fn linear_from_lab(colour: Lab) -> LinRgb {
    linear_from_xyz(xyz_from_lab(colour))
}

/// The derivative of CIELAB by linear light at a colour: row i, column j is ∂(L*, a*, b*)ᵢ / ∂(R, G, B)ⱼ.
pub fn jacobian_lab_of_linear(colour: LinRgb) -> Matrix {
    let t = relative(xyz_from_linear(colour));
    // Rows of d(f(X/Xn), f(Y/Yn), f(Z/Zn)) / d(R, G, B).
    let mut df = TO_XYZ;
    for i in 0..3 {
        let slope = lab_function_slope(t[i]) / WHITE[i];
        df[i] = df[i].map(|v| v * slope);
    }
    let mut out = [[0.0; 3]; 3];
    for j in 0..3 {
        out[0][j] = 116.0 * df[1][j];
        out[1][j] = 500.0 * (df[0][j] - df[1][j]);
        out[2][j] = 200.0 * (df[1][j] - df[2][j]);
    }
    out
}

/// Slope of the CIELAB function: a cube root above (6/29)³, a line below.
fn lab_function_slope(t: f64) -> f64 {
    if t > 216.0 / 24389.0 { 1.0 / (3.0 * t.cbrt().powi(2)) } else { 841.0 / 108.0 }
}

fn relative(colour: Xyz) -> [f64; 3] {
    let [x, y, z] = colour.0;
    [x / WHITE[0], y / WHITE[1], z / WHITE[2]]
}

#[cfg(test)]
mod tests {
    use super::*;

    const SOME: [[f64; 3]; 7] = [
        [0.18, 0.18, 0.18],
        [1.0, 1.0, 1.0],
        [0.445, 0.048, 0.0296],
        [1.22494, -0.042057, -0.019638],
        [-0.2249, 1.0421, -0.0786],
        [0.0021, 0.0009, 0.0004],
        [1.4, 1.3, 1.2],
    ];

    #[test]
    fn lab_and_back_outside_the_gamut_too() {
        for rgb in SOME {
            let back = linear_from_lab(lab_from_linear(LinRgb(rgb))).0;
            for i in 0..3 {
                assert!((back[i] - rgb[i]).abs() < 1e-14, "{rgb:?} came back as {back:?}");
            }
        }
    }

    #[test]
    fn codes_and_back_with_their_sign() {
        for code in [-0.7, -0.02, 0.0, 0.01, 0.0404, 0.0406, 0.3, 1.0, 1.2] {
            assert!((encode_srgb(decode_srgb(code)) - code).abs() < 1e-7, "{code}");
            assert_eq!(decode_srgb(-code), -decode_srgb(code));
        }
    }

    #[test]
    fn greys_are_exactly_neutral() {
        for v in [0.001, 0.02, 0.18, 0.9, 1.0] {
            let Lab([_, a, b]) = lab_from_linear(LinRgb([v; 3]));
            assert!(a.abs() < 1e-12 && b.abs() < 1e-12, "{v}: {a} {b}");
        }
    }

    #[test]
    fn jacobian_agrees_with_central_differences() {
        let h = 1e-6;
        let mut worst = 0.0f64;
        for rgb in SOME {
            let analytic = jacobian_lab_of_linear(LinRgb(rgb));
            for j in 0..3 {
                let (mut up, mut down) = (rgb, rgb);
                up[j] += h;
                down[j] -= h;
                let (up, down) = (lab_from_linear(LinRgb(up)).0, lab_from_linear(LinRgb(down)).0);
                for i in 0..3 {
                    let numeric = (up[i] - down[i]) / (2.0 * h);
                    worst = worst.max((analytic[i][j] - numeric).abs() / (1.0 + numeric.abs()));
                }
            }
        }
        // Central differences with this step are good to a few 1e-9 of the slope.
        assert!(worst < 2e-8, "{worst:e}");
    }
}
