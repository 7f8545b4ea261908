//! What can be wrong with the list of paired phones.

use crate::faces::web::fail::Fail;
use crate::intake::IntakeError;
use crate::store::StoreError;
use axum::http::StatusCode;
use std::path::PathBuf;

/// The list of paired phones cannot be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PhonesError {
    /// The file cannot be read or written.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The home folder cannot be made.
    #[error(transparent)]
    Home(#[from] IntakeError),
    /// It is no list of phones.
    #[error("{} is no list of paired phones", path.display())]
    Odd { path: PathBuf },
    /// A newer program wrote it.
    #[error("{} was written by a newer version of the program", path.display())]
    Newer { path: PathBuf },
    /// No such phone.
    #[error("no phone is paired as '{which}'")]
    Unknown { which: String },
    /// More than can be told apart on a page.
    #[error("{} phones are paired", super::MOST)]
    Many,
    /// The system gives no random numbers.
    #[error("the system gives no random numbers")]
    Random,
}

impl PhonesError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Store(e) => e.code(),
            Self::Home(e) => e.code(),
            Self::Odd { .. } => "phones-odd",
            Self::Newer { .. } => "phones-newer",
            Self::Unknown { .. } => "phones-unknown",
            Self::Many => "phones-many",
            Self::Random => "phones-random",
        }
    }

    /// What can be done about it.
    pub fn remedy(&self) -> String {
        match self {
            Self::Store(e) => e.remedy().to_string(),
            Self::Home(e) => e.remedy(),
            Self::Odd { .. } => "Delete the file; every phone is then paired anew.".into(),
            Self::Newer { .. } => "Use the newer version, or delete the file; every phone is then paired anew.".into(),
            Self::Unknown { .. } => "Check the list with 'tintline serve phones'.".into(),
            Self::Many => "Forget one that is no longer used.".into(),
            Self::Random => "Restart the computer, and try again.".into(),
        }
    }
}

impl From<PhonesError> for Fail {
    fn from(e: PhonesError) -> Self {
        let status = match e {
            PhonesError::Unknown { .. } => StatusCode::NOT_FOUND,
            PhonesError::Many => StatusCode::CONFLICT,
            _ => StatusCode::INTERNAL_SERVER_ERROR,
        };
        Self::new(status, e.code(), e.to_string(), e.remedy())
    }
}
