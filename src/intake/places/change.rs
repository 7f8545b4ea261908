//! Naming places and forgetting them.

use super::{Place, Places};
use crate::intake::IntakeError;
use crate::log::{Id, Log, LogError, NewEvent, happening};
use crate::moment::{Certainty, Moment, TimeSource};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde_json::{Map, Value};

/// Why a place cannot be named or forgotten.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum PlaceError {
    /// Not a name that can be told from a number or an entry.
    #[error("'{name}' cannot be a place's name")]
    Name { name: String },
    /// No such place.
    #[error("there is no place '{typed}'{}", listed(known))]
    Unknown { typed: String, known: Vec<String> },
    /// A reading that was not read from a photo, or whose card was not seen.
    #[error("the reading {entry} does not tell its light")]
    NoLight { entry: String },
    /// The name stands for another place.
    #[error("there is a place '{name}' already")]
    Taken { name: String },
}

fn listed(known: &[String]) -> String {
    if known.is_empty() { "; none has a name yet".into() } else { format!("; there are: {}", known.join(", ")) }
}

impl PlaceError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Name { .. } => "place-name",
            Self::Unknown { .. } => "place-unknown",
            Self::NoLight { .. } => "place-no-light",
            Self::Taken { .. } => "place-taken",
        }
    }

    /// What to do.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::Name { .. } => "Give it a name of 1 to 60 letters, digits, spaces or signs, not of digits alone.",
            Self::Unknown { .. } => {
                "Give a place's name or number as tintline log place lists it, or the entry of a reading."
            }
            Self::NoLight { .. } => "Give the entry of a reading that was read from a photo.",
            Self::Taken { .. } => "Choose another name; to make the two one place, first forget that one.",
        }
    }
}

/// A name as typed, or why it is none.
pub fn place_name(typed: &str) -> Result<String, PlaceError> {
    let name = typed.split_whitespace().collect::<Vec<_>>().join(" ");
    let fits = (1..=60).contains(&name.chars().count())
        && !name.chars().any(char::is_control)
        && !name.chars().all(|c| c.is_ascii_digit());
    if fits { Ok(name) } else { Err(PlaceError::Name { name: typed.trim().to_string() }) }
}

impl Places {
    /// The place meant by its name, its number in the list from 1, or the entry of a reading made there.
    pub fn find(&self, typed: &str, log: &Log) -> Result<usize, IntakeError> {
        let (typed, key) = (typed.trim(), typed.trim().to_lowercase());
        let named = |p: &Place| p.name.as_ref().is_some_and(|n| n.to_lowercase() == key);
        if let Some(i) = self.all.iter().position(named) {
            return Ok(i);
        }
        // Entries are longer than numbers of places ever are.
        if let Some(n) = typed.parse::<usize>().ok().filter(|_| typed.len() < 4) {
            return n.checked_sub(1).filter(|i| *i < self.all.len()).ok_or_else(|| self.unknown(typed));
        }
        let id = match log.find(typed) {
            Err(LogError::EntryUnknown { .. }) => return Err(self.unknown(typed)),
            found => found?,
        };
        let none = || IntakeError::from(PlaceError::NoLight { entry: typed.to_string() });
        let light = log.reading(id).ok().and_then(|r| r.light).ok_or_else(none)?;
        self.index(&light).ok_or_else(|| self.unknown(typed))
    }

    fn unknown(&self, typed: &str) -> IntakeError {
        let known = self.all.iter().filter_map(|p| p.name.clone()).collect();
        PlaceError::Unknown { typed: typed.to_string(), known }.into()
    }
}

/// Gives a place a name, or another one.
pub fn name_place(
    log: &mut Log,
    places: &Places,
    place: usize,
    typed: &str,
    zone: &TimeZone,
    now: Timestamp,
) -> Result<Id, IntakeError> {
    let name = place_name(typed)?;
    let Some(own) = places.all.get(place) else { return Err(places.unknown(typed)) };
    if places.named(&name).is_some_and(|other| other != own) {
        return Err(PlaceError::Taken { name }.into());
    }
    write(log, happening::PLACE_NAMED, Some(&name), &own.lights, zone, now)
}

/// Forgets a place's name, and that it was seen.
pub fn forget_place(
    log: &mut Log,
    places: &Places,
    place: usize,
    zone: &TimeZone,
    now: Timestamp,
) -> Result<Id, IntakeError> {
    let Some(own) = places.all.get(place) else { return Err(places.unknown(&(place + 1).to_string())) };
    write(log, happening::PLACE_FORGOTTEN, None, &own.lights, zone, now)
}

/// Says that photos in these lights were taken at the place of a name, new or known. Lights that have another name keep it: those
/// names come back.
pub fn name_light(
    log: &mut Log,
    places: &mut Places,
    typed: &str,
    lights: &[Vec<f64>],
    zone: &TimeZone,
    now: Timestamp,
) -> Result<Vec<String>, IntakeError> {
    let name = place_name(typed)?;
    let (mut others, mut new) = (Vec::new(), Vec::new());
    for light in lights {
        match places.at(light).map(|(p, _)| p.name.clone()) {
            Some(Some(own)) if own.to_lowercase() == name.to_lowercase() => {}
            Some(Some(other)) => others.push(other),
            _ => new.push(light.clone()),
        }
    }
    others.sort();
    others.dedup();
    if !new.is_empty() {
        write(log, happening::PLACE_NAMED, Some(&name), &new, zone, now)?;
        places.call(&name, &new);
    }
    Ok(others)
}

impl Places {
    /// Gives lights a name, as the event just written does.
    fn call(&mut self, name: &str, lights: &[Vec<f64>]) {
        for light in lights {
            let i = self.index(light).unwrap_or_else(|| {
                self.all.push(Place::of(light));
                self.all.len() - 1
            });
            self.all[i].name = Some(name.to_string());
        }
    }
}

fn write(
    log: &mut Log,
    kind: &str,
    name: Option<&str>,
    lights: &[Vec<f64>],
    zone: &TimeZone,
    now: Timestamp,
) -> Result<Id, IntakeError> {
    let at =
        Moment { instant: now, offset: zone.to_offset(now), source: TimeSource::Keeper, certainty: Certainty::Sure };
    let mut payload = Map::new();
    if let Some(name) = name {
        payload.insert("name".into(), name.into());
    }
    // As a kit keeps them.
    let short = |x: &f64| (x * 1e5).round() / 1e5;
    let lights: Vec<Value> = lights.iter().map(|l| l.iter().map(short).collect::<Vec<f64>>().into()).collect();
    payload.insert("lights".into(), lights.into());
    let event = NewEvent { payload, ..NewEvent::new(kind, None, at) };
    Ok(log.write(now, |w| w.add_event(&event))?)
}
