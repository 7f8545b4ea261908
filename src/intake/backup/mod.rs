//! One file that holds everything: log, kits, cards, kept originals, and whatever else lies in the home folder.
//!
//! A ZIP archive (entries stored, not packed: photos are packed already) with the files as they lie at home, the log as one whole
//! state, and `manifest.json`, which names every file with its length and SHA-256. It is written beside its name, read back
//! and checked, and only then given its name; nothing is restored before all of it has been checked.
//!
//! # manifest.json, format 1
//! One object: `format` (`tintline-backup`), `schema` (1), `program` (version), `made` (RFC 3339, UTC), `files`: a list of
//! objects with `path` (with `/`), `bytes` and `sha256`.

mod restore;
mod write;

pub use restore::{Restored, restore};
pub use write::{BackedUp, backup};

use crate::store;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{Read, Seek};
use std::path::{Path, PathBuf};
use zip::ZipArchive;

/// The log's name in a backup.
const LOG: &str = "log.db";
const MANIFEST: &str = "manifest.json";
const FORMAT: &str = "tintline-backup";
const SCHEMA: u32 = 1;

/// Why a backup cannot be written or restored.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum BackupError {
    /// There is something at the place already.
    #[error("there is a file {} already", path.display())]
    Exists { path: PathBuf },
    /// The backup would lie in what it holds.
    #[error("{} lies in the home folder itself", path.display())]
    Inside { path: PathBuf },
    /// Nothing to back up.
    #[error("there is nothing at {} to back up", path.display())]
    Empty { path: PathBuf },
    /// No room, no permission, no such folder.
    #[error("cannot {doing} {}: {cause}", path.display())]
    File { doing: &'static str, path: PathBuf, cause: String },
    /// Not a backup of ours.
    #[error("{} is no backup of this program: {cause}", path.display())]
    Foreign { path: PathBuf, cause: String },
    /// Ours, but cut off or changed.
    #[error("the backup {} is damaged: {cause}", path.display())]
    Damaged { path: PathBuf, cause: String },
    /// Of a later form.
    #[error("the backup {} is of format {found}; this program knows formats up to {SCHEMA}", path.display())]
    Newer { path: PathBuf, found: u32 },
}

impl BackupError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Exists { .. } => "backup-exists",
            Self::Inside { .. } => "backup-inside-home",
            Self::Empty { .. } => "backup-empty",
            Self::File { .. } => "backup-file",
            Self::Foreign { .. } => "backup-foreign",
            Self::Damaged { .. } => "backup-damaged",
            Self::Newer { .. } => "backup-newer",
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::Exists { .. } => "Choose another name; no file is overwritten.",
            Self::Inside { .. } => "Choose a place outside of it, best on another disk.",
            Self::Empty { .. } => "Check --home: a backup is of what lies there.",
            Self::File { .. } => {
                "Check the path, that you may read and write there, and that there is room on the disk."
            }
            Self::Foreign { .. } => "Give a file that 'log backup' wrote.",
            Self::Damaged { .. } => "Use another backup; nothing was restored from this one.",
            Self::Newer { .. } => "Use the newer version of the program that wrote it.",
        }
    }
}

/// What a backup says it holds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Manifest {
    format: String,
    schema: u32,
    program: String,
    made: jiff::Timestamp,
    files: Vec<Listed>,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Listed {
    path: String,
    bytes: u64,
    sha256: String,
}

/// Opens an archive and checks every file in it against the manifest.
fn checked<R: Read + Seek>(path: &Path, file: R) -> Result<(ZipArchive<R>, Manifest), BackupError> {
    let damaged = |cause: String| BackupError::Damaged { path: path.into(), cause };
    let foreign = |cause: &str| BackupError::Foreign { path: path.into(), cause: cause.into() };
    // The list of an archive stands at its end: a file that was cut off has none.
    let mut archive = ZipArchive::new(file).map_err(|e| foreign(&format!("{e}; it may be cut off")))?;
    let text = match archive.by_name(MANIFEST) {
        Err(zip::result::ZipError::FileNotFound) => return Err(foreign("it has no manifest")),
        Err(e) => return Err(damaged(e.to_string())),
        Ok(mut entry) => {
            let mut text = String::new();
            entry.read_to_string(&mut text).map_err(|e| damaged(e.to_string()))?;
            text
        }
    };
    #[derive(Deserialize)]
    struct Head {
        format: String,
        schema: u32,
    }
    let head: Head = serde_json::from_str(&text).map_err(|e| damaged(format!("its manifest: {e}")))?;
    if head.format != FORMAT {
        return Err(foreign(&format!("its format is '{}'", head.format)));
    }
    if head.schema > SCHEMA {
        return Err(BackupError::Newer { path: path.into(), found: head.schema });
    }
    let manifest: Manifest = serde_json::from_str(&text).map_err(|e| damaged(format!("its manifest: {e}")))?;
    let listed: BTreeMap<&str, &Listed> = manifest.files.iter().map(|l| (l.path.as_str(), l)).collect();
    if listed.len() != manifest.files.len() || archive.len() != listed.len() + 1 {
        return Err(damaged(format!("it holds {} files where {} are listed", archive.len(), listed.len() + 1)));
    }
    for one in listed.values() {
        if !sound_path(&one.path) {
            return Err(damaged(format!("'{}' is no place in a home folder", one.path)));
        }
        let bytes = read(&mut archive, &one.path).map_err(damaged)?;
        if bytes.len() as u64 != one.bytes || store::content_hash(&bytes).as_str() != one.sha256 {
            return Err(damaged(format!("{} is not what was written", one.path)));
        }
    }
    Ok((archive, manifest))
}

/// One file of an archive, whole.
fn read<R: Read + Seek>(archive: &mut ZipArchive<R>, path: &str) -> Result<Vec<u8>, String> {
    let mut entry = archive.by_name(path).map_err(|e| format!("{path}: {e}"))?;
    let mut bytes = Vec::new();
    entry.read_to_end(&mut bytes).map_err(|e| format!("{path}: {e}"))?;
    Ok(bytes)
}

/// Whether a path of an archive stays in the folder it is unpacked to, on every system.
fn sound_path(path: &str) -> bool {
    let part = |p: &str| !matches!(p, "" | "." | "..") && !p.contains(['\\', ':', '\0']);
    !path.is_empty() && path.split('/').all(part)
}

fn file_error(doing: &'static str, path: &Path, cause: impl std::fmt::Display) -> BackupError {
    BackupError::File { doing, path: path.into(), cause: cause.to_string() }
}

fn open(path: &Path) -> Result<File, BackupError> {
    File::open(path).map_err(|e| file_error("read", path, e))
}
