//! A reading as the log gives it back.

use super::amounts::{LoggedFinding, finding, moment, unit};
use super::export::rows::{MomentRow, ReadingRow, SampleRow, TestRow};
use super::new::{Target, TestKey};
use super::{Id, LogError};
use crate::finding::Severity;
use crate::moment::Moment;
use crate::water::{Amount, Analyte, Dilution, Quantity};
use jiff::Timestamp;

/// What became of a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Standing {
    /// It counts.
    Current,
    /// A correction or a rereading stands in its place.
    Superseded,
    /// It was undone, or its sample was.
    Undone,
}

/// How a reading came into the log.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Origin {
    /// Read from a photo.
    Photo,
    /// Entered by hand.
    Hand,
    /// Put in the place of another by hand.
    Correction,
}

/// What a reading says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Status {
    /// A value with its interval.
    Measured,
    /// Less than the test can see.
    NotDetected,
    /// More than its scale holds.
    Above,
    /// Less than its scale holds.
    Below,
    /// Not read.
    Refused,
}

macro_rules! texts {
    ($($type:ident { $($variant:ident $text:literal,)* })*) => {$(
        impl $type {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// Stable text form.
            pub fn as_str(self) -> &'static str {
                match self { $(Self::$variant => $text,)* }
            }

            /// The one of a stable text form.
            pub fn parse(text: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|x| x.as_str() == text)
            }
        }
    )*};
}

texts! {
    Standing { Current "current", Superseded "superseded", Undone "undone", }
    Origin { Photo "photo", Hand "hand", Correction "correction", }
    Status { Measured "measured", NotDetected "not-detected", Above "above", Below "below", Refused "refused", }
}

/// A sample as it is known now, after moves and changes of time.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    /// Its entry.
    pub id: Id,
    /// Which water.
    pub target: Target,
    /// The tank's name, if it is of a tank.
    pub tank: Option<String>,
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

impl Sample {
    /// The best known time of the water: drawn, else reagent, else photo, else entered.
    pub fn at(&self) -> &Moment {
        [&self.drawn, &self.reagent, &self.photo].into_iter().flatten().next().unwrap_or(&self.entered)
    }
}

/// A reading in the log.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Its entry.
    pub id: Id,
    /// The first of the readings that replace one another; itself if it replaces none.
    pub root: Id,
    /// When it was written.
    pub recorded: Timestamp,
    /// What became of it.
    pub standing: Standing,
    /// How it came.
    pub origin: Origin,
    /// The water.
    pub sample: Sample,
    /// The test.
    pub test: TestKey,
    /// Hash of the photo.
    pub photo: Option<String>,
    /// Where it stood in that photo.
    pub station: Option<String>,
    /// Content hash of the kit.
    pub kit_revision: Option<String>,
    /// Content hash of the card.
    pub card_revision: Option<String>,
    /// Version of the program.
    pub program: String,
    /// What it says.
    pub status: Status,
    /// The amount in the unit it was entered in; none for a refusal.
    pub amount: Option<Amount>,
    /// The amount in the unit in which this analyte is compared.
    pub canonical: Option<Amount>,
    /// The number as it was entered.
    pub entered: Option<String>,
    /// Below this the test cannot tell some from none.
    pub detection_limit: Option<Quantity>,
    /// Dilution, counted in already.
    pub dilution: Option<Dilution>,
    /// Why it was refused, the deciding finding first; empty for others.
    pub refusal: Vec<LoggedFinding>,
    /// What was noticed.
    pub findings: Vec<LoggedFinding>,
    /// CIELAB (D65, the card's own colour space).
    pub lab: Option<[f64; 3]>,
    /// Distance from the curve in standard deviations.
    pub off_curve: Option<f64>,
    /// The light's signature.
    pub light: Option<Vec<f64>>,
    /// Name of the lamp or window.
    pub place: Option<String>,
    /// By [`Log::samples`](super::Log::samples): the entries of all photos of this sample, by time, where there are several.
    pub photos: Vec<Id>,
    /// By [`Log::samples`](super::Log::samples) and [`Log::judged`](super::Log::judged): what the photos, or the hand, said before
    /// the keeper's own judgement.
    pub instead_of: Option<Box<Reading>>,
}

impl Reading {
    /// What it says, in words: the amount, or that it was not read.
    pub fn words(&self) -> String {
        match (&self.amount, self.status) {
            (Some(amount), _) => amount.to_string(),
            (None, Status::Refused) => "not read".to_string(),
            (None, status) => status.as_str().to_string(),
        }
    }

    /// Whether a finding casts doubt on it: then it may alarm, never reassure.
    pub fn is_doubtful(&self) -> bool {
        self.findings.iter().any(|f| f.severity == Severity::Doubt)
    }

    /// Whether all its findings let it reassure, by what their codes declare.
    pub fn may_reassure(&self) -> bool {
        self.findings.iter().all(LoggedFinding::may_reassure)
    }

    /// Whether all its findings let it alarm.
    pub fn may_alarm(&self) -> bool {
        self.findings.iter().all(LoggedFinding::may_alarm)
    }
}

/// What a query gives for a reading.
pub(super) struct Parts {
    pub(super) reading: ReadingRow,
    pub(super) standing: String,
    pub(super) tank: Option<String>,
    pub(super) photo: Option<String>,
    pub(super) sample: SampleRow,
    pub(super) test: TestRow,
}

impl Parts {
    pub(super) fn reading(self) -> Result<Reading, LogError> {
        let Parts { reading: row, standing, tank, photo, sample, test } = self;
        let test = test_key(&test)?;
        let (amount, canonical) = (row.amount(&test.analyte)?, row.canonical(&test.analyte)?);
        let own = unit(&row.unit, &test.analyte)?;
        let odd = |what: &str, text: &str| LogError::row(format!("a reading of {what} '{text}'"));
        Ok(Reading {
            standing: Standing::parse(&standing).ok_or_else(|| odd("standing", &standing))?,
            origin: Origin::parse(&row.origin).ok_or_else(|| odd("origin", &row.origin))?,
            status: Status::parse(&row.status).ok_or_else(|| odd("status", &row.status))?,
            sample: self::sample(sample, tank)?,
            detection_limit: row.detection_limit.map(|v| Quantity::new(v, own)),
            dilution: row.dilution_added.map(Dilution::new).transpose().map_err(LogError::row)?,
            refusal: row.refusal.iter().map(finding).collect::<Result<_, _>>()?,
            findings: row.findings.iter().map(finding).collect::<Result<_, _>>()?,
            id: row.id,
            root: row.root,
            recorded: row.recorded,
            test,
            photo,
            station: row.station,
            kit_revision: row.kit_revision,
            card_revision: row.card_revision,
            program: row.program,
            amount,
            canonical,
            entered: row.entered,
            lab: row.lab,
            off_curve: row.off_curve,
            light: row.light,
            place: row.place,
            photos: Vec::new(),
            instead_of: None,
        })
    }
}

/// A test's key from its row.
pub(super) fn test_key(row: &TestRow) -> Result<TestKey, LogError> {
    let analyte = Analyte::parse(&row.analyte).map_err(LogError::row)?;
    let unit = unit(&row.unit, &analyte)?;
    Ok(TestKey { kit: row.kit.clone(), name: row.name.clone(), analyte, unit })
}

fn sample(row: SampleRow, tank: Option<String>) -> Result<Sample, LogError> {
    let at = |m: Option<MomentRow>| m.as_ref().map(moment).transpose();
    Ok(Sample {
        id: row.id,
        target: Target::of(&row.target, row.tank)?,
        tank,
        label: row.label,
        station: row.station,
        note: row.note,
        drawn: at(row.drawn)?,
        reagent: at(row.reagent)?,
        photo: at(row.photo)?,
        entered: moment(&row.entered)?,
    })
}
