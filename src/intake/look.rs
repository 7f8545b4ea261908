//! Reading a photo with what is known about it. Writes nothing.

use super::when::{Capture, When};
use super::{CardInUse, IntakeError, Kept, Named};
use crate::card::Layout;
use crate::curve::{Kit, Matrix};
use crate::finding::{Code, Finding};
use crate::log::{Filter, Log, NewPhoto, Reading, Tank, WaterKind};
use crate::photo::{self, Limits, Photo};
use crate::reading::{self, Job, Outcome, PhotoReading, SampleReading};
use jiff::Timestamp;
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

/// Opens a photo.
pub fn open(path: &Path, limits: &Limits) -> Result<Opened, IntakeError> {
    let wrong = |source| IntakeError::Photo { path: path.into(), source };
    let bytes = photo::read_file(path, limits).map_err(wrong)?;
    let photo = Photo::from_bytes(&bytes, limits).map_err(wrong)?;
    let modified = std::fs::metadata(path).and_then(|m| m.modified()).ok();
    let modified = modified.and_then(|m| Timestamp::try_from(m).ok());
    Ok(Opened { path: path.into(), photo, bytes, modified })
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
    /// The tank; its zone and water count.
    pub tank: &'a Tank,
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
    if let Some(other) = standing.iter().find(|r| r.sample.target != named.target) {
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
    let mut reading = reading::read(&Job {
        photo: &opened.photo,
        layout: bench.layout,
        reference: &bench.card.reference,
        kit: &bench.kit.value,
        asks: &named.asks,
    });
    for sample in &mut reading.samples {
        sample.findings.extend(known_here(sample, &capture, bench));
    }
    Ok(Look { opened, named, capture, reading, standing })
}

/// What only this room can notice.
fn known_here(sample: &SampleReading, capture: &Capture, bench: &Bench<'_>) -> Vec<Finding> {
    let mut out: Vec<Finding> = capture.finding.iter().cloned().collect();
    if matches!(sample.outcome, Outcome::Refused(_)) {
        return out;
    }
    let (kit, card) = (&bench.kit.name, bench.card);
    if card.foreign {
        let used = card.name.as_ref().map_or("a card that is not enrolled".to_string(), |n| format!("the card '{n}'"));
        let sentence = format!("Read with {used}, but the kit '{kit}' was calibrated with another one.");
        out.push(Finding::doubt(Code::CardOther, sentence));
    }
    let matrix = bench.kit.value.test(&sample.test).map(|t| t.matrix);
    let word = match (matrix, bench.tank.water) {
        (Ok(Matrix::Fresh), WaterKind::Marine) => Some("fresh"),
        (Ok(Matrix::Marine), WaterKind::Fresh) => Some("sea"),
        _ => None,
    };
    if let Some(word) = word {
        let (test, water, tank) = (&sample.test, bench.tank.water.as_str(), &bench.tank.name);
        let sentence = format!("The test '{test}' is made for {word} water, and the water of '{tank}' is {water}.");
        out.push(Finding::doubt(Code::KitMatrix, sentence));
    }
    out
}
