//! The journal: every entry in the order in which it was written, and what a change says.

use super::amounts::moment;
use super::export::cell::{Cell, Cells};
use super::export::rows::RevisionRow;
use super::new::Target;
use super::{Id, Log, LogError, store};
use crate::moment::Moment;
use jiff::Timestamp;
use rusqlite::{Connection, params};

/// One line of the journal.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// The entry.
    pub id: Id,
    /// When it was written.
    pub recorded: Timestamp,
    /// `tank`, `test`, `photo`, `sample`, `reading`, `event` or `revision`.
    pub kind: String,
    /// Whether it is undone.
    pub undone: bool,
    /// For a revision: what it says.
    pub change: Option<Change>,
}

/// What a revision says.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// `undo`, `redo`, `correct`, `reread`, `move`, `retime`, `note`.
    pub kind: String,
    /// What it changes.
    pub subject: Id,
    /// What stood before: a reading, or the undo that it takes back.
    pub replaces: Option<Id>,
    /// The new reading of a correction or rereading.
    pub reading: Option<Id>,
    /// The new water of a move.
    pub target: Option<Target>,
    /// The label that comes with it.
    pub label: Option<String>,
    /// The new time of a retiming.
    pub drawn: Option<Moment>,
    /// Why, or the words of a note.
    pub reason: Option<String>,
}

impl Log {
    /// The last `count` lines of the journal, oldest first.
    pub fn journal(&self, count: u32) -> Result<Vec<Line>, LogError> {
        self.read(|conn| journal(conn, count))
    }

    /// All that concerns an entry, oldest first: for a reading also those it replaces or is replaced by, their sample, and the
    /// changes to any of them.
    pub fn history(&self, id: Id) -> Result<Vec<Line>, LogError> {
        let about = "e.id IN (WITH RECURSIVE about (id) AS (
            SELECT ?1
            UNION SELECT r.id FROM reading r WHERE r.root = (SELECT root FROM reading WHERE id = ?1)
            UNION SELECT r.sample FROM reading r WHERE r.root = (SELECT root FROM reading WHERE id = ?1)
            UNION SELECT v.id FROM revision v JOIN about a ON v.subject = a.id
            ) SELECT id FROM about)";
        let lines = self.read(|conn| lines(conn, about, [id]))?;
        if lines.is_empty() { Err(LogError::EntryUnknown { id: id.to_string() }) } else { Ok(lines) }
    }

    /// The entry of an id as typed: the whole id, or at least its last four digits (a list shows [`Id::short`]).
    pub fn find(&self, typed: &str) -> Result<Id, LogError> {
        let text = typed.trim().to_lowercase();
        let unknown = || LogError::EntryUnknown { id: typed.trim().to_string() };
        if text.len() < 4 || !text.chars().all(|c| c.is_ascii_hexdigit() || c == '-') {
            return Err(unknown());
        }
        let found: (i64, Option<Id>) = self.read(|conn| {
            let sql = "SELECT count(*), max(id) FROM entry WHERE substr(id, -?2) = ?1";
            Ok(conn.query_row(sql, params![text, text.len() as i64], |row| Ok((row.get(0)?, row.get(1)?)))?)
        })?;
        match found {
            (1, Some(id)) => Ok(id),
            (0, _) => Err(unknown()),
            (count, _) => Err(LogError::EntryAmbiguous { id: text, count }),
        }
    }
}

pub(super) fn journal(conn: &Connection, count: u32) -> Result<Vec<Line>, LogError> {
    lines(conn, "e.seq IN (SELECT seq FROM entry ORDER BY seq DESC LIMIT ?1)", [count])
}

fn lines(conn: &Connection, filter: &str, params: impl rusqlite::Params) -> Result<Vec<Line>, LogError> {
    let sql = format!(
        "SELECT e.id, e.recorded, e.kind, e.id IN (SELECT id FROM undone), v.seq IS NOT NULL, {}
        FROM entry e LEFT JOIN revision v ON v.seq = e.seq WHERE {filter} ORDER BY e.seq",
        store::columns::<RevisionRow>("v")
    );
    let mut statement = conn.prepare_cached(&sql)?;
    let rows = statement.query_map(params, |row| {
        let cells = &mut Cells::new(row);
        let line = Line {
            id: Cell::take(cells)?,
            recorded: Cell::take(cells)?,
            kind: Cell::take(cells)?,
            undone: i64::take(cells)? != 0,
            change: None,
        };
        let revision = if i64::take(cells)? != 0 { Some(store::take::<RevisionRow>(cells)?) } else { None };
        Ok((line, revision))
    })?;
    rows.map(|row| {
        let (line, revision) = row?;
        Ok(Line { change: revision.map(change).transpose()?, ..line })
    })
    .collect()
}

fn change(row: RevisionRow) -> Result<Change, LogError> {
    Ok(Change {
        target: row.target.as_deref().map(|text| Target::of(text, row.tank)).transpose()?,
        drawn: row.drawn.as_ref().map(moment).transpose()?,
        kind: row.kind,
        subject: row.subject,
        replaces: row.replaces,
        reading: row.reading,
        label: row.label,
        reason: row.reason,
    })
}
