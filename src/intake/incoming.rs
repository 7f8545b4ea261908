//! Photos that came by the page, kept with what was said about them until the keeper has looked at what was read.
//!
//! `incoming/` in the home folder holds, for each, named by the hash of the file's bytes, never by anything typed or sent:
//!
//! | file | what |
//! | --- | --- |
//! | `ID.photo` | the file as it came |
//! | `ID.json` | what was said about it, format 1; with it the photo is accepted |
//! | `ID.jpg` | what was read, drawn into a copy |
//!
//! All of it open to the owner alone. The photo is on the disk before its words are, and both before it is said to be accepted, so
//! that a program killed at any moment neither loses nor doubles an accepted photo; one that came twice is one.

use super::{Home, IntakeError};
use crate::log::Id;
use crate::photo::{Limits, PhotoError};
use crate::store::{self, StoreError};
use jiff::{SignedDuration, Timestamp};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fmt;
use std::fs;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// The newest form this version reads.
const FORMAT: u32 = 1;
/// Most photos that wait to be looked at.
pub const MOST_WAITING: usize = 100;
/// How long a kept photo is still listed.
const LISTED: SignedDuration = SignedDuration::from_hours(24);
/// What is no accepted photo's and older than this was left behind by a program that was killed.
const LEFT: SignedDuration = SignedDuration::from_hours(1);

/// Which photo: 32 hexadecimal digits.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PhotoKey(String);

impl PhotoKey {
    /// The key of its text form, and of nothing else.
    pub fn parse(text: &str) -> Option<Self> {
        let digit = |b: u8| matches!(b, b'0'..=b'9' | b'a'..=b'f');
        (text.len() == 32 && text.bytes().all(digit)).then(|| Self(text.to_string()))
    }
}

impl fmt::Display for PhotoKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// What was said about a photo that came.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sent {
    format: u32,
    /// When it came first.
    pub at: Timestamp,
    /// The file's name, to be shown.
    pub name: Option<String>,
    /// Whether it came from the camera itself, and so was taken just before it came.
    pub snapped: bool,
    /// The tank on whose page it was sent.
    pub tank: Id,
    /// The kit's name.
    pub kit: Option<String>,
    /// `STATION=TEST` or `STATION=TEST:1+4`; none where labels say it.
    pub stations: Vec<String>,
    /// Station of the clear vial.
    pub clear: Option<String>,
    /// When it was taken, as typed.
    pub taken: Option<String>,
    /// What became of it, once it is logged.
    pub kept: Option<KeptPhoto>,
}

/// A photo that was logged.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeptPhoto {
    /// When.
    pub at: Timestamp,
    /// The photo's identity in the log.
    pub photo: String,
}

impl Sent {
    /// A photo of a tank that comes now, with nothing said about it.
    pub fn new(tank: Id, at: Timestamp) -> Self {
        Self {
            format: FORMAT,
            at,
            name: None,
            snapped: false,
            tank,
            kit: None,
            stations: Vec::new(),
            clear: None,
            taken: None,
            kept: None,
        }
    }
}

/// The folder of photos that came.
#[derive(Debug, Clone)]
pub struct Incoming {
    home: Home,
    folder: PathBuf,
}

/// A photo that is coming. Dropped, it is gone.
#[derive(Debug)]
pub struct Arriving {
    incoming: Incoming,
    file: NamedTempFile,
    hash: Sha256,
    bytes: u64,
    limit: u64,
}

impl Incoming {
    /// Of a home.
    pub fn of(home: &Home) -> Self {
        Self { home: home.clone(), folder: home.root().join("incoming") }
    }

    /// A photo begins to come.
    pub fn begin(&self, limits: &Limits) -> Result<Arriving, IntakeError> {
        let waiting = self.list()?.iter().filter(|(_, sent)| sent.kept.is_none()).count();
        if waiting >= MOST_WAITING {
            return Err(IntakeError::TooManyWaiting { most: MOST_WAITING });
        }
        self.home.make()?;
        self.home.make_folder(&self.folder)?;
        let file = tempfile::Builder::new().prefix(".coming-").tempfile_in(&self.folder);
        let file = file.map_err(|source| self.failed("write to", source))?;
        Ok(Arriving { incoming: self.clone(), file, hash: Sha256::new(), bytes: 0, limit: limits.bytes })
    }

    /// All accepted photos, the first that came first. One with words of a later program is left alone.
    pub fn list(&self) -> Result<Vec<(PhotoKey, Sent)>, IntakeError> {
        let entries = match fs::read_dir(&self.folder) {
            Err(e) if e.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
            other => other.map_err(|source| self.failed("list", source))?,
        };
        let mut out = Vec::new();
        for entry in entries {
            let path = entry.map_err(|source| self.failed("list", source))?.path();
            let key = path.file_stem().and_then(|s| s.to_str()).and_then(PhotoKey::parse);
            if let Some(key) = key.filter(|_| path.extension().is_some_and(|e| e == "json"))
                && let Some(sent) = self.sent(&key)?
            {
                out.push((key, sent));
            }
        }
        out.sort_by(|a, b| (a.1.at, &a.0).cmp(&(b.1.at, &b.0)));
        Ok(out)
    }

    /// What was said about a photo; none if there is no such photo.
    pub fn sent(&self, key: &PhotoKey) -> Result<Option<Sent>, IntakeError> {
        match fs::read(self.path(key, "json")) {
            Ok(bytes) => Ok(serde_json::from_slice::<Sent>(&bytes).ok().filter(|s| s.format == FORMAT)),
            Err(e) if e.kind() == ErrorKind::NotFound => Ok(None),
            Err(source) => Err(self.failed("read", source).into()),
        }
    }

    /// Says something else about a photo.
    pub fn say(&self, key: &PhotoKey, sent: &Sent) -> Result<(), IntakeError> {
        let text = serde_json::to_vec_pretty(sent).map_err(|e| self.failed("write to", e.into()))?;
        Ok(store::write_atomic(&self.path(key, "json"), &text)?)
    }

    /// The photo's file.
    pub fn photo(&self, key: &PhotoKey) -> PathBuf {
        self.path(key, "photo")
    }

    /// The drawing of what was read, if there is one.
    pub fn drawing(&self, key: &PhotoKey) -> Result<Option<Vec<u8>>, IntakeError> {
        match fs::read(self.path(key, "jpg")) {
            Ok(bytes) => Ok(Some(bytes)),
            Err(e) if e.kind() == ErrorKind::NotFound => Ok(None),
            Err(source) => Err(self.failed("read", source).into()),
        }
    }

    /// Keeps the drawing of what was read.
    pub fn draw(&self, key: &PhotoKey, jpeg: &[u8]) -> Result<(), IntakeError> {
        Ok(store::write_atomic(&self.path(key, "jpg"), jpeg)?)
    }

    /// Says that a photo is in the log: its file is not needed here any more.
    pub fn kept(&self, key: &PhotoKey, sent: Sent, photo: &str, now: Timestamp) -> Result<(), IntakeError> {
        self.say(key, &Sent { kept: Some(KeptPhoto { at: now, photo: photo.to_string() }), ..sent })?;
        self.remove(key, "photo")
    }

    /// Forgets a photo. Its words go first: without them it is not accepted.
    pub fn discard(&self, key: &PhotoKey) -> Result<(), IntakeError> {
        ["json", "photo", "jpg"].into_iter().try_for_each(|ending| self.remove(key, ending))
    }

    /// Clears away what was kept long ago, and what a program that was killed left behind.
    pub fn sweep(&self, now: Timestamp) -> Result<(), IntakeError> {
        for (key, sent) in self.list()? {
            match sent.kept {
                Some(kept) if now.duration_since(kept.at) > LISTED => self.discard(&key)?,
                Some(_) => self.remove(&key, "photo")?,
                None => {}
            }
        }
        let Ok(entries) = fs::read_dir(&self.folder) else { return Ok(()) };
        for path in entries.flatten().map(|e| e.path()) {
            let key = path.file_stem().and_then(|s| s.to_str()).and_then(PhotoKey::parse);
            let coming = path.file_name().and_then(|n| n.to_str()).is_some_and(|n| n.starts_with(".coming-"));
            let orphan = key.is_some_and(|key| !self.path(&key, "json").exists());
            let changed = fs::metadata(&path).and_then(|m| m.modified()).ok().and_then(|t| Timestamp::try_from(t).ok());
            if (coming || orphan) && changed.is_some_and(|then| now.duration_since(then) > LEFT) {
                gone(&path).map_err(|source| self.failed("remove", source))?;
            }
        }
        Ok(())
    }

    fn path(&self, key: &PhotoKey, ending: &str) -> PathBuf {
        self.folder.join(format!("{key}.{ending}"))
    }

    fn remove(&self, key: &PhotoKey, ending: &str) -> Result<(), IntakeError> {
        Ok(gone(&self.path(key, ending)).map_err(|source| self.failed("remove", source))?)
    }

    fn failed(&self, doing: &'static str, source: std::io::Error) -> StoreError {
        StoreError::Io { doing, path: self.folder.clone(), source }
    }
}

fn gone(path: &Path) -> std::io::Result<()> {
    match fs::remove_file(path) {
        Err(e) if e.kind() == ErrorKind::NotFound => Ok(()),
        other => other,
    }
}

impl Arriving {
    /// More of its bytes.
    pub fn add(&mut self, bytes: &[u8]) -> Result<(), IntakeError> {
        self.bytes += bytes.len() as u64;
        if self.bytes > self.limit {
            return Err(self.refused(PhotoError::FileTooLarge { limit: self.limit }));
        }
        self.hash.update(bytes);
        Ok(self.file.write_all(bytes).map_err(|source| self.incoming.failed("write to", source))?)
    }

    /// Whether nothing came.
    pub fn is_empty(&self) -> bool {
        self.bytes == 0
    }

    /// Accepts it: when this returns, photo and words are on the disk. Of a photo that came before the first time stays.
    pub fn accept(self, sent: &Sent) -> Result<PhotoKey, IntakeError> {
        if self.is_empty() {
            return Err(self.refused(PhotoError::Empty));
        }
        let Self { incoming, file, hash, .. } = self;
        let key = PhotoKey(format!("{:x}", hash.finalize())[..32].to_string());
        let before = incoming.sent(&key)?.map(|s| s.at);
        file.as_file().sync_all().map_err(|source| incoming.failed("write to", source))?;
        file.persist(incoming.photo(&key)).map_err(|e| incoming.failed("write to", e.error))?;
        // The folder is flushed with the words, which are written after it.
        incoming.say(&key, &Sent { at: before.unwrap_or(sent.at), ..sent.clone() })?;
        Ok(key)
    }

    fn refused(&self, source: PhotoError) -> IntakeError {
        IntakeError::Photo { path: "photo".into(), source }
    }
}
