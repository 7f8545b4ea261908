//! What is meant by what was typed, and a photo made ready by it.

use super::Args;
use crate::card::Layout;
use crate::faces::cli::trouble::Trouble;
use crate::faces::overlay;
use crate::intake::{
    self, At, Candidate, ClockOffset, Given, Home, IntakeError, Keep, Known, Ledger, Opened, Raw, Ready, Sayings, When,
};
use crate::log::{Id, Log, Reading};
use crate::photo::Limits;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::sync::{PoisonError, RwLock};
use tempfile::TempDir;

/// What is meant.
pub(super) struct Meant {
    /// Files and folders, as typed.
    pub(super) places: Vec<PathBuf>,
    pub(super) layout: Layout,
    pub(super) keep: Keep,
    pub(super) again: bool,
    pub(super) overlay: Option<PathBuf>,
    pub(super) now: Timestamp,
    /// Whether photos are logged that may be copies of logged ones.
    pub(super) twins: bool,
    /// The log that is written: for a dry run a copy, which is gone when this is.
    pub(super) log: PathBuf,
    _copy: Option<TempDir>,
    /// What was typed of the photos; the rest is on labels or in rules.
    given: Given,
    /// Whether the log says what photos show: with `--again` and nothing said about stations.
    from_log: bool,
    when: When,
    /// The logged sample that the photos show.
    of_sample: Option<Id>,
    /// Whether the photos are all that are kept: those the log has nothing of are passed over.
    kept: bool,
}

/// What came of a photo before anything is logged.
pub(super) enum Prepared {
    Ready(Box<Ready>),
    /// The log has it.
    Known(Known),
    /// Not one of those meant.
    Passed,
}

impl Meant {
    /// Everything that can be wrong with what was typed is said here, before any photo is read.
    pub(super) fn of(args: Args, home: &Home, now: Timestamp) -> Result<(Self, Log), Trouble> {
        let at = args.at.as_deref().map(At::parse).transpose()?;
        let clock = args.clock_offset.as_deref().map(ClockOffset::parse).transpose()?;
        let is_sample = |w: &OsString| w.to_str().is_some_and(intake::is_sample);
        let (samples, mut places): (Vec<_>, Vec<_>) = args.words.into_iter().partition(is_sample);
        let samples: Vec<String> = samples.iter().map(|w| w.to_string_lossy().to_string()).collect();
        let kept = places.is_empty() && args.again;
        if places.is_empty() && (!args.again || !samples.is_empty()) {
            let remedy = "Name the photo: tintline read photo.jpg A=ammonia";
            return Err(Trouble::usage("there is no photo to read", remedy));
        }
        if kept {
            places.extend(home.kept_photos()?.into_iter().map(OsString::from));
        }
        let places: Vec<PathBuf> = places.into_iter().map(PathBuf::from).collect();
        if let Some(path) = &args.overlay {
            let several = places.len() > 1 || places.iter().any(|p| p.is_dir());
            overlay_fits(path, several)?;
        }
        // Nothing is made where nothing can be read: a log without a tank is none.
        let log = home.log_if_any()?.ok_or(IntakeError::NoneYet { what: "tank" })?;
        let layout = Layout::first();
        let from_log = args.again && samples.is_empty();
        let (tank, kit, card, clear) = (args.tank, args.kit, args.card, args.clear);
        let mut given = Given { stations: samples, tank, else_tank: None, kit, card, clear };
        if !from_log {
            if log.tanks()?.is_empty() {
                return Err(IntakeError::NoneYet { what: "tank" }.into());
            }
            given.check(home, &layout)?;
        }
        let of_sample = args.sample.as_deref().map(|typed| intake::sample_of(&log, typed)).transpose()?;
        given.tank = given.tank.map(|name| log.tank(&name).map(|t| t.name)).transpose()?;
        let (log, copy) = if args.dry_run { dry(&log)? } else { (log, None) };
        let meant = Self {
            places,
            layout,
            keep: if args.dry_run { Keep::No } else { args.originals.meant() },
            again: args.again,
            overlay: args.overlay,
            now,
            twins: args.twins,
            log: log.path().to_path_buf(),
            _copy: copy,
            given,
            from_log,
            of_sample,
            when: When { at, clock, file_time: args.file_time },
            kept,
        };
        Ok((meant, log))
    }

    /// Whether the photos are the kept originals.
    pub(super) fn kept(&self) -> bool {
        self.kept
    }

    /// The zone by which files are put into the order of their times before they are opened.
    pub(super) fn zone(&self, log: &Log) -> Result<TimeZone, Trouble> {
        let tanks = log.tanks()?;
        let own = tanks.iter().find(|t| Some(&t.name) == self.given.tank.as_ref()).or(tanks.first());
        Ok(own.map_or(TimeZone::UTC, |t| intake::zone(&t.zone)))
    }

    /// Opens and reads one photo, writing nothing; with its identity, where that is known. Photos found in folders that the log
    /// has are not read again.
    pub(super) fn prepare(
        &self,
        file: &Candidate,
        home: &Home,
        log: &Log,
        said: &Sayings,
        ledger: &RwLock<Ledger>,
    ) -> (Option<String>, Result<Prepared, Trouble>) {
        let limits = Limits::default();
        let mut id = None;
        let mut go = || -> Result<Prepared, Trouble> {
            let raw = Raw::read(&file.path, &limits)?;
            if file.found && !self.again && self.given.stations.is_empty() {
                id = raw.id(&limits)?;
                let ledger = ledger.read().unwrap_or_else(PoisonError::into_inner);
                if let Some(known) = id.as_ref().and_then(|id| ledger.known(id)) {
                    return Ok(Prepared::Known(known.clone()));
                }
            }
            let opened = raw.open(&limits)?;
            id = Some(opened.photo.id().to_string());
            let ready = self.opened(opened, home, log, said)?;
            Ok(ready.map_or(Prepared::Passed, |r| Prepared::Ready(Box::new(r))))
        };
        let done = go();
        (id, done)
    }

    fn opened(&self, mut opened: Opened, home: &Home, log: &Log, said: &Sayings) -> Result<Option<Ready>, Trouble> {
        let standing = opened.standing(log)?;
        if self.kept && !self.concerns(&standing) {
            return Ok(None);
        }
        let showing = match self.from_log {
            true => self.given.logged(&opened, &standing, home, log, &self.layout)?,
            false => self.given.shown(&mut opened, home, log, said, &self.layout)?,
        };
        let mut ready = showing.read(opened, standing, &self.when, log, &self.layout, self.now)?;
        ready.look.of_sample = self.of_sample;
        Ok(Some(ready))
    }

    fn concerns(&self, standing: &[Reading]) -> bool {
        match &self.given.tank {
            None => !standing.is_empty(),
            Some(tank) => standing.iter().any(|r| r.sample.tank.as_ref() == Some(tank)),
        }
    }
}

/// A copy of the log, to try on it what would be written.
fn dry(log: &Log) -> Result<(Log, Option<TempDir>), Trouble> {
    let unwritable = |source| Trouble::File { doing: "write", path: std::env::temp_dir(), source };
    let dir = tempfile::Builder::new().prefix("tintline-").tempdir().map_err(unwritable)?;
    let path = dir.path().join("log.db");
    log.copy_to(&path)?;
    Ok((Log::open(&path)?, Some(dir)))
}

fn overlay_fits(path: &Path, several: bool) -> Result<(), Trouble> {
    if path.is_dir() {
        return Ok(());
    }
    if several {
        let sentence = "one overlay cannot show several photos";
        return Err(Trouble::usage(sentence, "Give a folder that exists, or read one photo at a time."));
    }
    // Known before the work, and before anything is logged.
    let ending = path.extension().map(|e| e.to_string_lossy().to_ascii_lowercase());
    match ending.as_deref() {
        Some("png" | "jpg" | "jpeg") => Ok(()),
        _ => Err(overlay::OverlayError::UnknownEnding { path: path.into() }.into()),
    }
}
