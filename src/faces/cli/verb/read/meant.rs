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
    /// None with `--again` and nothing said about stations: then the log is asked, photo by photo.
    plan: Option<Plan>,
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
    kit: Kept<Kit>,
    card: CardInUse,
}

impl Plan {
    pub(super) fn bench<'a>(&'a self, layout: &'a Layout) -> Bench<'a> {
        Bench { layout, kit: &self.kit, card: &self.card, tank: &self.tank }
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
        let plan = match args.again && samples.is_empty() {
            true => None,
            false => {
                let tank = home.tank(&log, args.tank.as_deref())?;
                let kit = home.kit(args.kit.as_deref())?;
                let named = Named::typed(Target::Tank(tank.id), &samples, &kit.value, &layout)?;
                let card = home.card_for(args.card.as_deref(), &kit.value, &layout)?;
                Some(Plan { named, tank, kit, card })
            }
        };
        let meant = Self {
            photos,
            layout,
            keep: args.originals.meant(),
            again: args.again,
            overlay: args.overlay,
            now,
            plan,
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

    fn opened(&self, opened: Opened, home: &Home) -> Result<Option<Ready>, Trouble> {
        // Each thread asks through its own connection.
        let log = home.log()?;
        let standing = opened.standing(&log)?;
        if self.kept && !self.concerns(&standing) {
            return Ok(None);
        }
        let plan = match &self.plan {
            Some(plan) => plan.clone(),
            None => self.logged(&opened, &standing, home, &log)?,
        };
        let bench = plan.bench(&self.layout);
        let look = intake::look(opened, plan.named.clone(), standing, &bench, &self.when, self.now)?;
        Ok(Some(Ready { look, plan }))
    }

    fn concerns(&self, standing: &[Reading]) -> bool {
        match (&self.tank, standing.first()) {
            (_, None) => false,
            (None, _) => true,
            (Some(tank), Some(r)) => r.sample.tank.as_ref() == Some(tank),
        }
    }

    /// What the log says of a photo, with the present revision of the kit it was read with.
    fn logged(&self, opened: &Opened, standing: &[Reading], home: &Home, log: &Log) -> Result<Plan, Trouble> {
        let first = standing.first().ok_or_else(|| IntakeError::NotLogged { path: opened.path.clone() })?;
        let kit = home.kit(self.kit.as_deref().or(first.test.kit.as_deref()))?;
        let named = opened.logged(standing, &kit.value)?;
        let tank = home.tank(log, self.tank.as_deref().or(first.sample.tank.as_deref()))?;
        let card = home.card_for(self.card.as_deref(), &kit.value, &self.layout)?;
        Ok(Plan { named, tank, kit, card })
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
