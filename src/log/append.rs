//! Adding samples, readings and events. Nothing is ever changed in place.

use super::amounts::{moment_row, storable};
use super::export::rows::{EventRow, PhotoRow, ReadingRow, RevisionRow, Row, SampleRow, TestRow};
use super::new::{Added, How, NewPhoto, NewReading, NewSample, Shown, Target, TestKey, Whose};
use super::reading_row::reading_row;
use super::{Happening, Id, LogError, NewEvent, store};
use crate::moment::Moment;
use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension, Transaction};

/// The writing side of a log, inside one transaction: see [`Log::write`](super::Log::write).
#[derive(Debug)]
pub struct Writer<'a> {
    tx: &'a Transaction<'a>,
    now: Timestamp,
}

impl<'a> Writer<'a> {
    pub(super) fn new(tx: &'a Transaction<'a>, now: Timestamp) -> Result<Self, LogError> {
        Ok(Self { tx, now: storable(now)? })
    }

    pub(super) fn now(&self) -> Timestamp {
        self.now
    }

    pub(super) fn conn(&self) -> &Connection {
        self.tx
    }

    /// Does `work` as a whole or not at all, so that a caller who goes on after an error leaves no half-written entry.
    pub(super) fn step<T>(&self, work: impl FnOnce() -> Result<T, LogError>) -> Result<T, LogError> {
        self.tx.execute_batch("SAVEPOINT step")?;
        let out = work();
        let end = if out.is_ok() { "RELEASE step" } else { "ROLLBACK TO step; RELEASE step" };
        self.tx.execute_batch(end)?;
        out
    }

    /// Writes the row that `make` builds for a fresh id.
    pub(super) fn insert<R: Row>(&self, make: impl FnOnce(Id, Timestamp) -> R) -> Result<Id, LogError> {
        let row = make(Id::new(self.now), self.now);
        store::insert(self.tx, &row)?;
        Ok(row.id())
    }

    /// Adds a sample without a reading, for a test that will be read later.
    pub fn add_sample(&self, sample: &NewSample) -> Result<Id, LogError> {
        self.step(|| {
            self.check_target(&sample.target)?;
            let moment = |m: &Option<Moment>| m.as_ref().map(moment_row).transpose();
            let (drawn, reagent, photo) = (moment(&sample.drawn)?, moment(&sample.reagent)?, moment(&sample.photo)?);
            let entered = moment_row(&sample.entered)?;
            self.insert(|id, recorded| SampleRow {
                id,
                recorded,
                target: sample.target.as_str().to_string(),
                tank: sample.target.tank(),
                label: sample.label.clone(),
                station: sample.station.clone(),
                note: sample.note.clone(),
                drawn,
                reagent,
                photo,
                entered,
            })
        })
    }

    /// Adds a reading, refused ones too.
    ///
    /// The same photo, station, test, kit, card and program a second time write nothing. The same photo and station for the
    /// same analyte with another kit, card or program make a new reading in the place of the older one.
    pub fn add_reading(&self, whose: Whose<'_>, reading: &NewReading) -> Result<Added, LogError> {
        self.step(|| {
            let test = self.test(&reading.test)?;
            let Some(shown) = &reading.shown else {
                let sample = self.sample(whose)?;
                let id = self.insert_reading(None, "hand", sample, test, None, reading)?;
                return Ok(Added { id, sample, how: How::New });
            };
            if shown.station.trim().is_empty() {
                return Err(LogError::Empty { what: "the station" });
            }
            let photo = self.photo(&shown.photo)?;
            if let Some((id, sample)) = self.same(photo, test, shown, &reading.program)? {
                return Ok(Added { id, sample, how: How::Same });
            }
            let before = self.before(photo, &shown.station, &reading.test)?;
            let root = before.as_ref().map(|b| b.root);
            let stood = before.and_then(|b| b.stands);
            let sample = match stood {
                Some((_, sample)) => sample,
                None => self.sample(whose)?,
            };
            let id = self.insert_reading(root, "photo", sample, test, Some((photo, shown)), reading)?;
            let Some((replaces, _)) = stood else {
                return Ok(Added { id, sample, how: How::New });
            };
            self.insert(|own, recorded| RevisionRow {
                replaces: Some(replaces),
                reading: Some(id),
                ..RevisionRow::new(own, recorded, "reread", replaces)
            })?;
            Ok(Added { id, sample, how: How::Reread { replaces, stands: stands(self.tx, id)? } })
        })
    }

    /// Adds an event.
    pub fn add_event(&self, event: &NewEvent) -> Result<Id, LogError> {
        self.step(|| {
            if event.kind.trim().is_empty() {
                return Err(LogError::Empty { what: "the kind of event" });
            }
            if let Some(tank) = event.tank {
                self.check_target(&Target::Tank(tank))?;
            }
            // Other kinds are taken as they are; a known one must be readable, for what rests on it to be seen.
            let what = Happening::read(&event.kind, &event.payload);
            let what = what.map_err(|e| LogError::Unfit { test: e.kind, cause: format!("{} {}", e.field, e.cause) })?;
            if let Happening::MediaMoved { to, .. } = what {
                self.check_target(&Target::Tank(to))?;
            }
            // Facts nested too deeply could be written but not read again.
            let payload = serde_json::to_string(&event.payload).and_then(|text| serde_json::from_str(&text));
            let payload = payload.map_err(|e| LogError::Unfit { test: event.kind.clone(), cause: e.to_string() })?;
            let at = moment_row(&event.at)?;
            self.insert(|id, recorded| EventRow {
                id,
                recorded,
                kind: event.kind.trim().to_string(),
                tank: event.tank,
                note: event.note.clone(),
                payload,
                at,
            })
        })
    }

    /// The kind of an entry: the name of its table.
    pub(super) fn kind(&self, id: Id) -> Result<String, LogError> {
        let sql = "SELECT kind FROM entry WHERE id = ?1";
        let kind = self.tx.prepare_cached(sql)?.query_row([id], |row| row.get(0)).optional()?;
        kind.ok_or_else(|| LogError::EntryUnknown { id: id.to_string() })
    }

    /// Whether the entry is of a kind.
    pub(super) fn check_kind(&self, id: Id, wanted: &'static str) -> Result<(), LogError> {
        let found = self.kind(id)?;
        if found == wanted { Ok(()) } else { Err(LogError::EntryKind { id, found, wanted }) }
    }

    /// Whether the entry is undone.
    pub(super) fn is_undone(&self, id: Id) -> Result<bool, LogError> {
        let sql = "SELECT EXISTS (SELECT 1 FROM undone WHERE id = ?1)";
        Ok(self.tx.prepare_cached(sql)?.query_row([id], |row| row.get(0))?)
    }

    pub(super) fn check_living(&self, id: Id) -> Result<(), LogError> {
        if self.is_undone(id)? { Err(LogError::AlreadyUndone { id }) } else { Ok(()) }
    }

    /// Whether the target is there: a tank that is living, or no tank.
    pub(super) fn check_target(&self, target: &Target) -> Result<(), LogError> {
        match target.tank() {
            Some(id) => {
                self.check_kind(id, "tank")?;
                self.check_living(id)
            }
            None => Ok(()),
        }
    }

    fn sample(&self, whose: Whose<'_>) -> Result<Id, LogError> {
        match whose {
            Whose::New(sample) => self.add_sample(sample),
            Whose::Sample(id) => {
                self.check_kind(id, "sample")?;
                let sql = "SELECT tank FROM sample_now WHERE id = ?1";
                let tank: Option<Id> = self.tx.prepare_cached(sql)?.query_row([id], |row| row.get(0))?;
                for id in [Some(id), tank].into_iter().flatten() {
                    self.check_living(id)?;
                }
                Ok(id)
            }
        }
    }

    /// The test of a key, written if it is new.
    pub(super) fn test(&self, key: &TestKey) -> Result<Id, LogError> {
        let (analyte, unit) = (key.analyte.as_str(), key.unit.as_str());
        if key.name.trim().is_empty() {
            return Err(LogError::Empty { what: "the name of the test" });
        }
        if key.kit.as_ref().is_some_and(|kit| kit.trim().is_empty()) {
            return Err(LogError::Empty { what: "the name of the kit" });
        }
        if !key.unit.fits(&key.analyte) {
            return Err(LogError::Unfit { test: key.name.clone(), cause: format!("{unit} is no unit of {analyte}") });
        }
        let sql = "SELECT id FROM test WHERE name = ?1 AND analyte = ?2 AND unit = ?3 AND kit IS ?4";
        let found = self.tx.prepare_cached(sql)?.query_row((&key.name, analyte, unit, &key.kit), |row| row.get(0));
        match found.optional()? {
            Some(id) => Ok(id),
            None => self.insert(|id, recorded| TestRow {
                id,
                recorded,
                kit: key.kit.clone(),
                name: key.name.clone(),
                analyte: analyte.to_string(),
                unit: unit.to_string(),
            }),
        }
    }

    /// The photo of a hash, written if it is new.
    fn photo(&self, photo: &NewPhoto) -> Result<Id, LogError> {
        if photo.hash.is_empty() {
            return Err(LogError::Empty { what: "the photo's identity" });
        }
        let sql = "SELECT id FROM photo WHERE hash = ?1";
        if let Some(id) = self.tx.prepare_cached(sql)?.query_row([&photo.hash], |row| row.get(0)).optional()? {
            return Ok(id);
        }
        let taken = photo.taken.as_ref().map(moment_row).transpose()?;
        self.insert(|id, recorded| PhotoRow {
            id,
            recorded,
            hash: photo.hash.clone(),
            name: photo.name.clone(),
            format: photo.format.clone(),
            camera: photo.camera.clone(),
            taken,
        })
    }

    /// The living reading of the same photo, station, test and revisions, with its sample.
    fn same(&self, photo: Id, test: Id, shown: &Shown, program: &str) -> Result<Option<(Id, Id)>, LogError> {
        let sql = "SELECT id, sample FROM reading_now WHERE photo = ?1 AND station = ?2 AND test = ?3 AND origin = 'photo'
            AND kit_revision IS ?4 AND card_revision IS ?5 AND program = ?6 AND standing <> 'undone' ORDER BY seq DESC LIMIT 1";
        let key = (photo, &shown.station, test, &shown.kit_revision, &shown.card_revision, program);
        Ok(self.tx.prepare_cached(sql)?.query_row(key, |row| Ok((row.get(0)?, row.get(1)?))).optional()?)
    }

    /// What was read from the photo at this station for this analyte before, by whatever kit: one vial holds one reagent.
    fn before(&self, photo: Id, station: &str, test: &TestKey) -> Result<Option<Before>, LogError> {
        let sql = "SELECT r.root FROM reading r JOIN test t ON t.id = r.test
            WHERE r.photo = ?1 AND r.station = ?2 AND t.analyte = ?3 ORDER BY r.seq DESC LIMIT 1";
        let key = (photo, station, test.analyte.as_str());
        let root: Option<Id> = self.tx.prepare_cached(sql)?.query_row(key, |row| row.get(0)).optional()?;
        root.map(|root| Ok(Before { root, stands: current(self.tx, root)? })).transpose()
    }

    /// Writes a reading, behind `root` if there is one.
    pub(super) fn insert_reading(
        &self,
        root: Option<Id>,
        origin: &str,
        sample: Id,
        test: Id,
        shown: Option<(Id, &Shown)>,
        new: &NewReading,
    ) -> Result<Id, LogError> {
        let row = ReadingRow {
            sample,
            test,
            photo: shown.map(|(photo, _)| photo),
            station: shown.map(|(_, s)| s.station.clone()),
            kit_revision: shown.and_then(|(_, s)| s.kit_revision.clone()),
            card_revision: shown.and_then(|(_, s)| s.card_revision.clone()),
            origin: origin.to_string(),
            ..reading_row(new, Id::new(self.now), self.now)?
        };
        let row = ReadingRow { root: root.unwrap_or(row.id), ..row };
        store::insert(self.tx, &row)?;
        Ok(row.id)
    }
}

/// Readings that replace one another, and the one of them that stands, with its sample.
struct Before {
    root: Id,
    stands: Option<(Id, Id)>,
}

/// The reading that stands of those behind `root`, with its sample.
pub(super) fn current(conn: &Connection, root: Id) -> Result<Option<(Id, Id)>, LogError> {
    let sql = "SELECT id, sample FROM reading_now WHERE root = ?1 AND standing = 'current'";
    Ok(conn.prepare_cached(sql)?.query_row([root], |row| Ok((row.get(0)?, row.get(1)?))).optional()?)
}

fn stands(conn: &Connection, id: Id) -> Result<bool, LogError> {
    let sql = "SELECT standing = 'current' FROM reading_now WHERE id = ?1";
    Ok(conn.prepare_cached(sql)?.query_row([id], |row| row.get(0))?)
}
