//! Writing the whole log as JSON.

use super::rows::EntryRow;
use super::{EXPORT_SCHEMA, FORMAT};
use crate::log::{Log, LogError, store};
use rusqlite::Connection;
use std::io::Write;

impl Log {
    /// Writes the whole log as JSON.
    pub fn export_json(&self, out: &mut impl Write) -> Result<(), LogError> {
        let entries = self.read(all)?;
        write(&entries, out).map_err(|cause| LogError::Export { cause })
    }
}

fn write(entries: &[EntryRow], out: &mut impl Write) -> std::io::Result<()> {
    // One entry a line: two exports can be compared line by line.
    write!(out, "{{\"format\":\"{FORMAT}\",\"schema\":{EXPORT_SCHEMA},\"entries\":[")?;
    for (i, entry) in entries.iter().enumerate() {
        out.write_all(if i == 0 { b"\n" } else { b",\n" })?;
        serde_json::to_writer(&mut *out, entry)?;
    }
    out.write_all(b"\n]}\n")?;
    out.flush()
}

/// Every entry in the order of the journal.
pub(super) fn all(conn: &Connection) -> Result<Vec<EntryRow>, LogError> {
    let mut out: Vec<(i64, EntryRow)> = Vec::new();
    macro_rules! take {
        ($($kind:expr),*) => {$(
            out.extend(store::with_seq(conn, "true", [])?.into_iter().map(|(seq, row)| (seq, $kind(row))));
        )*};
    }
    take!(
        EntryRow::Tank,
        EntryRow::Test,
        EntryRow::Photo,
        EntryRow::Sample,
        EntryRow::Event,
        EntryRow::Revision,
        EntryRow::Label
    );
    take!(|row| EntryRow::Reading(Box::new(row)));
    let entries: i64 = conn.query_row("SELECT count(*) FROM entry", [], |row| row.get(0))?;
    if entries != out.len() as i64 {
        return Err(LogError::row(format!("the journal has {entries} lines for {} rows", out.len())));
    }
    out.sort_by_key(|(seq, _)| *seq);
    Ok(out.into_iter().map(|(_, row)| row).collect())
}
