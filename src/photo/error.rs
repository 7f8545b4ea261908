//! What can go wrong with a photo file.

use std::path::PathBuf;

/// A photo that could not be opened: what, where, and through [`PhotoError::remedy`] what to do.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PhotoError {
    #[error("the file {path} could not be read: {cause}")]
    Unreadable { path: PathBuf, cause: std::io::Error },
    #[error("the {format} data is damaged or cut off: {cause}")]
    Torn { format: &'static str, cause: String },
}
