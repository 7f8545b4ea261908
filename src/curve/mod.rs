//! From colour to concentration: kits, the curve through their swatches, its inversion.
//!
//! Takes CIELAB with covariance, gives an amount with its interval. Never: sees a photo.

mod adopt;
mod anchor;
mod answer;
mod check;
pub mod control;
pub mod density;
mod extra;
mod invert;
pub mod kit;
pub mod limits;
mod path;
mod series;
pub mod vision;
mod way;
mod zeroed;

pub use adopt::{Shift, Trial, tried};
pub use answer::{Answer, answer};
pub use check::{Check, Gap, LeftOut, check, order};
pub use extra::{Extra, Held, New, Taken, held};
pub use invert::{Found, Seen, invert};
pub use kit::{
    Adopted, Adoption, Bottle, Camera, Clear, Kind, Kit, KitError, Matrix, Scale, Source, Strip, Swatch, Test,
};
pub use path::{CurveError, Nuisance, Path};
pub use series::{Level, Series, SeriesError};
pub use way::Ways;
pub use zeroed::{Off, Zero, no_water, suspect};
