//! faces

mod lettering;
pub mod overlay;
pub mod print;
