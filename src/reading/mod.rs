//! From a photo to what it says: the only caller of all rooms before it. Never: writes anything.

pub mod beside;
mod clear;
mod combine;
mod outcome;
mod place;
mod print;
mod read;
mod strip;

pub use clear::{Zeroing, can_zero, clear_station};
pub use combine::{Combined, Word, combine};
pub use outcome::{ClearVial, Outcome, PhotoReading, SampleReading};
pub use print::shades;
pub use read::{Ask, Job, Standard, calibrate, calibrate_zeroed, foreign, read, read_on};
