//! From a photo to what it says: the only caller of all rooms before it. Never: writes anything.

pub mod beside;
mod outcome;
mod place;
mod print;
mod read;
mod strip;

pub use outcome::{Outcome, PhotoReading, SampleReading};
pub use print::shades;
pub use read::{Ask, Job, Standard, calibrate, read, read_on};
