//! Tests from outside, one binary.

mod kitfile;
mod layering;
mod store;
mod units;
