//! Enrolled cards.
