//! The photo store: originals as they came, so that a photo can be read again with a better kit, card or program.

use super::{Home, IntakeError, Opened};
use crate::store::{StoreError, write_atomic};
use std::collections::HashMap;
use std::fs;
use std::io::ErrorKind;
use std::path::PathBuf;

/// Whether originals are kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Keep {
    /// Not this one.
    No,
    /// As long as all of them together stay below so many bytes. Nothing is ever thrown out to make room.
    UpTo { bytes: u64 },
}

impl Default for Keep {
    /// Ten gigabytes: two to three thousand photos of 12 million pixels.
    fn default() -> Self {
        Self::UpTo { bytes: 10_000_000_000 }
    }
}

/// What became of an original.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Keeping {
    /// Kept now.
    New { path: PathBuf },
    /// It was there already.
    There { path: PathBuf },
    /// There is no room left for it.
    Full { used: u64, most: u64 },
    /// It was not to be kept.
    No,
}

/// The originals that are kept, listed once for many photos.
#[derive(Debug)]
pub struct Originals<'h> {
    home: &'h Home,
    keep: Keep,
    paths: HashMap<String, PathBuf>,
    used: u64,
}

impl<'h> Originals<'h> {
    /// What is kept now.
    pub fn of(home: &'h Home, keep: Keep) -> Result<Self, IntakeError> {
        let kept = home.kept_photos()?;
        let id = |p: &PathBuf| p.file_stem().map(|s| s.to_string_lossy().to_string()).unwrap_or_default();
        Ok(Self { home, keep, used: home.photo_bytes()?, paths: kept.into_iter().map(|p| (id(&p), p)).collect() })
    }

    /// Whether nothing is kept yet.
    pub fn is_empty(&self) -> bool {
        self.paths.is_empty()
    }

    /// Keeps a photo's original, if it is to be kept and there is room.
    pub fn keep(&mut self, opened: &Opened) -> Result<Keeping, IntakeError> {
        let Keep::UpTo { bytes: most } = self.keep else { return Ok(Keeping::No) };
        let id = opened.photo.id();
        if let Some(path) = self.paths.get(id) {
            return Ok(Keeping::There { path: path.clone() });
        }
        let (used, own) = (self.used, opened.bytes.len() as u64);
        if used + own > most {
            return Ok(Keeping::Full { used, most });
        }
        self.home.make_folder(&self.home.photos())?;
        let path = self.home.photos().join(format!("{id}.{}", opened.ending()));
        write_atomic(&path, &opened.bytes)?;
        self.used += own;
        self.paths.insert(id.to_string(), path.clone());
        Ok(Keeping::New { path })
    }
}

impl Home {
    /// Keeps a photo's original, if it is to be kept and there is room.
    pub fn keep_photo(&self, opened: &Opened, keep: Keep) -> Result<Keeping, IntakeError> {
        match keep {
            Keep::No => Ok(Keeping::No),
            Keep::UpTo { .. } => Originals::of(self, keep)?.keep(opened),
        }
    }

    /// All originals, by identity.
    pub fn kept_photos(&self) -> Result<Vec<PathBuf>, IntakeError> {
        let (folder, io) = (self.photos(), |source| self.unlistable(source));
        let entries = match fs::read_dir(&folder) {
            Err(e) if e.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
            other => other.map_err(io)?,
        };
        let mut out = entries.map(|e| e.map(|e| e.path()).map_err(io)).collect::<Result<Vec<_>, _>>()?;
        // A file that is still being written, or somebody else's, has no identity for a name.
        out.retain(|p| p.file_stem().and_then(|s| s.to_str()).is_some_and(is_id));
        out.sort();
        Ok(out)
    }

    /// Bytes that the originals take.
    pub fn photo_bytes(&self) -> Result<u64, IntakeError> {
        let sizes = self.kept_photos()?.into_iter().map(|p| fs::metadata(p).map(|m| m.len()));
        Ok(sizes.sum::<Result<u64, _>>().map_err(|source| self.unlistable(source))?)
    }

    fn unlistable(&self, source: std::io::Error) -> StoreError {
        StoreError::Io { doing: "list", path: self.photos(), source }
    }
}

fn is_id(stem: &str) -> bool {
    stem.len() == 64 && stem.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'))
}
