//! Files written whole or not at all, and folders of immutable revisions. A leaf, open to all rooms.
//!
//! A power cut at any moment leaves either the old file or the new one. Takes text and names; knows nothing of what the text means.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

/// What went wrong with a stored file.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The name cannot be a folder on every system.
    #[error("'{name}' cannot be used as a name: {why}")]
    Name { name: String, why: &'static str },
    /// Another spelling of a name already kept.
    #[error("'{name}' differs only in upper and lower case from '{kept}', which is already kept")]
    NameTaken { name: String, kept: String },
    /// Nothing is kept under this name.
    #[error("nothing is kept as '{name}'")]
    NothingKept { name: String },
    /// No such revision.
    #[error("'{name}' has no revision {id}")]
    NoRevision { name: String, id: String },
    /// A revision file does not hold what its name says.
    #[error("{} was changed or damaged after it was written", path.display())]
    Damaged { path: PathBuf },
    /// Somebody else was faster.
    #[error("'{name}' was changed by another program in the meantime")]
    Changed { name: String },
    /// The system refused.
    #[error("cannot {doing} {}: {source}", path.display())]
    Io { doing: &'static str, path: PathBuf, source: io::Error },
}

impl StoreError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        use io::ErrorKind as K;
        match self {
            Self::Name { .. } => "store-name",
            Self::NameTaken { .. } => "store-name-taken",
            Self::NothingKept { .. } => "store-nothing-kept",
            Self::NoRevision { .. } => "store-no-revision",
            Self::Damaged { .. } => "store-damaged",
            Self::Changed { .. } => "store-changed",
            Self::Io { source, .. } => match source.kind() {
                K::PermissionDenied | K::ReadOnlyFilesystem => "store-not-allowed",
                K::StorageFull | K::QuotaExceeded => "store-full",
                _ => "store-failed",
            },
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> &'static str {
        match self.code() {
            "store-name" => {
                "Use letters, digits, spaces, - and _, at most 64 of them, beginning with a letter or digit."
            }
            "store-name-taken" => "Use the spelling already kept, or another name.",
            "store-nothing-kept" => "Check the name in the list of what is kept.",
            "store-no-revision" => "Check the revision in the list of what is kept under this name.",
            "store-damaged" => "Take the file back from a backup, or make a new revision from its text.",
            "store-changed" => "Look at the newest revision and make the change again.",
            "store-not-allowed" => "Choose a folder you may write to, or change its permissions.",
            "store-full" => "Free some space on the disk and try again; nothing was changed.",
            _ => "Check that the folder exists and the disk is sound, then try again.",
        }
    }
}

/// What a text is, by its content: SHA-256 in 64 hexadecimal digits. Shown by the first twelve.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Revision(String);

/// Digits shown, and the length of revision file names.
const SHOWN: usize = 12;

impl Revision {
    /// All 64 digits.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The first twelve digits: the form shown, and the file's name.
    pub fn short(&self) -> &str {
        &self.0[..SHOWN]
    }
}

impl std::fmt::Display for Revision {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.short())
    }
}

/// The content hash of some bytes: SHA-256 (FIPS 180-4).
pub fn content_hash(bytes: &[u8]) -> Revision {
    Revision(format!("{:x}", Sha256::digest(bytes)))
}

/// Writes a file whole or not at all: a temporary file in the same folder, flushed to disk, then renamed over `path`.
pub fn write_atomic(path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    // As any file the keeper makes; the umask takes away what it must.
    replaced(path, written(path, bytes, 0o666)?)
}

/// The same, for nobody but the owner to read.
pub fn write_private(path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    replaced(path, written(path, bytes, 0o600)?)
}

/// One writer at a time, as long as the handle lives; the file `path` is made where it is not there. A file system without locks
/// has no protection but the atomic writes.
pub fn lock(path: &Path) -> Result<fs::File, StoreError> {
    let io = |source| StoreError::Io { doing: "lock", path: path.into(), source };
    let file = fs::OpenOptions::new().create(true).append(true).open(path).map_err(io)?;
    match file.lock() {
        Err(e) if e.kind() != io::ErrorKind::Unsupported => Err(io(e)),
        _ => Ok(file),
    }
}

fn replaced(path: &Path, temp: tempfile::NamedTempFile) -> Result<(), StoreError> {
    temp.persist(path).map_err(|e| StoreError::Io { doing: "write", path: path.into(), source: e.error })?;
    flush_folder(path)
}

/// Refuses names that are no safe folder name on some system: separators, dots at an end, control characters, reserved names.
pub fn check_name(name: &str) -> Result<(), StoreError> {
    const RESERVED: &[&str] = &["con", "prn", "aux", "nul", "com", "lpt"];
    let no = |why| Err(StoreError::Name { name: name.to_string(), why });
    let lower = name.to_lowercase();
    let stem = lower.split('.').next().unwrap_or("").trim_end_matches(|c: char| c.is_ascii_digit()).trim_end();
    if name.is_empty() {
        return no("it is empty");
    }
    if name.len() > 64 {
        return no("it is longer than 64 bytes");
    }
    if let Some(c) = name.chars().find(|c| !(c.is_alphanumeric() || " -_.+".contains(*c))) {
        return no(if matches!(c, '/' | '\\' | ':') {
            "it holds a path separator"
        } else {
            "it holds a character other than letters, digits, space, - _ . +"
        });
    }
    if !name.starts_with(char::is_alphanumeric) || name.ends_with([' ', '.']) {
        return no("it does not begin with a letter or digit, or ends with a dot or space");
    }
    if RESERVED.contains(&stem) {
        return no("some systems reserve it");
    }
    Ok(())
}

/// The names kept in a folder of [`Revisions`], sorted. A folder that does not exist holds none.
pub fn names(shelf: &Path) -> Result<Vec<String>, StoreError> {
    let mut out: Vec<String> = entries(shelf)?.into_iter().filter(|n| shelf.join(n).join(CURRENT).is_file()).collect();
    out.sort();
    Ok(out)
}

/// All revisions of one kept thing: `<shelf>/<name>/<first 12 digits>.toml`, never changed, and the file `current`, which names
/// the revision in use and, in the lines above it, those in use before.
#[derive(Debug, Clone)]
pub struct Revisions {
    shelf: PathBuf,
    name: String,
}

const CURRENT: &str = "current";

impl Revisions {
    /// The revisions kept as `name` in the folder `shelf`, which need not exist yet.
    pub fn of(shelf: impl Into<PathBuf>, name: &str) -> Result<Self, StoreError> {
        check_name(name)?;
        let shelf = shelf.into();
        let taken = entries(&shelf)?.into_iter().find(|n| n != name && n.to_lowercase() == name.to_lowercase());
        match taken {
            Some(kept) => Err(StoreError::NameTaken { name: name.to_string(), kept }),
            None => Ok(Self { shelf, name: name.to_string() }),
        }
    }

    /// Keeps a text as a revision and makes it the current one. A text kept before keeps its revision.
    pub fn put(&self, text: &str) -> Result<Revision, StoreError> {
        let _lock = self.lock()?;
        self.keep(text)
    }

    /// As [`Revisions::put`], but only if the current revision still is `seen` (`None`: nothing kept yet), so that two programs
    /// changing the same thing do not undo each other.
    pub fn put_after(&self, seen: Option<&Revision>, text: &str) -> Result<Revision, StoreError> {
        let _lock = self.lock()?;
        if self.history()?.last().map(String::as_str) != seen.map(Revision::short) {
            return Err(StoreError::Changed { name: self.name.clone() });
        }
        self.keep(text)
    }

    /// The text of a revision, by its first twelve digits or more, checked against its hash.
    pub fn get(&self, id: &str) -> Result<String, StoreError> {
        let missing = || StoreError::NoRevision { name: self.name.clone(), id: id.to_string() };
        if id.len() < SHOWN || id.len() > 64 || !id.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f')) {
            return Err(missing());
        }
        let path = self.file(&id[..SHOWN]);
        let text = read(&path)?.ok_or_else(missing)?;
        let found = content_hash(text.as_bytes());
        if found.short() != &id[..SHOWN] {
            return Err(StoreError::Damaged { path });
        }
        if found.as_str().starts_with(id) { Ok(text) } else { Err(missing()) }
    }

    /// The revision in use and its text.
    pub fn current(&self) -> Result<(Revision, String), StoreError> {
        let id = self.history()?.pop().ok_or_else(|| StoreError::NothingKept { name: self.name.clone() })?;
        let text = self.get(&id)?;
        Ok((content_hash(text.as_bytes()), text))
    }

    /// Short forms of all revisions, oldest first, the current one last.
    pub fn list(&self) -> Result<Vec<String>, StoreError> {
        let mut out = self.history()?;
        // One that was in use twice stands where it was last.
        let mut seen = std::collections::HashSet::new();
        out.reverse();
        out.retain(|id| seen.insert(id.clone()));
        let on_disk = entries(&self.folder())?;
        let mut stray: Vec<String> = on_disk.iter().filter_map(|f| f.strip_suffix(".toml")).map(String::from).collect();
        stray.retain(|id| id.len() == SHOWN && !seen.contains(id));
        stray.sort();
        out.extend(stray.into_iter().rev());
        out.reverse();
        Ok(out)
    }

    fn keep(&self, text: &str) -> Result<Revision, StoreError> {
        let revision = content_hash(text.as_bytes());
        let path = self.file(revision.short());
        match written(&path, text.as_bytes(), 0o666)?.persist_noclobber(&path) {
            Ok(_) => flush_folder(&path)?,
            Err(e) if e.error.kind() == io::ErrorKind::AlreadyExists => {
                if self.get(revision.as_str())? != text {
                    return Err(StoreError::Damaged { path });
                }
            }
            Err(e) => return Err(StoreError::Io { doing: "write", path, source: e.error }),
        }
        let mut lines = self.history()?;
        if lines.last().map(String::as_str) != Some(revision.short()) {
            lines.push(revision.short().to_string());
            write_atomic(&self.folder().join(CURRENT), (lines.join("\n") + "\n").as_bytes())?;
        }
        Ok(revision)
    }

    fn folder(&self) -> PathBuf {
        self.shelf.join(&self.name)
    }

    fn file(&self, short: &str) -> PathBuf {
        self.folder().join(format!("{short}.toml"))
    }

    /// The lines of the file `current`, the one in use last.
    fn history(&self) -> Result<Vec<String>, StoreError> {
        let path = self.folder().join(CURRENT);
        let text = read(&path)?.unwrap_or_default();
        let lines: Vec<String> = text.lines().map(|l| l.trim().to_string()).filter(|l| !l.is_empty()).collect();
        let sound = |l: &String| l.len() == SHOWN && l.bytes().all(|b| b.is_ascii_hexdigit());
        if lines.iter().all(sound) { Ok(lines) } else { Err(StoreError::Damaged { path }) }
    }

    fn lock(&self) -> Result<fs::File, StoreError> {
        let folder = self.folder();
        let io = |source| StoreError::Io { doing: "make the folder", path: folder.clone(), source };
        fs::create_dir_all(&folder).map_err(io)?;
        lock(&folder.join(".lock"))
    }
}

/// A flushed temporary file beside `path` that holds `bytes`.
fn written(path: &Path, bytes: &[u8], mode: u32) -> Result<tempfile::NamedTempFile, StoreError> {
    let io = |source| StoreError::Io { doing: "write", path: path.into(), source };
    let mut builder = tempfile::Builder::new();
    builder.prefix(".writing-");
    #[cfg(unix)]
    let builder = {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(mode))
    };
    #[cfg(not(unix))]
    let _ = mode;
    let mut temp = builder.tempfile_in(folder_of(path)).map_err(io)?;
    temp.write_all(bytes).and_then(|()| temp.as_file().sync_all()).map_err(io)?;
    Ok(temp)
}

fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Makes a rename survive a power cut, where folders can be flushed.
fn flush_folder(path: &Path) -> Result<(), StoreError> {
    #[cfg(unix)]
    fs::File::open(folder_of(path)).and_then(|f| f.sync_all()).map_err(|source| StoreError::Io {
        doing: "flush the folder of",
        path: path.into(),
        source,
    })?;
    #[cfg(not(unix))]
    let _ = path;
    Ok(())
}

/// The text of a file, None if there is no such file.
fn read(path: &Path) -> Result<Option<String>, StoreError> {
    match fs::read_to_string(path) {
        Ok(text) => Ok(Some(text)),
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(e) if e.kind() == io::ErrorKind::InvalidData => Err(StoreError::Damaged { path: path.into() }),
        Err(source) => Err(StoreError::Io { doing: "read", path: path.into(), source }),
    }
}

/// Names in a folder, none if it does not exist. Names that are no Unicode are not ours.
fn entries(folder: &Path) -> Result<Vec<String>, StoreError> {
    let io = |source| StoreError::Io { doing: "list", path: folder.into(), source };
    let entries = match fs::read_dir(folder) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        other => other.map_err(io)?,
    };
    entries.map(|e| e.map(|e| e.file_name().into_string().ok()).map_err(io)).filter_map(Result::transpose).collect()
}
