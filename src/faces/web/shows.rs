//! The part of a form that says what a photo shows: kit, stations, dilutions, time. Filled with what was typed, else with what the
//! tank's last photo showed.

use super::fail::Fail;
use crate::card::Layout;
use crate::curve;
use crate::intake::{Home, LastShown, Sent};
use std::collections::BTreeMap;

/// Stands for the clear vial among the tests, whose names have no `=`.
const CLEAR: &str = "=clear";
/// Longest text of a field.
pub(super) const LONGEST: usize = 200;

/// What was typed.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Typed {
    pub(super) kit: Option<String>,
    /// Test or [`CLEAR`], and dilution.
    stations: BTreeMap<String, (String, String)>,
    /// Whether the kit is one of strips, which say by themselves what stands where.
    strip: bool,
    taken: String,
}

/// The fields as they are shown.
pub(super) struct Shows {
    pub(super) kits: Vec<Choice>,
    pub(super) strip: bool,
    pub(super) stations: Vec<Station>,
    pub(super) diluted: bool,
    pub(super) taken: String,
}

pub(super) struct Choice {
    pub(super) value: String,
    pub(super) words: String,
    pub(super) chosen: bool,
}

pub(super) struct Station {
    pub(super) name: String,
    pub(super) tests: Vec<Choice>,
    pub(super) dilution: String,
}

impl Typed {
    /// From the fields of a form.
    pub(super) fn of<'f>(fields: impl IntoIterator<Item = (&'f str, &'f str)>) -> Self {
        let mut typed = Self::default();
        for (name, value) in fields {
            let value: String = value.trim().chars().take(LONGEST).collect();
            match name.split_once('-') {
                Some(("station", station)) => typed.at(station).0 = value,
                Some(("dilution", station)) => typed.at(station).1 = value,
                _ if name == "kit" && !value.is_empty() => typed.kit = Some(value),
                _ if name == "strip" => typed.strip = true,
                _ if name == "taken" => typed.taken = value,
                _ => {}
            }
        }
        typed
    }

    fn at(&mut self, station: &str) -> &mut (String, String) {
        self.stations.entry(station.chars().take(12).collect()).or_default()
    }

    /// What was said of a photo before.
    pub(super) fn said(sent: &Sent) -> Self {
        let mut typed =
            Self { kit: sent.kit.clone(), taken: sent.taken.clone().unwrap_or_default(), ..Self::default() };
        for word in &sent.stations {
            let Some((station, test)) = word.split_once('=') else { continue };
            let (test, dilution) = test.split_once(':').unwrap_or((test, ""));
            *typed.at(station) = (test.to_string(), dilution.to_string());
        }
        if let Some(station) = &sent.clear {
            typed.at(station).0 = CLEAR.to_string();
        }
        typed
    }

    pub(super) fn last(last: LastShown) -> Self {
        let stations = last.stations.into_iter().map(|(s, test)| (s, (test, String::new())));
        Self { kit: last.kit, stations: stations.collect(), ..Self::default() }
    }

    /// The same as words about a photo.
    pub(super) fn say(&self, sent: &mut Sent) {
        sent.taken = Some(self.taken.clone()).filter(|t| !t.is_empty());
        sent.clear = None;
        sent.stations.clear();
        for (station, (test, dilution)) in &self.stations {
            match test.as_str() {
                "" => {}
                CLEAR => sent.clear = Some(station.clone()),
                _ if dilution.is_empty() => sent.stations.push(format!("{station}={test}")),
                _ => sent.stations.push(format!("{station}={test}:{dilution}")),
            }
        }
        // Where labels say it they say the kit too.
        sent.kit = self.kit.clone().filter(|_| self.strip || !sent.stations.is_empty());
    }
}

impl Shows {
    /// The fields for a home's kits. A kit or test that is not here any more is not chosen.
    pub(super) fn of(home: &Home, layout: &Layout, typed: &Typed) -> Result<Self, Fail> {
        let names = home.kit_names()?;
        let kit = typed.kit.as_ref().filter(|k| names.contains(k)).or(names.first());
        let Some(kit) = kit.map(|name| home.kit(Some(name))).transpose()? else {
            let none = (Vec::new(), Vec::new());
            return Ok(Self {
                kits: none.0,
                strip: false,
                stations: none.1,
                diluted: false,
                taken: typed.taken.clone(),
            });
        };
        let mut kits = Vec::new();
        for name in names {
            kits.push(Choice { chosen: name == kit.name, words: name.clone(), value: name });
        }
        let strip = kit.value.kind == curve::Kind::Strip;
        let station = |name: &String| {
            let (test, dilution) = typed.stations.get(name).cloned().unwrap_or_default();
            let choice = |value: &str, words: &str| Choice {
                value: value.to_string(),
                words: words.to_string(),
                chosen: value == test,
            };
            let mut tests = vec![choice("", "nothing, or a label says it")];
            tests.extend(kit.value.tests.iter().map(|t| choice(&t.name, &t.name)));
            tests.push(choice(CLEAR, "clear vial: tank water, no reagent"));
            Station { name: name.clone(), tests, dilution }
        };
        let stations: Vec<Station> =
            if strip { Vec::new() } else { layout.stations.names.iter().map(station).collect() };
        let diluted = stations.iter().any(|s| !s.dilution.is_empty());
        Ok(Self { kits, strip, stations, diluted, taken: typed.taken.clone() })
    }
}
