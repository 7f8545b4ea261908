//! Changing what is in the log: each change is an entry of its own, with its reason, and can be undone.

use super::amounts::moment_row;
use super::append::{Writer, current};
use super::export::rows::{ReadingRow, RevisionRow, Row};
use super::logged::test_key;
use super::new::{NewReading, Target};
use super::reading_row::reading_row;
use super::tank::check_tanks;
use super::{Id, LogError, store};
use crate::moment::Moment;
use crate::reading::Outcome;
use crate::water::Amount;
use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension};

/// What to undo.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Undo {
    /// The newest entry that is not undone.
    Last,
    /// One entry: a reading, event, tank, sample or change. Undoing an undo brings back what it took.
    Entry(Id),
    /// All readings of a photo, by its hash.
    Photo(String),
}

/// What an undo did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Undone {
    /// The entry that records it; undo this one to take it back.
    pub by: Id,
    /// What was undone or brought back.
    pub subject: Id,
    /// Which of the two.
    pub how: Turned,
    /// For a reading: which reading stands in its place now, such as the one before a correction.
    pub stands: Option<Id>,
}

/// See [`Undone`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turned {
    /// It no longer counts.
    Undone,
    /// It counts again.
    BroughtBack,
}

impl Writer<'_> {
    /// Undoes, with a reason.
    pub fn undo(&self, what: &Undo, reason: &str) -> Result<Vec<Undone>, LogError> {
        self.step(|| {
            let ids = match what {
                Undo::Last => vec![self.last()?],
                Undo::Entry(id) => vec![*id],
                Undo::Photo(hash) => self.of_photo(hash)?,
            };
            let done = ids.into_iter().map(|id| self.undo_one(id, reason)).collect::<Result<_, _>>()?;
            check_tanks(self.conn())?;
            Ok(done)
        })
    }

    /// Puts the keeper's amount in the place of a reading, which stays in the history. It stands over later rereadings.
    pub fn correct(&self, reading: Id, amount: &Amount, entered: Option<&str>, reason: &str) -> Result<Id, LogError> {
        self.step(|| {
            self.check_kind(reading, "reading")?;
            let old = one::<ReadingRow>(self.conn(), reading)?;
            let test = test_key(&one(self.conn(), old.test)?)?;
            let Some((replaces, sample)) = current(self.conn(), old.root)? else {
                return Err(LogError::AlreadyUndone { id: reading });
            };
            let said = Outcome::Read(amount.clone());
            let new = NewReading::by_hand(test, said, entered.map(str::to_string), &old.program);
            let id = Id::new(self.now());
            let row = ReadingRow {
                root: old.root,
                origin: "correction".into(),
                sample,
                test: old.test,
                photo: old.photo,
                station: old.station,
                kit_revision: old.kit_revision,
                card_revision: old.card_revision,
                dilution_added: old.dilution_added,
                place: old.place,
                ..reading_row(&new, id, self.now())?
            };
            store::insert(self.conn(), &row)?;
            self.revise("correct", replaces, Some(reason), |row| RevisionRow {
                replaces: Some(replaces),
                reading: Some(id),
                ..row
            })?;
            Ok(id)
        })
    }

    /// Says that a sample, with all its readings, was of other water than logged.
    pub fn move_sample(&self, sample: Id, to: Target, label: Option<&str>, reason: &str) -> Result<Id, LogError> {
        self.step(|| {
            self.check_kind(sample, "sample")?;
            self.check_target(&to)?;
            self.revise("move", sample, Some(reason), |row| RevisionRow {
                target: Some(to.as_str().to_string()),
                tank: to.tank(),
                label: label.map(str::to_string),
                ..row
            })
        })
    }

    /// Says that a sample was drawn at another time than logged.
    pub fn retime_sample(&self, sample: Id, drawn: &Moment, reason: &str) -> Result<Id, LogError> {
        self.step(|| {
            self.check_kind(sample, "sample")?;
            let drawn = moment_row(drawn)?;
            self.revise("retime", sample, Some(reason), |row| RevisionRow { drawn: Some(drawn), ..row })
        })
    }

    /// Adds words to any entry.
    pub fn note(&self, entry: Id, words: &str) -> Result<Id, LogError> {
        self.step(|| {
            self.kind(entry)?;
            self.revise("note", entry, Some(words), |row| row)
        })
    }

    pub(super) fn rename(&self, label: Id, words: &str) -> Result<Id, LogError> {
        self.revise("rename", label, Some("other words"), |row| RevisionRow { label: Some(words.to_string()), ..row })
    }

    fn revise(
        &self,
        kind: &str,
        subject: Id,
        reason: Option<&str>,
        fill: impl FnOnce(RevisionRow) -> RevisionRow,
    ) -> Result<Id, LogError> {
        let reason = reason.map(str::trim).filter(|r| !r.is_empty()).ok_or(LogError::ReasonMissing)?;
        self.insert(|id, recorded| {
            fill(RevisionRow { reason: Some(reason.to_string()), ..RevisionRow::new(id, recorded, kind, subject) })
        })
    }

    fn undo_one(&self, id: Id, reason: &str) -> Result<Undone, LogError> {
        let kind = self.kind(id)?;
        let (mut subject, mut how, mut replaces) = (id, Turned::Undone, None);
        match kind.as_str() {
            "reading" | "sample" | "event" | "tank" | "label" => {}
            "revision" => {
                let row = one::<RevisionRow>(self.conn(), id)?;
                match row.kind.as_str() {
                    "undo" | "redo" => {
                        if self.newest_word(row.subject)? != Some(id) {
                            return Err(LogError::Overruled { id });
                        }
                        how = if row.kind == "undo" { Turned::BroughtBack } else { Turned::Undone };
                        (subject, replaces) = (row.subject, Some(id));
                    }
                    // A correction or rereading is undone with the reading it brought.
                    _ => subject = row.reading.unwrap_or(id),
                }
            }
            _ => {
                return Err(LogError::EntryKind {
                    id,
                    found: kind,
                    wanted: "reading, sample, event, tank, label or change",
                });
            }
        }
        if replaces.is_none() && self.is_undone(subject)? {
            return Err(LogError::AlreadyUndone { id: subject });
        }
        let word = if how == Turned::Undone { "undo" } else { "redo" };
        let by = self.revise(word, subject, Some(reason), |row| RevisionRow { replaces, ..row })?;
        let root = "SELECT root FROM reading WHERE id = ?1";
        let root: Option<Id> = self.conn().prepare_cached(root)?.query_row([subject], |row| row.get(0)).optional()?;
        let stands = root.map(|root| current(self.conn(), root)).transpose()?.flatten().map(|(id, _)| id);
        Ok(Undone { by, subject, how, stands })
    }

    /// The newest undo or redo of an entry.
    fn newest_word(&self, subject: Id) -> Result<Option<Id>, LogError> {
        let sql = "SELECT id FROM revision WHERE subject = ?1 AND kind IN ('undo', 'redo') ORDER BY seq DESC LIMIT 1";
        Ok(self.conn().prepare_cached(sql)?.query_row([subject], |row| row.get(0)).optional()?)
    }

    /// The newest entry that can be undone. Undos themselves are passed over, so that a second call goes one further back;
    /// corrections and rereadings come with the reading they brought. Labels are passed over too: they may be printed, and are
    /// retired one by one.
    fn last(&self) -> Result<Id, LogError> {
        let sql = "SELECT e.id FROM entry e
            LEFT JOIN revision v ON v.seq = e.seq
            LEFT JOIN reading r ON r.seq = e.seq
            WHERE (e.kind IN ('reading', 'event', 'tank') OR v.kind IN ('move', 'retime', 'note', 'rename'))
              AND e.id NOT IN (SELECT id FROM undone)
              AND (r.sample IS NULL OR r.sample NOT IN (SELECT id FROM undone))
            ORDER BY e.seq DESC LIMIT 1";
        let id = self.conn().prepare_cached(sql)?.query_row([], |row| row.get(0)).optional()?;
        id.ok_or(LogError::NothingToUndo)
    }

    fn of_photo(&self, hash: &str) -> Result<Vec<Id>, LogError> {
        let sql = "SELECT r.id FROM reading_now r JOIN photo p ON p.id = r.photo
            WHERE p.hash = ?1 AND r.standing <> 'undone' ORDER BY r.seq DESC";
        let mut statement = self.conn().prepare_cached(sql)?;
        let ids: Vec<Id> = statement.query_map([hash], |row| row.get(0))?.collect::<rusqlite::Result<_>>()?;
        if ids.is_empty() { Err(LogError::NothingToUndo) } else { Ok(ids) }
    }
}

fn one<R: Row>(conn: &Connection, id: Id) -> Result<R, LogError> {
    store::select(conn, "t.id = ?1", [id])?.pop().ok_or_else(|| LogError::EntryUnknown { id: id.to_string() })
}

impl RevisionRow {
    pub(super) fn new(id: Id, recorded: Timestamp, kind: &str, subject: Id) -> Self {
        Self {
            id,
            recorded,
            kind: kind.to_string(),
            subject,
            replaces: None,
            reading: None,
            target: None,
            tank: None,
            label: None,
            reason: None,
            drawn: None,
        }
    }
}
