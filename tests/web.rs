//! The page on the phone, asked over the network as a browser asks.

mod door;
mod four;
mod killed;
mod limits;
mod pairing;
mod phone;
mod read;
mod setup;
mod tank;
mod tls;
