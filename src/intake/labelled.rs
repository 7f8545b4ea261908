//! What the labels in a photo say, put beside what the keeper typed.

use super::label_error::LabelError;
use super::{IntakeError, Named, Water};
use crate::card::{LabelKind, Labels, Layout};
use crate::curve::{Kit, Test};
use crate::log::{self, Names, Target, TestKey};
use crate::reading::{Ask, Standard};
use crate::water::{Analyte, Quantity};

/// What stands at one station, by its labels.
#[derive(Debug, Clone, PartialEq)]
pub struct Stand {
    /// The station.
    pub station: String,
    /// The test.
    pub test: Option<TestKey>,
    /// The water, with the words on its label.
    pub target: Option<(Names, String)>,
}

/// What the labels in a photo say.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Told {
    /// Station by station, in the layout's order; those without labels are left out.
    pub stands: Vec<Stand>,
    /// Stations above which a label cannot be read.
    pub unreadable: Vec<String>,
    /// Every label that was read, for a drawing: its station, the words on it, its outline in upright pixels.
    pub shown: Vec<(String, String, [[f64; 2]; 4])>,
}

impl Told {
    /// What labels say by the log of this home. Labels that contradict each other, or that this home does not know, are errors.
    pub fn new(seen: &Labels, known: &[log::Label], layout: &Layout) -> Result<Self, LabelError> {
        let mut told = Self { unreadable: seen.unreadable.clone(), ..Self::default() };
        let mut all: Vec<(&str, &log::Label)> = Vec::new();
        for label in &seen.read {
            let Some(station) = label.station.as_deref() else {
                return Err(LabelError::Between { number: label.number });
            };
            let own = meaning(label.number, station, known)?;
            told.shown.push((station.to_string(), own.words.clone(), label.outline));
            all.push((station, own));
        }
        for station in &layout.stations.names {
            let of = |kind: LabelKind| -> Result<Option<&log::Label>, LabelError> {
                let mut found = all.iter().filter(|(s, l)| s == station && LabelKind::of(l.number) == Some(kind));
                let Some((_, first)) = found.next() else { return Ok(None) };
                match found.find(|(_, l)| l.names != first.names) {
                    None => Ok(Some(*first)),
                    Some((_, other)) => Err(LabelError::Two {
                        station: station.clone(),
                        first: first.words.clone(),
                        second: other.words.clone(),
                    }),
                }
            };
            let (test, target) = (of(LabelKind::Test)?, of(LabelKind::Target)?);
            let test = test.and_then(|l| match &l.names {
                Names::Test(key) => Some(key.clone()),
                _ => None,
            });
            let target = target.map(|l| (l.names.clone(), l.words.clone()));
            if test.is_some() && matches!(target, Some((Names::Clear, _))) {
                return Err(LabelError::ClearTested { station: station.clone() });
            }
            if test.is_some() || target.is_some() {
                told.stands.push(Stand { station: station.clone(), test, target });
            }
        }
        told.clear()?;
        Ok(told)
    }

    /// The station of the clear vial, if there is one.
    pub fn clear(&self) -> Result<Option<&str>, LabelError> {
        let clear = |s: &&Stand| matches!(s.target, Some((Names::Clear, _)));
        let mut found = self.stands.iter().filter(clear).map(|s| s.station.as_str());
        match (found.next(), found.next()) {
            (Some(first), Some(second)) => {
                Err(LabelError::ClearTwice { first: first.to_string(), second: second.to_string() })
            }
            (first, _) => Ok(first),
        }
    }

    /// The kit to read with: the one the labels' tests are of, which must be `given` if that says one.
    pub fn kit<'s>(&'s self, given: Option<&'s str>) -> Result<Option<&'s str>, LabelError> {
        let kit = |s: &'s Stand| Some((s, s.test.as_ref()?.kit.as_deref()?));
        let mut kits = self.stands.iter().filter_map(kit);
        let Some((stand, first)) = kits.next() else { return Ok(given) };
        if let Some((_, other)) = kits.find(|(_, k)| *k != first) {
            return Err(LabelError::Kits { first: first.to_string(), second: other.to_string() });
        }
        match given {
            Some(given) if given.trim().to_lowercase() != first.to_lowercase() => {
                Err(against(&stand.station, &format!("kit {first}"), format!("--kit {given}")))
            }
            _ => Ok(Some(first)),
        }
    }

    fn at(&self, station: &str) -> Option<&Stand> {
        self.stands.iter().find(|s| s.station == station)
    }

    /// Samples to read: those the labels name and those the keeper typed, which must agree. `typed` are the asks of the words
    /// typed, `tank` the target of an option, `only` the tank that serves where nothing else is said.
    pub fn named(
        &self,
        typed: &[Ask],
        tank: Option<Target>,
        only: Option<Target>,
        kit: &Kit,
    ) -> Result<Named, IntakeError> {
        let mut asks: Vec<Ask> = typed.to_vec();
        for stand in &self.stands {
            let Some(key) = &stand.test else { continue };
            let test = test_of(key, kit)?;
            match asks.iter().find(|a| a.station == stand.station) {
                None => asks.push(Ask { station: stand.station.clone(), test, dilution: None }),
                Some(ask) if ask.test == test => {}
                Some(ask) => return Err(against(&stand.station, &test, format!("{}={}", ask.station, ask.test)).into()),
            }
        }
        for station in &self.unreadable {
            // With everything typed nothing hangs on the label.
            if !(typed.iter().any(|a| a.station == *station)
                && (tank.is_some() || only.is_some() && self.stands.is_empty()))
            {
                return Err(LabelError::Unreadable { station: station.clone() }.into());
            }
        }
        if let Some(stand) = self.stands.iter().find(|s| !asks.iter().any(|a| a.station == s.station) && !is_clear(s)) {
            let (_, words) = stand.target.clone().unwrap_or((Names::Tap, String::new()));
            return Err(LabelError::NoTest { station: stand.station.clone(), words }.into());
        }
        if asks.is_empty() {
            return Err(IntakeError::NoSamples { known: kit.tests.iter().map(|t| t.name.clone()).collect() });
        }
        let water = |ask: &Ask| match self.at(&ask.station).and_then(|s| s.target.as_ref()) {
            Some((Names::Clear, _)) => Err(LabelError::ClearTested { station: ask.station.clone() }.into()),
            Some((names, words)) => {
                let water = water(names, words);
                match tank {
                    Some(tank) if tank != water.target => Err(against(&ask.station, words, "--tank".into()).into()),
                    _ => Ok(water),
                }
            }
            None => match tank.or(only) {
                Some(target) => Ok(Water::of(target)),
                None => Err(LabelError::NoTarget { station: ask.station.clone() }.into()),
            },
        };
        let waters = asks.iter().map(water).collect::<Result<Vec<_>, IntakeError>>()?;
        let labelled = self.stands.iter().any(|s| s.target.is_some());
        Ok(Named { asks, waters, clear: self.clear()?.map(str::to_string), labelled })
    }

    /// Whether labels leave standing what was typed of standards.
    pub(super) fn agrees(&self, typed: &[Standard], kit: &Kit) -> Result<(), IntakeError> {
        for standard in typed {
            let Some(stand) = self.at(&standard.station) else { continue };
            let said = || format!("{}={}:{}", standard.station, standard.test, standard.value);
            if let Some(key) = &stand.test {
                let test = test_of(key, kit)?;
                if test != standard.test {
                    return Err(against(&standard.station, &test, said()).into());
                }
            }
            let Some((names, words)) = &stand.target else { continue };
            let value = match names {
                Names::Zero => Some(0.0),
                Names::Standard(analyte, q) => in_unit(analyte, q, kit.test(&standard.test)?),
                _ => None,
            };
            // A conversion may differ in the last digits.
            if value.is_none_or(|v| (v - standard.value).abs() > 1e-6 * v.abs()) {
                return Err(against(&standard.station, words, said()).into());
            }
        }
        Ok(())
    }

    /// Standards to calibrate with: stations with a test's label and a standard's.
    pub fn standards(&self, kit: &Kit) -> Result<Vec<Standard>, IntakeError> {
        if let Some(station) = self.unreadable.first() {
            return Err(LabelError::Unreadable { station: station.clone() }.into());
        }
        let mut out = Vec::new();
        for stand in self.stands.iter().filter(|s| !is_clear(s)) {
            let station = stand.station.clone();
            let (key, (names, words)) = match (&stand.test, &stand.target) {
                (Some(key), Some(target)) => (key, target),
                (None, target) => {
                    let words = target.as_ref().map(|t| t.1.clone()).unwrap_or_default();
                    return Err(LabelError::NoTest { station, words }.into());
                }
                (Some(_), None) => return Err(LabelError::NoStandard { station, words: None }.into()),
            };
            let name = test_of(key, kit)?;
            let unit = &kit.test(&name)?.unit;
            let value = match names {
                Names::Zero if unit.has_zero() => 0.0,
                Names::Standard(analyte, q) => in_unit(analyte, q, kit.test(&name)?).ok_or_else(|| {
                    LabelError::OtherStandard { station: station.clone(), words: words.clone(), test: name.clone() }
                })?,
                _ => return Err(LabelError::NoStandard { station, words: Some(words.clone()) }.into()),
            };
            out.push(Standard { station, test: name, value, value_sd: None });
        }
        Ok(out)
    }
}

fn is_clear(stand: &Stand) -> bool {
    matches!(stand.target, Some((Names::Clear, _)))
}

fn against(station: &str, label: &str, typed: String) -> LabelError {
    LabelError::Against { station: station.to_string(), label: label.to_string(), typed }
}

/// The living label of a number.
fn meaning<'l>(number: u32, station: &str, known: &'l [log::Label]) -> Result<&'l log::Label, LabelError> {
    let station = station.to_string();
    let mut living = known.iter().filter(|l| l.number == number && !l.retired);
    let Some(first) = living.next() else {
        return Err(match known.iter().find(|l| l.number == number) {
            Some(old) => LabelError::Retired { number, station, words: old.words.clone() },
            None => LabelError::Unknown { number, station },
        });
    };
    match living.find(|l| l.names != first.names) {
        None => Ok(first),
        Some(other) => {
            Err(LabelError::TwoMeanings { number, station, first: first.words.clone(), second: other.words.clone() })
        }
    }
}

/// The kit's own test of a label.
fn test_of(key: &TestKey, kit: &Kit) -> Result<String, LabelError> {
    let here = key.kit.as_ref().is_none_or(|k| *k == kit.name);
    let own = kit.tests.iter().find(|t| t.name == key.name && t.analyte == key.analyte);
    match own.filter(|_| here) {
        Some(test) => Ok(test.name.clone()),
        None => Err(LabelError::TestGone {
            test: key.name.clone(),
            of: key.kit.clone().unwrap_or_default(),
            kit: kit.name.clone(),
        }),
    }
}

fn water(names: &Names, words: &str) -> Water {
    let (target, label) = match names {
        Names::Tank(id) => (Target::Tank(*id), None),
        Names::Tap => (Target::Tap, None),
        Names::NewWater => (Target::Tap, Some(words)),
        Names::Standard(..) | Names::Zero => (Target::Standard, Some(words)),
        Names::Clear | Names::Test(_) => (Target::Other, Some(words)),
    };
    Water { target, label: label.map(str::to_string) }
}

/// A standard's concentration in a test's unit, if it is one of what the test measures.
fn in_unit(analyte: &Analyte, q: &Quantity, test: &Test) -> Option<f64> {
    if *analyte == test.analyte { q.to(&test.unit).ok().map(|q| q.value) } else { None }
}
