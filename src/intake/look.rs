//! Reading a photo with what is known about it. Writes nothing.

use super::matrix::foreign_water;
use super::when::{Capture, When};
use super::{CardInUse, IntakeError, Kept, LabelError, Named, Told};
use crate::card::{self, Card, Layout};
use crate::curve::Kit;
use crate::finding::{Code, Finding};
use crate::log::{Filter, Id, Label, Log, NewPhoto, Reading, ReadingTime, Start, Tank, Target, WINDOW_MINUTES};
use crate::moment::{Certainty, Moment};
use crate::photo::{self, Limits, Photo};
use crate::reading::{self, Job, Outcome, PhotoReading, SampleReading};
use crate::water::significant;
use jiff::Timestamp;
use std::cmp::Ordering;
use std::path::{Path, PathBuf};

/// A photo file, decoded.
pub struct Opened {
    /// Where it came from.
    pub path: PathBuf,
    /// The photo.
    pub photo: Photo,
    /// The file as it came.
    pub(super) bytes: Vec<u8>,
    /// The file's own time.
    pub(super) modified: Option<Timestamp>,
    /// The card, once it has been looked for.
    pub(super) card: Option<Result<Card, Vec<Finding>>>,
}

impl Opened {
    /// The ending of the file's name, or that of its kind.
    pub(super) fn ending(&self) -> String {
        let ending = self.path.extension().and_then(|e| e.to_str()).map(str::to_ascii_lowercase);
        let plain = |e: &String| (1..=5).contains(&e.len()) && e.bytes().all(|b| b.is_ascii_alphanumeric());
        ending.filter(plain).unwrap_or_else(|| self.photo.facts().format.to_string())
    }

    /// What the log already has of it: the readings that stand.
    pub fn standing(&self, log: &Log) -> Result<Vec<Reading>, IntakeError> {
        Ok(log.readings(&Filter { photo: Some(self.photo.id().to_string()), ..Filter::default() })?)
    }

    /// What the log says that it shows, see [`Named`]. None if the log has no reading of it that stands.
    pub fn logged(&self, standing: &[Reading], kit: &Kit) -> Result<Named, IntakeError> {
        Named::logged(standing, kit).ok_or_else(|| IntakeError::NotLogged { path: self.path.clone() })
    }

    /// What labels on the card say by this log. None where the card itself is not seen, or too badly: what is wrong with
    /// it comes out when the photo is read.
    pub fn told(&mut self, log: &Log, layout: &Layout) -> Result<Option<Told>, IntakeError> {
        self.told_by(&log.labels()?, layout)
    }

    pub(super) fn told_by(&mut self, known: &[Label], layout: &Layout) -> Result<Option<Told>, IntakeError> {
        let found = self.card.get_or_insert_with(|| card::find(&self.photo, layout));
        let Ok(found) = found else { return Ok(None) };
        let labels = card::labels(&self.photo, layout, found);
        let told = Told::new(&labels, known, layout);
        told.map(Some).map_err(|e| self.of_labels(e))
    }

    /// An error of its labels, saying which photo.
    pub fn of_labels(&self, source: LabelError) -> IntakeError {
        IntakeError::Labels { path: self.path.clone(), source }
    }

    /// The same, where it may be another error.
    pub fn with_labels(&self, e: IntakeError) -> IntakeError {
        match e {
            IntakeError::Label(source) => self.of_labels(source),
            other => other,
        }
    }

    /// Why the card is not seen, where it was looked for.
    pub fn unseen(&self) -> Option<IntakeError> {
        let finding = self.card.as_ref()?.as_ref().err()?.first()?.clone();
        Some(IntakeError::Unseen { path: self.path.clone(), finding })
    }

    pub(super) fn for_log(&self, capture: &Capture) -> NewPhoto {
        let facts = self.photo.facts();
        NewPhoto {
            hash: self.photo.id().to_string(),
            name: self.path.file_name().map(|n| n.to_string_lossy().to_string()),
            format: facts.format.to_string(),
            camera: facts.camera.clone(),
            taken: Some(capture.moment),
        }
    }
}

/// A photo file as it came, not decoded yet.
pub struct Raw {
    /// Where it came from.
    pub path: PathBuf,
    bytes: Vec<u8>,
    modified: Option<Timestamp>,
}

impl Raw {
    /// Reads a file.
    pub fn read(path: &Path, limits: &Limits) -> Result<Self, IntakeError> {
        let bytes =
            photo::read_file(path, limits).map_err(|source| IntakeError::Photo { path: path.into(), source })?;
        let modified = std::fs::metadata(path).and_then(|m| m.modified()).ok();
        Ok(Self { path: path.into(), bytes, modified: modified.and_then(|m| Timestamp::try_from(m).ok()) })
    }

    /// Which photo it is, where that can be told without decoding it; an error where the file is not whole.
    pub fn id(&self, limits: &Limits) -> Result<Option<String>, IntakeError> {
        photo::identify(&self.bytes, limits).map_err(|source| IntakeError::Photo { path: self.path.clone(), source })
    }

    /// Decodes it.
    pub fn open(self, limits: &Limits) -> Result<Opened, IntakeError> {
        let Self { path, bytes, modified } = self;
        match Photo::from_bytes(&bytes, limits) {
            Ok(photo) => Ok(Opened { path, photo, bytes, modified, card: None }),
            Err(source) => Err(IntakeError::Photo { path, source }),
        }
    }
}

/// Opens a photo.
pub fn open(path: &Path, limits: &Limits) -> Result<Opened, IntakeError> {
    Raw::read(path, limits)?.open(limits)
}

/// What a photo is read with and for.
#[derive(Debug, Clone, Copy)]
pub struct Bench<'a> {
    /// The card's layout.
    pub layout: &'a Layout,
    /// The kit.
    pub kit: &'a Kept<Kit>,
    /// The card.
    pub card: &'a CardInUse,
    /// The tank by whose zone times are told: of several in a photo, the first.
    pub tank: &'a Tank,
    /// All tanks a photo may show; their water counts.
    pub tanks: &'a [Tank],
    /// When tests were started, as the reaction timer recorded it.
    pub starts: &'a [Start],
}

/// A photo that was read.
pub struct Look {
    /// The photo.
    pub opened: Opened,
    /// What it shows.
    pub named: Named,
    /// When it was taken.
    pub capture: Capture,
    /// What it said, with what was noticed here: an unsure time, another card, a test for other water.
    pub reading: PhotoReading,
    /// What the log had of it before: the readings that stand.
    pub standing: Vec<Reading>,
    /// The logged sample that it shows, where the keeper said so.
    pub of_sample: Option<Id>,
}

impl Look {
    /// When the reagent went into a sample, as the reaction timer recorded it; none where that is not known.
    pub(super) fn reagent(&self, sample: &SampleReading, bench: &Bench<'_>) -> Option<Moment> {
        let target = self.named.water(&sample.station).map(|w| w.target);
        started(sample, target, &self.capture, bench).map(|s| s.at)
    }
}

/// A photo whose own time is unsure is of no known start.
fn started<'s>(
    sample: &SampleReading,
    target: Option<Target>,
    capture: &Capture,
    bench: &Bench<'s>,
) -> Option<&'s Start> {
    let moment = Some(capture.moment).filter(|m| m.certainty == Certainty::Sure)?;
    Start::before(bench.starts, &bench.kit.name, &sample.test, target.and_then(|t| t.tank()), moment.instant)
}

/// Reads a photo. `standing` is what the log has of it; the time it was logged with serves if nobody says another.
pub fn look(
    opened: Opened,
    named: Named,
    standing: Vec<Reading>,
    bench: &Bench<'_>,
    when: &When,
    now: Timestamp,
) -> Result<Look, IntakeError> {
    if let Some(other) = named.contradicted(&standing) {
        return Err(IntakeError::OtherTank {
            path: opened.path,
            logged: other.sample.tank.clone().unwrap_or_else(|| other.sample.target.as_str().to_string()),
            hash: opened.photo.id().to_string(),
        });
    }
    let zone = super::zone(&bench.tank.zone);
    let capture = when.capture(opened.photo.facts().taken.as_ref(), opened.modified, &zone, now);
    let logged = || standing.iter().find_map(|r| r.sample.photo).map(|moment| Capture { moment, finding: None });
    let capture = capture.or_else(logged).ok_or_else(|| IntakeError::NoTime { path: opened.path.clone() })?;
    let zeroing = named.zeroing()?;
    let job = Job {
        photo: &opened.photo,
        layout: bench.layout,
        reference: &bench.card.reference,
        kit: &bench.kit.value,
        asks: &named.asks,
        clear: zeroing.as_ref(),
    };
    let mut reading = match &opened.card {
        Some(card) => reading::read_on(&job, card.clone()),
        None => reading::read(&job),
    };
    for sample in &mut reading.samples {
        let target = named.water(&sample.station).map(|w| w.target);
        let tank = match target {
            Some(Target::Tank(id)) => bench.tanks.iter().find(|t| t.id == id),
            _ => None,
        };
        let known = known_here(sample, &capture, bench);
        if bench.card.foreign {
            // Said better by what is known here.
            sample.findings.retain(|f| f.code != Code::CardNew);
        }
        sample.findings.extend(known);
        if let (Some(tank), Ok(test)) = (tank, bench.kit.value.test(&sample.test)) {
            sample.findings.extend(foreign_water(test, tank, &mut sample.outcome));
        }
        if let (Some(start), Outcome::Read(_)) = (started(sample, target, &capture, bench), &sample.outcome) {
            sample.findings.extend(out_of_time(sample, start, &capture, bench));
        }
    }
    Ok(Look { opened, named, capture, reading, standing, of_sample: None })
}

/// Whether a photo was taken too soon or too late after a recorded start.
fn out_of_time(sample: &SampleReading, start: &Start, capture: &Capture, bench: &Bench<'_>) -> Option<Finding> {
    let test = bench.kit.value.test(&sample.test).ok()?;
    let window = test.window_minutes.unwrap_or(WINDOW_MINUTES);
    let time = ReadingTime { wait: test.wait_minutes?, window };
    let minutes = capture.moment.instant.duration_since(start.at.instant).as_secs_f64() / 60.0;
    let (name, wait, end) = (&test.name, significant(time.wait, 3), significant(time.wait + window, 3));
    let after = significant(minutes.max(0.0), 2);
    let sentence = format!(
        "The photo was taken {after} minutes after {name} was started; its colour is read {wait} to {end} minutes after."
    );
    match time.judge(minutes) {
        Ordering::Less => Some(Finding::doubt(Code::ReadEarly, sentence)),
        Ordering::Equal => None,
        Ordering::Greater => Some(Finding::doubt(Code::ReadLate, sentence)),
    }
}

/// What only this room can notice.
fn known_here(sample: &SampleReading, capture: &Capture, bench: &Bench<'_>) -> Vec<Finding> {
    let mut out: Vec<Finding> = capture.finding.iter().cloned().collect();
    if matches!(sample.outcome, Outcome::Refused(_)) {
        return out;
    }
    let (kit, card) = (&bench.kit.name, bench.card);
    let carried = bench.kit.value.card.is_some() && sample.findings.iter().all(|f| f.code != Code::CardNew);
    if card.foreign && !carried {
        let used = card.name.as_ref().map_or("a card that is not enrolled".to_string(), |n| format!("the card '{n}'"));
        let sentence = format!("Read with {used}, but the kit '{kit}' was calibrated with another one.");
        out.push(Finding::doubt(Code::CardOther, sentence));
    }
    let day = capture.moment.offset.to_datetime(capture.moment.instant).date();
    out.extend(bench.kit.value.test(&sample.test).ok().and_then(|t| t.expired(day)));
    out
}
