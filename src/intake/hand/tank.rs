//! A tank's facts from what a keeper types.

use super::{Beside, Entered, HandError, Said, happening, litres};
use crate::intake::IntakeError;
use crate::log::happening::TankFacts;
use crate::log::{Happening, Id, Log, NewTank, Tank, WaterKind};
use crate::water::{Amount, Analyte, Celsius, Entry, Salinity};
use jiff::Timestamp;

/// What was typed of a tank; what was not is none.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Described {
    /// Its kind of water.
    pub water: Option<WaterKind>,
    /// `60`, `60 L`, `15 us gal`.
    pub volume: Option<String>,
    /// `35 g/kg`, `1.025 sg`, `53 mS/cm`.
    pub salinity: Option<String>,
    /// `25`, `78 °F`.
    pub temperature: Option<String>,
    /// Whether plants grow in it.
    pub planted: Option<bool>,
    /// `none`, `some`, `12`, `12 neon tetras`.
    pub animals: Option<String>,
}

/// A temperature as typed: `25`, `78 °F`.
pub fn celsius(typed: &str) -> Result<Celsius, HandError> {
    Ok(Celsius::new(level(typed, Entry::default(), &Analyte::Temperature)?)?)
}

/// The one number of a value.
fn level(typed: &str, entry: Entry<'_>, analyte: &Analyte) -> Result<f64, HandError> {
    let amount = entry.amount(typed, analyte);
    match amount.map_err(|source| HandError::Value { what: format!("{analyte} {typed}"), source: Box::new(source) })? {
        Amount::Measured { value, .. } => Ok(value.value),
        _ => Err(HandError::Number { typed: typed.trim().into(), why: "not one value" }),
    }
}

impl Described {
    /// As facts, and the animals counted with the words for them.
    pub fn meant(&self) -> Result<(TankFacts, Option<Said>), HandError> {
        let temperature = self.temperature.as_deref().map(celsius).transpose()?;
        let entry = Entry { temperature, ..Entry::default() };
        let salinity =
            |typed: &String| Salinity::new(level(typed, entry, &Analyte::Salinity)?).map_err(HandError::from);
        let facts = TankFacts {
            water: self.water,
            volume_l: self.volume.as_deref().map(litres).transpose()?,
            salinity_g_kg: self.salinity.as_ref().map(salinity).transpose()?.map(Salinity::value),
            celsius: temperature.map(Celsius::value),
            planted: self.planted,
        };
        // All animals are meant, of whatever species: the species is a remark.
        let counted = |line: &String| {
            Ok::<_, HandError>(match happening("fish-counted", line, Beside::default())? {
                (Happening::FishCounted { mut stock }, note) => {
                    let note = stock.species.take().or(note);
                    (Happening::FishCounted { stock }, note)
                }
                other => other,
            })
        };
        Ok((facts, self.animals.as_ref().map(counted).transpose()?))
    }
}

/// Adds a tank with its facts and animals: all or nothing. Water and volume are its own; the rest are events.
pub fn add_tank(log: &mut Log, new: &NewTank, described: &Described, now: Timestamp) -> Result<Id, IntakeError> {
    let (facts, counted) = described.meant()?;
    let new = NewTank { volume_l: facts.volume_l, ..new.clone() };
    let facts = TankFacts { water: None, volume_l: None, ..facts };
    let (at, _) = super::placed(super::At::Now, &new.zone, now)?;
    let told = (facts != TankFacts::default()).then_some((Happening::TankDescribed { facts }, None));
    let what: Vec<Said> = told.into_iter().chain(counted).collect();
    // Before anything is written: the id is not known yet, and none of these looks at it.
    let events = what.into_iter().map(|(h, note)| h.event(None, at, note));
    let events = events.collect::<Result<Vec<_>, _>>().map_err(HandError::from)?;
    Ok(log.write(now, |w| {
        let id = w.add_tank(&new)?;
        for event in &events {
            w.add_event(&crate::log::NewEvent { tank: Some(id), ..event.clone() })?;
        }
        Ok(id)
    })?)
}

/// Changes a tank's facts from a time on: entries of their own, that can be undone. The ids of what was written.
pub fn change_tank(
    log: &mut Log,
    tank: &Tank,
    described: &Described,
    when: Entered,
    now: Timestamp,
) -> Result<Vec<Id>, IntakeError> {
    let (facts, counted) = described.meant()?;
    let (at, _) = when.moment(tank, now)?;
    let told = (facts != TankFacts::default()).then_some((Happening::TankDescribed { facts }, None));
    let events = told.into_iter().chain(counted).map(|(h, note)| h.event(Some(tank.id), at, note));
    let events = events.collect::<Result<Vec<_>, _>>().map_err(HandError::from)?;
    Ok(log.write(now, |w| events.iter().map(|e| w.add_event(e)).collect())?)
}
