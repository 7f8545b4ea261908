//! What can be written: samples, readings, tests, photos.

use super::{Id, LogError};
use crate::finding::Finding;
use crate::moment::Moment;
use crate::reading::{Outcome, SampleReading};
use crate::water::{Analyte, Dilution, Quantity, Unit};

/// Which water a sample is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Target {
    /// A tank's.
    Tank(Id),
    /// The tap's, or whatever water changes are made with.
    Tap,
    /// A standard of known concentration; the label says which.
    Standard,
    /// Other water; the label says which.
    Other,
}

impl Target {
    /// Stable text form, without the tank.
    pub fn as_str(&self) -> &'static str {
        match self {
            Self::Tank(_) => "tank",
            Self::Tap => "tap",
            Self::Standard => "standard",
            Self::Other => "other",
        }
    }

    /// The tank, if it is one.
    pub fn tank(&self) -> Option<Id> {
        match self {
            Self::Tank(id) => Some(*id),
            _ => None,
        }
    }

    pub(super) fn of(text: &str, tank: Option<Id>) -> Result<Self, LogError> {
        match (text, tank) {
            ("tank", Some(id)) => Ok(Self::Tank(id)),
            ("tap", None) => Ok(Self::Tap),
            ("standard", None) => Ok(Self::Standard),
            ("other", None) => Ok(Self::Other),
            _ => Err(LogError::row(format!("a sample of '{text}'"))),
        }
    }
}

/// One vial or strip. Several photos may show it.
#[derive(Debug, Clone, PartialEq)]
pub struct NewSample {
    /// Which water.
    pub target: Target,
    /// Which standard, which other water.
    pub label: Option<String>,
    /// Where it stood first.
    pub station: Option<String>,
    /// The keeper's words.
    pub note: Option<String>,
    /// When the water was drawn.
    pub drawn: Option<Moment>,
    /// When the last drop of reagent went in.
    pub reagent: Option<Moment>,
    /// When it was first photographed.
    pub photo: Option<Moment>,
    /// When it was entered.
    pub entered: Moment,
}

impl NewSample {
    /// A sample with nothing but its water and the time of entry.
    pub fn new(target: Target, entered: Moment) -> Self {
        Self { target, label: None, station: None, note: None, drawn: None, reagent: None, photo: None, entered }
    }
}

/// The sample a reading belongs to.
#[derive(Debug, Clone, Copy)]
pub enum Whose<'a> {
    /// One that is in the log: the next pad of a strip, a retake, another photo of the same vial.
    Sample(Id),
    /// A new one, written only if the reading is.
    New(&'a NewSample),
}

/// What a test is known by in the log.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct TestKey {
    /// The kit's name; none for a test read by eye or by an instrument.
    pub kit: Option<String>,
    /// The test's name in the kit.
    pub name: String,
    /// What it measures.
    pub analyte: Analyte,
    /// Its unit, with the basis.
    pub unit: Unit,
}

/// A photo, as far as the log knows it: no pixels.
#[derive(Debug, Clone, PartialEq)]
pub struct NewPhoto {
    /// Its identity, see [`PhotoReading`](crate::reading::PhotoReading).
    pub hash: String,
    /// The file's name as it came.
    pub name: Option<String>,
    /// File kind, such as `jpeg`.
    pub format: String,
    /// Maker and model, as the camera wrote them.
    pub camera: Option<String>,
    /// When it was taken.
    pub taken: Option<Moment>,
}

/// Where a reading came from, if from a photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Shown {
    /// The photo.
    pub photo: NewPhoto,
    /// Where on the card.
    pub station: String,
    /// Content hash of the kit.
    pub kit_revision: Option<String>,
    /// Content hash of the card.
    pub card_revision: Option<String>,
}

/// What a test said, to be logged.
#[derive(Debug, Clone, PartialEq)]
pub struct NewReading {
    /// Which test.
    pub test: TestKey,
    /// The photo it was read from; none for a value read by eye.
    pub shown: Option<Shown>,
    /// Version of the program.
    pub program: String,
    /// Value or refusal, dilution already counted in. The unit may be another one of the same analyte than the test's.
    pub outcome: Outcome,
    /// The number as the keeper typed it; none to keep the number itself.
    pub entered: Option<String>,
    /// Below this the test cannot tell some from none.
    pub detection_limit: Option<Quantity>,
    /// What was noticed.
    pub findings: Vec<Finding>,
    /// Dilution of the tank water.
    pub dilution: Option<Dilution>,
    /// CIELAB (D65, the card's own colour space).
    pub lab: Option<[f64; 3]>,
    /// Distance from the curve in standard deviations.
    pub off_curve: Option<f64>,
    /// The light's signature.
    pub light: Option<Vec<f64>>,
    /// Name of the lamp or window.
    pub place: Option<String>,
}

impl NewReading {
    /// A value read by eye.
    pub fn by_hand(test: TestKey, outcome: Outcome, entered: Option<String>, program: &str) -> Self {
        Self {
            test,
            shown: None,
            program: program.to_string(),
            outcome,
            entered,
            detection_limit: None,
            findings: Vec::new(),
            dilution: None,
            lab: None,
            off_curve: None,
            light: None,
            place: None,
        }
    }

    /// What a photo said about one sample. `shown.station` is the reading's own.
    pub fn of_photo(test: TestKey, said: &SampleReading, shown: Shown, program: &str) -> Self {
        Self {
            shown: Some(Shown { station: said.station.clone(), ..shown }),
            detection_limit: said.detection_limit.clone(),
            findings: said.findings.clone(),
            dilution: said.dilution,
            lab: said.lab,
            off_curve: said.off_curve,
            light: said.light.clone(),
            ..Self::by_hand(test, said.outcome.clone(), None, program)
        }
    }
}

/// What became of a reading that was to be added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Added {
    /// The reading: the new one, or the one that was there.
    pub id: Id,
    /// Its sample: for one that was there or is reread, the sample it had, whatever was given.
    pub sample: Id,
    /// What was done.
    pub how: How,
}

/// See [`Added`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// Written.
    New,
    /// The same photo, station, test, kit, card and program are in the log already: nothing was written.
    Same,
    /// Written in the place of `replaces`, read from the same photo and station with another kit, card or program.
    Reread {
        /// The reading that stood until now.
        replaces: Id,
        /// Whether the new one stands now. It does not where the keeper's own correction stands.
        stands: bool,
    },
}
