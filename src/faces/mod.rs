//! faces
