//! Tests from outside, one binary.

mod layering;
mod published;
mod units;
