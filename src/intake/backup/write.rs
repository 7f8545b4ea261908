//! Writing a backup.

use super::{BackupError, FORMAT, LOG, Listed, MANIFEST, Manifest, SCHEMA, checked, file_error, open};
use crate::intake::{Home, IntakeError, PROGRAM};
use crate::store;
use jiff::Timestamp;
use std::fs;
use std::io::{Seek, Write};
use std::path::{Path, PathBuf};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// What a backup holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BackedUp {
    /// The file.
    pub path: PathBuf,
    /// Its length.
    pub bytes: u64,
    /// How many files are in it, without the manifest.
    pub files: usize,
    /// Its own SHA-256, to check a copy by.
    pub sha256: String,
}

/// Writes everything at home into one new file, and reads it back before it gets its name.
pub fn backup(home: &Home, target: &Path, now: Timestamp) -> Result<BackedUp, IntakeError> {
    let folder = target.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let (root, whole) = (fs::canonicalize(home.root()), fs::canonicalize(folder));
    let root = root.map_err(|_| BackupError::Empty { path: home.root().into() })?;
    if whole.map_err(|e| file_error("write", target, e))?.starts_with(&root) {
        return Err(BackupError::Inside { path: target.into() }.into());
    }
    if target.exists() {
        return Err(BackupError::Exists { path: target.into() }.into());
    }
    let mut files = Vec::new();
    list(&root, &root, &mut files)?;
    if files.is_empty() {
        return Err(BackupError::Empty { path: home.root().into() }.into());
    }
    files.sort();
    let temp = tempfile::Builder::new().prefix(".writing-").tempfile_in(folder);
    let temp = temp.map_err(|e| file_error("write", target, e))?;
    // The log as one whole state, whoever writes to it meanwhile.
    let aside = tempfile::tempdir_in(folder).map_err(|e| file_error("write", target, e))?;
    let log = aside.path().join(LOG);
    if files.iter().any(|f| f == LOG) {
        crate::log::Log::open(&home.log_path())?.copy_to(&log)?;
    }
    let mut zip = ZipWriter::new(temp.as_file().try_clone().map_err(|e| file_error("write", target, e))?);
    let mut listed = Vec::new();
    for path in &files {
        let from = if path == LOG { log.clone() } else { root.join(path) };
        let bytes = fs::read(&from).map_err(|e| file_error("read", &from, e))?;
        put(&mut zip, path, &bytes, target)?;
        let sha256 = store::content_hash(&bytes).as_str().to_string();
        listed.push(Listed { path: path.clone(), bytes: bytes.len() as u64, sha256 });
    }
    let count = listed.len();
    let manifest =
        Manifest { format: FORMAT.into(), schema: SCHEMA, program: PROGRAM.into(), made: now, files: listed };
    let text = serde_json::to_string_pretty(&manifest).map_err(|e| file_error("write", target, e))?;
    put(&mut zip, MANIFEST, text.as_bytes(), target)?;
    zip.finish().map_err(|e| file_error("write", target, e))?;
    temp.as_file().sync_all().map_err(|e| file_error("write", target, e))?;
    let (_, again) = checked(target, open(temp.path())?)?;
    if again != manifest {
        let cause = "it does not read back as it was written".to_string();
        return Err(BackupError::Damaged { path: target.into(), cause }.into());
    }
    let bytes = fs::read(temp.path()).map_err(|e| file_error("read", target, e))?;
    let done = BackedUp {
        path: target.into(),
        bytes: bytes.len() as u64,
        files: count,
        sha256: store::content_hash(&bytes).as_str().to_string(),
    };
    temp.persist_noclobber(target).map_err(|e| match e.error.kind() {
        std::io::ErrorKind::AlreadyExists => BackupError::Exists { path: target.into() },
        _ => file_error("write", target, e.error),
    })?;
    Ok(done)
}

fn put<W: Write + Seek>(zip: &mut ZipWriter<W>, name: &str, bytes: &[u8], target: &Path) -> Result<(), BackupError> {
    // The owner's alone when it is unpacked: photos tell where they were taken.
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Stored)
        .unix_permissions(0o600)
        .large_file(bytes.len() as u64 >= u64::from(u32::MAX));
    zip.start_file(name, options).map_err(|e| file_error("write", target, e))?;
    zip.write_all(bytes).map_err(|e| file_error("write", target, e))
}

/// All files of a folder by their paths below `root`, with `/`. Left out: what SQLite and we ourselves keep only while we work, and which phones
/// are paired: a copy of the log lets nobody in.
fn list(root: &Path, folder: &Path, out: &mut Vec<String>) -> Result<(), BackupError> {
    let wrong = |e: std::io::Error| file_error("read", folder, e);
    for entry in fs::read_dir(folder).map_err(wrong)? {
        let entry = entry.map_err(wrong)?;
        let (path, kind) = (entry.path(), entry.file_type().map_err(wrong)?);
        let name = entry.file_name().to_string_lossy().to_string();
        if name.starts_with(".writing-")
            || [".lock", "log.db-wal", "log.db-shm", "paired.json"].contains(&name.as_str())
        {
            continue;
        }
        if kind.is_dir() {
            list(root, &path, out)?;
        } else if kind.is_file() {
            let below = path.strip_prefix(root).unwrap_or(&path);
            let parts: Option<Vec<&str>> = below.components().map(|c| c.as_os_str().to_str()).collect();
            // A name that is no Unicode is none of ours.
            out.extend(parts.map(|p| p.join("/")).filter(|p| super::sound_path(p) && p != MANIFEST));
        }
    }
    Ok(())
}
