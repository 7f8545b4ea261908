//! Reading a JSON export into a log.

use super::rows::{EntryRow, LabelRow, MomentRow, PhotoRow, ReadingRow, RevisionRow, Row, TestRow};
use super::{EXPORT_SCHEMA, FORMAT};
use crate::log::amounts::{moment, storable};
use crate::log::append::current;
use crate::log::tank::{check_tanks, sound_tank};
use crate::log::{Filter, Id, Log, LogError, Show, event, history, label, logged, query, store};
use crate::water::Amount;
use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension, ToSql};
use serde::Deserialize;
use std::collections::{HashMap, HashSet};
use std::io::Read;

/// What an import did.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Imported {
    /// Entries written.
    pub added: usize,
    /// Entries that were there already.
    pub present: usize,
    /// How many of those written are readings.
    pub readings: usize,
}

#[derive(Deserialize)]
struct Head {
    format: String,
    schema: i64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    #[serde(rename = "format")]
    _format: String,
    #[serde(rename = "schema")]
    _schema: i64,
    entries: Vec<EntryRow>,
}

impl Log {
    /// Writes all entries of a JSON export that are not in this log yet: all of them, or none after an error. Into an empty
    /// log this gives back what was exported; into the log itself it writes nothing.
    pub fn import_json(&mut self, input: &mut impl Read) -> Result<Imported, LogError> {
        let format = |cause: String| LogError::ImportFormat { cause };
        let mut text = String::new();
        input.read_to_string(&mut text).map_err(|e| format(e.to_string()))?;
        let head: Head = serde_json::from_str(&text).map_err(|e| format(e.to_string()))?;
        if head.format != FORMAT {
            return Err(format(format!("its format is '{}'", head.format)));
        }
        if head.schema > EXPORT_SCHEMA {
            return Err(LogError::ImportNewer { found: head.schema, known: EXPORT_SCHEMA });
        }
        let document: Document = serde_json::from_str(&text).map_err(|e| format(e.to_string()))?;
        self.take_in(document.entries)
    }

    /// Writes all entries of another log that are not in this one yet: all of them, or none after an error. Merged a second time
    /// it writes nothing, and two logs merged into each other come to the same readings.
    pub fn merge(&mut self, other: &Log) -> Result<Imported, LogError> {
        let entries = other.read(super::json::all)?;
        self.take_in(entries)
    }

    fn take_in(&mut self, entries: Vec<EntryRow>) -> Result<Imported, LogError> {
        // The entries bring their own recorded times, so no 'now' is asked for; the writer gets one it does not use.
        self.write(Timestamp::UNIX_EPOCH, |w| {
            let own =
                entries.iter().filter_map(|e| if let EntryRow::Reading(r) = e { Some(r.id) } else { None }).collect();
            let done = Imported { added: 0, present: 0, readings: 0 };
            let mut import = Import { conn: w.conn(), same: HashMap::new(), own, done };
            for (i, entry) in entries.into_iter().enumerate() {
                import.entry(i + 1, entry)?;
            }
            check_tanks(w.conn())?;
            read_back(w.conn())?;
            Ok(import.done)
        })
    }
}

struct Import<'a> {
    conn: &'a Connection,
    /// Tests and photos that this log has under another id.
    same: HashMap<Id, Id>,
    /// The readings that are taken in.
    own: HashSet<Id>,
    done: Imported,
}

impl Import<'_> {
    fn entry(&mut self, place: usize, entry: EntryRow) -> Result<(), LogError> {
        match entry {
            EntryRow::Tank(row) => {
                sound_tank(&row).map_err(|e| conflict(place, row.id, e.cause()))?;
                self.put(place, row)
            }
            EntryRow::Test(row) => {
                logged::test_key(&row).map_err(|e| conflict(place, row.id, e.cause()))?;
                let sql = "SELECT id FROM test WHERE name = ?1 AND analyte = ?2 AND unit = ?3 AND kit IS ?4";
                let TestRow { name, analyte, unit, kit, .. } = &row;
                self.put_shared(place, sql, &[name, analyte, unit, kit], row.clone())
            }
            EntryRow::Photo(row) => {
                check_times(place, row.id, &[&row.taken])?;
                let PhotoRow { hash, .. } = &row;
                self.put_shared(place, "SELECT id FROM photo WHERE hash = ?1", &[hash], row.clone())
            }
            EntryRow::Sample(row) => {
                let entered = Some(row.entered.clone());
                check_times(place, row.id, &[&row.drawn, &row.reagent, &row.photo, &entered])?;
                self.put(place, row)
            }
            EntryRow::Reading(row) => {
                let (test, photo) = (self.here(row.test), row.photo.map(|id| self.here(id)));
                let row = ReadingRow { test, photo, ..*row };
                let root = self.root(&row)?.unwrap_or(row.root);
                let before = self.done.added;
                let here = current(self.conn, root)?.map(|(id, _)| id).filter(|id| !self.own.contains(id));
                let row = ReadingRow { root, ..row };
                self.put(place, row.clone())?;
                self.done.readings += self.done.added - before;
                match here {
                    Some(here) if self.done.added > before => self.older(&row, here),
                    _ => Ok(()),
                }
            }
            EntryRow::Event(row) => {
                check_times(place, row.id, &[&Some(row.at.clone())])?;
                self.put(place, row)
            }
            EntryRow::Label(row) => self.put(place, LabelRow { test: row.test.map(|id| self.here(id)), ..row }),
            EntryRow::Revision(row) => {
                check_times(place, row.id, &[&row.drawn])?;
                self.put(place, RevisionRow { subject: self.here(row.subject), ..row })
            }
        }
    }

    /// What this log has read from the same photo and station for the same analyte: two logs that both read a photo do not
    /// count its vial twice when they come together.
    fn root(&self, row: &ReadingRow) -> Result<Option<Id>, LogError> {
        let sql = "SELECT r.root FROM reading r JOIN test t ON t.id = r.test WHERE r.photo = ?1 AND r.station = ?2
            AND t.analyte = (SELECT analyte FROM test WHERE id = ?3) ORDER BY r.seq LIMIT 1";
        let key = (row.photo, &row.station, row.test);
        Ok(self.conn.prepare_cached(sql)?.query_row(key, |row| row.get(0)).optional()?)
    }

    /// Of two readings of one vial from two logs the one written later stands in both, whichever is merged into which. What comes
    /// in last would stand here, so that it is undone if it is the older one.
    fn older(&self, row: &ReadingRow, here: Id) -> Result<(), LogError> {
        let Some(own) = store::select::<ReadingRow>(self.conn, "t.id = ?1", [here])?.pop() else { return Ok(()) };
        let rank = |r: &ReadingRow| (r.origin == "correction", r.recorded, r.id);
        if rank(row) < rank(&own) && (row.origin == "correction") == (own.origin == "correction") {
            let reason = Some("another log's reading of this vial was written later".to_string());
            let undo = RevisionRow::new(Id::new(own.recorded), own.recorded, "undo", row.id);
            store::insert(self.conn, &RevisionRow { reason, ..undo })?;
        }
        Ok(())
    }

    fn here(&self, id: Id) -> Id {
        self.same.get(&id).copied().unwrap_or(id)
    }

    /// Writes a row that may be here under another id.
    fn put_shared<R: Row + PartialEq>(
        &mut self,
        place: usize,
        sql: &str,
        key: &[&dyn ToSql],
        row: R,
    ) -> Result<(), LogError> {
        let found: Option<Id> = self.conn.prepare_cached(sql)?.query_row(key, |row| row.get(0)).optional()?;
        match found {
            Some(here) if here != row.id() => {
                self.same.insert(row.id(), here);
                self.done.present += 1;
                Ok(())
            }
            _ => self.put(place, row),
        }
    }

    fn put<R: Row + PartialEq>(&mut self, place: usize, row: R) -> Result<(), LogError> {
        let id = row.id();
        let there = "SELECT EXISTS (SELECT 1 FROM entry WHERE id = ?1)";
        if self.conn.prepare_cached(there)?.query_row([id], |row| row.get(0))? {
            let here: Option<R> = store::select(self.conn, "t.id = ?1", [id])?.pop();
            if here.as_ref() != Some(&row) {
                return Err(conflict(place, id, "the log has something else under this id"));
            }
            self.done.present += 1;
            return Ok(());
        }
        storable(row.recorded()).map_err(|e| conflict(place, id, e.cause()))?;
        store::insert(self.conn, &row).map_err(|e| match e {
            // Rules of the tables: a value without interval, a reading of a sample that comes later.
            LogError::Failed { cause, .. } => conflict(place, id, cause),
            other => other,
        })?;
        self.done.added += 1;
        Ok(())
    }
}

fn conflict(place: usize, id: Id, cause: impl std::fmt::Display) -> LogError {
    LogError::ImportConflict { place, id, cause: cause.to_string() }
}

fn check_times(place: usize, id: Id, times: &[&Option<MomentRow>]) -> Result<(), LogError> {
    let sound = |m: &MomentRow| moment(m).and_then(|m| storable(m.instant));
    times.iter().copied().flatten().try_for_each(|m| sound(m).map(drop)).map_err(|e| conflict(place, id, e.cause()))
}

/// What was imported must be readable by every query, or it is taken back.
fn read_back(conn: &Connection) -> Result<(), LogError> {
    let format = |cause: String| LogError::ImportFormat { cause };
    let all = Filter { show: Show::History, ..Filter::default() };
    let read = || {
        event::events(conn, None)?;
        label::labels(conn)?;
        history::journal(conn, u32::MAX)?;
        query::readings(conn, &all)
    };
    let readings = read().map_err(|e| match e {
        LogError::Damaged { cause, .. } => format(cause),
        other => other,
    })?;
    for r in readings {
        // An edited value beside the old canonical one would be shown one way and judged another. Atomic masses of another
        // version may differ in the fourth digit.
        let meant = r.amount.as_ref().and_then(|a| a.canonical().ok());
        let fits = match (&meant, &r.canonical) {
            (Some(a), Some(b)) => near(a, b),
            (None, None) => true,
            _ => false,
        };
        if !fits {
            return Err(format(format!("the reading {} has a value and a canonical value that differ", r.id)));
        }
    }
    let bent = "SELECT r.id FROM reading r JOIN reading o ON o.id = r.root WHERE o.root <> o.id LIMIT 1";
    match conn.query_row(bent, [], |row| row.get::<_, Id>(0)).optional()? {
        Some(id) => Err(format(format!("the reading {id} names a root that is none"))),
        None => Ok(()),
    }
}

fn near(a: &Amount, b: &Amount) -> bool {
    let close = |x: f64, y: f64| (x - y).abs() <= 1e-3 * x.abs();
    let ends = match (a, b) {
        (Amount::Measured { interval95: i, .. }, Amount::Measured { interval95: j, .. }) => {
            close(i.lower(), j.lower()) && close(i.upper(), j.upper())
        }
        _ => true,
    };
    a.kind() == b.kind() && a.unit() == b.unit() && close(a.level().value, b.level().value) && ends
}
