//! From colour to concentration: kits, the curve through their swatches, its inversion.
//!
//! Takes CIELAB with covariance, gives an amount with its interval. Never: sees a photo.

pub mod kit;
pub mod limits;

pub use kit::{Kind, Kit, KitError, Matrix, Scale, Swatch, Test};
