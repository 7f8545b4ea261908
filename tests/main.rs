//! Tests from outside, one binary.

mod kitfile;
mod layering;
mod logroom;
mod overlay;
mod photos;
mod pictures;
mod print;
mod published;
mod store;
mod torn;
mod units;
