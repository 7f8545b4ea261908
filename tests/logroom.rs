//! The log from outside: what is written comes back, nothing is lost, nothing counts twice.

mod adding;
mod asking;
mod happenings;
mod labels;
mod samples;
mod undoing;
mod writing;

use jiff::{Timestamp, tz::Offset};
use tintline::log::*;
use tintline::moment::{Certainty, Moment, TimeSource};
use tintline::reading::Outcome;
use tintline::water::{Amount, Analyte, Interval, Quantity, Unit};

pub fn at(text: &str) -> Timestamp {
    text.parse().unwrap()
}

/// A moment as the keeper gives it, one hour east.
pub fn moment(text: &str) -> Moment {
    let offset = Offset::from_hours(1).unwrap();
    Moment { instant: at(text), offset, source: TimeSource::Keeper, certainty: Certainty::Sure }
}

pub const NOW: &str = "2026-03-01T12:00:00Z";

pub fn key(analyte: &Analyte, unit: &str) -> TestKey {
    let unit = Unit::parse(unit, analyte).unwrap();
    TestKey { kit: Some("Drops".into()), name: analyte.as_str().into(), analyte: analyte.clone(), unit }
}

pub fn nitrate() -> TestKey {
    key(&Analyte::Nitrate, "mg/L NO3-")
}

pub fn measured(value: f64, lower: f64, upper: f64, unit: &Unit) -> Amount {
    Amount::measured(Quantity::new(value, unit.clone()), Interval::new(lower, upper).unwrap()).unwrap()
}

/// Nitrate, read by eye.
pub fn by_eye(value: f64) -> NewReading {
    let key = nitrate();
    let amount = measured(value, value * 0.9, value * 1.1, &key.unit);
    NewReading::by_hand(key, Outcome::Read(amount), None, "0.1.0")
}

/// Nitrate, from a photo at a station with a kit.
pub fn from_photo(value: f64, hash: &str, station: &str, kit_revision: &str) -> NewReading {
    let photo =
        NewPhoto { hash: hash.into(), name: None, format: "jpeg".into(), camera: None, taken: Some(moment(NOW)) };
    let shown = Shown {
        photo,
        station: station.into(),
        kit_revision: Some(kit_revision.into()),
        card_revision: Some("card-1".into()),
    };
    NewReading { shown: Some(shown), ..by_eye(value) }
}

pub fn tank(log: &mut Log, name: &str) -> Id {
    log.write(at(NOW), |w| w.add_tank(&NewTank::new(name, "Europe/Berlin", WaterKind::Fresh))).unwrap()
}

/// Adds a reading of a new sample of the tank, drawn at a time.
pub fn add(log: &mut Log, tank: Id, drawn: &str, reading: &NewReading) -> Added {
    let sample = NewSample { drawn: Some(moment(drawn)), ..NewSample::new(Target::Tank(tank), moment(NOW)) };
    log.write(at(NOW), |w| w.add_reading(Whose::New(&sample), reading)).unwrap()
}

pub fn undo(log: &mut Log, what: Undo) -> Vec<Undone> {
    log.write(at(NOW), |w| w.undo(&what, "a mistake")).unwrap()
}

pub fn undo_error(log: &mut Log, what: Undo) -> &'static str {
    log.write(at(NOW), |w| w.undo(&what, "a mistake")).unwrap_err().code()
}

/// Values that stand, by time.
pub fn values(log: &Log) -> Vec<f64> {
    let readings = log.readings(&Filter::default()).unwrap();
    readings.iter().map(|r| r.amount.as_ref().unwrap().level().value).collect()
}

pub fn fresh() -> (Log, Id) {
    let mut log = Log::open_memory().unwrap();
    let id = tank(&mut log, "Hall");
    (log, id)
}
