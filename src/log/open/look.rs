//! Opening a log that cannot be written: on a read-only disk, in somebody else's folder.

use super::{APPLICATION, Log, WAIT, check_header, check_owner};
use crate::log::{LogError, schema};
use rusqlite::backup::Backup;
use rusqlite::{Connection, OpenFlags};
use std::path::Path;
use std::time::Duration;

impl Log {
    /// Opens a log to look at it, where it cannot be written; nothing is made beside it. A log of an older version is brought up to
    /// date in memory. Whatever is written to it fails with [`LogError::Unwritable`].
    pub fn open_to_look(path: &Path) -> Result<Self, LogError> {
        Self::look(path).map_err(|e| e.at(path))
    }

    fn look(path: &Path) -> Result<Self, LogError> {
        check_header(path)?;
        let unreadable = |cause: String| LogError::Unwritable { path: path.into(), cause };
        let whole = std::path::absolute(path).map_err(|e| unreadable(e.to_string()))?;
        let mut ahead = whole.as_os_str().to_owned();
        ahead.push("-wal");
        // What was written and not yet folded into the file stands in the second one. Where there is none, all is in the first, and
        // SQLite can do without files of its own beside it if it is told that nobody writes.
        let settled = !std::fs::metadata(&ahead).is_ok_and(|m| m.is_file() && m.len() > 0);
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let conn = match settled {
            true => {
                let text = whole.to_str().ok_or_else(|| unreadable("the name is not valid Unicode".into()))?;
                Connection::open_with_flags(uri(text), flags | OpenFlags::SQLITE_OPEN_URI)?
            }
            false => Connection::open_with_flags(&whole, flags)?,
        };
        conn.busy_timeout(WAIT)?;
        let application = conn.query_row("PRAGMA application_id", [], |row| row.get::<_, i64>(0))?;
        let version = schema::version(&conn)?;
        check_owner(path, application, version, application != APPLICATION)?;
        let conn = if version < schema::KNOWN { newer(&conn)? } else { conn };
        conn.pragma_update(None, "trusted_schema", false)?;
        conn.set_prepared_statement_cache_capacity(64);
        Ok(Self { conn, path: path.into(), to_look: true })
    }
}

/// A copy in memory, brought up to date.
fn newer(conn: &Connection) -> Result<Connection, LogError> {
    let mut copy = Connection::open_in_memory()?;
    Backup::new(conn, &mut copy)?.run_to_completion(1000, Duration::ZERO, None)?;
    schema::upgrade(&mut copy)?;
    Ok(copy)
}

/// A file's name as SQLite's URI, <https://www.sqlite.org/uri.html>, saying that nobody changes the file.
fn uri(path: &str) -> String {
    let mut out = String::from("file:");
    for b in path.bytes() {
        match b {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'-' | b'_' | b'.' => out.push(char::from(b)),
            // A drive's backslashes.
            b'\\' => out.push('/'),
            _ => out.push_str(&format!("%{b:02X}")),
        }
    }
    if !path.starts_with(['/', '\\']) {
        out.insert_str("file:".len(), "///");
    }
    out + "?immutable=1"
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::log::{NewTank, WaterKind};
    use jiff::Timestamp;

    fn now() -> Timestamp {
        "2026-03-01T12:00:00Z".parse().unwrap()
    }

    fn add(log: &mut Log, name: &str) -> Result<(), LogError> {
        log.write(now(), |w| w.add_tank(&NewTank::new(name, "Europe/Berlin", WaterKind::Fresh))).map(drop)
    }

    fn names(dir: &Path) -> Vec<String> {
        let all = std::fs::read_dir(dir).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap());
        let mut all: Vec<String> = all.collect();
        all.sort();
        all
    }

    #[test]
    fn a_log_is_looked_at_without_a_trace() {
        let dir = tempfile::tempdir().unwrap();
        // Signs that mean something in a URI, and a letter that is none of ASCII.
        let path = dir.path().join("a 100 %?# ü.db");
        add(&mut Log::open(&path).unwrap(), "Hall").unwrap();
        let (before, files) = (std::fs::read(&path).unwrap(), names(dir.path()));
        let mut log = Log::open_to_look(&path).unwrap();
        assert_eq!(log.tank("Hall").unwrap().name, "Hall");
        let e = add(&mut log, "Reef").unwrap_err();
        assert_eq!(e.code(), "log-unwritable");
        // It can be copied, whole.
        let other = tempfile::tempdir().unwrap();
        log.copy_to(&other.path().join("copy.db")).unwrap();
        assert_eq!(Log::open(&other.path().join("copy.db")).unwrap().tanks().unwrap().len(), 1);
        drop(log);
        assert_eq!((std::fs::read(&path).unwrap(), names(dir.path())), (before, files));
    }

    #[test]
    fn what_is_not_folded_in_yet_is_seen() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("log.db");
        let mut writer = Log::open(&path).unwrap();
        add(&mut writer, "Hall").unwrap();
        assert!(names(dir.path()).contains(&"log.db-wal".to_string()));
        assert_eq!(Log::open_to_look(&path).unwrap().tanks().unwrap().len(), 1);
    }

    #[test]
    fn what_is_no_log_is_not_looked_at() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("log.db");
        assert_eq!(Log::open_to_look(&path).unwrap_err().code(), "log-unwritable");
        std::fs::write(&path, "not a database, but long enough to be one ".repeat(9)).unwrap();
        assert_eq!(Log::open_to_look(&path).unwrap_err().code(), "log-damaged");
        let other = dir.path().join("other.db");
        Connection::open(&other).unwrap().execute_batch("CREATE TABLE a (x)").unwrap();
        assert_eq!(Log::open_to_look(&other).unwrap_err().code(), "log-foreign");
    }
}
