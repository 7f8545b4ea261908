//! light
