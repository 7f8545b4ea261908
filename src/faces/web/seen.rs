//! What a photo said, ready to be shown: the same form whether it waits to be kept or is in the log.

use super::fail::Fail;
use super::scale;
use crate::advice::{self, Fresh};
use crate::card::Layout;
use crate::faces::books::{book, facts};
use crate::faces::overlay;
use crate::faces::words::Found;
use crate::intake::{By, Home, KitFacts, Ledger, Ready};
use crate::log::{Filter, Log, Origin, Reading, Status};
use crate::moment::{Moment, TimeSource};
use crate::reading::Outcome;
use crate::water::Amount;
use jiff::Timestamp;

/// What came of a photo.
pub(super) enum Seen {
    Read(Box<Read>),
    /// It could not be read at all.
    Wrong(Fail),
}

/// A photo that was read and waits to be kept.
pub(super) struct Read {
    /// Of what would be logged; the same as long as nothing it hangs on has changed.
    pub(super) fingerprint: String,
    pub(super) head: Head,
    pub(super) samples: Vec<Sample>,
    /// About the photo as a whole.
    pub(super) findings: Vec<Found>,
    pub(super) remarks: Vec<String>,
    /// Whether the log has all of it.
    pub(super) logged: bool,
    /// Another photo in the log that this one most likely is, saved anew.
    pub(super) twin: Option<String>,
}

/// What a photo is of.
#[derive(Clone)]
pub(super) struct Head {
    pub(super) taken: String,
    /// By whose word it was taken then, where that is not the camera's.
    pub(super) clock: &'static str,
    pub(super) kit: String,
    /// Where it was taken, as far as its light tells.
    pub(super) place: Option<String>,
    /// Whether labels said what stands where.
    pub(super) labels: bool,
    pub(super) clear: Option<String>,
    pub(super) no_animals: bool,
}

/// A sample.
pub(super) struct Sample {
    pub(super) station: String,
    pub(super) test: String,
    pub(super) water: String,
    /// The entry in the log.
    pub(super) entry: Option<String>,
    /// Large: the value, or on which side of a limit it lies, or that it was not read.
    pub(super) value: String,
    /// Beside it: the interval, or what the limit is.
    pub(super) range: String,
    /// The same in one line.
    pub(super) line: String,
    /// A drawn rule with the value on it.
    pub(super) scale: Option<String>,
    pub(super) refused: bool,
    /// Whether a finding bars it from reassuring, or it was not read: somebody should look.
    pub(super) doubt: bool,
    pub(super) by_eye: bool,
    pub(super) unit: String,
    pub(super) diluted: Option<String>,
    pub(super) limit: Option<String>,
    pub(super) reasons: Vec<Found>,
    pub(super) findings: Vec<Found>,
    pub(super) means: Vec<Means>,
    /// What it says together with other photos of the same sample.
    pub(super) together: Option<String>,
}

/// What a result means for the tank.
pub(super) struct Means {
    pub(super) symbol: &'static str,
    pub(super) level: String,
    pub(super) words: String,
}

impl Read {
    /// Whether every sample was read without a doubt and the log has none of them.
    pub(super) fn is_well(&self) -> bool {
        !self.logged && self.twin.is_none() && !self.samples.is_empty() && self.samples.iter().all(|s| !s.doubt)
    }
}

/// What was read, drawn into a small copy of the photo. It holds pixels alone, nothing of what the camera wrote.
pub(super) fn drawing(ready: &Ready) -> Result<Vec<u8>, Fail> {
    overlay::small_jpeg(&overlay::draw_ready(ready)).map_err(|_| Fail::broken())
}

/// A photo that was read and is not logged yet.
pub(super) fn of(home: &Home, layout: &Layout, log: &Log, ready: &Ready, now: Timestamp) -> Result<Read, Fail> {
    let (look, showing) = (&ready.look, &ready.showing);
    let kits = home.kit_facts()?;
    let readings = ready.unwritten(layout, now)?;
    let facts = facts(&kits);
    let mut fresh = Vec::new();
    for tank in &showing.tanks {
        let own: Vec<Reading> = readings.iter().filter(|r| r.sample.target.tank() == Some(tank.id)).cloned().collect();
        if !own.is_empty() {
            fresh.push((tank.id, advice::fresh(&book(log, tank, &kits)?, &own, &facts, now)));
        }
    }
    let said_of = |r: &Reading| fresh.iter().find(|(id, _)| r.sample.target.tank() == Some(*id)).map(|(_, f)| f);
    let samples = readings.iter().map(|r| Sample::of(r, &kits, said_of(r).map(|f| f.of(r)))).collect();
    let whole = look.reading.findings.iter();
    let samples_say = |f: &&crate::finding::Finding| {
        look.reading.samples.iter().any(|s| {
            let refused = matches!(&s.outcome, Outcome::Refused(reasons) if reasons.contains(f));
            refused || s.findings.contains(f)
        })
    };
    let findings = whole.filter(|f| !samples_say(f)).map(Found::from);
    let no_animals = fresh.iter().any(|(_, f)| f.no_animals.is_some());
    let (taken, clock) = time(&look.capture.moment);
    Ok(Read {
        fingerprint: ready.fingerprint(),
        head: Head {
            taken,
            clock,
            kit: showing.kit.name.clone(),
            place: look.place.as_ref().map(|p| p.text.clone()),
            labels: showing.by == By::Labels,
            clear: look.named.clear.clone(),
            no_animals,
        },
        samples,
        findings: findings.collect(),
        remarks: look.opened.photo.facts().remarks.clone(),
        logged: ready.is_logged(),
        twin: ready.twin(&Ledger::of(log)?, layout).map(|e| format!("{e}. {}", "Keep it only if it is another photo.")),
    })
}

/// What the log has of a photo, each sample in a line.
pub(super) fn lines(log: &Log, photo: &str) -> Result<Vec<String>, Fail> {
    let kits = KitFacts::default();
    let mut samples: Vec<Sample> = standing(log, photo)?.iter().map(|r| Sample::of(r, &kits, None)).collect();
    samples.sort_by(|a, b| a.station.cmp(&b.station));
    Ok(samples.iter().map(Sample::short).collect())
}

/// The readings of a photo that stand.
fn standing(log: &Log, photo: &str) -> Result<Vec<Reading>, Fail> {
    let readings = log.readings(&Filter { photo: Some(photo.to_string()), ..Filter::default() })?;
    Ok(readings.iter().map(|r| log.judged(r.id)).collect::<Result<_, _>>()?)
}

/// What the log has of a photo.
pub(super) fn logged(home: &Home, log: &Log, photo: &str, now: Timestamp) -> Result<(Head, Vec<Sample>), Fail> {
    let kits = home.kit_facts()?;
    let facts = facts(&kits);
    let readings = standing(log, photo)?;
    let mut samples = Vec::new();
    let mut no_animals = false;
    // Of each tank once.
    for tank in log.tanks()? {
        let own: Vec<&Reading> = readings.iter().filter(|r| r.sample.target.tank() == Some(tank.id)).collect();
        if own.is_empty() {
            continue;
        }
        let book = book(log, &tank, &kits)?;
        let filter = Filter { tank: Some(tank.id), ..Filter::default() };
        let all = log.samples(&filter, &|r| facts(r).window_minutes)?;
        for r in own {
            let together = all.iter().find(|s| s.photos.len() > 1 && s.photos.contains(&r.id));
            let fresh = advice::resting_on(&book, &[together.unwrap_or(r).clone()], now);
            no_animals |= fresh.no_animals.is_some();
            let together = together.and_then(|s| {
                let amount = s.amount.as_ref()?;
                Some(format!("{} photos of this sample together: {amount}.", s.photos.len()))
            });
            samples.push(Sample { together, entry: Some(r.id.to_string()), ..Sample::of(r, &kits, Some(fresh)) });
        }
    }
    let others = readings.iter().filter(|r| r.sample.target.tank().is_none());
    samples.extend(others.map(|r| Sample { entry: Some(r.id.to_string()), ..Sample::of(r, &kits, None) }));
    samples.sort_by(|a, b| a.station.cmp(&b.station));
    let moment = readings.first().map(|r| time(r.sample.photo.as_ref().unwrap_or_else(|| r.sample.at())));
    let (taken, clock) = moment.unwrap_or_default();
    let kit = readings.first().and_then(|r| r.test.kit.clone()).unwrap_or_default();
    let places = home.places(Some(log))?;
    let place = readings.iter().find_map(|r| places.of_reading(r, &kits)).map(|p| p.text);
    Ok((Head { taken, clock, kit, place, labels: false, clear: None, no_animals }, samples))
}

/// Date and time at the tank, and by whose word where it is not the camera's.
fn time(m: &Moment) -> (String, &'static str) {
    let clock = match m.source {
        TimeSource::ExifOffset | TimeSource::TankZone => "",
        TimeSource::Keeper => "as you said",
        TimeSource::File => "when it was sent, as the camera wrote no time",
    };
    (m.local().strftime("%Y-%m-%d %H:%M").to_string(), clock)
}

impl Sample {
    /// In a line.
    pub(super) fn short(&self) -> String {
        let doubt = if self.doubt && !self.refused { ", in doubt" } else { "" };
        format!("{} {}: {}{doubt}", self.station, self.test, self.line)
    }

    fn of(r: &Reading, kits: &KitFacts, fresh: Option<Fresh>) -> Self {
        let water = match (&r.sample.tank, &r.sample.label) {
            (Some(tank), _) => tank.clone(),
            (None, Some(label)) => label.clone(),
            (None, None) => format!("{} water", r.sample.target.as_str()),
        };
        let (value, range, line) = said(r.amount.as_ref());
        let refused = r.status == Status::Refused;
        let fresh = fresh.unwrap_or(Fresh { lines: Vec::new(), doubts: Vec::new(), no_animals: None });
        let dangers = fresh.lines.iter().map(|l| Means {
            symbol: l.symbol(),
            level: l.words(),
            words: l.statement.words.clone(),
        });
        let doubts =
            fresh.doubts.iter().map(|s| Means { symbol: "?", level: "in doubt".to_string(), words: s.words.clone() });
        let reasons: Vec<Found> = r.refusal.iter().map(Found::from).collect();
        let findings =
            r.findings.iter().map(Found::from).filter(|f| !reasons.iter().any(|g| g.code == f.code)).collect();
        Self {
            station: r.station.clone().unwrap_or_default(),
            test: r.test.name.clone(),
            water,
            entry: None,
            value,
            range,
            line,
            scale: r.amount.as_ref().and_then(|a| scale::drawn(a, &kits.standards(r))),
            refused,
            doubt: refused || !r.may_reassure(),
            by_eye: r.origin == Origin::Correction,
            unit: r.test.unit.to_string(),
            diluted: r.dilution.map(|d| d.to_string()),
            limit: r.detection_limit.as_ref().filter(|_| !refused).map(ToString::to_string),
            means: dangers.chain(doubts).collect(),
            reasons,
            findings,
            together: None,
        }
    }
}

/// An amount in large words and the rest of it.
fn said(amount: Option<&Amount>) -> (String, String, String) {
    let Some(amount) = amount else { return ("Not read".into(), String::new(), "not read".into()) };
    let line = amount.to_string();
    let (value, rest) = match line.split_once(" (") {
        Some((value, rest)) => (value.to_string(), rest.trim_end_matches(')').to_string()),
        None => (line.clone(), String::new()),
    };
    let range = match amount {
        Amount::Measured { .. } if rest.is_empty() => String::new(),
        Amount::Measured { .. } => format!("95 %: {rest}"),
        Amount::NotDetected { .. } => rest,
        Amount::Above { limit } => format!("at least {}: more than the scale holds", limit.quantity()),
        Amount::Below { limit } => format!("at most {}: less than the scale holds", limit.quantity()),
    };
    (value, range, line)
}
