//! What ends a run, and with which exit code.

use crate::advice::plan::PlanError;
use crate::faces::chart::ChartError;
use crate::faces::overlay::OverlayError;
use crate::faces::print::PrintError;
use crate::faces::web::{PhonesError, ServeError};
use crate::intake::{Fault, IntakeError};
use crate::light::CgatsError;
use crate::log::LogError;
use crate::store::StoreError;
use std::io;
use std::path::PathBuf;
use std::process::ExitCode;

/// How a run ended; see the table at [`super`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Exit {
    Done = 0,
    Failed = 1,
    Usage = 2,
    Look = 3,
    Storage = 4,
    Stopped = 130,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        ExitCode::from(exit as u8)
    }
}

/// Why a run ended early.
#[derive(Debug, thiserror::Error)]
pub(super) enum Trouble {
    #[error(transparent)]
    Intake(#[from] IntakeError),
    #[error(transparent)]
    Plan(#[from] PlanError),
    #[error(transparent)]
    Overlay(#[from] OverlayError),
    #[error(transparent)]
    Print(#[from] PrintError),
    #[error(transparent)]
    Chart(#[from] ChartError),
    #[error(transparent)]
    Serve(Box<ServeError>),
    /// A file that was to be written or read.
    #[error("cannot {doing} {}: {source}", path.display())]
    File { doing: &'static str, path: PathBuf, source: io::Error },
    #[error("the output cannot be written: {0}")]
    Output(#[from] io::Error),
    #[error("there is no data folder for this user")]
    NoHome,
    /// Options that do not go together.
    #[error("{sentence}")]
    Usage { sentence: String, remedy: String },
    /// A file of measured patches.
    #[error("{}: {source}", path.display())]
    Measured { path: PathBuf, source: CgatsError },
}

impl Trouble {
    pub(super) fn usage(sentence: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self::Usage { sentence: sentence.into(), remedy: remedy.into() }
    }

    pub(super) fn code(&self) -> &'static str {
        match self {
            Self::Intake(e) => e.code(),
            Self::Plan(e) => e.code(),
            Self::Overlay(e) => e.code(),
            Self::Print(e) => e.code(),
            Self::Chart(e) => e.code(),
            Self::Serve(e) => e.code(),
            Self::File { .. } => "file-unusable",
            Self::Output(_) => "output-unwritable",
            Self::NoHome => "home-unknown",
            Self::Usage { .. } => "usage",
            Self::Measured { source, .. } => source.code(),
        }
    }

    pub(super) fn remedy(&self) -> String {
        match self {
            Self::Intake(e) => e.remedy(),
            Self::Plan(e) => e.remedy(),
            Self::Overlay(e) => e.remedy().to_string(),
            Self::Print(e) => e.remedy().to_string(),
            Self::Chart(e) => e.remedy().to_string(),
            Self::Serve(e) => e.remedy(),
            Self::File { .. } => "Check the path, and that you may read and write there.".into(),
            Self::Output(_) => "Check where the output goes, and that there is room on the disk.".into(),
            Self::NoHome => "Name a folder with --home or TINTLINE_HOME.".into(),
            Self::Usage { remedy, .. } => remedy.clone(),
            Self::Measured { source, .. } => source.remedy().to_string(),
        }
    }

    pub(super) fn exit(&self) -> Exit {
        match self {
            Self::Intake(e) => match e.fault() {
                Fault::Asked => Exit::Usage,
                Fault::Input => Exit::Failed,
                Fault::Storage => Exit::Storage,
            },
            Self::Plan(e) if e.is_refusal() => Exit::Look,
            Self::Plan(_) => Exit::Usage,
            Self::Overlay(OverlayError::UnknownEnding { .. }) | Self::Usage { .. } => Exit::Usage,
            Self::Overlay(_) | Self::Output(_) | Self::NoHome => Exit::Storage,
            Self::File { doing, .. } => {
                if *doing == "read" {
                    Exit::Failed
                } else {
                    Exit::Storage
                }
            }
            Self::Serve(e) => match &**e {
                ServeError::Phones(PhonesError::Unknown { .. }) => Exit::Usage,
                ServeError::Phones(_) | ServeError::Photos(_) => Exit::Storage,
                _ => Exit::Failed,
            },
            Self::Print(_) | Self::Chart(_) | Self::Measured { .. } => Exit::Failed,
        }
    }
}

impl From<ServeError> for Trouble {
    fn from(e: ServeError) -> Self {
        Self::Serve(Box::new(e))
    }
}

impl From<LogError> for Trouble {
    fn from(e: LogError) -> Self {
        Self::Intake(e.into())
    }
}

impl From<StoreError> for Trouble {
    fn from(e: StoreError) -> Self {
        Self::Intake(e.into())
    }
}
