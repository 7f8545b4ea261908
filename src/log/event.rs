//! Events: what happened to a tank besides tests. Kept general, any kind with any facts; [`Happening`](super::Happening) is
//! the list of kinds known, with typed fields.

use super::amounts::moment;
use super::export::rows::EventRow;
use super::{Id, Log, LogError, store};
use crate::moment::Moment;
use jiff::Timestamp;
use rusqlite::Connection;

/// An event to be added.
#[derive(Debug, Clone, PartialEq)]
pub struct NewEvent {
    /// What happened, such as `water-change`.
    pub kind: String,
    /// To which tank; none where it concerns the household.
    pub tank: Option<Id>,
    /// When.
    pub at: Moment,
    /// The keeper's words.
    pub note: Option<String>,
    /// The kind's own facts.
    pub payload: serde_json::Map<String, serde_json::Value>,
}

impl NewEvent {
    /// An event without note and facts.
    pub fn new(kind: &str, tank: Option<Id>, at: Moment) -> Self {
        Self { kind: kind.to_string(), tank, at, note: None, payload: serde_json::Map::new() }
    }
}

/// An event in the log.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// Its entry.
    pub id: Id,
    /// When it was entered.
    pub recorded: Timestamp,
    /// What happened.
    pub kind: String,
    /// To which tank.
    pub tank: Option<Id>,
    /// When.
    pub at: Moment,
    /// The keeper's words.
    pub note: Option<String>,
    /// The kind's own facts.
    pub payload: serde_json::Map<String, serde_json::Value>,
}

impl Log {
    /// The living events, oldest first: of one tank, those of two tanks among them, or of all and the household.
    pub fn events(&self, tank: Option<Id>) -> Result<Vec<Event>, LogError> {
        self.read(|conn| events(conn, tank))
    }
}

pub(super) fn events(conn: &Connection, tank: Option<Id>) -> Result<Vec<Event>, LogError> {
    let filter = "t.id NOT IN (SELECT id FROM undone) AND (?1 IS NULL OR t.tank = ?1
        OR (t.kind = 'media-moved' AND json_extract(t.payload, '$.to') = ?1))";
    let rows: Vec<EventRow> = store::select(conn, filter, [tank])?;
    let mut events = rows.into_iter().map(event).collect::<Result<Vec<_>, _>>()?;
    events.sort_by_key(|e| e.at.instant);
    Ok(events)
}

fn event(row: EventRow) -> Result<Event, LogError> {
    let EventRow { id, recorded, kind, tank, note, payload, at } = row;
    Ok(Event { id, recorded, kind, tank, at: moment(&at)?, note, payload })
}
