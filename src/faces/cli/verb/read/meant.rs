//! What is meant by what was typed, and a photo made ready by it.

use super::Args;
use crate::card::Layout;
use crate::curve::Kit;
use crate::faces::cli::trouble::Trouble;
use crate::faces::overlay;
use crate::intake::{
    self, At, Bench, CardInUse, ClockOffset, Home, IntakeError, Keep, Kept, Look, Named, Opened, When,
};
use crate::log::{Log, Reading, Tank, Target};
use crate::photo::Limits;
use jiff::Timestamp;
use std::ffi::OsString;
use std::path::{Path, PathBuf};

/// What is meant.
pub(super) struct Meant {
    pub(super) photos: Vec<PathBuf>,
    pub(super) layout: Layout,
    pub(super) keep: Keep,
    pub(super) again: bool,
    pub(super) overlay: Option<PathBuf>,
    pub(super) now: Timestamp,
    /// What stands where, as typed; the rest is on labels.
    typed: Vec<String>,
    /// Whether the log says what photos show: with `--again` and nothing said about stations.
    from_log: bool,
    when: When,
    tank: Option<String>,
    kit: Option<String>,
    card: Option<String>,
    /// Whether the photos are all that are kept: those the log has nothing of are passed over.
    kept: bool,
}

/// What a photo is read with.
#[derive(Clone)]
pub(super) struct Plan {
    named: Named,
    tank: Tank,
    tanks: Vec<Tank>,
    kit: Kept<Kit>,
    card: CardInUse,
    labels: Vec<overlay::Shown>,
}

impl Plan {
    /// Labels in the photo, to be drawn.
    pub(super) fn labels(&self) -> &[overlay::Shown] {
        &self.labels
    }

    pub(super) fn bench<'a>(&'a self, layout: &'a Layout) -> Bench<'a> {
        Bench { layout, kit: &self.kit, card: &self.card, tank: &self.tank, tanks: &self.tanks }
    }
}

/// A photo that was read and is ready to be logged.
pub(super) struct Ready {
    pub(super) look: Look,
    pub(super) plan: Plan,
}

impl Meant {
    /// Everything that can be wrong with what was typed is said here, before any photo is read.
    pub(super) fn of(args: Args, home: &Home, now: Timestamp) -> Result<(Self, Log), Trouble> {
        let at = args.at.as_deref().map(At::parse).transpose()?;
        let clock = args.clock_offset.as_deref().map(ClockOffset::parse).transpose()?;
        let is_sample = |w: &OsString| w.to_str().is_some_and(intake::is_sample);
        let (samples, mut photos): (Vec<_>, Vec<_>) = args.words.into_iter().partition(is_sample);
        let samples: Vec<String> = samples.iter().map(|w| w.to_string_lossy().to_string()).collect();
        let kept = photos.is_empty() && args.again;
        if photos.is_empty() && (!args.again || !samples.is_empty()) {
            let remedy = "Name the photo: tintline read photo.jpg A=ammonia";
            return Err(Trouble::usage("there is no photo to read", remedy));
        }
        if kept {
            photos.extend(home.kept_photos()?.into_iter().map(OsString::from));
        }
        let photos: Vec<PathBuf> = photos.into_iter().map(PathBuf::from).collect();
        if let Some(path) = &args.overlay {
            overlay_fits(path, photos.len())?;
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
                    intake::asks(&samples, &kit.value, &layout)?;
                    home.card_for(args.card.as_deref(), &kit.value, &layout)?;
                }
                // Labels may say which.
                Err(IntakeError::Which { .. }) => {}
                Err(e) => return Err(e.into()),
            }
        }
        let meant = Self {
            photos,
            layout,
            keep: args.originals.meant(),
            again: args.again,
            overlay: args.overlay,
            now,
            typed: samples,
            from_log,
            when: When { at, clock, file_time: args.file_time },
            tank: args.tank.map(|name| log.tank(&name).map(|t| t.name)).transpose()?,
            kit: args.kit,
            card: args.card,
            kept,
        };
        Ok((meant, log))
    }

    /// Opens and reads one photo, writing nothing; with its identity, where that is known. None for a kept photo of which the log
    /// has nothing, or nothing of this tank.
    pub(super) fn prepare(&self, path: &Path, home: &Home) -> (Option<String>, Result<Option<Ready>, Trouble>) {
        match intake::open(path, &Limits::default()) {
            Ok(opened) => (Some(opened.photo.id().to_string()), self.opened(opened, home)),
            Err(e) => (None, Err(e.into())),
        }
    }

    fn opened(&self, mut opened: Opened, home: &Home) -> Result<Option<Ready>, Trouble> {
        // Each thread asks through its own connection.
        let log = home.log()?;
        let standing = opened.standing(&log)?;
        if self.kept && !self.concerns(&standing) {
            return Ok(None);
        }
        let plan = match self.from_log {
            true => self.logged(&opened, &standing, home, &log)?,
            false => self.shown(&mut opened, home, &log)?,
        };
        let bench = plan.bench(&self.layout);
        let look = intake::look(opened, plan.named.clone(), standing, &bench, &self.when, self.now)?;
        Ok(Some(Ready { look, plan }))
    }

    fn concerns(&self, standing: &[Reading]) -> bool {
        match &self.tank {
            None => !standing.is_empty(),
            Some(tank) => standing.iter().any(|r| r.sample.tank.as_ref() == Some(tank)),
        }
    }

    /// What labels in a photo and the words typed say of it.
    fn shown(&self, opened: &mut Opened, home: &Home, log: &Log) -> Result<Plan, Trouble> {
        let told = opened.told(log, &self.layout)?;
        let unseen = told.is_none();
        let told = told.unwrap_or_default();
        if unseen && self.typed.is_empty() {
            return Err(opened.unseen().unwrap_or(IntakeError::NoSamples { known: Vec::new() }).into());
        }
        let named_kit = told.kit(self.kit.as_deref()).map_err(|e| opened.of_labels(e))?;
        let kit = home.kit(named_kit)?;
        let typed = intake::asks(&self.typed, &kit.value, &self.layout)?;
        let tanks = log.tanks()?;
        let given = self.tank.as_deref().map(|name| log.tank(name)).transpose()?;
        let only = if let [one] = &tanks[..] { Some(one.id) } else { None };
        if told.stands.is_empty() && told.unreadable.is_empty() && !typed.is_empty() {
            // Without labels a photo is of one tank.
            home.tank(log, self.tank.as_deref())?;
        }
        let named = told.named(&typed, given.as_ref().map(|t| Target::Tank(t.id)), only.map(Target::Tank), &kit.value);
        let named = named.map_err(|e| opened.with_labels(e))?;
        let card = home.card_for(self.card.as_deref(), &kit.value, &self.layout)?;
        let first = named.waters.iter().find_map(|w| w.target.tank());
        let tank = tanks.iter().find(|t| Some(t.id) == first).or(given.as_ref()).or(tanks.first());
        let tank = tank.cloned().ok_or(IntakeError::NoneYet { what: "tank" })?;
        let labels = told.shown.into_iter().map(|(station, words, outline)| overlay::Shown { station, words, outline });
        Ok(Plan { named, tank, tanks, kit, card, labels: labels.collect() })
    }

    /// What the log says of a photo, with the present revision of the kit it was read with.
    fn logged(&self, opened: &Opened, standing: &[Reading], home: &Home, log: &Log) -> Result<Plan, Trouble> {
        let first = standing.first().ok_or_else(|| IntakeError::NotLogged { path: opened.path.clone() })?;
        let kit = home.kit(self.kit.as_deref().or(first.test.kit.as_deref()))?;
        let named = opened.logged(standing, &kit.value)?;
        let tanks = log.tanks()?;
        let own = || standing.iter().find_map(|r| r.sample.tank.as_deref());
        let tank = match self.tank.as_deref().or_else(own) {
            Some(name) => log.tank(name)?,
            // Tap water and standards have no zone of their own.
            None => tanks.first().cloned().ok_or(IntakeError::NoneYet { what: "tank" })?,
        };
        let card = home.card_for(self.card.as_deref(), &kit.value, &self.layout)?;
        Ok(Plan { named, tank, tanks, kit, card, labels: Vec::new() })
    }
}

fn overlay_fits(path: &Path, photos: usize) -> Result<(), Trouble> {
    if path.is_dir() {
        return Ok(());
    }
    if photos > 1 {
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
