//! Asking for readings.

use super::amounts::storable;
use super::export::cell::{Cell, Cells, time_text};
use super::export::rows::{ReadingRow, SampleRow, TestRow};
use super::logged::{Parts, Reading, Standing, Status};
use super::{Id, Log, LogError, Target, store};
use crate::water::Analyte;
use jiff::Timestamp;
use rusqlite::types::Value;
use rusqlite::{Connection, params_from_iter};

/// Which readings. All that is given must hold; the default is every reading that stands.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Filter {
    /// Of this tank's water.
    pub tank: Option<Id>,
    /// By a test of this name.
    pub test: Option<String>,
    /// Of this analyte.
    pub analyte: Option<Analyte>,
    /// At this time or later; the time is the sample's, see [`Sample::at`](super::Sample::at).
    pub since: Option<Timestamp>,
    /// Before this time.
    pub until: Option<Timestamp>,
    /// With this status.
    pub status: Option<Status>,
    /// From this photo, by its hash.
    pub photo: Option<String>,
    /// Of this sample.
    pub sample: Option<Id>,
    /// Only the last so many by time.
    pub last: Option<u32>,
    /// Which versions.
    pub show: Show,
}

/// Which versions of readings.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Show {
    /// Those that stand.
    #[default]
    Current,
    /// All, with what was superseded or undone.
    History,
}

impl Log {
    /// The readings, oldest first by the time of their samples.
    pub fn readings(&self, filter: &Filter) -> Result<Vec<Reading>, LogError> {
        self.read(|conn| readings(conn, filter))
    }

    /// What of every reading, whatever became of it, is needed to keep a whole log in mind: few bytes each, oldest entry first.
    pub fn outlines(&self) -> Result<Vec<Outline>, LogError> {
        self.read(outlines)
    }

    /// One reading, whatever became of it.
    pub fn reading(&self, id: Id) -> Result<Reading, LogError> {
        self.read(|conn| reading(conn, id))
    }
}

/// A reading without its value.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Its entry.
    pub id: Id,
    /// What became of it.
    pub standing: Standing,
    /// Hash of the photo.
    pub photo: Option<String>,
    /// The water.
    pub target: Target,
    /// The tank's name, if it is of a tank.
    pub tank: Option<String>,
    /// What was measured.
    pub analyte: Analyte,
    /// The best known time of the water.
    pub at: Timestamp,
}

fn outlines(conn: &Connection) -> Result<Vec<Outline>, LogError> {
    let sql = "SELECT r.id, r.standing, p.hash, s.target, s.tank, k.name, t.analyte, s.at_utc
        FROM reading_now r
        JOIN sample_now s ON s.id = r.sample
        JOIN test t ON t.id = r.test
        LEFT JOIN tank k ON k.id = s.tank
        LEFT JOIN photo p ON p.id = r.photo
        ORDER BY r.seq";
    let mut statement = conn.prepare_cached(sql)?;
    let mut rows = statement.query([])?;
    let mut out = Vec::new();
    while let Some(row) = rows.next()? {
        let text = |i: usize| row.get::<_, String>(i);
        let standing = Standing::parse(&text(1)?).ok_or_else(|| LogError::row("a reading of another standing"))?;
        out.push(Outline {
            id: row.get(0)?,
            standing,
            photo: row.get(2)?,
            target: Target::of(&text(3)?, row.get(4)?)?,
            tank: row.get(5)?,
            analyte: Analyte::parse(&text(6)?).map_err(LogError::row)?,
            at: text(7)?.parse().map_err(LogError::row)?,
        });
    }
    Ok(out)
}

/// Conditions with the values bound to their question marks.
#[derive(Default)]
struct Where {
    conditions: Vec<&'static str>,
    values: Vec<Value>,
}

impl Where {
    fn and(&mut self, condition: &'static str, value: impl Into<Value>) {
        self.conditions.push(condition);
        self.values.push(value.into());
    }
}

pub(super) fn readings(conn: &Connection, filter: &Filter) -> Result<Vec<Reading>, LogError> {
    let mut w = Where::default();
    if filter.show == Show::Current {
        w.and("r.standing = ?", "current".to_string());
    }
    if let Some(tank) = filter.tank {
        w.and("s.tank = ?", tank.to_string());
    }
    if let Some(test) = &filter.test {
        w.and("t.name = ? COLLATE NOCASE", test.clone());
    }
    if let Some(analyte) = &filter.analyte {
        w.and("t.analyte = ?", analyte.as_str().to_string());
    }
    if let Some(since) = filter.since {
        w.and("s.at_utc >= ?", time_text(storable(since)?));
    }
    if let Some(until) = filter.until {
        w.and("s.at_utc < ?", time_text(storable(until)?));
    }
    if let Some(status) = filter.status {
        w.and("r.status = ?", status.as_str().to_string());
    }
    if let Some(hash) = &filter.photo {
        w.and("p.hash = ?", hash.clone());
    }
    if let Some(sample) = filter.sample {
        w.and("r.sample = ?", sample.to_string());
    }
    let mut found = select(conn, w, filter.last)?;
    found.reverse();
    Ok(found)
}

/// One reading.
pub(super) fn reading(conn: &Connection, id: Id) -> Result<Reading, LogError> {
    let mut w = Where::default();
    w.and("r.id = ?", id.to_string());
    select(conn, w, None)?.pop().ok_or_else(|| LogError::EntryUnknown { id: id.to_string() })
}

/// The readings, newest first.
fn select(conn: &Connection, w: Where, last: Option<u32>) -> Result<Vec<Reading>, LogError> {
    let sql = format!(
        "SELECT {}, r.standing, k.name, p.hash, {}, {}
        FROM reading_now r
        JOIN entry e ON e.seq = r.seq
        JOIN sample_now s ON s.id = r.sample
        JOIN test t ON t.id = r.test
        LEFT JOIN tank k ON k.id = s.tank
        LEFT JOIN photo p ON p.id = r.photo
        WHERE {} ORDER BY s.at_utc DESC, r.seq DESC LIMIT {}",
        store::columns::<ReadingRow>("r"),
        store::columns::<SampleRow>("s"),
        store::columns::<TestRow>("t"),
        if w.conditions.is_empty() { "true".to_string() } else { w.conditions.join(" AND ") },
        last.map_or(-1, i64::from),
    );
    let mut statement = conn.prepare_cached(&sql)?;
    let rows = statement.query_map(params_from_iter(w.values), |row| {
        let cells = &mut Cells::new(row);
        Ok(Parts {
            reading: store::take(cells)?,
            standing: Cell::take(cells)?,
            tank: Cell::take(cells)?,
            photo: Cell::take(cells)?,
            sample: store::take(cells)?,
            test: store::take(cells)?,
        })
    })?;
    rows.map(|parts| parts?.reading()).collect()
}
