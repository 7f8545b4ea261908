//! Tests from outside, one binary.

mod layering;
mod print;
