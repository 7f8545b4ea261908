//! Folders of photos: which files are in them, and in which order they are to be entered.

use super::IntakeError;
use crate::photo::{self, Limits, Peek, PhotoError};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use std::fs;
use std::path::{Path, PathBuf};

/// Endings of files that may be photos. What a photo is, its content says; this only keeps films and notes out.
const ENDINGS: &[&str] = &["jpg", "jpeg", "png", "tif", "tiff", "webp", "heic", "heif"];

/// What lies in folders.
#[derive(Debug, Default)]
pub struct Found {
    /// Photos by the endings of their names.
    pub photos: Vec<PathBuf>,
    /// How many other files there are. Hidden ones do not count.
    pub others: usize,
    /// Folders that cannot be looked into.
    pub shut: Vec<IntakeError>,
}

/// Lists the photos in a folder and all folders below it, in the order of their names. Hidden files and folders, and `not`,
/// are passed over; links to folders are not followed.
pub fn photos_in(folder: &Path, not: &Path) -> Found {
    let mut found = Found::default();
    walk(folder, not, &mut found);
    found
}

fn walk(folder: &Path, not: &Path, found: &mut Found) {
    let entries = fs::read_dir(folder).and_then(|list| list.collect::<Result<Vec<_>, _>>());
    let mut entries = match entries {
        Ok(entries) => entries,
        Err(cause) => {
            let source = PhotoError::Unreadable { path: folder.into(), cause };
            return found.shut.push(IntakeError::Photo { path: folder.into(), source });
        }
    };
    entries.sort_by_key(fs::DirEntry::file_name);
    for entry in entries {
        let path = entry.path();
        if entry.file_name().to_string_lossy().starts_with('.') {
            continue;
        }
        match entry.file_type() {
            Ok(kind) if kind.is_dir() => {
                if !same(&path, not) {
                    walk(&path, not, found);
                }
            }
            // A pipe would be waited for without end.
            Ok(kind) if (kind.is_file() || kind.is_symlink()) && is_photo(&path) => found.photos.push(path),
            _ => found.others += 1,
        }
    }
}

fn is_photo(path: &Path) -> bool {
    let ending = path.extension().and_then(|e| e.to_str()).map(str::to_ascii_lowercase);
    ending.is_some_and(|e| ENDINGS.contains(&e.as_str()))
}

fn same(a: &Path, b: &Path) -> bool {
    match (a.canonicalize(), b.canonicalize()) {
        (Ok(a), Ok(b)) => a == b,
        _ => false,
    }
}

/// A file with what its beginning says.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// The file.
    pub path: PathBuf,
    /// Whether it was found in a folder, not named itself.
    pub found: bool,
    /// Its metadata.
    pub peek: Peek,
}

/// Puts files into the order of their capture times, those without one last; files of one time in the order given. Cameras
/// that write no offset are taken to be in `zone`. Only metadata is read.
pub fn by_time(files: Vec<(PathBuf, bool)>, zone: &TimeZone, limits: &Limits) -> Vec<Candidate> {
    let look = |(path, found): (PathBuf, bool)| {
        let peek = photo::peek(&path, limits);
        (instant(&peek, zone), Candidate { path, found, peek })
    };
    let mut all: Vec<_> = files.into_iter().map(look).collect();
    all.sort_by_key(|(at, _)| (at.is_none(), *at));
    all.into_iter().map(|(_, candidate)| candidate).collect()
}

fn instant(peek: &Peek, zone: &TimeZone) -> Option<Timestamp> {
    let taken = peek.taken?;
    match taken.offset {
        Some(offset) => offset.to_timestamp(taken.local).ok(),
        None => zone.to_ambiguous_timestamp(taken.local).compatible().ok(),
    }
}
