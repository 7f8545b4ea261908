//! A reading as the log would give it back, for what is to be said of it before it is logged.

use super::Id;
use super::amounts::LoggedFinding;
use super::logged::{Origin, Reading, Sample, Standing, Status};
use super::new::{NewReading, NewSample};
use crate::reading::Outcome;
use crate::water::Amount;
use jiff::Timestamp;

impl NewReading {
    /// As if it had been written at `now`; `tank` is the name of the sample's tank. Its ids are in no log.
    pub fn unwritten(&self, sample: &NewSample, tank: Option<&str>, now: Timestamp) -> Reading {
        let id = Id::new(now);
        let all = |findings: &[_]| findings.iter().map(LoggedFinding::of).collect();
        let (amount, refusal) = match &self.outcome {
            Outcome::Read(amount) => (Some(amount.clone()), Vec::new()),
            Outcome::Refused(reasons) => (None, all(reasons)),
        };
        let shown = self.shown.as_ref();
        Reading {
            id,
            root: id,
            recorded: now,
            standing: Standing::Current,
            origin: if shown.is_some() { Origin::Photo } else { Origin::Hand },
            sample: sample.unwritten(tank, now),
            test: self.test.clone(),
            photo: shown.map(|s| s.photo.hash.clone()),
            station: shown.map(|s| s.station.clone()),
            kit_revision: shown.and_then(|s| s.kit_revision.clone()),
            card_revision: shown.and_then(|s| s.card_revision.clone()),
            program: self.program.clone(),
            status: amount.as_ref().and_then(|a| Status::parse(a.kind())).unwrap_or(Status::Refused),
            canonical: amount.as_ref().and_then(|a| Amount::canonical(a).ok()),
            amount,
            entered: self.entered.clone(),
            detection_limit: self.detection_limit.clone(),
            dilution: self.dilution,
            refusal,
            findings: all(&self.findings),
            lab: self.lab,
            off_curve: self.off_curve,
            light: self.light.clone(),
            place: self.place.clone(),
            photos: Vec::new(),
            instead_of: None,
        }
    }
}

impl NewSample {
    fn unwritten(&self, tank: Option<&str>, now: Timestamp) -> Sample {
        Sample {
            id: Id::new(now),
            target: self.target,
            tank: tank.map(str::to_string),
            label: self.label.clone(),
            station: self.station.clone(),
            note: self.note.clone(),
            drawn: self.drawn,
            reagent: self.reagent,
            photo: self.photo,
            entered: self.entered,
        }
    }
}
