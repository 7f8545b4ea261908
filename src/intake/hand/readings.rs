//! Readings by hand: `nitrite=<0.25 mg/L NO2-`, `pH=7,4`, `temperature=78 °F`.

use super::{Entered, HandError, SAME_WITHIN, local};
use crate::curve::Test;
use crate::finding::Finding;
use crate::intake::{Home, IntakeError, PROGRAM};
use crate::log::happening::NewWater;
use crate::log::{Filter, Id, Log, NewReading, NewSample, Reading, Tank, Target, TestKey, Whose};
use crate::moment::{Certainty, Moment, TimeSource};
use crate::reading::Outcome;
use crate::water::{Amount, Analyte, Celsius, Dilution, Entry, EntryError, Shades, Titration, Unit};
use jiff::Timestamp;

/// What is known beside the numbers.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Chart {
    /// The shades it was read by; for one reading only.
    pub shades: Option<Shades>,
    /// Temperature of the water, for hydrometer and conductivity.
    pub temperature: Option<Celsius>,
    /// Temperature printed on the hydrometer.
    pub printed: Option<Celsius>,
    /// Dilution of the sample.
    pub dilution: Option<Dilution>,
    /// What a drop or a mL of titrant stands for; for one reading only.
    pub titration: Option<Titration>,
}

/// A reading as the keeper typed it, understood.
#[derive(Debug, Clone, PartialEq)]
pub struct ByHand {
    /// Test, analyte and unit.
    pub key: TestKey,
    /// The amount in the tank's water.
    pub amount: Amount,
    /// As typed, without the name.
    pub typed: String,
    /// Counted in already.
    pub dilution: Option<Dilution>,
}

impl ByHand {
    /// `WHAT=VALUE`. `WHAT` is an analyte, or the name of one of the kit's tests, which then lends its unit and, where the chart is
    /// not given, its standards as shades.
    pub fn typed(word: &str, tests: &[Test], chart: &Chart) -> Result<Self, HandError> {
        let wrong = || HandError::Reading { typed: word.trim().to_string() };
        let (what, value) = word.split_once('=').ok_or_else(wrong)?;
        if what.trim().is_empty() || value.trim().is_empty() {
            return Err(wrong());
        }
        Self::of(what, value, None, tests, chart)
    }

    /// A value of something; `unit` is the one to take where the text names none.
    pub(in crate::intake) fn of(
        what: &str,
        value: &str,
        unit: Option<&Unit>,
        tests: &[Test],
        chart: &Chart,
    ) -> Result<Self, HandError> {
        let (what, value) = (what.trim(), value.trim());
        let failed =
            |source: EntryError| HandError::Value { what: format!("{what}={value}"), source: Box::new(source) };
        let named = tests.iter().find(|t| t.name.to_lowercase() == what.to_lowercase());
        let analyte = match named {
            Some(test) => test.analyte.clone(),
            None => Analyte::parse(what).map_err(|e| failed(e.into()))?,
        };
        let mut fitting = tests.iter().filter(|t| t.analyte == analyte);
        let test = named.or_else(|| fitting.next().filter(|_| fitting.next().is_none()));
        let own = test.and_then(|t| Shades::new(t.swatches.iter().map(|s| s.value).collect()).ok());
        let unit = unit.or(test.map(|t| &t.unit));
        let entry = Entry {
            unit,
            shades: chart.shades.as_ref().or(own.as_ref()),
            temperature: chart.temperature,
            printed: chart.printed,
            dilution: chart.dilution,
            titration: chart.titration.as_ref(),
        };
        let amount = entry.amount(value, &analyte).map_err(failed)?;
        let name = test.map_or_else(|| analyte.as_str().to_string(), |t| t.name.clone());
        let key = TestKey { kit: None, name, analyte, unit: amount.unit().clone() };
        let typed = match &chart.titration {
            Some(titration) => format!("{value}, {titration}"),
            None => value.to_string(),
        };
        Ok(Self { key, amount, typed, dilution: chart.dilution })
    }

    pub(in crate::intake) fn reading(&self) -> NewReading {
        NewReading {
            dilution: self.dilution,
            ..NewReading::by_hand(
                self.key.clone(),
                Outcome::Read(self.amount.clone()),
                Some(self.typed.clone()),
                PROGRAM,
            )
        }
    }

    /// Whether a logged reading says the same of the same analyte.
    pub(in crate::intake) fn same(&self, r: &Reading) -> bool {
        r.test.analyte == self.key.analyte && r.amount.as_ref() == Some(&self.amount)
    }
}

impl Home {
    /// The tests of a kit; without a name of all kits, for the names and units they bring.
    pub fn tests(&self, kit: Option<&str>) -> Result<Vec<Test>, IntakeError> {
        let names = match kit {
            Some(name) => vec![name.to_string()],
            None => self.kit_names()?,
        };
        let mut out = Vec::new();
        for name in names {
            out.extend(self.kit(Some(&name))?.value.tests);
        }
        Ok(out)
    }
}

/// What was measured in new water: `nitrate=10 mg/L NO3-`.
pub fn new_water(words: &[String], tests: &[Test], chart: &Chart) -> Result<NewWater, HandError> {
    let mut values: Vec<(Analyte, Amount)> = Vec::new();
    for word in words {
        let ByHand { key, amount, .. } = ByHand::typed(word, tests, chart)?;
        if values.iter().any(|(a, _)| *a == key.analyte) {
            return Err(HandError::ReadingTwice { what: key.analyte.to_string() });
        }
        values.push((key.analyte, amount));
    }
    Ok(NewWater { values })
}

/// Writes readings, all or none. `tank` says in which time zone, `target` of which water.
pub fn add_readings(
    log: &mut Log,
    tank: &Tank,
    target: Target,
    readings: &[ByHand],
    note: Option<&str>,
    when: Entered,
    now: Timestamp,
) -> Result<(Vec<Id>, Option<Finding>), IntakeError> {
    let (drawn, finding) = when.moment(tank, now)?;
    for (i, r) in readings.iter().enumerate() {
        if readings[..i].iter().any(|b| b.key.analyte == r.key.analyte) {
            return Err(HandError::ReadingTwice { what: r.key.analyte.to_string() }.into());
        }
    }
    let filter = Filter { since: Some(drawn.instant - SAME_WITHIN), ..Filter::default() };
    let near = log.readings(&filter)?;
    let near =
        near.iter().filter(|r| r.sample.target == target && r.sample.at().instant <= drawn.instant + SAME_WITHIN);
    if let Some(r) = near.clone().find(|r| readings.iter().any(|n| n.same(r))).filter(|_| !when.again) {
        let what = format!("{} {}", r.test.name, r.amount.as_ref().map(Amount::to_string).unwrap_or_default());
        return Err(HandError::Twice { id: r.id, what, when: local(r.sample.at()) }.into());
    }
    let ids = log.write(now, |w| {
        let one = |r: &ByHand| Ok(w.add_reading(Whose::New(&sample(tank, target, drawn, note, now)), &r.reading())?.id);
        readings.iter().map(one).collect()
    })?;
    Ok((ids, finding))
}

/// Puts the keeper's own judgement in the place of a reading, with a reason. `typed` is what the vial showed, as in [`ByHand`]: the
/// reading's dilution is counted in, and without an interval it is good for one shade either way. What the photo said stays in
/// the log beside it.
pub fn correct(
    log: &mut Log,
    reading: Id,
    typed: &str,
    tests: &[Test],
    chart: &Chart,
    reason: &str,
    now: Timestamp,
) -> Result<Id, IntakeError> {
    let old = log.reading(reading)?;
    let named: Vec<Test> = tests.iter().filter(|t| t.analyte == old.test.analyte).cloned().collect();
    let known = named.iter().any(|t| t.name == old.test.name);
    let what = if known { &old.test.name } else { old.test.analyte.as_str() };
    let chart = Chart { dilution: old.dilution, ..chart.clone() };
    let said = ByHand::of(what, typed, Some(&old.test.unit), &named, &chart)?;
    Ok(log.write(now, |w| w.correct(reading, &said.amount, Some(&said.typed), reason))?)
}

/// A sample drawn at a time, entered now.
pub(in crate::intake) fn sample(
    tank: &Tank,
    target: Target,
    drawn: Moment,
    note: Option<&str>,
    now: Timestamp,
) -> NewSample {
    let offset = crate::intake::zone(&tank.zone).to_offset(now);
    let entered = Moment { instant: now, offset, source: TimeSource::Keeper, certainty: Certainty::Sure };
    NewSample { drawn: Some(drawn), note: note.map(str::to_string), ..NewSample::new(target, entered) }
}
