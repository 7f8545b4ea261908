//! Opening: nothing is written to a file before it is known to be a log of ours, of a version we know.

mod look;

use super::append::Writer;
use super::{LogError, schema};
use jiff::Timestamp;
use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How long a write waits for another program's write to end.
pub(super) const WAIT: Duration = Duration::from_secs(10);

/// `TINL`: what a log has at byte 68, see schema/1.sql.
const APPLICATION: i64 = 0x5449_4e4c;

/// An open log. One value serves one thread at a time; any number of values, threads and programs may have one file open.
///
/// All writing goes through [`Log::write`], one transaction a call: the closure's work is there as a whole or not at all.
///
/// ```
/// use tintline::log::{Log, NewTank, WaterKind};
/// let mut log = Log::open_memory()?;
/// let now: jiff::Timestamp = "2026-03-01T12:00:00Z".parse().unwrap();
/// let id = log.write(now, |w| w.add_tank(&NewTank::new("Hall", "Europe/Berlin", WaterKind::Fresh)))?;
/// assert_eq!(log.tank("hall")?.id, id);
/// # Ok::<(), tintline::log::LogError>(())
/// ```
#[derive(Debug)]
pub struct Log {
    conn: Connection,
    path: PathBuf,
    /// See [`Log::open_to_look`].
    to_look: bool,
}

impl Log {
    /// Opens the log, makes it if there is none, and brings an older one up to date. The folder must be there.
    pub fn open(path: &Path) -> Result<Self, LogError> {
        Self::open_file(path).map_err(|e| e.at(path))
    }

    fn open_file(path: &Path) -> Result<Self, LogError> {
        check_header(path)?;
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        // Absolute, as SQLite takes an empty name and `:memory:` for a database that is gone when it is closed.
        let whole =
            std::path::absolute(path).map_err(|e| LogError::Unwritable { path: path.into(), cause: e.to_string() })?;
        let mut conn = Connection::open_with_flags(whole, flags)?;
        conn.busy_timeout(WAIT)?;
        if conn.is_readonly(rusqlite::MAIN_DB)? {
            return Err(LogError::Unwritable { path: path.into(), cause: "it is read-only".into() });
        }
        // The write-ahead file of a newer program may hold what the header does not: ask again through it, and on the way
        // out do not fold it into the file.
        conn.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
        let version = {
            // One state of the file for all three: another program may be making it right now.
            let tx = Transaction::new_unchecked(&conn, TransactionBehavior::Deferred)?;
            let number = |sql| tx.query_row(sql, [], |row| row.get::<_, i64>(0));
            let (application, tables) =
                (number("PRAGMA application_id")?, number("SELECT count(*) FROM sqlite_schema")?);
            let version = schema::version(&tx)?;
            check_owner(path, application, version, tables > 0)?;
            version
        };
        conn.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, false)?;
        write_ahead(&conn)?;
        if (1..schema::KNOWN).contains(&version) {
            keep_copy(&conn, path, version)?;
        }
        Self::ready(&mut conn)?;
        Ok(Self { conn, path: path.into(), to_look: false })
    }

    /// A log that lives as long as this value: for the demo and for tests.
    pub fn open_memory() -> Result<Self, LogError> {
        let path = PathBuf::from(":memory:");
        let mut conn = Connection::open_in_memory().map_err(|e| LogError::from(e).at(&path))?;
        Self::ready(&mut conn).map_err(|e| e.at(&path))?;
        Ok(Self { conn, path, to_look: false })
    }

    fn ready(conn: &mut Connection) -> Result<(), LogError> {
        // FULL: a reading that was reported as logged is on the disk, even after a power cut.
        conn.pragma_update(None, "synchronous", "FULL")?;
        conn.pragma_update(None, "foreign_keys", true)?;
        conn.pragma_update(None, "recursive_triggers", true)?;
        conn.pragma_update(None, "trusted_schema", false)?;
        conn.set_transaction_behavior(TransactionBehavior::Immediate);
        conn.set_prepared_statement_cache_capacity(64);
        schema::upgrade(conn)
    }

    /// The file, or `:memory:`.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Copies the log of another home to `target` and opens the copy. The other one is only read, whatever its version, and
    /// somebody may be writing to it.
    pub fn open_copy(path: &Path, target: &Path) -> Result<Self, LogError> {
        let copy = || {
            check_header(path)?;
            let mut ahead = path.as_os_str().to_owned();
            ahead.push("-wal");
            if !Path::new(&ahead).exists() {
                // Closed by whoever wrote to it: all is in this one file, and SQLite need not leave side files beside it.
                let unwritable = |e: std::io::Error| LogError::Unwritable { path: target.into(), cause: e.to_string() };
                return std::fs::copy(path, target).map(drop).map_err(unwritable);
            }
            let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
            let conn = Connection::open_with_flags(path, flags)?;
            conn.busy_timeout(WAIT)?;
            Self { conn, path: path.into(), to_look: true }.copy_to(target)
        };
        copy().map_err(|e: LogError| e.at(path))?;
        Self::open(target)
    }

    /// Writes: all that `work` does, or nothing if it fails. `now` becomes the recorded time of the new entries.
    pub fn write<T>(
        &mut self,
        now: Timestamp,
        work: impl FnOnce(&Writer<'_>) -> Result<T, LogError>,
    ) -> Result<T, LogError> {
        if self.to_look {
            return Err(LogError::Unwritable {
                path: self.path.clone(),
                cause: "it was opened to be looked at".into(),
            });
        }
        let run = |conn: &mut Connection| {
            // Immediate: the write lock comes first, so what `work` looks up cannot change before it writes.
            let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
            let out = work(&Writer::new(&tx, now)?)?;
            tx.commit()?;
            Ok(out)
        };
        run(&mut self.conn).map_err(|e: LogError| e.at(&self.path))
    }

    /// Reads: all that `work` asks is answered from one state of the log, whoever writes meanwhile.
    pub(super) fn read<T>(&self, work: impl FnOnce(&Connection) -> Result<T, LogError>) -> Result<T, LogError> {
        let run = || {
            let tx = Transaction::new_unchecked(&self.conn, TransactionBehavior::Deferred)?;
            work(&tx)
        };
        run().map_err(|e: LogError| e.at(&self.path))
    }

    /// Writes the log as one compact file, while others may go on writing to it. The target must not exist.
    pub fn copy_to(&self, target: &Path) -> Result<(), LogError> {
        if target.exists() {
            return Err(LogError::Unwritable { path: target.into(), cause: "there is a file of this name".into() });
        }
        let unwritable = |cause: String| LogError::Unwritable { path: target.into(), cause };
        let whole = std::path::absolute(target).map_err(|e| unwritable(e.to_string()))?;
        let text = whole.to_str().ok_or_else(|| unwritable("the name is not valid Unicode".into()))?;
        self.conn.execute("VACUUM INTO ?1", [text]).map_err(|e| LogError::from(e).at(target))?;
        // SQLite does not wait for the disk here.
        std::fs::File::open(&whole).and_then(|f| f.sync_all()).map_err(|e| unwritable(e.to_string()))
    }
}

/// Before the file is brought up to a later schema: a copy of it as it is, beside it, whole and checked. Named after the schema,
/// such as `log-schema-1.db`; one that is there already stays.
fn keep_copy(conn: &Connection, path: &Path, version: i64) -> Result<PathBuf, LogError> {
    let stem = path.file_stem().map_or_else(|| "log".into(), |s| s.to_string_lossy());
    let named = |n: u32| {
        path.with_file_name(if n == 1 {
            format!("{stem}-schema-{version}.db")
        } else {
            format!("{stem}-schema-{version}-{n}.db")
        })
    };
    let copy = (1..1000).map(named).find(|p| !p.exists()).unwrap_or_else(|| named(1000));
    let unwritable = |cause: String| LogError::Unwritable { path: copy.clone(), cause };
    let whole = std::path::absolute(&copy).map_err(|e| unwritable(e.to_string()))?;
    let text = whole.to_str().ok_or_else(|| unwritable("the name is not valid Unicode".into()))?;
    conn.execute("VACUUM INTO ?1", [text]).map_err(|e| LogError::from(e).at(&copy))?;
    let check = || -> Result<bool, LogError> {
        // Read-only and without side files.
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let other = Connection::open_with_flags(&whole, flags)?;
        let entries = |c: &Connection| c.query_row("SELECT count(*) FROM entry", [], |row| row.get::<_, i64>(0));
        let sound = other.query_row("PRAGMA integrity_check", [], |row| row.get::<_, String>(0))?;
        Ok(sound == "ok" && schema::version(&other)? == version && entries(&other)? == entries(conn)?)
    };
    if !check().map_err(|e| e.at(&copy))? {
        // Another program changed the log while it was copied: it has made its own copy.
        if schema::version(conn)? != version {
            return std::fs::remove_file(&copy).map(|()| copy.clone()).map_err(|e| unwritable(e.to_string()));
        }
        return Err(LogError::Damaged { path: copy, cause: "the copy does not hold what the log does".into() });
    }
    std::fs::File::open(&whole).and_then(|f| f.sync_all()).map_err(|e| unwritable(e.to_string()))?;
    Ok(copy)
}

/// Looks at the first 100 bytes without SQLite, which would make side files beside even a database it only reads.
/// Layout: <https://www.sqlite.org/fileformat.html>, section 1.3.
fn check_header(path: &Path) -> Result<(), LogError> {
    let mut head = Vec::new();
    match std::fs::File::open(path).and_then(|f| f.take(100).read_to_end(&mut head)) {
        Ok(_) => {}
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(()),
        Err(e) => return Err(LogError::Unwritable { path: path.into(), cause: e.to_string() }),
    }
    if head.is_empty() {
        // SQLite makes the file before it writes to it; a program killed in between leaves it empty.
        return Ok(());
    }
    if head.len() < 100 || !head.starts_with(b"SQLite format 3\0") {
        return Err(LogError::Damaged { path: path.into(), cause: "it is not a database".into() });
    }
    let number = |at: usize| i64::from(i32::from_be_bytes([head[at], head[at + 1], head[at + 2], head[at + 3]]));
    check_owner(path, number(68), number(60), false)
}

/// `other_tables`: whether a file that bears no mark has tables; without any it is one that we began to make.
fn check_owner(path: &Path, application: i64, version: i64, other_tables: bool) -> Result<(), LogError> {
    match (application, version) {
        (APPLICATION, v) if v > schema::KNOWN => {
            Err(LogError::Newer { path: path.into(), found: v, known: schema::KNOWN })
        }
        (APPLICATION, v) if v > 0 => Ok(()),
        (0, 0) if !other_tables => Ok(()),
        _ => Err(LogError::Foreign { path: path.into() }),
    }
}

/// Readers do not wait for writers and a killed program loses nothing it committed.
fn write_ahead(conn: &Connection) -> Result<(), LogError> {
    // Turning it on does not wait for the lock by itself when several programs open a new file at once.
    for pause in [1, 5, 20, 50, 100, 200, 400, 800, 1600] {
        match conn.query_row("PRAGMA journal_mode = WAL", [], |row| row.get::<_, String>(0)) {
            // Some network folders cannot share memory and answer another mode: then the older journal serves as well, with
            // readers and writers taking turns.
            Ok(_) => return Ok(()),
            Err(e) if e.sqlite_error_code() == Some(rusqlite::ErrorCode::DatabaseBusy) => {
                std::thread::sleep(Duration::from_millis(pause));
            }
            Err(e) => return Err(e.into()),
        }
    }
    Err(LogError::Busy { path: PathBuf::new() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::log::{NewTank, WaterKind};

    #[test]
    fn the_copy_before_an_upgrade_is_a_whole_log() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("log.db");
        let mut log = Log::open(&path).unwrap();
        let now: Timestamp = "2026-03-01T12:00:00Z".parse().unwrap();
        log.write(now, |w| w.add_tank(&NewTank::new("Hall", "Europe/Berlin", WaterKind::Fresh))).unwrap();
        let version = schema::version(&log.conn).unwrap();
        let first = keep_copy(&log.conn, &path, version).unwrap();
        assert_eq!(first, dir.path().join(format!("log-schema-{version}.db")));
        // A second one never takes its place.
        log.write(now, |w| w.add_tank(&NewTank::new("Reef", "Europe/Berlin", WaterKind::Marine))).unwrap();
        let second = keep_copy(&log.conn, &path, version).unwrap();
        assert_eq!(second, dir.path().join(format!("log-schema-{version}-2.db")));
        let tanks = |p: &Path| Log::open(p).unwrap().tanks().unwrap().len();
        assert_eq!((tanks(&first), tanks(&second)), (1, 2));
    }
}
