//! Small numerical methods. A leaf: names nothing of ours, open to all rooms.
//!
//! Takes and gives plain numbers, `nalgebra` matrices where there are many. Promises: no panic on any input; where data
//! cannot give an answer the result is `None` or a [`FitError`]. Never: knows what the numbers mean.

pub mod ensemble;
pub mod fit;
pub mod ode;
pub mod pchip;
pub mod robust;
pub mod stats;

pub use fit::{Fit, FitError, irls, least_squares};
pub use pchip::{Pchip, Slopes};
