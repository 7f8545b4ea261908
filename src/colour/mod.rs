//! Colour values and the formulas between them. A leaf: names no other room.
//!
//! Takes and gives numbers in `f64`: [`LinRgb`], [`Srgb`], [`Xyz`], [`Lab`]; each space is a type of its own, so that a
//! colour cannot be used in the wrong one. Promises: every conversion also holds outside 0 to 1, and is odd or
//! affine there, so nothing is clipped on the way. Never: sees a picture, decides what a difference means.
//!
//! The white is D65 for the CIE 1931 2° observer, xy (0.3127, 0.3290), and all matrices are derived from chromaticities
//! at full precision, so that greys are exactly neutral in CIELAB.
//!
//! ```
//! use tintline::colour::{Lab, LinRgb, delta_e_2000, lab_from_linear};
//! let grey = lab_from_linear(LinRgb([0.18, 0.18, 0.18]));
//! assert!(delta_e_2000(grey, Lab([49.4961, 0.0, 0.0])) < 1e-4);
//! ```
//!
//! Spaces do not mix:
//!
//! ```compile_fail,E0308
//! use tintline::colour::{LinRgb, Srgb, lab_from_linear};
//! let coded = Srgb([0.5, 0.5, 0.5]);
//! let lab = lab_from_linear(coded); // code values are not linear light
//! ```

mod adapt;
mod convert;
mod deficiency;
mod difference;
mod space;
mod words;

pub use adapt::{Adaptation, Method};
pub use convert::{
    Primaries, decode_srgb, encode_srgb, jacobian_lab_of_linear, lab_from_linear, lab_from_xyz, linear_from_lab,
    linear_from_srgb, linear_from_xyz, rgb_to_xyz_matrix, srgb_from_linear, xyz_from_lab, xyz_from_linear,
};
pub use deficiency::{Deficiency, deficiency_matrix, seen_with};
pub use difference::{delta_e_76, delta_e_2000};
pub use space::{Lab, LinRgb, Srgb, White, Xyz};
pub use words::colour_words;

/// A 3 × 3 matrix, row by row, applied to column vectors.
pub type Matrix = [[f64; 3]; 3];

/// Matrix times column vector.
pub(crate) const fn apply(m: &Matrix, v: [f64; 3]) -> [f64; 3] {
    let mut out = [0.0; 3];
    let mut i = 0;
    while i < 3 {
        out[i] = m[i][0] * v[0] + m[i][1] * v[1] + m[i][2] * v[2];
        i += 1;
    }
    out
}

/// Matrix product `a` · `b`.
pub(crate) const fn product(a: &Matrix, b: &Matrix) -> Matrix {
    let mut out = [[0.0; 3]; 3];
    let mut i = 0;
    while i < 3 {
        let mut j = 0;
        while j < 3 {
            out[i][j] = a[i][0] * b[0][j] + a[i][1] * b[1][j] + a[i][2] * b[2][j];
            j += 1;
        }
        i += 1;
    }
    out
}

/// Inverse by cofactors; only ever called on the regular matrices of this room, at compile time or from their whites.
pub(crate) const fn inverse(m: &Matrix) -> Matrix {
    let mut adjugate = [[0.0; 3]; 3];
    let mut i = 0;
    while i < 3 {
        let mut j = 0;
        while j < 3 {
            // Cyclic indices carry the sign of the cofactor.
            let (r, s) = ((j + 1) % 3, (j + 2) % 3);
            let (c, d) = ((i + 1) % 3, (i + 2) % 3);
            adjugate[i][j] = m[r][c] * m[s][d] - m[r][d] * m[s][c];
            j += 1;
        }
        i += 1;
    }
    let determinant = m[0][0] * adjugate[0][0] + m[0][1] * adjugate[1][0] + m[0][2] * adjugate[2][0];
    i = 0;
    while i < 3 {
        let mut j = 0;
        while j < 3 {
            adjugate[i][j] /= determinant;
            j += 1;
        }
        i += 1;
    }
    adjugate
}
