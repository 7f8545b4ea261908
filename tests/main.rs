//! Tests from outside, one binary.

mod layering;
mod logroom;
mod units;
