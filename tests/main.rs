//! Tests from outside, one binary.

mod kitfile;
mod layering;
mod overlay;
mod print;
mod published;
mod store;
mod units;
