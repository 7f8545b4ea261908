//! The lights in which photos were read.

use super::{Log, LogError};
use jiff::Timestamp;
use rusqlite::Connection;
use std::collections::HashSet;

/// The light of a photo that has a reading that stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Lit {
    /// Hash of the photo.
    pub photo: String,
    /// The light's signature.
    pub light: Vec<f64>,
    /// The kit it was read with.
    pub kit: Option<String>,
    /// When its first reading was written.
    pub recorded: Timestamp,
    /// The best known time of its water.
    pub at: Timestamp,
}

impl Log {
    /// The lights of the photos with the last so many readings that tell theirs, each photo once, the oldest entry first.
    pub fn lights(&self, last: u32) -> Result<Vec<Lit>, LogError> {
        self.read(|conn| lights(conn, last))
    }
}

fn lights(conn: &Connection, last: u32) -> Result<Vec<Lit>, LogError> {
    let sql = "SELECT p.hash, r.light, t.kit, e.recorded, s.at_utc
        FROM reading_now r
        JOIN entry e ON e.seq = r.seq
        JOIN sample_now s ON s.id = r.sample
        JOIN test t ON t.id = r.test
        JOIN photo p ON p.id = r.photo
        WHERE r.light IS NOT NULL AND r.standing = 'current'
        ORDER BY r.seq DESC LIMIT ?1";
    let mut statement = conn.prepare_cached(sql)?;
    let rows = statement.query_map([last], |row| {
        let text = |i: usize| row.get::<_, String>(i);
        Ok((text(0)?, text(1)?, row.get::<_, Option<String>>(2)?, text(3)?, text(4)?))
    })?;
    let mut out = Vec::new();
    let mut seen = HashSet::new();
    for row in rows {
        let (photo, light, kit, recorded, at) = row?;
        if seen.insert(photo.clone()) {
            let light = serde_json::from_str(&light).map_err(LogError::row)?;
            let moment = |text: &str| text.parse::<Timestamp>().map_err(LogError::row);
            out.push(Lit { photo, light, kit, recorded: moment(&recorded)?, at: moment(&at)? });
        }
    }
    out.reverse();
    Ok(out)
}
