//! Tests from outside, one binary.

mod layering;
mod overlay;
mod print;
mod published;
mod units;
