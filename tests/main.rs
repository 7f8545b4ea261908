//! Tests from outside, one binary.

mod layering;
mod photos;
mod pictures;
mod torn;
