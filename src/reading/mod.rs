//! From a photo to what it says: the only caller of all rooms before it. Never: writes anything.

pub mod outcome;

pub use outcome::{Outcome, PhotoReading, SampleReading};
