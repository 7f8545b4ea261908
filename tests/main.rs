//! Tests from outside, one binary.

mod accuracy;
mod advice;
mod card_detection;
mod cards;
mod cli;
mod demo;
mod forecast;
mod hostile;
mod intake;
mod kitfile;
mod labels;
mod layering;
mod logroom;
mod odd;
mod overlay;
mod photos;
mod pictures;
mod print;
mod published;
mod readme;
mod roundtrip;
mod store;
mod support;
mod torn;
mod units;
mod upgrade;
