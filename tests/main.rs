//! Tests from outside, one binary.

mod layering;
mod logroom;
mod roundtrip;
mod units;
mod upgrade;
