//! Even light and the way from camera light into the card's own colour space.
//!
//! Takes a photo with its card found, and the card's colours (nominal or enrolled); gives a [`Scene`]: every place of the
//! card can be asked for its colour relative to bare paper, in linear light with sRGB primaries and D65. Promises: the
//! tone curve is straightened before any matrix; the smallest model that predicts left-out patches is taken; paper has to
//! earn the name. Never: looks at vials.

mod cardfile;
mod cgats;
mod check;
mod correct;
mod enrol;
mod field;
mod judge;
mod measure;
mod scene;
mod solve;
mod tone;

pub use cardfile::CardFileError;
pub use cgats::CgatsError;
pub use check::{Agreement, CardCheck, LightFacts, PlaceFacts, check_card};
pub use correct::{Correction, Model, Pair};
pub use enrol::{Enrolment, Origin, PatchColour};
pub use field::Field;
pub use measure::{Area, area};
pub use scene::{Reference, Scene, free};
