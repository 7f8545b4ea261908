//! Putting a backup back.

use super::{BackupError, LOG, checked, file_error, open, read};
use crate::intake::{Home, IntakeError};
use crate::log::{Imported, Log};
use crate::store;
use std::fs;
use std::path::Path;

/// What a restore did. Nothing that was at home is overwritten.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Restored {
    /// Files put back.
    pub added: Vec<String>,
    /// Files that were there already, as they are in the backup.
    pub same: usize,
    /// Files that are there and differ; they were left as they are.
    pub kept: Vec<String>,
    /// Where a log was there already: entries of the backup that were added to it, and those it had.
    pub log: Option<Imported>,
}

/// Puts everything back: into an empty home as it was; into one with files only what is missing, and into its log the entries
/// that it lacks.
pub fn restore(home: &Home, from: &Path) -> Result<Restored, IntakeError> {
    let (mut archive, manifest) = checked(from, open(from)?)?;
    home.make()?;
    let mut done = Restored::default();
    // The log last: what its readings name is there by then.
    let (log, rest): (Vec<_>, Vec<_>) = manifest.files.iter().partition(|f| f.path == LOG);
    for listed in rest {
        let target = home.root().join(&listed.path);
        match fs::read(&target) {
            Ok(there) if store::content_hash(&there).as_str() == listed.sha256 => done.same += 1,
            Ok(_) => done.kept.push(listed.path.clone()),
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
                let damaged = |cause| BackupError::Damaged { path: from.into(), cause };
                let bytes = read(&mut archive, &listed.path).map_err(damaged)?;
                if let Some(folder) = target.parent() {
                    home.make_folder(folder)?;
                }
                store::write_atomic(&target, &bytes)?;
                done.added.push(listed.path.clone());
            }
            Err(e) => return Err(file_error("read", &target, e).into()),
        }
    }
    if !log.is_empty() {
        let damaged = |cause| BackupError::Damaged { path: from.into(), cause };
        let bytes = read(&mut archive, LOG).map_err(damaged)?;
        put_log(home, &bytes, &mut done)?;
    }
    Ok(done)
}

fn put_log(home: &Home, bytes: &[u8], done: &mut Restored) -> Result<(), IntakeError> {
    let aside = tempfile::Builder::new().prefix(".writing-").tempdir_in(home.root());
    let aside = aside.map_err(|e| file_error("write", home.root(), e))?;
    let copy = aside.path().join(LOG);
    store::write_atomic(&copy, bytes)?;
    // Opened first: a log that cannot be used is put nowhere.
    let log = Log::open(&copy)?;
    match home.log_if_any()? {
        Some(mut own) => {
            let mut json = Vec::new();
            log.export_json(&mut json)?;
            done.log = Some(own.import_json(&mut json.as_slice())?);
        }
        None => {
            log.journal(1)?;
            drop(log);
            let whole = fs::read(&copy).map_err(|e| file_error("read", &copy, e))?;
            store::write_atomic(&home.log_path(), &whole)?;
            done.added.push(LOG.to_string());
        }
    }
    Ok(())
}
