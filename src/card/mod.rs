//! Finds the printed card. Takes a photo and a layout; gives millimetres ↔ pixels, sharpness, the labels laid on the card, other
//! markers.
//!
//! Promises: works with one marker covered, and says which; names the markers missing when there are two; notices a
//! bent card, one too far away, cut off or blurred. Never: corrects colour, reads files of photos.

pub mod family;
mod find;
mod geometry;
pub mod labels;
pub mod layout;
pub mod markers;
mod search;
mod sharpness;

pub use family::CardNumber;
pub use find::{Card, find};
pub use geometry::Plane;
pub use labels::{Label, LabelKind, Labels, labels};
pub use layout::Layout;
