//! The page on the phone, asked over the network as a browser asks.

mod door;
mod four;
mod limits;
mod pairing;
mod tank;
mod tls;
