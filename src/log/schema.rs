//! The steps by which the file grows: `user_version` is the number of the last step taken.

use super::LogError;
use rusqlite::Connection;
use rusqlite_migration::{Error, M, Migrations};

/// Step n + 1 at index n. A step that has been released is never edited: add one, and a fixture of the version before.
const STEPS: &[M<'_>] = &[M::up(include_str!("schema/1.sql")), M::up(concat!(include_str!("schema/2-labels.sql")))];

/// The schema this program writes.
pub const KNOWN: i64 = STEPS.len() as i64;

/// Takes the steps that are missing, all in one transaction: after a failure the file is as it was.
pub(super) fn upgrade(conn: &mut Connection) -> Result<(), LogError> {
    run(conn, STEPS)
}

fn run(conn: &mut Connection, steps: &[M<'_>]) -> Result<(), LogError> {
    match Migrations::from_slice(steps).to_latest(conn) {
        Ok(()) => Ok(()),
        // The steps are chosen before the file is locked, so a second program may have taken them in between.
        Err(_) if version(conn)? == steps.len() as i64 => Ok(()),
        Err(Error::RusqliteError { err, .. }) => Err(err.into()),
        Err(e) => Err(LogError::Failed { path: Default::default(), cause: e.to_string() }),
    }
}

/// The number of the last step taken.
pub(super) fn version(conn: &Connection) -> Result<i64, LogError> {
    Ok(conn.query_row("PRAGMA user_version", [], |row| row.get(0))?)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What the file looks like to a reader: its version, its tables, the rows of table a.
    fn state(conn: &Connection) -> (i64, String, i64) {
        let tables = "SELECT group_concat(name) FROM (SELECT name FROM sqlite_schema ORDER BY name)";
        (
            version(conn).unwrap(),
            conn.query_row(tables, [], |r| r.get(0)).unwrap(),
            conn.query_row("SELECT sum(x) FROM a", [], |r| r.get(0)).unwrap(),
        )
    }

    #[test]
    fn a_broken_step_rolls_back_and_the_data_is_there() {
        let mut conn = Connection::open_in_memory().unwrap();
        run(&mut conn, &[M::up("CREATE TABLE a (x)")]).unwrap();
        conn.execute("INSERT INTO a VALUES (41), (1)", []).unwrap();
        let before = state(&conn);
        assert_eq!(before, (1, "a".into(), 42));
        // The second step is sound and the third fails half way: neither may leave a trace.
        let steps = [
            M::up("CREATE TABLE a (x)"),
            M::up("CREATE TABLE b (x); UPDATE a SET x = 0"),
            M::up("DELETE FROM a; CREATE TABLE c (x); INSERT INTO nowhere VALUES (1)"),
        ];
        let e = run(&mut conn, &steps).unwrap_err();
        assert_eq!(e.code(), "log-failed");
        assert!(e.to_string().contains("nowhere"), "{e}");
        assert_eq!(state(&conn), before);
        // Mended, the same file goes all the way.
        run(&mut conn, &steps[..2]).unwrap();
        assert_eq!(state(&conn), (2, "a,b".into(), 0));
    }

    #[test]
    fn every_step_is_taken_once() {
        let mut conn = Connection::open_in_memory().unwrap();
        upgrade(&mut conn).unwrap();
        assert_eq!(version(&conn).unwrap(), KNOWN);
        let tables = || -> i64 { conn.query_row("SELECT count(*) FROM sqlite_schema", [], |r| r.get(0)).unwrap() };
        let before = tables();
        assert!(before > 40, "{before} objects");
        let mut again = conn;
        upgrade(&mut again).unwrap();
        let after: i64 = again.query_row("SELECT count(*) FROM sqlite_schema", [], |r| r.get(0)).unwrap();
        assert_eq!(after, before);
    }
}
