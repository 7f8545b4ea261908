//! Tanks.

use super::append::Writer;
use super::event::events;
use super::export::rows::TankRow;
use super::happening::TankFacts;
use super::{Id, Inhabitants, Log, LogError, store};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use rusqlite::{Connection, OptionalExtension};

/// What kind of water.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum WaterKind {
    /// Fresh water.
    Fresh,
    /// Between fresh and sea water.
    Brackish,
    /// Sea water.
    Marine,
}

impl WaterKind {
    /// All kinds.
    pub const ALL: [Self; 3] = [Self::Fresh, Self::Brackish, Self::Marine];

    /// Stable text form.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Fresh => "fresh",
            Self::Brackish => "brackish",
            Self::Marine => "marine",
        }
    }

    /// The kind of a stable text form.
    pub fn parse(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|k| k.as_str() == text)
    }
}

/// A tank to be added.
#[derive(Debug, Clone, PartialEq)]
pub struct NewTank {
    /// Its name: 1 to 60 characters, unique among living tanks, upper and lower case being the same.
    pub name: String,
    /// IANA time zone, such as `Europe/Berlin`.
    pub zone: String,
    /// Its water.
    pub water: WaterKind,
    /// Litres of water.
    pub volume_l: Option<f64>,
    /// The keeper's words.
    pub note: Option<String>,
}

impl NewTank {
    /// A tank without volume and note.
    pub fn new(name: &str, zone: &str, water: WaterKind) -> Self {
        Self { name: name.to_string(), zone: zone.to_string(), water, volume_l: None, note: None }
    }
}

/// A tank in the log, as it is now: events of the kind `tank-described` tell what changed since it was added.
#[derive(Debug, Clone, PartialEq)]
pub struct Tank {
    /// Its entry.
    pub id: Id,
    /// When it was added.
    pub recorded: Timestamp,
    /// Its name.
    pub name: String,
    /// IANA time zone.
    pub zone: String,
    /// Its water.
    pub water: WaterKind,
    /// Litres of water, as filled.
    pub volume_l: Option<f64>,
    /// Salinity it is kept at, g/kg.
    pub salinity_g_kg: Option<f64>,
    /// Temperature it is kept at, °C.
    pub celsius: Option<f64>,
    /// Whether plants grow in it; none where nobody said.
    pub planted: Option<bool>,
    /// What lives in it after the last event.
    pub inhabitants: Inhabitants,
    /// The keeper's words.
    pub note: Option<String>,
}

impl Writer<'_> {
    /// Adds a tank. The zone is kept under its full name; it must be one of the time zone database.
    pub fn add_tank(&self, tank: &NewTank) -> Result<Id, LogError> {
        self.step(|| {
            let (name, zone) = (tank_name(&tank.name)?, zone_name(&tank.zone)?);
            if let Some(litres) = tank.volume_l.filter(|v| !(v.is_finite() && *v > 0.0)) {
                return Err(LogError::Volume { litres });
            }
            let id = self.insert(|id, recorded| TankRow {
                id,
                recorded,
                name_key: key(&name),
                name,
                zone,
                water: tank.water.as_str().to_string(),
                volume_l: tank.volume_l,
                note: tank.note.clone(),
            })?;
            check_tanks(self.conn())?;
            Ok(id)
        })
    }
}

impl Log {
    /// All living tanks, by name.
    pub fn tanks(&self) -> Result<Vec<Tank>, LogError> {
        self.read(all)
    }

    /// The living tank of a name, upper and lower case being the same.
    pub fn tank(&self, name: &str) -> Result<Tank, LogError> {
        let mut tanks = self.tanks()?;
        let wanted = key(&plain(name));
        match tanks.iter().position(|t| key(&t.name) == wanted) {
            Some(i) => Ok(tanks.swap_remove(i)),
            None => Err(LogError::TankUnknown {
                name: name.trim().to_string(),
                known: tanks.into_iter().map(|t| t.name).collect(),
            }),
        }
    }
}

/// What must hold after every change to tanks and to what lies in them.
pub(super) fn check_tanks(conn: &Connection) -> Result<(), LogError> {
    let twice = "SELECT name FROM tank WHERE id NOT IN (SELECT id FROM undone) GROUP BY name_key HAVING count(*) > 1";
    if let Some(name) = conn.query_row(twice, [], |row| row.get(0)).optional()? {
        return Err(LogError::TankTaken { name });
    }
    let gone: Vec<TankRow> = store::select(conn, "t.id IN (SELECT id FROM undone)", [])?;
    for tank in gone {
        let held = "SELECT (SELECT count(*) FROM reading_now r JOIN sample_now s ON s.id = r.sample
              WHERE s.tank = ?1 AND r.standing = 'current')
            + (SELECT count(*) FROM event v WHERE v.id NOT IN (SELECT id FROM undone) AND v.kind <> 'tank-described'
              AND (v.tank = ?1 OR (v.kind = 'media-moved' AND json_extract(v.payload, '$.to') = ?1)))";
        let entries: i64 = conn.query_row(held, [tank.id], |row| row.get(0))?;
        if entries > 0 {
            return Err(LogError::TankInUse { name: tank.name, entries });
        }
    }
    Ok(())
}

fn all(conn: &Connection) -> Result<Vec<Tank>, LogError> {
    let mut rows: Vec<TankRow> = store::select(conn, "t.id NOT IN (SELECT id FROM undone)", [])?;
    rows.sort_by(|a, b| a.name_key.cmp(&b.name_key));
    rows.into_iter().map(|row| tank(row).and_then(|tank| told(conn, tank))).collect()
}

/// The tank with what its events tell of it.
fn told(conn: &Connection, tank: Tank) -> Result<Tank, LogError> {
    let events = events(conn, Some(tank.id))?;
    let facts = TankFacts::told(&events, tank.id);
    let own: Vec<_> = events.into_iter().filter(|e| e.tank == Some(tank.id)).collect();
    Ok(Tank {
        water: facts.water.unwrap_or(tank.water),
        volume_l: facts.volume_l.or(tank.volume_l),
        salinity_g_kg: facts.salinity_g_kg,
        celsius: facts.celsius,
        planted: facts.planted,
        inhabitants: Inhabitants::at(&own, Timestamp::MAX),
        ..tank
    })
}

fn tank(row: TankRow) -> Result<Tank, LogError> {
    let water =
        WaterKind::parse(&row.water).ok_or_else(|| LogError::row(format!("a tank of '{}' water", row.water)))?;
    let TankRow { id, recorded, name, zone, volume_l, note, .. } = row;
    let (salinity_g_kg, celsius, planted, inhabitants) = (None, None, None, Inhabitants::Unknown);
    Ok(Tank { id, recorded, name, zone, water, volume_l, salinity_g_kg, celsius, planted, inhabitants, note })
}

/// Whether a row from elsewhere is one that [`Writer::add_tank`] could have written.
pub(super) fn sound_tank(row: &TankRow) -> Result<(), LogError> {
    let name = tank_name(&row.name)?;
    // Zones that this machine's database lacks are taken as they are: the log is worth more than the zone.
    if name != row.name || key(&name) != row.name_key {
        return Err(LogError::TankName { name: row.name.clone(), why: "it does not fit its key" });
    }
    tank(row.clone()).map(|_| ())
}

fn tank_name(typed: &str) -> Result<String, LogError> {
    let name = plain(typed);
    let why = if name.is_empty() {
        "it is empty"
    } else if name.chars().count() > 60 {
        "it is longer than 60 characters"
    } else if name.chars().any(char::is_control) {
        "it has a control character"
    } else {
        return Ok(name);
    };
    Err(LogError::TankName { name: typed.to_string(), why })
}

/// The zone's name as the time zone database spells it.
fn zone_name(typed: &str) -> Result<String, LogError> {
    // The database itself takes 'Etc/Unknown', which behaves as UTC: a keeper's tank is somewhere.
    let zone = TimeZone::get(typed.trim()).ok().filter(|z| !z.is_unknown());
    match zone.as_ref().and_then(TimeZone::iana_name) {
        Some(name) => Ok(name.to_string()),
        None => Err(LogError::ZoneUnknown { zone: typed.to_string() }),
    }
}

/// White space collapsed.
fn plain(name: &str) -> String {
    name.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What makes two names the same.
pub(super) fn key(name: &str) -> String {
    name.to_lowercase()
}
