//! Tests from outside, one binary.

mod card_detection;
mod cards;
mod cli;
mod intake;
mod kitfile;
mod layering;
mod logroom;
mod overlay;
mod photos;
mod pictures;
mod print;
mod published;
mod roundtrip;
mod store;
mod support;
mod torn;
mod units;
mod upgrade;
