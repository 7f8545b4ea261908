//! The page on the phone, asked over the network as a browser asks.

mod door;
mod tank;
