//! Finding the card: against another library's detector, against known places, and in pictures made to be difficult.

pub(crate) mod camera;
mod found;
mod pictures;
