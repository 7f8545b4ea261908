//! Finds the printed card. Takes a photo and a layout; gives millimetres ↔ pixels, patches, sharpness.
//!
//! Promises: works with one marker covered, and says which. Never: corrects colour, reads files of photos.

pub mod family;
pub mod layout;

pub use family::CardNumber;
pub use layout::Layout;
