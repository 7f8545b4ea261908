//! What the log holds, kept in mind while many photos are read: which photos it knows, which readings a new one would double,
//! and which readings come before later ones.

use super::{IntakeError, Look, Noted};
use crate::log::{Id, Log, Outline, Standing, Target};
use crate::moment::TimeSource;
use crate::water::Analyte;
use jiff::Timestamp;
use std::collections::{BTreeMap, HashMap};

/// What was read from a photo before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Known {
    /// The tank of its first reading.
    pub tank: Option<String>,
    /// How many of its readings stand.
    pub standing: usize,
    /// Whether all of them were taken back.
    pub undone: bool,
}

/// Readings entered after later ones of the same water and analyte.
#[derive(Debug, Clone, PartialEq)]
pub struct Late {
    /// The water.
    pub target: Target,
    /// The tank's name.
    pub tank: Option<String>,
    /// What was measured.
    pub analyte: Analyte,
    /// Those that came late, by their time.
    pub readings: Vec<Id>,
    /// The time of the first and of the last of them.
    pub from: Timestamp,
    pub to: Timestamp,
    /// How many readings of a later time than the first of them were there before.
    pub before: usize,
    /// The newest reading of all: it stays what counts now.
    pub newest: Id,
    pub newest_at: Timestamp,
}

#[derive(Debug, Clone)]
struct Entry {
    id: Id,
    photo: Option<String>,
    tank: Option<String>,
    /// Entered since the ledger was made, after a later one.
    late: bool,
    new: bool,
}

/// Readings by time; those of one time in the order in which they came.
type Series = BTreeMap<(Timestamp, u64), Entry>;

/// See the module.
#[derive(Debug, Clone, Default)]
pub struct Ledger {
    photos: HashMap<String, Known>,
    series: HashMap<(Target, Analyte), Series>,
    count: u64,
}

impl Ledger {
    /// Of a log as it is now.
    pub fn of(log: &Log) -> Result<Self, IntakeError> {
        let mut out = Self::default();
        for r in log.outlines()? {
            out.add(r);
        }
        Ok(out)
    }

    fn add(&mut self, r: Outline) {
        if let Some(photo) = &r.photo {
            let fresh = || Known { tank: r.tank.clone(), standing: 0, undone: true };
            let known = self.photos.entry(photo.clone()).or_insert_with(fresh);
            known.standing += usize::from(r.standing == Standing::Current);
            known.undone &= r.standing == Standing::Undone;
        }
        if r.standing == Standing::Current {
            let entry = Entry { id: r.id, photo: r.photo, tank: r.tank, late: false, new: false };
            self.put((r.target, r.analyte), r.at, entry);
        }
    }

    fn put(&mut self, key: (Target, Analyte), at: Timestamp, entry: Entry) {
        self.count += 1;
        self.series.entry(key).or_default().insert((at, self.count), entry);
    }

    /// What was read from the photo of this identity before.
    pub fn known(&self, photo: &str) -> Option<&Known> {
        self.photos.get(photo)
    }

    /// Another photo with a reading of the same water and analyte at the same second of the camera's clock: most likely the same
    /// photo saved anew, and only the keeper knows.
    pub fn twin(&self, look: &Look, bench: &super::Bench<'_>) -> Option<IntakeError> {
        let moment = look.capture.moment;
        if !matches!(moment.source, TimeSource::ExifOffset | TimeSource::TankZone) {
            return None;
        }
        let own = look.opened.photo.id();
        let second = |t: Timestamp| t.as_second();
        look.reading.samples.iter().find_map(|said| {
            let target = look.named.water(&said.station)?.target;
            let analyte = bench.kit.value.test(&said.test).ok()?.analyte.clone();
            let from = Timestamp::from_second(second(moment.instant)).ok()?;
            let mut near = self.series.get(&(target, analyte))?.range((from, 0)..);
            let other = near
                .by_ref()
                .take_while(|((at, _), _)| second(*at) == second(from))
                .find(|(_, e)| e.photo.as_deref().is_some_and(|p| p != own))?;
            let (path, test) = (look.opened.path.clone(), said.test.clone());
            Some(IntakeError::Twin {
                path,
                test,
                reading: other.1.id,
                photo: other.1.photo.clone().unwrap_or_default(),
            })
        })
    }

    /// Takes in what became of a photo's readings.
    pub fn note(&mut self, look: &Look, bench: &super::Bench<'_>, noted: &[Noted]) {
        let at = look.capture.moment.instant;
        let photo = look.opened.photo.id().to_string();
        for (said, noted) in look.reading.samples.iter().zip(noted) {
            let Noted::Added { id } = noted else { continue };
            let Some(target) = look.named.water(&said.station).map(|w| w.target) else { continue };
            let Ok(test) = bench.kit.value.test(&said.test) else { continue };
            let key = (target, test.analyte.clone());
            let later = self.series.get(&key).is_some_and(|s| s.range((at, u64::MAX)..).any(|(_, e)| !e.new));
            let tank = target.tank().and_then(|t| bench.tanks.iter().find(|own| own.id == t)).map(|t| t.name.clone());
            self.put(key, at, Entry { id: *id, photo: Some(photo.clone()), tank, late: later, new: true });
        }
        let tank = bench.tank.name.clone();
        let fresh = || Known { tank: Some(tank), standing: 0, undone: false };
        let known = self.photos.entry(photo).or_insert_with(fresh);
        known.standing += noted.iter().filter(|n| matches!(n, Noted::Added { .. })).count();
        known.undone = false;
    }

    /// What came late since this ledger was made: what rests on the readings of these waters must be worked out anew from `from`
    /// on, and what is true now still rests on the newest reading. No alarm may come from what came late.
    pub fn late(&self) -> Vec<Late> {
        let one = |((target, analyte), series): (&(Target, Analyte), &Series)| {
            let late: Vec<(Timestamp, &Entry)> =
                series.iter().filter(|(_, e)| e.late).map(|((at, _), e)| (*at, e)).collect();
            let (from, to) = (late.first()?.0, late.last()?.0);
            let ((newest_at, _), newest) = series.last_key_value()?;
            Some(Late {
                target: *target,
                tank: newest.tank.clone().or_else(|| late[0].1.tank.clone()),
                analyte: analyte.clone(),
                readings: late.iter().map(|(_, e)| e.id).collect(),
                from,
                to,
                before: series.range((from, u64::MAX)..).filter(|(_, e)| !e.new).count(),
                newest: newest.id,
                newest_at: *newest_at,
            })
        };
        let mut out: Vec<Late> = self.series.iter().filter_map(one).collect();
        out.sort_by(|a, b| (&a.tank, a.analyte.as_str()).cmp(&(&b.tank, b.analyte.as_str())));
        out
    }
}
