//! From colour to concentration: kits, the curve through their swatches, its inversion.
//!
//! Takes CIELAB with covariance, gives an amount with its interval. Never: sees a photo.

mod anchor;
mod answer;
mod check;
pub mod density;
mod invert;
pub mod kit;
pub mod limits;
mod path;
mod way;

pub use answer::{Answer, answer};
pub use check::{Check, Gap, LeftOut, check, order};
pub use invert::{Found, Seen, invert};
pub use kit::{Kind, Kit, KitError, Matrix, Scale, Source, Strip, Swatch, Test};
pub use path::{CurveError, Nuisance, Path};
pub use way::Ways;
