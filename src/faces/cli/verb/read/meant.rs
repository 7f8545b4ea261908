//! What is meant by what was typed, and a photo made ready by it.

use super::Args;
use super::said::{self, Said};
use crate::card::Layout;
use crate::curve::Kit;
use crate::faces::cli::trouble::Trouble;
use crate::faces::overlay;
use crate::intake::{
    self, At, Bench, Candidate, CardInUse, ClockOffset, Home, IntakeError, Keep, Kept, Known, Ledger, Look, Named,
    Opened, Raw, When,
};
use crate::log::{Id, Log, Reading, Start, Tank, Target};
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
    /// What stands where, as typed; the rest is on labels or in rules.
    typed: Vec<String>,
    /// Whether the log says what photos show: with `--again` and nothing said about stations.
    from_log: bool,
    when: When,
    /// The logged sample that the photos show.
    of_sample: Option<Id>,
    /// What the keeper calls where they were taken.
    pub(super) place: Option<String>,
    tank: Option<String>,
    kit: Option<String>,
    card: Option<String>,
    clear: Option<String>,
    /// Whether the photos are all that are kept: those the log has nothing of are passed over.
    kept: bool,
}

/// Who said what a photo shows.
#[derive(Debug, Clone)]
pub(super) enum By {
    Labels,
    Typed,
    Rule(String),
    Log,
}

/// What a photo is read with.
#[derive(Clone)]
pub(super) struct Plan {
    named: Named,
    tank: Tank,
    tanks: Vec<Tank>,
    starts: Vec<Start>,
    kit: Kept<Kit>,
    card: CardInUse,
    labels: Vec<overlay::Shown>,
    /// Who said so.
    pub(super) by: By,
    /// The time said in a table beside the photo.
    at: Option<At>,
}

impl Plan {
    /// Labels in the photo, to be drawn.
    pub(super) fn labels(&self) -> &[overlay::Shown] {
        &self.labels
    }

    pub(super) fn bench<'a>(&'a self, layout: &'a Layout) -> Bench<'a> {
        Bench { layout, kit: &self.kit, card: &self.card, tank: &self.tank, tanks: &self.tanks, starts: &self.starts }
    }
}

/// A photo that was read and is ready to be logged.
pub(super) struct Ready {
    pub(super) look: Look,
    pub(super) plan: Plan,
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
        if !from_log {
            if log.tanks()?.is_empty() {
                return Err(IntakeError::NoneYet { what: "tank" }.into());
            }
            match home.kit(args.kit.as_deref()) {
                Ok(kit) => {
                    let asks = intake::asks(&samples, &kit.value, &layout)?;
                    let taken: Vec<_> = asks.into_iter().map(|a| (a.station, a.test)).collect();
                    let clear = args.clear.as_deref();
                    clear.map(|s| intake::clear_at(s, &taken, &kit.value, &layout)).transpose()?;
                    home.card_for(args.card.as_deref(), &kit.value, &layout)?;
                }
                // Labels or rules may say which.
                Err(IntakeError::Which { .. }) => {}
                Err(e) => return Err(e.into()),
            }
        }
        let place = args.place.as_deref().map(intake::place_name).transpose().map_err(IntakeError::from)?;
        let of_sample = args.sample.as_deref().map(|typed| intake::sample_of(&log, typed)).transpose()?;
        let tank = args.tank.map(|name| log.tank(&name).map(|t| t.name)).transpose()?;
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
            typed: samples,
            from_log,
            of_sample,
            place,
            when: When { at, clock, file_time: args.file_time },
            tank,
            kit: args.kit,
            card: args.card,
            clear: args.clear,
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
        let own = tanks.iter().find(|t| Some(&t.name) == self.tank.as_ref()).or(tanks.first());
        Ok(own.map_or(TimeZone::UTC, |t| intake::zone(&t.zone)))
    }

    /// Opens and reads one photo, writing nothing; with its identity, where that is known. Photos found in folders that the log
    /// has are not read again.
    pub(super) fn prepare(
        &self,
        file: &Candidate,
        home: &Home,
        log: &Log,
        said: &Said,
        ledger: &RwLock<Ledger>,
    ) -> (Option<String>, Result<Prepared, Trouble>) {
        let limits = Limits::default();
        let mut id = None;
        let mut go = || -> Result<Prepared, Trouble> {
            let raw = Raw::read(&file.path, &limits)?;
            if file.found && !self.again && self.typed.is_empty() {
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

    fn opened(&self, mut opened: Opened, home: &Home, log: &Log, said: &Said) -> Result<Option<Ready>, Trouble> {
        let standing = opened.standing(log)?;
        if self.kept && !self.concerns(&standing) {
            return Ok(None);
        }
        let plan = match self.from_log {
            true => self.logged(&opened, &standing, home, log)?,
            false => self.shown(&mut opened, home, log, said)?,
        };
        let bench = plan.bench(&self.layout);
        let when = When { at: self.when.at.or(plan.at), ..self.when };
        let mut look = intake::look(opened, plan.named.clone(), standing, &bench, &when, self.now)?;
        let today = TimeZone::UTC.to_datetime(self.now).date();
        look.controlled(&intake::controls(&plan.kit, &log.events(None)?, today));
        look.of_sample = self.of_sample;
        Ok(Some(Ready { look, plan }))
    }

    fn concerns(&self, standing: &[Reading]) -> bool {
        match &self.tank {
            None => !standing.is_empty(),
            Some(tank) => standing.iter().any(|r| r.sample.tank.as_ref() == Some(tank)),
        }
    }

    /// What a photo shows: labels come first, beside them what was typed; where they name no test, a rule; else nobody says it.
    fn shown(&self, opened: &mut Opened, home: &Home, log: &Log, said: &Said) -> Result<Plan, Trouble> {
        let told = opened.told(log, &self.layout)?;
        if told.is_none() && self.typed.is_empty() {
            // A rule does not make a test's photo of every photo in a folder.
            return Err(opened.unseen().unwrap_or(IntakeError::NoSamples { known: Vec::new() }).into());
        }
        let told = told.unwrap_or_default();
        let rule = said.of(&opened.path).filter(|_| self.typed.is_empty());
        let tested = told.stands.iter().any(|s| s.test.is_some());
        let by_rule = rule.filter(|_| !tested && told.unreadable.is_empty());
        let words = by_rule.map_or(&self.typed, |r| &r.stations);
        let named_kit = told.kit(self.kit.as_deref()).map_err(|e| opened.of_labels(e))?;
        let kit = home.kit(named_kit.or(by_rule.and_then(|r| r.kit.as_deref())))?;
        let typed = intake::asks(words, &kit.value, &self.layout)?;
        let tanks = log.tanks()?;
        let given = self.tank.as_deref().map(|name| log.tank(name)).transpose()?;
        let by_name = rule.and_then(|r| r.tank.as_deref()).map(|name| log.tank(name)).transpose()?;
        let only = if let [one] = &tanks[..] { Some(one.id) } else { None };
        let only = by_name.map(|t| t.id).or(only);
        if told.stands.is_empty() && told.unreadable.is_empty() && !typed.is_empty() && only.is_none() {
            // Without labels a photo is of one tank.
            home.tank(log, self.tank.as_deref())?;
        }
        let named = told.named(&typed, given.as_ref().map(|t| Target::Tank(t.id)), only.map(Target::Tank), &kit.value);
        let named = named.map_err(|e| opened.with_labels(e))?;
        let named = named.with_clear(self.clear.as_deref(), &kit.value, &self.layout)?;
        let card = home.card_for(self.card.as_deref(), &kit.value, &self.layout)?;
        let first = named.waters.iter().find_map(|w| w.target.tank());
        let tank = tanks.iter().find(|t| Some(t.id) == first).or(given.as_ref()).or(tanks.first());
        let tank = tank.cloned().ok_or(IntakeError::NoneYet { what: "tank" })?;
        let by = match (by_rule, tested) {
            (Some(rule), _) if !rule.stations.is_empty() => By::Rule(said::place(rule)),
            (_, true) => By::Labels,
            _ => By::Typed,
        };
        let at = rule.and_then(|r| r.at.as_deref()).map(At::parse).transpose()?;
        let labels = told.shown.into_iter().map(|(station, words, outline)| overlay::Shown { station, words, outline });
        let starts = log.starts()?;
        Ok(Plan { named, tank, tanks, starts, kit, card, labels: labels.collect(), by, at })
    }

    /// What the log says of a photo, with the present revision of the kit it was read with.
    fn logged(&self, opened: &Opened, standing: &[Reading], home: &Home, log: &Log) -> Result<Plan, Trouble> {
        let first = standing.first().ok_or_else(|| IntakeError::NotLogged { path: opened.path.clone() })?;
        let kit = home.kit(self.kit.as_deref().or(first.test.kit.as_deref()))?;
        let named = opened.logged(standing, &kit.value)?;
        let named = named.with_clear(self.clear.as_deref(), &kit.value, &self.layout)?;
        let tanks = log.tanks()?;
        let own = || standing.iter().find_map(|r| r.sample.tank.as_deref());
        let tank = match self.tank.as_deref().or_else(own) {
            Some(name) => log.tank(name)?,
            // Tap water and standards have no zone of their own.
            None => tanks.first().cloned().ok_or(IntakeError::NoneYet { what: "tank" })?,
        };
        let card = home.card_for(self.card.as_deref(), &kit.value, &self.layout)?;
        let starts = log.starts()?;
        Ok(Plan { named, tank, tanks, starts, kit, card, labels: Vec::new(), by: By::Log, at: None })
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
