//! From the corrected bay to the colours of what stands or lies in it.
//!
//! Takes a photo with its card and light; gives for every vial, pad of a strip or printed shade CIELAB with covariance, the pixels
//! used and outlines for the overlay. Promises: never averages glare, glass, meniscus, cap or shadow; finds clear liquid; says
//! when there is no vial or strip, or when a strip may lie either way round. Never: knows what a colour means.

mod edges;
mod liquid;
mod pads;
mod samples;
mod shades;
mod strip;
mod vial;
mod view;

pub use liquid::{Colour, measure};
pub use samples::{Sample, Samples};
pub use shades::{Palest, Shade, shades};
pub use strip::Shape;
pub use vial::Vial;
