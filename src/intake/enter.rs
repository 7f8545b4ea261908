//! From what a photo said to the log.

use super::{Bench, IntakeError, Look, PROGRAM, Placed, Water};
use crate::curve::{Kind, Test};
use crate::log::{How, Id, Log, LogError, NewReading, NewSample, Reading, Shown, Target, TestKey, Undo, Whose, Writer};
use crate::moment::{Certainty, Moment, TimeSource};
use crate::reading::SampleReading;
use jiff::Timestamp;

/// What became of one sample's reading.
#[derive(Debug, Clone, PartialEq)]
pub enum Noted {
    /// Written.
    Added { id: Id },
    /// The log has this very reading; nothing was written.
    Same { id: Id },
    /// Written in the place of `was`. It does not stand where the keeper's own correction does.
    Replaced { id: Id, was: Id, stands: bool },
    /// Not written: the log has a reading of this vial from this photo, made with something else, and it was not asked to be
    /// replaced.
    Left { reading: Box<Reading>, apart: Vec<Apart> },
}

/// In what a reading differs from the one in the log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Apart {
    Kit,
    Card,
    Program,
    Test,
    Dilution,
}

impl Apart {
    /// In a word.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Kit => "kit",
            Self::Card => "card",
            Self::Program => "program",
            Self::Test => "test",
            Self::Dilution => "dilution",
        }
    }
}

/// Writes the readings of a photo, each to its own water, all in one transaction; in the order of its samples. With `again`, a reading made with
/// another kit, card, program or dilution takes the place of the one in the log.
pub fn enter(
    log: &mut Log,
    look: &Look,
    bench: &Bench<'_>,
    again: bool,
    now: Timestamp,
) -> Result<Vec<Noted>, IntakeError> {
    let drafts = drafts(look, bench, now)?;
    let noted = log.write(now, |w| {
        let mut strip = None;
        let mut out = Vec::new();
        for Draft { new, before, sample } in &drafts {
            let whose = match strip.or(look.of_sample) {
                Some(id) => Whose::Sample(id),
                None => Whose::New(sample),
            };
            let (noted, id) = one(w, whose, new, *before, again)?;
            if bench.kit.value.kind == Kind::Strip {
                // All pads of a strip were held into one sample of water.
                strip = strip.or(id);
            }
            out.push(noted);
        }
        Ok(out)
    })?;
    Ok(noted)
}

/// What is to be written of one sample of a photo.
pub(super) struct Draft<'l> {
    pub(super) new: NewReading,
    pub(super) sample: NewSample,
    /// What the log has of it.
    pub(super) before: Option<&'l Reading>,
}

/// What is to be written of a photo's samples, in their order.
pub(super) fn drafts<'l>(look: &'l Look, bench: &Bench<'_>, now: Timestamp) -> Result<Vec<Draft<'l>>, IntakeError> {
    let (kit, card) = (bench.kit, &bench.card.reference);
    let shown = Shown {
        photo: look.opened.for_log(&look.capture),
        station: String::new(),
        kit_revision: Some(kit.revision.as_str().to_string()),
        card_revision: card.revision.clone(),
    };
    let draft = |said: &SampleReading| {
        let test = kit.value.test(&said.test)?;
        let place = look.place.as_ref().and_then(Placed::kept).filter(|_| said.light.is_some());
        let new = NewReading { place, ..NewReading::of_photo(key(&kit.name, test), said, shown.clone(), PROGRAM) };
        let before = look.standing.iter().find(|r| same_vial(r, said, test));
        Ok(Draft { new, sample: new_sample(look, said, bench, now), before })
    };
    look.reading.samples.iter().map(draft).collect()
}

/// The sample of a logged reading, whose entry is given as typed.
pub fn sample_of(log: &Log, typed: &str) -> Result<Id, IntakeError> {
    Ok(log.reading(log.find(typed)?)?.sample.id)
}

fn one(
    w: &Writer<'_>,
    whose: Whose<'_>,
    new: &NewReading,
    before: Option<&Reading>,
    again: bool,
) -> Result<(Noted, Option<Id>), LogError> {
    if let Some(before) = before {
        let apart = apart(before, new);
        if !again && !apart.is_empty() {
            return Ok((Noted::Left { reading: Box::new(before.clone()), apart }, Some(before.sample.id)));
        }
        if again && apart.contains(&Apart::Dilution) {
            // The log takes a reading with the same kit, card and program for the same reading, whatever the dilution.
            w.undo(&Undo::Entry(before.id), "read again with another dilution")?;
            let added = w.add_reading(Whose::Sample(before.sample.id), new)?;
            return Ok((Noted::Replaced { id: added.id, was: before.id, stands: true }, Some(added.sample)));
        }
    }
    let added = w.add_reading(whose, new)?;
    let noted = match added.how {
        How::New => Noted::Added { id: added.id },
        How::Same => Noted::Same { id: added.id },
        How::Reread { replaces, stands } => Noted::Replaced { id: added.id, was: replaces, stands },
    };
    Ok((noted, Some(added.sample)))
}

fn apart(before: &Reading, new: &NewReading) -> Vec<Apart> {
    let shown = new.shown.as_ref();
    let pairs = [
        (Apart::Kit, before.kit_revision.as_deref() != shown.and_then(|s| s.kit_revision.as_deref())),
        (Apart::Card, before.card_revision.as_deref() != shown.and_then(|s| s.card_revision.as_deref())),
        (Apart::Program, before.program != new.program),
        (Apart::Test, before.test != new.test),
        (Apart::Dilution, before.dilution != new.dilution),
    ];
    pairs.into_iter().filter(|(_, differs)| *differs).map(|(what, _)| what).collect()
}

/// One vial holds one reagent, so station and analyte name it, whatever kit it was read with.
pub(super) fn same_vial(r: &Reading, said: &SampleReading, test: &Test) -> bool {
    r.station.as_deref() == Some(said.station.as_str()) && r.test.analyte == test.analyte
}

pub(super) fn key(kit: &str, test: &Test) -> TestKey {
    TestKey {
        kit: Some(kit.to_string()),
        name: test.name.clone(),
        analyte: test.analyte.clone(),
        unit: test.unit.clone(),
    }
}

pub(super) fn new_sample(look: &Look, said: &SampleReading, bench: &Bench<'_>, now: Timestamp) -> NewSample {
    let offset = super::zone(&bench.tank.zone).to_offset(now);
    let entered = Moment { instant: now, offset, source: TimeSource::Keeper, certainty: Certainty::Sure };
    let water = look.named.water(&said.station).cloned().unwrap_or_else(|| Water::of(Target::Tank(bench.tank.id)));
    NewSample {
        label: water.label,
        station: Some(said.station.clone()),
        photo: Some(look.capture.moment),
        reagent: look.reagent(said, bench),
        ..NewSample::new(water.target, entered)
    }
}
