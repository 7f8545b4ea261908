//! Colour spaces by their primaries and white, and the code points of ITU-T H.273 for them.
//!
//! Everything ends in linear light with sRGB primaries and the D65 white; whites are adapted by Bradford's transform
//! (as ICC.1 annex E does for the profile connection space).

use super::PhotoError;
use super::linear::{Depth, Then, ToLinear, srgb_curve};
use nalgebra::{Matrix3, Vector3};

/// Chromaticities x, y of red, green, blue, and of white.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Primaries {
    pub(super) rgb: [[f64; 2]; 3],
    pub(super) white: [f64; 2],
}

const D65: [f64; 2] = [0.3127, 0.3290];
/// White of the profile connection space, XYZ (ICC.1:2022, 7.2.16).
const PCS_WHITE: [f64; 3] = [0.9642, 1.0, 0.8249];
/// Bradford cone responses (Lam 1985, as printed in ICC.1 annex E).
const BRADFORD: Matrix3<f64> = Matrix3::new(0.8951, 0.2664, -0.1614, -0.7502, 1.7135, 0.0367, 0.0389, -0.0685, 1.0296);

/// IEC 61966-2-1 (the primaries of ITU-R BT.709).
pub(super) const SRGB: Primaries = Primaries { rgb: [[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]], white: D65 };
/// Primaries of SMPTE RP 431-2 with the D65 white, as wide-gamut phones use them.
pub(super) const P3: Primaries = Primaries { rgb: [[0.680, 0.320], [0.265, 0.690], [0.150, 0.060]], white: D65 };
/// The optional wide space of DCF 2.0, announced by interoperability index R03 in EXIF; its curve is a plain power.
pub(super) const DCF_OPTION: Primaries = Primaries { rgb: [[0.64, 0.33], [0.21, 0.71], [0.15, 0.06]], white: D65 };
pub(super) const DCF_OPTION_GAMMA: f64 = 563.0 / 256.0;

fn xyz([x, y]: [f64; 2]) -> Vector3<f64> {
    Vector3::new(x / y, 1.0, (1.0 - x - y) / y)
}

fn adapt(from: Vector3<f64>, to: Vector3<f64>) -> Option<Matrix3<f64>> {
    let (a, b) = (BRADFORD * from, BRADFORD * to);
    Some(BRADFORD.try_inverse()? * Matrix3::from_diagonal(&b.component_div(&a)) * BRADFORD)
}

impl Primaries {
    /// Linear light of these primaries to XYZ, white to its own XYZ with Y = 1.
    fn to_xyz(self) -> Option<Matrix3<f64>> {
        let m = Matrix3::from_columns(&self.rgb.map(xyz));
        let gains = m.try_inverse()? * xyz(self.white);
        Some(m * Matrix3::from_diagonal(&gains)).filter(|m| m.iter().all(|v| v.is_finite()))
    }

    /// Linear light of these primaries to linear sRGB.
    pub(super) fn to_srgb(self) -> Option<Matrix3<f64>> {
        Some(SRGB.to_xyz()?.try_inverse()? * adapt(xyz(self.white), xyz(D65))? * self.to_xyz()?)
    }
}

/// XYZ of the profile connection space (D50) to linear sRGB.
pub(super) fn pcs_to_srgb() -> Matrix3<f64> {
    let inverse = SRGB.to_xyz().and_then(|m| m.try_inverse()).unwrap_or_else(Matrix3::identity);
    inverse * adapt(Vector3::from(PCS_WHITE), xyz(D65)).unwrap_or_else(Matrix3::identity)
}

/// XYZ as fractions of the connection space's white to linear sRGB.
pub(super) fn white_scaled_to_srgb() -> [[f32; 3]; 3] {
    rows(pcs_to_srgb() * Matrix3::from_diagonal(&Vector3::from(PCS_WHITE)))
}

pub(super) fn rows(m: Matrix3<f64>) -> [[f32; 3]; 3] {
    [0, 1, 2].map(|i| [0, 1, 2].map(|j| m[(i, j)] as f32))
}

/// Pictures with these primaries and one curve for all channels. None where the primaries make no space.
pub(super) fn with_curve(primaries: Primaries, depth: Depth, curve: impl Fn(f64) -> f64) -> Option<ToLinear> {
    let table = depth.table(curve);
    let then = if primaries == SRGB { Then::Done } else { Then::Matrix(rows(primaries.to_srgb()?)) };
    Some(ToLinear { curves: [table.clone(), table.clone(), table], then })
}

/// The space a file signals by H.273 code points (PNG cICP, HEIF nclx), with a remark where it is read otherwise than
/// signalled.
pub(super) fn signalled(
    format: &'static str,
    primaries: u16,
    transfer: u16,
    depth: Depth,
) -> Result<(ToLinear, Option<String>), PhotoError> {
    let d65 = |rgb| Primaries { rgb, white: D65 };
    let form = |what: &str, n| PhotoError::FormUnsupported { format, form: format!("{what} {n} of ITU-T H.273") };
    let space = match primaries {
        1 | 2 => SRGB,
        5 => d65([[0.64, 0.33], [0.29, 0.60], [0.15, 0.06]]),
        6 | 7 => d65([[0.630, 0.340], [0.310, 0.595], [0.155, 0.070]]),
        9 => d65([[0.708, 0.292], [0.170, 0.797], [0.131, 0.046]]),
        11 => Primaries { white: [0.314, 0.351], ..P3 },
        12 => P3,
        n => return Err(form("colour primaries", n)),
    };
    let (curve, unlike): (fn(f64) -> f64, bool) = match transfer {
        13 => (srgb_curve, false),
        // Cameras that write a video curve mean the sRGB one, and viewers show it so (common practice).
        1 | 2 | 6 | 14 | 15 => (srgb_curve, true),
        4 => (|v| v.powf(2.2), false),
        8 => (|v| v, false),
        16 | 18 => return Err(PhotoError::FormUnsupported { format, form: "a high-dynamic-range curve".into() }),
        n => return Err(form("transfer characteristics", n)),
    };
    let remark = (unlike || primaries == 2).then(|| {
        format!("The file signals colour by code points {primaries} and {transfer}; it is read with the sRGB curve.")
    });
    let to_linear = with_curve(space, depth, curve).ok_or_else(|| form("colour primaries", primaries))?;
    Ok((to_linear, remark))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn p3_to_srgb_is_the_published_matrix() {
        // Linear P3 to linear sRGB, from the primaries; computed with colour-science 0.4.7.
        let want = [
            [1.224940176281, -0.224940176281, 0.0],
            [-0.042056954710, 1.042056954710, 0.0],
            [-0.019637554590, -0.078636045551, 1.098273600141],
        ];
        let m = P3.to_srgb().unwrap();
        for i in 0..3 {
            for j in 0..3 {
                assert!((m[(i, j)] - want[i][j]).abs() < 1e-11, "{i} {j}: {}", m[(i, j)]);
            }
        }
    }

    #[test]
    fn the_connection_white_becomes_white() {
        let w = pcs_to_srgb() * Vector3::from(PCS_WHITE);
        assert!(w.iter().all(|v| (v - 1.0).abs() < 1e-12), "{w}");
    }

    #[test]
    fn nonsense_primaries_make_no_space() {
        let flat = Primaries { rgb: [[0.3, 0.3]; 3], white: D65 };
        assert!(flat.to_srgb().is_none());
        let zero = Primaries { rgb: [[0.64, 0.0], [0.3, 0.6], [0.15, 0.06]], white: D65 };
        assert!(zero.to_srgb().is_none());
    }

    #[test]
    fn high_dynamic_range_is_refused_and_video_curves_are_remarked() {
        let code = |p, t| signalled("heic", p, t, Depth::Eight).err().map(|e| e.code());
        assert_eq!(code(9, 16), Some("photo-form-unsupported"));
        assert_eq!(code(22, 13), Some("photo-form-unsupported"));
        assert!(signalled("heic", 12, 13, Depth::Eight).unwrap().1.is_none());
        assert!(signalled("heic", 1, 1, Depth::Eight).unwrap().1.unwrap().contains("sRGB curve"));
        // Bare P3 red in linear sRGB, unclipped.
        let red = signalled("png", 12, 13, Depth::Eight).unwrap().0.at(255, 0, 0);
        assert!((red[0] - 1.22494).abs() < 1e-5 && (red[2] + 0.019638).abs() < 1e-5);
    }
}
