//! colour
