//! What can go wrong with a log.

use super::Id;
use std::path::{Path, PathBuf};

/// Something that could not be done. Nothing was written: every write is one transaction.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum LogError {
    /// Written by a later version of the program. The file is as it was.
    #[error("{} is of schema {found}; this program knows schemas up to {known}", path.display())]
    Newer { path: PathBuf, found: i64, known: i64 },
    /// Not a database, or one with torn pages or rows that break the log's own rules.
    #[error("{} is not a sound log: {cause}", path.display())]
    Damaged { path: PathBuf, cause: String },
    /// A database, but somebody else's.
    #[error("{} is a database of another program", path.display())]
    Foreign { path: PathBuf },
    /// The file or its folder cannot be written.
    #[error("{} cannot be written: {cause}", path.display())]
    Unwritable { path: PathBuf, cause: String },
    /// No room left on the disk.
    #[error("there is no room left to write {}", path.display())]
    Full { path: PathBuf },
    /// Another process has been writing for longer than we wait.
    #[error("another program kept {} busy for more than {} s", path.display(), super::open::WAIT.as_secs())]
    Busy { path: PathBuf },
    /// A database call that should have worked.
    #[error("the log {} could not be used: {cause}", path.display())]
    Failed { path: PathBuf, cause: String },

    #[error("'{name}' cannot be a tank's name: {why}")]
    TankName { name: String, why: &'static str },
    #[error("there is a tank named '{name}' already")]
    TankTaken { name: String },
    #[error("there is no tank '{name}'{}", list(known))]
    TankUnknown { name: String, known: Vec<String> },
    /// A tank with readings or events cannot be taken back.
    #[error("the tank '{name}' has {entries} readings and events")]
    TankInUse { name: String, entries: i64 },
    #[error("'{zone}' is no time zone")]
    ZoneUnknown { zone: String },
    #[error("a volume of {litres} litres cannot be")]
    Volume { litres: f64 },

    #[error("there is no entry '{id}' in the log")]
    EntryUnknown { id: String },
    #[error("'{id}' fits {count} entries")]
    EntryAmbiguous { id: String, count: i64 },
    /// The entry is there, but of a kind with which this cannot be done.
    #[error("the entry {id} is a {found}; this can be done with a {wanted}")]
    EntryKind { id: Id, found: String, wanted: &'static str },
    #[error("there is nothing left to undo")]
    NothingToUndo,
    #[error("the entry {id} is undone already")]
    AlreadyUndone { id: Id },
    /// An undo or redo that a later one has overruled.
    #[error("the undo {id} has been overruled by a later one")]
    Overruled { id: Id },
    #[error("a change needs a reason")]
    ReasonMissing,

    /// Not a finite number, or one outside what the column can mean.
    #[error("{what} is {value}: {why}")]
    Number { what: &'static str, value: f64, why: &'static str },
    #[error("{what} is empty")]
    Empty { what: &'static str },
    /// Every number has been given out; none is given out twice.
    #[error("all numbers for labels of the kind '{names}' have been given out")]
    LabelsUsedUp { names: &'static str },
    #[error("a time of {instant} cannot be logged")]
    Time { instant: jiff::Timestamp },
    /// A unit or an amount that does not fit its test.
    #[error("{test}: {cause}")]
    Unfit { test: String, cause: String },

    #[error("this is no log export: {cause}")]
    ImportFormat { cause: String },
    #[error("the export is of schema {found}; this program knows schemas up to {known}")]
    ImportNewer { found: i64, known: i64 },
    /// The log holds something else under the same id or name.
    #[error("entry {place} of the export ({id}) does not fit this log: {cause}")]
    ImportConflict { place: usize, id: Id, cause: String },
    #[error("the export could not be written: {cause}")]
    Export { cause: std::io::Error },
}

fn list(known: &[String]) -> String {
    if known.is_empty() { "; no tank has been added yet".into() } else { format!("; there are: {}", known.join(", ")) }
}

impl LogError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Newer { .. } => "log-newer",
            Self::Damaged { .. } => "log-damaged",
            Self::Foreign { .. } => "log-foreign",
            Self::Unwritable { .. } => "log-unwritable",
            Self::Full { .. } => "log-full",
            Self::Busy { .. } => "log-busy",
            Self::Failed { .. } => "log-failed",
            Self::TankName { .. } => "tank-name",
            Self::TankTaken { .. } => "tank-taken",
            Self::TankUnknown { .. } => "tank-unknown",
            Self::TankInUse { .. } => "tank-in-use",
            Self::ZoneUnknown { .. } => "zone-unknown",
            Self::Volume { .. } => "tank-volume",
            Self::EntryUnknown { .. } => "entry-unknown",
            Self::EntryAmbiguous { .. } => "entry-ambiguous",
            Self::EntryKind { .. } => "entry-kind",
            Self::NothingToUndo => "undo-nothing",
            Self::AlreadyUndone { .. } => "undo-already",
            Self::Overruled { .. } => "undo-overruled",
            Self::ReasonMissing => "reason-missing",
            Self::Number { .. } => "entry-number",
            Self::Empty { .. } => "entry-empty",
            Self::LabelsUsedUp { .. } => "labels-used-up",
            Self::Time { .. } => "entry-time",
            Self::Unfit { .. } => "entry-unfit",
            Self::ImportFormat { .. } => "import-format",
            Self::ImportNewer { .. } => "import-newer",
            Self::ImportConflict { .. } => "import-conflict",
            Self::Export { .. } => "export-unwritable",
        }
    }

    /// What to do about it, one sentence.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::Newer { .. } => "Use the newer version of the program that wrote it; the file was left as it is.",
            Self::Damaged { .. } => {
                "Keep the file, put back the last copy or import the last JSON export into a new log, and check the disk."
            }
            Self::Foreign { .. } => "Give the path of the log itself, or another folder for it.",
            Self::Unwritable { .. } => {
                "Check that the folder exists, that you may write there, and that the disk is not read-only."
            }
            Self::Full { .. } => "Make room on the disk and try again; nothing was written.",
            Self::Busy { .. } => "Wait until the other program is done and try again.",
            Self::Failed { .. } => "Try again; if it stays, keep a copy of the file and report the message.",
            Self::TankName { .. } => "Give it a name of 1 to 60 letters, digits, spaces or signs.",
            Self::TankTaken { .. } => "Choose another name.",
            Self::TankUnknown { .. } => "Write the name as the list of tanks shows it, or add the tank first.",
            Self::TankInUse { .. } => "Undo or move its readings and events first.",
            Self::ZoneUnknown { .. } => "Give the zone by its IANA name, such as Europe/Berlin or America/New_York.",
            Self::Volume { .. } => "Give the volume in litres, more than 0.",
            Self::EntryUnknown { .. } => "Copy the id from the list or the history of the log.",
            Self::EntryAmbiguous { .. } => "Give more of the id.",
            Self::EntryKind { .. } => "Give the id of an entry of that kind, from the list or the history of the log.",
            Self::NothingToUndo => "Look at the history: everything in it is undone.",
            Self::AlreadyUndone { .. } => "To bring it back, undo its undo: the history shows the id.",
            Self::Overruled { .. } => "Undo the newest undo instead: the history shows the id.",
            Self::ReasonMissing => "Say in a few words why.",
            Self::Number { .. } => "Give a number that can be.",
            Self::Empty { .. } => "Fill it in, or leave it out where it may be left out.",
            Self::LabelsUsedUp { .. } => "Say in words what stands where, or begin a new log for other tanks.",
            Self::Time { .. } => "Give a time between the years 1 and 9999.",
            Self::Unfit { .. } => "Give the value in a unit of this test, with its basis.",
            Self::ImportFormat { .. } => "Give a JSON file that this program exported, whole and unchanged.",
            Self::ImportNewer { .. } => "Use the newer version of the program that exported it.",
            Self::ImportConflict { .. } => "Import into a new, empty log; this log was left as it is.",
            Self::Export { .. } => {
                "Check that the folder exists, that you may write there, and that there is room on the disk."
            }
        }
    }

    /// Fills in which log it was; database calls do not know.
    pub(super) fn at(mut self, log: &Path) -> Self {
        match &mut self {
            Self::Damaged { path, .. }
            | Self::Unwritable { path, .. }
            | Self::Full { path }
            | Self::Busy { path }
            | Self::Failed { path, .. }
                if path.as_os_str().is_empty() =>
            {
                *path = log.to_path_buf();
            }
            _ => {}
        }
        self
    }

    /// What is wrong, without the file.
    pub(super) fn cause(&self) -> String {
        match self {
            Self::Damaged { cause, .. } | Self::Failed { cause, .. } => cause.clone(),
            other => other.to_string(),
        }
    }

    /// A row that no writing of ours can have made.
    pub(super) fn row(what: impl std::fmt::Display) -> Self {
        Self::Damaged { path: PathBuf::new(), cause: what.to_string() }
    }
}

impl From<rusqlite::Error> for LogError {
    fn from(e: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode as C;
        let (path, cause) = (PathBuf::new(), e.to_string());
        match e.sqlite_error_code() {
            Some(C::DatabaseCorrupt | C::NotADatabase) => Self::Damaged { path, cause },
            Some(C::CannotOpen | C::ReadOnly | C::PermissionDenied | C::SystemIoFailure) => {
                Self::Unwritable { path, cause }
            }
            Some(C::DiskFull) => Self::Full { path },
            Some(C::DatabaseBusy | C::DatabaseLocked) => Self::Busy { path },
            None if matches!(
                e,
                rusqlite::Error::FromSqlConversionFailure(..) | rusqlite::Error::InvalidColumnType(..)
            ) =>
            {
                Self::Damaged { path, cause }
            }
            _ => Self::Failed { path, cause },
        }
    }
}
