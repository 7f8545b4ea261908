//! sample
