//! Usual places: which lights the keeper photographs in, learnt from swatches and logged readings.
//!
//! A place is a lamp or a window and where it stands, known again by its light's signature ([`crate::curve::place`]). Nothing of this
//! is kept in a kit's file: swatches and readings tell their lights, and names are events of the household,
//!
//! | kind | payload |
//! | --- | --- |
//! | `place-named` | `name`, `lights`: signatures |
//! | `place-forgotten` | `lights` |
//!
//! of which the last one counts for a light; undone, they are as never written. A name may stand for several lights, such as a
//! window's in the morning and in the evening. A forgotten place has no name and is not counted before that; where swatches were
//! made there it stays a place of the kit.
//!
//! A place merely seen in readings narrows nothing: only a standard photographed there does, see [`crate::curve::wanted`].

mod change;
mod learn;
mod said;
mod used;

pub use change::{PlaceError, forget_place, name_light, name_place, place_name};
pub use said::Placed;
pub use used::{KitPlace, KitPlaces};

use crate::curve::place::{SAME, apart};
use jiff::Timestamp;
use jiff::civil::Date;

/// So many readings back the log is asked for the places it was read at.
const LOOKED_BACK: u32 = 1000;

/// A standard photographed at a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Stood {
    pub kit: String,
    pub test: String,
    /// In the test's unit.
    pub value: f64,
    /// The photo's identity.
    pub photo: String,
    /// The day of the photo, where it is known.
    pub on: Option<Date>,
}

/// A photo of a place that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// The kit it was read with.
    pub kit: Option<String>,
    /// The time of its water.
    pub at: Timestamp,
    /// Its identity.
    pub photo: String,
    /// Its light.
    pub light: Vec<f64>,
}

/// A place.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// The keeper's name for it.
    pub name: Option<String>,
    /// The lights it is known by.
    pub lights: Vec<Vec<f64>>,
    /// Standards photographed there, of all kits.
    pub swatches: Vec<Stood>,
    /// Photos of it in the log, of those read lately.
    pub seen: Vec<Seen>,
}

impl Place {
    /// A place of which nothing is known but its light.
    fn of(light: &[f64]) -> Self {
        Self { name: None, lights: vec![light.to_vec()], swatches: Vec::new(), seen: Vec::new() }
    }

    /// How far a light is from the nearest of the place's.
    fn away(&self, light: &[f64]) -> Option<f64> {
        self.lights.iter().filter_map(|l| apart(l, light)).min_by(f64::total_cmp)
    }

    /// Days of the first and the last standard of a kit there; of all kits without one.
    pub fn days(&self, kit: Option<&str>) -> Option<(Date, Date)> {
        let own = self.swatches.iter().filter(|s| kit.is_none_or(|k| s.kit == k));
        let days: Vec<Date> = own.filter_map(|s| s.on).collect();
        Some((*days.iter().min()?, *days.iter().max()?))
    }

    /// The largest distance of two of its lights.
    pub fn spread(&self) -> f64 {
        let pairs = self.lights.iter().flat_map(|a| self.lights.iter().filter_map(move |b| apart(a, b)));
        pairs.fold(0.0, f64::max)
    }
}

/// All places. What is known is worked out anew from kits and log whenever it is asked for, so that no order of entry, undo or merge
/// can change it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Places {
    /// Those with standards first.
    pub all: Vec<Place>,
}

impl Places {
    /// The place of a light, with the light's distance from the nearest one that it is known by.
    pub fn at(&self, light: &[f64]) -> Option<(&Place, f64)> {
        let near = self.all.iter().filter_map(|p| Some((p, p.away(light)?)));
        near.min_by(|a, b| a.1.total_cmp(&b.1)).filter(|(_, d)| *d <= SAME)
    }

    fn index(&self, light: &[f64]) -> Option<usize> {
        let near = self.all.iter().enumerate().filter_map(|(i, p)| Some((i, p.away(light)?)));
        near.min_by(|a, b| a.1.total_cmp(&b.1)).filter(|(_, d)| *d <= SAME).map(|(i, _)| i)
    }

    /// Counts one more photo, once.
    pub fn visit(&mut self, light: &[f64], kit: Option<&str>, photo: &str, at: Timestamp) {
        let seen = Seen { kit: kit.map(str::to_string), at, photo: photo.to_string(), light: light.to_vec() };
        match self.index(light) {
            Some(i) if self.all[i].seen.iter().any(|s| s.photo == photo) => {}
            Some(i) => self.all[i].seen.push(seen),
            // What tells no light is of no place.
            None if apart(light, light).is_none() => {}
            None => self.all.push(Place { seen: vec![seen], ..Place::of(light) }),
        }
    }

    /// The place of a name, upper and lower case alike.
    pub fn named(&self, name: &str) -> Option<&Place> {
        let key = name.trim().to_lowercase();
        self.all.iter().find(|p| p.name.as_ref().is_some_and(|n| n.to_lowercase() == key))
    }
}

#[cfg(test)]
mod tests;
