//! Reading a photo that came by the page, and what the log has and would have of it.

use super::enter::{Draft, drafts, same_vial};
use super::{
    At, ByHand, Chart, Given, HandError, Home, Incoming, IntakeError, PROGRAM, PhotoKey, Raw, Ready, Sayings, Sent,
    When, correct,
};
use crate::card::Layout;
use crate::curve::{Kit, Test};
use crate::log::{Filter, Id, Log, Origin, Reading, Status, Tank};
use crate::photo::Limits;
use jiff::Timestamp;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// Letters of a file's name that are shown and logged.
const NAME: usize = 60;

impl Sent {
    /// What was said, for reading. Where stations were typed they are of the tank whose page it was; labels may name others.
    pub fn given(&self, log: &Log) -> Result<Given, IntakeError> {
        let tank = log.tanks()?.into_iter().find(|t| t.id == self.tank);
        let tank = tank.map(|t| t.name).ok_or(IntakeError::NoneYet { what: "tank" })?;
        let (tank, else_tank) = if self.stations.is_empty() { (None, Some(tank)) } else { (Some(tank), None) };
        let (stations, kit, clear) = (self.stations.clone(), self.kit.clone(), self.clear.clone());
        Ok(Given { stations, tank, else_tank, kit, card: None, clear })
    }

    /// The file's name without what only a path needs, with the ending of its kind.
    fn shown_name(&self, format: &str) -> PathBuf {
        let name = self.name.as_deref().unwrap_or_default();
        let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
        let plain = |c: &char| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_');
        let stem: String = stem.chars().filter(plain).take(NAME).collect();
        let stem = if stem.trim().is_empty() { "photo" } else { stem.trim() };
        PathBuf::from(format!("{stem}.{format}"))
    }
}

impl Incoming {
    /// Reads a photo, writing nothing. A photo that was snapped and whose camera wrote no time was taken about when it came; any
    /// other without a time needs the keeper's word.
    pub fn read(
        &self,
        key: &PhotoKey,
        sent: &Sent,
        home: &Home,
        log: &Log,
        layout: &Layout,
        now: Timestamp,
    ) -> Result<Ready, IntakeError> {
        let limits = Limits::default();
        let mut raw = Raw::read(&self.photo(key), &limits)?;
        raw.path = sent.shown_name("photo");
        let mut opened = raw.open(&limits)?;
        opened.path = sent.shown_name(opened.photo.facts().format);
        opened.modified = Some(sent.at);
        let standing = opened.standing(log)?;
        let showing = sent.given(log)?.shown(&mut opened, home, log, &Sayings::default(), layout)?;
        let at = sent.taken.as_deref().map(At::parse).transpose()?;
        let when = When { at, clock: None, file_time: sent.snapped };
        let mut ready = showing.read(opened, standing, &when, log, layout, now)?;
        ready.placed(&mut home.places(Some(log))?);
        Ok(ready)
    }
}

impl Ready {
    /// Its samples as readings that the log would give back, in their order. Nothing is written.
    pub fn unwritten(&self, layout: &Layout, now: Timestamp) -> Result<Vec<Reading>, IntakeError> {
        let bench = self.showing.bench(layout);
        let one = |draft: Draft<'_>| {
            let tank = draft.sample.target.tank().and_then(|id| bench.tanks.iter().find(|t| t.id == id));
            draft.new.unwritten(&draft.sample, tank.map(|t| t.name.as_str()), now)
        };
        Ok(drafts(&self.look, &bench, now)?.into_iter().map(one).collect())
    }

    /// Whether the log has a reading of every sample in it.
    pub fn is_logged(&self) -> bool {
        let look = &self.look;
        let has = |said: &crate::reading::SampleReading| {
            let test = self.showing.kit.value.test(&said.test).ok();
            test.is_some_and(|test| look.standing.iter().any(|r| same_vial(r, said, test)))
        };
        !look.reading.samples.is_empty() && look.reading.samples.iter().all(has)
    }

    /// What decides what would be logged: two of the same say the same of the same photo.
    pub fn fingerprint(&self) -> String {
        let (look, kit) = (&self.look, &self.showing.kit);
        let mut text = format!("{PROGRAM} {} {} {}", look.opened.photo.id(), kit.name, kit.revision.as_str());
        text.push_str(self.showing.card.reference.revision.as_deref().unwrap_or("nominal"));
        for (s, water) in look.reading.samples.iter().zip(&look.named.waters) {
            text.push_str(&format!("\n{} {} {:?} {:?} {:?}", s.station, s.test, s.dilution, water, s.outcome));
        }
        text.push_str(&look.capture.moment.instant.to_string());
        crate::store::content_hash(text.as_bytes()).short().to_string()
    }
}

/// What a tank's last photo showed: the kit, the stations with their tests, the station of the clear vial.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LastShown {
    /// The kit's name.
    pub kit: Option<String>,
    /// Which test stood where. A dilution is not remembered: forgotten to be taken away, it would make five of one.
    pub stations: BTreeMap<String, String>,
}

/// See [`LastShown`]. What the kits no longer have is left out by whoever offers it again.
pub fn last_shown(log: &Log, tank: &Tank) -> Result<LastShown, IntakeError> {
    let last = log.readings(&Filter { tank: Some(tank.id), last: Some(60), ..Filter::default() })?;
    let Some(newest) = last.iter().filter(|r| r.photo.is_some()).max_by_key(|r| r.recorded) else {
        return Ok(LastShown::default());
    };
    let same = last.iter().filter(|r| r.photo == newest.photo);
    let stations = same.filter_map(|r| Some((r.station.clone()?, r.test.name.clone()))).collect();
    Ok(LastShown { kit: newest.test.kit.clone(), stations })
}

/// Whether what was read by eye on the chart can be taken as it was typed.
pub fn check_by_eye(test: &Test, typed: &str, kit: &Kit) -> Result<(), HandError> {
    ByHand::of(&test.name, typed, Some(&test.unit), &kit.tests, &Chart::default()).map(drop)
}

/// Puts what the keeper read by eye on the chart in the place of what a photo said or refused to say. The same once more is one.
pub fn by_eye(log: &mut Log, standing: &Reading, typed: &str, kit: &Kit, now: Timestamp) -> Result<Id, IntakeError> {
    if standing.origin == Origin::Correction && standing.entered.as_deref() == Some(typed.trim()) {
        return Ok(standing.id);
    }
    let reason = match standing.status {
        Status::Refused => "read by eye on the chart, as the photo was refused",
        _ => "read by eye on the chart",
    };
    correct(log, standing.id, typed, &kit.tests, &Chart::default(), reason, now)
}
