//! Rows into tables and out of them. The only place that writes.

use super::LogError;
use super::export::cell::{Cell, Cells, time_text};
use super::export::rows::Row;
use rusqlite::types::Value;
use rusqlite::{Connection, Params, params_from_iter};

/// Writes a row and its line in the journal.
pub(super) fn insert<R: Row>(conn: &Connection, row: &R) -> Result<(), LogError> {
    let (id, recorded) = (row.id().to_string(), time_text(row.recorded()));
    let journal = "INSERT INTO entry (id, kind, recorded) VALUES (?1, ?2, ?3)";
    let seq = conn.prepare_cached(journal)?.insert((&id, R::TABLE, recorded))?;
    let mut cells = vec![Value::Integer(seq), Value::Text(id)];
    row.put(&mut cells);
    let (columns, marks) = (R::columns().join(", "), vec!["?"; cells.len()].join(", "));
    let sql = format!("INSERT INTO {} (seq, id, {columns}) VALUES ({marks})", R::TABLE);
    conn.prepare_cached(&sql)?.execute(params_from_iter(cells))?;
    Ok(())
}

/// The rows for which `filter` holds, in the order of the journal. The table is `t` in it, its journal line `e`.
pub(super) fn select<R: Row>(conn: &Connection, filter: &str, params: impl Params) -> Result<Vec<R>, LogError> {
    let rows = with_seq(conn, filter, params)?;
    Ok(rows.into_iter().map(|(_, row)| row).collect())
}

/// As [`select`], each row with its place in the journal.
pub(super) fn with_seq<R: Row>(
    conn: &Connection,
    filter: &str,
    params: impl Params,
) -> Result<Vec<(i64, R)>, LogError> {
    let sql = format!(
        "SELECT t.seq, {} FROM {} t JOIN entry e ON e.seq = t.seq WHERE {filter} ORDER BY t.seq",
        columns::<R>("t"),
        R::TABLE
    );
    let mut statement = conn.prepare_cached(&sql)?;
    let rows = statement.query_map(params, |row| {
        let mut cells = Cells::new(row);
        Ok((i64::take(&mut cells)?, take(&mut cells)?))
    })?;
    Ok(rows.collect::<rusqlite::Result<_>>()?)
}

/// What to select for a row in a query of one's own, whose journal line is `e`; read it with [`take`].
pub(super) fn columns<R: Row>(table: &str) -> String {
    let all: Vec<String> = R::columns().iter().map(|c| format!("{table}.{c}")).collect();
    format!("{table}.id, e.recorded, {}", all.join(", "))
}

/// The row of what [`columns`] selected.
pub(super) fn take<R: Row>(cells: &mut Cells<'_>) -> rusqlite::Result<R> {
    let (id, recorded) = (Cell::take(cells)?, Cell::take(cells)?);
    R::take(id, recorded, cells)
}
