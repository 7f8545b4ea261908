//! `read`: photos into the log.

use crate::card::Layout;
use crate::curve::Kit;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{PhotoOut, ReadDone, Wrong};
use crate::faces::cli::world::World;
use crate::faces::overlay;
use crate::intake::{
    self, At, Bench, CardInUse, ClockOffset, Fault, Home, IntakeError, Keep, Kept, Look, Named, Opened, When,
};
use crate::log::{Log, Reading, Tank, Target};
use crate::photo::Limits;
use std::ffi::OsString;
use std::path::{Path, PathBuf};

#[derive(Debug, clap::Args)]
#[command(after_help = ORIGINALS)]
pub(in crate::faces::cli) struct Args {
    /// Photos, and what stands where: STATION=TEST, diluted STATION=TEST:1+4
    #[arg(value_name = "PHOTO | STATION=TEST", required_unless_present = "again")]
    words: Vec<OsString>,
    /// The tank [default: the only one]
    #[arg(long)]
    tank: Option<String>,
    /// The kit [default: the only one]
    #[arg(long)]
    kit: Option<String>,
    /// The enrolled card [default: the one the kit was calibrated with]
    #[arg(long)]
    card: Option<String>,
    /// When the photos were taken: now, 18:30, or 2026-03-01 18:30 [default: as the camera says]
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// What to add to the camera's clock, such as 1h or -25m
    #[arg(long, value_name = "TIME", allow_hyphen_values = true, conflicts_with = "at")]
    clock_offset: Option<String>,
    /// Where the camera wrote no time, take the file's own
    #[arg(long, conflicts_with = "at")]
    file_time: bool,
    /// Read photos again that are in the log, with the present kit and card; without a photo, all that are kept
    #[arg(long)]
    again: bool,
    /// Draw what was read into a copy of the photo: a .png or .jpg, or a folder for several
    #[arg(long, value_name = "FILE")]
    overlay: Option<PathBuf>,
    /// Keep no original
    #[arg(long)]
    no_keep: bool,
    /// Megabytes that kept originals may take together
    #[arg(long, value_name = "MB", default_value_t = 10_000)]
    #[arg(env = "TINTLINE_PHOTO_SPACE", hide_env_values = true)]
    photo_space: u64,
}

const ORIGINALS: &str = "Originals are kept in the folder photos at home, so that they can be read again, until they take \
--photo-space; nothing is thrown out. They may hold the place where they were taken. --no-keep keeps none.";

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let mut run = Run::meant(args, home)?;
    let none_kept = home.kept_photos()?.is_empty();
    let mut photos = Vec::new();
    for path in std::mem::take(&mut run.photos) {
        let (id, read) = run.photo(&path, home, world);
        let out = match read {
            Ok(Some(out)) => out,
            Ok(None) => continue,
            Err(Trouble::Intake(e)) if e.fault() != Fault::Storage => {
                let wrong = Wrong::of(&Trouble::Intake(e));
                world.report(&wrong);
                PhotoOut::aside(path.display().to_string(), id, wrong)
            }
            Err(trouble) => return Err(trouble),
        };
        world.part(&out)?;
        photos.push(out);
    }
    let exit = exit(&photos);
    let first_kept = photos.iter().any(|p| p.kept.is_some()) && none_kept;
    let done = ReadDone { photos, first_kept: first_kept.then(|| home.photos().display().to_string()) };
    match &done.photos[..] {
        // Standard error has said all there is to say.
        [one] if one.error.is_some() => world.whole(&done)?,
        _ => world.show(&done)?,
    }
    Ok(exit)
}

/// A run with one photo, set aside, has failed; one of several needs a look.
fn exit(photos: &[PhotoOut]) -> Exit {
    let aside = photos.iter().filter(|p| p.error.is_some()).count();
    let refused = photos.iter().flat_map(|p| &p.samples).any(|s| s.amount.status == "refused");
    match aside {
        n if n > 0 && n == photos.len() => Exit::Failed,
        n if n > 0 || refused => Exit::Look,
        _ => Exit::Done,
    }
}

/// What is meant.
struct Run {
    photos: Vec<PathBuf>,
    /// With `--again` and nothing said about stations this is asked of the log, photo by photo.
    plan: Option<Plan>,
    log: Log,
    layout: Layout,
    when: When,
    keep: Keep,
    again: bool,
    tank: Option<String>,
    kit: Option<String>,
    card: Option<String>,
    overlay: Option<PathBuf>,
    /// Whether the photos are all that are kept: those the log has nothing of are passed over.
    kept: bool,
}

/// What a photo is read with.
struct Plan {
    named: Named,
    tank: Tank,
    kit: Kept<Kit>,
    card: CardInUse,
}

impl Run {
    fn meant(args: Args, home: &Home) -> Result<Self, Trouble> {
        let at = args.at.as_deref().map(At::parse).transpose()?;
        let clock = args.clock_offset.as_deref().map(ClockOffset::parse).transpose()?;
        let is_sample = |w: &OsString| w.to_str().is_some_and(intake::is_sample);
        let (samples, mut photos): (Vec<_>, Vec<_>) = args.words.into_iter().partition(is_sample);
        let samples: Vec<String> = samples.iter().map(|w| w.to_string_lossy().to_string()).collect();
        let kept = photos.is_empty() && args.again;
        if photos.is_empty() && (!args.again || !samples.is_empty()) {
            return Err(Trouble::usage(
                "there is no photo to read",
                "Name the photo: tintline read photo.jpg A=ammonia",
            ));
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
        // A name that is wrong for every photo is said once, before any is read.
        let tank = args.tank.map(|name| log.tank(&name).map(|t| t.name)).transpose()?;
        let keep =
            if args.no_keep { Keep::No } else { Keep::UpTo { bytes: args.photo_space.saturating_mul(1_000_000) } };
        Ok(Self {
            photos,
            plan,
            log,
            layout,
            when: When { at, clock, file_time: args.file_time },
            keep,
            again: args.again,
            tank,
            kit: args.kit,
            card: args.card,
            overlay: args.overlay,
            kept,
        })
    }

    /// One photo: read, kept, logged, drawn; with its identity, where that is known. None for a kept photo of which the log
    /// has nothing, or nothing of this tank.
    fn photo(
        &mut self,
        path: &Path,
        home: &Home,
        world: &World,
    ) -> (Option<String>, Result<Option<PhotoOut>, Trouble>) {
        match intake::open(path, &Limits::default()) {
            Ok(opened) => (Some(opened.photo.id().to_string()), self.opened(opened, home, world)),
            Err(e) => (None, Err(e.into())),
        }
    }

    fn opened(&mut self, opened: Opened, home: &Home, world: &World) -> Result<Option<PhotoOut>, Trouble> {
        let standing = opened.standing(&self.log)?;
        if self.kept && !self.concerns(&standing) {
            return Ok(None);
        }
        let own;
        let plan = match &self.plan {
            Some(plan) => plan,
            None => {
                own = self.logged(&opened, &standing, home)?;
                &own
            }
        };
        let bench = Bench { layout: &self.layout, kit: &plan.kit, card: &plan.card, tank: &plan.tank };
        let look = intake::look(opened, plan.named.clone(), standing, &bench, &self.when, world.now)?;
        let keeping = home.keep_photo(&look.opened, self.keep)?;
        let noted = intake::enter(&mut self.log, &look, &bench, self.again, world.now)?;
        let mut out = PhotoOut::of(&look, &bench, &noted, &keeping);
        if let Some(target) = &self.overlay {
            out.overlay = Some(draw(&look, target)?.display().to_string());
        }
        Ok(Some(out))
    }

    fn concerns(&self, standing: &[Reading]) -> bool {
        match (&self.tank, standing.first()) {
            (_, None) => false,
            (None, _) => true,
            (Some(tank), Some(r)) => r.sample.tank.as_ref() == Some(tank),
        }
    }

    /// What the log says of a photo, with the present revision of the kit it was read with.
    fn logged(&self, opened: &Opened, standing: &[Reading], home: &Home) -> Result<Plan, Trouble> {
        let first = standing.first().ok_or_else(|| IntakeError::NotLogged { path: opened.path.clone() })?;
        let kit = home.kit(self.kit.as_deref().or(first.test.kit.as_deref()))?;
        let named = opened.logged(standing, &kit.value)?;
        let tank = home.tank(&self.log, self.tank.as_deref().or(first.sample.tank.as_deref()))?;
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

fn draw(look: &Look, target: &Path) -> Result<PathBuf, Trouble> {
    let path = match target.is_dir() {
        true => {
            let stem = look.opened.path.file_stem().unwrap_or_default().to_string_lossy().to_string();
            target.join(format!("{stem}.overlay.png"))
        }
        false => target.to_path_buf(),
    };
    overlay::write(&overlay::draw(&look.opened.photo, &look.reading), &path)?;
    Ok(path)
}
