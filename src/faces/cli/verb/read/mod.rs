//! `read`: photos into the log.

mod meant;

use crate::faces::cli::options::Originals;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{PhotoOut, ReadDone, Wrong};
use crate::faces::cli::world::World;
use crate::faces::overlay;
use crate::intake::{self, Fault, Home};
use crate::log::Log;
use meant::{Meant, Ready};
use std::ffi::OsString;
use std::path::{Path, PathBuf};

#[derive(Debug, clap::Args)]
#[command(after_help = Originals::HELP, override_usage = "tintline read PHOTO.. [STATION=TEST].. [OPTIONS]")]
pub(in crate::faces::cli) struct Args {
    /// Photos, and what stands where unless labels say it: STATION=TEST, diluted STATION=TEST:1+4
    #[arg(value_name = "PHOTO.. STATION=TEST", required_unless_present = "again")]
    words: Vec<OsString>,
    /// The tank [default: as labels say, or the only one]
    #[arg(long)]
    tank: Option<String>,
    /// The kit [default: as labels say, or the only one]
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
    #[command(flatten)]
    originals: Originals,
}

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let (meant, mut log) = Meant::of(args, home, world.now)?;
    let none_kept = home.kept_photos()?.is_empty();
    let workers = std::thread::available_parallelism().map_or(1, usize::from);
    let mut photos = Vec::new();
    // In waves, so that no more photos are in memory than are worked on; read at once, logged in the order given.
    for wave in meant.photos.chunks(workers) {
        for (path, (id, ready)) in wave.iter().zip(at_once(wave, |path| meant.prepare(path, home))) {
            let out = match ready.and_then(|r| r.map(|r| finish(&r, &meant, home, &mut log)).transpose()) {
                Ok(Some(out)) => out,
                Ok(None) => continue,
                Err(Trouble::Intake(e))
                    if e.fault() == Fault::Input || e.fault() == Fault::Asked && meant.photos.len() > 1 =>
                {
                    let wrong = Wrong::of(&Trouble::Intake(e));
                    world.report(&wrong);
                    PhotoOut::aside(path.display().to_string(), id, wrong)
                }
                Err(trouble) => return Err(trouble),
            };
            world.part(&out)?;
            photos.push(out);
        }
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

/// Does `work` on every item at the same time; gives the results in the items' order.
fn at_once<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    std::thread::scope(|scope| {
        let threads: Vec<_> = items.iter().map(|item| scope.spawn(|| work(item))).collect();
        let join = |t: std::thread::ScopedJoinHandle<'_, R>| t.join().unwrap_or_else(|e| std::panic::resume_unwind(e));
        threads.into_iter().map(join).collect()
    })
}

/// Keeps the original, logs the readings, draws the overlay.
fn finish(ready: &Ready, meant: &Meant, home: &Home, log: &mut Log) -> Result<PhotoOut, Trouble> {
    let (look, bench) = (&ready.look, ready.plan.bench(&meant.layout));
    let keeping = home.keep_photo(&look.opened, meant.keep)?;
    let noted = intake::enter(log, look, &bench, meant.again, meant.now)?;
    let mut out = PhotoOut::of(look, &bench, &noted, &keeping);
    if let Some(target) = &meant.overlay {
        out.overlay = Some(draw(ready, target)?.display().to_string());
    }
    Ok(out)
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

fn draw(ready: &Ready, target: &Path) -> Result<PathBuf, Trouble> {
    let look = &ready.look;
    let path = match target.is_dir() {
        true => {
            let stem = look.opened.path.file_stem().unwrap_or_default().to_string_lossy().to_string();
            target.join(format!("{stem}.overlay.png"))
        }
        false => target.to_path_buf(),
    };
    let picture = overlay::draw_labelled(&look.opened.photo, &look.reading, ready.plan.labels());
    overlay::write(&picture, &path)?;
    Ok(path)
}
