//! Places from swatches, readings and what the keeper called them.

use super::{LOOKED_BACK, Place, Places, Stood};
use crate::curve::Kit;
use crate::curve::place::{SAME, apart, grouped};
use crate::intake::{Home, IntakeError};
use crate::log::{Event, Lit, Log, happening};
use jiff::Timestamp;
use jiff::civil::Date;
use serde_json::Value;
use std::collections::HashMap;

impl Home {
    /// The places known by all kits at hand and the log. A kit that cannot be read is left out.
    pub fn places(&self, log: Option<&Log>) -> Result<Places, IntakeError> {
        let names = self.kit_names()?;
        let kits: Vec<Kit> = names.iter().filter_map(|name| Some(self.kit(Some(name)).ok()?.value)).collect();
        let events = log.map(|log| log.events(None)).transpose()?.unwrap_or_default();
        let lights = log.map(|log| log.lights(LOOKED_BACK)).transpose()?.unwrap_or_default();
        Ok(Places::learnt(&kits, &events, &lights))
    }
}

/// What was said of a light: a name, or with none that it be forgotten.
struct Word {
    name: Option<String>,
    lights: Vec<Vec<f64>>,
    recorded: Timestamp,
}

impl Word {
    fn of(event: &Event) -> Option<Self> {
        let lights = event.payload.get("lights")?.as_array()?.iter();
        let light = |v: &Value| v.as_array()?.iter().map(Value::as_f64).collect::<Option<Vec<f64>>>();
        let lights = lights.map(light).collect::<Option<Vec<_>>>()?;
        let recorded = event.recorded;
        match event.kind.as_str() {
            happening::PLACE_NAMED => {
                let name = event.payload.get("name")?.as_str()?.to_string();
                Some(Self { name: Some(name), lights, recorded })
            }
            happening::PLACE_FORGOTTEN => Some(Self { name: None, lights, recorded }),
            _ => None,
        }
    }

    fn is_of(&self, light: &[f64]) -> bool {
        self.lights.iter().any(|l| apart(l, light).is_some_and(|d| d <= SAME))
    }
}

impl Places {
    /// From kits, events and the lights of readings, these in the order of entry.
    pub fn learnt(kits: &[Kit], events: &[Event], read: &[Lit]) -> Self {
        let mut words: Vec<Word> = events.iter().filter_map(Word::of).collect();
        words.sort_by_key(|w| w.recorded);
        let mut places = Self { all: of_swatches(kits) };
        // Named lights found places before readings do, so that a name does not move as readings come in.
        for word in words.iter().filter(|w| w.name.is_some()) {
            for light in &word.lights {
                let last = words.iter().rfind(|w| w.is_of(light));
                if last.is_some_and(|w| w.name.is_some()) && places.index(light).is_none() {
                    places.all.push(Place::of(light));
                }
            }
        }
        for lit in read {
            let forgotten = |w: &Word| w.name.is_none() && w.recorded >= lit.recorded && w.is_of(&lit.light);
            if !words.iter().any(forgotten) {
                places.visit(&lit.light, lit.kit.as_deref(), &lit.photo, lit.at);
            }
        }
        for word in &words {
            for light in &word.lights {
                if let Some(i) = places.index(light) {
                    places.all[i].name.clone_from(&word.name);
                }
            }
        }
        places.joined()
    }

    /// Places of one name as one.
    fn joined(self) -> Self {
        let mut all: Vec<Place> = Vec::new();
        for place in self.all {
            let key = place.name.as_ref().map(|n| n.to_lowercase());
            let same = |p: &&mut Place| key.is_some() && p.name.as_ref().map(|n| n.to_lowercase()) == key;
            match all.iter_mut().find(same) {
                Some(first) => {
                    first.lights.extend(place.lights);
                    first.swatches.extend(place.swatches);
                    first.seen.extend(place.seen);
                }
                None => all.push(place),
            }
        }
        // A name without anything it stands for.
        all.retain(|p| p.name.is_some() || !p.swatches.is_empty() || !p.seen.is_empty());
        all.sort_by_key(|p| p.swatches.is_empty());
        Self { all }
    }
}

/// The lights of swatches, those that agree with one another together.
fn of_swatches(kits: &[Kit]) -> Vec<Place> {
    let mut lights: Vec<(&[f64], Vec<Stood>)> = Vec::new();
    let mut known: HashMap<Vec<u64>, usize> = HashMap::new();
    for kit in kits {
        for test in &kit.tests {
            for s in &test.swatches {
                let bits: Vec<u64> = s.light.iter().map(|x| x.to_bits()).collect();
                let i = *known.entry(bits).or_insert_with(|| {
                    lights.push((&s.light, Vec::new()));
                    lights.len() - 1
                });
                lights[i].1.push(Stood {
                    kit: kit.name.clone(),
                    test: test.name.clone(),
                    value: s.value,
                    photo: s.photo.clone(),
                    on: s.taken.as_deref().and_then(|t| t.get(..10)?.parse::<Date>().ok()),
                });
            }
        }
    }
    let groups = grouped(&lights.iter().map(|(l, _)| *l).collect::<Vec<_>>());
    let mut places: Vec<Place> = Vec::new();
    for ((light, swatches), group) in lights.into_iter().zip(groups) {
        let Some(group) = group else { continue };
        if group == places.len() {
            places.push(Place::of(light));
        } else {
            places[group].lights.push(light.to_vec());
        }
        places[group].swatches.extend(swatches);
    }
    places
}
