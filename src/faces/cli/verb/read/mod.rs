//! `read`: photos into the log, one, or a week of them in one go.

mod crew;
mod meant;
mod review;
mod round;
mod table;
mod watch;

use crate::faces::cli::options::Originals;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{PhotoOut, ReadDone, SummaryOut};
use crate::faces::cli::world::World;
use crate::intake::Home;
use meant::Meant;
use round::{Files, Job, Manner};
use std::ffi::OsString;
use std::path::PathBuf;
use std::sync::Once;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// More photos than these are told about in a line each, and only where they need a look.
const TOLD_IN_FULL: usize = 10;

#[derive(Debug, clap::Args)]
#[command(after_help = Originals::HELP, override_usage = "tintline read PHOTO.. [STATION=TEST].. [OPTIONS]")]
pub(in crate::faces::cli) struct Args {
    /// Photos or folders of photos, and what stands where unless labels or rules say it: STATION=TEST, diluted STATION=TEST:1+4
    #[arg(value_name = "PHOTO.. STATION=TEST", required_unless_present = "again")]
    words: Vec<OsString>,
    /// The tank [default: as labels or rules say, or the only one]
    #[arg(long)]
    tank: Option<String>,
    /// The kit [default: as labels or rules say, or the only one]
    #[arg(long)]
    kit: Option<String>,
    /// The enrolled card [default: the one the kit was calibrated with]
    #[arg(long)]
    card: Option<String>,
    /// Station of the clear vial: the tank's own water without reagent, to take its tint off [default: as a label says]
    #[arg(long, value_name = "STATION")]
    clear: Option<String>,
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
    /// Say what would be read and logged, and by whose word, without logging it
    #[arg(long)]
    dry_run: bool,
    /// The photos show the sample of this logged reading, though taken outside one reading window with it
    #[arg(long, value_name = "ENTRY", conflicts_with = "again")]
    sample: Option<String>,
    /// Log also photos of the same water, test and second as another photo in the log
    #[arg(long)]
    twins: bool,
    /// Photos to read at once [default: the number of processor cores]
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u16).range(1..=256))]
    workers: Option<u16>,
    /// Go on: read what comes into the folders, once it is complete, until Ctrl-C
    #[arg(long, conflicts_with_all = ["again", "dry_run"])]
    watch: bool,
    /// Seconds between two looks into the folders
    #[arg(long, value_name = "SECONDS", default_value_t = 2, requires = "watch")]
    #[arg(value_parser = clap::value_parser!(u64).range(1..=3600))]
    every: u64,
    /// Draw what was read into a copy of the photo: a .png or .jpg, or a folder for several
    #[arg(long, value_name = "FILE")]
    overlay: Option<PathBuf>,
    /// Write a page to look through all photos, index.html with their pictures, into this folder
    #[arg(long, value_name = "DIR")]
    review: Option<PathBuf>,
    /// Write all that was read, refused and set aside into this CSV file
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    #[command(flatten)]
    originals: Originals,
}

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let (watching, every) = (args.watch, Duration::from_secs(args.every));
    let (review, csv, dry) = (args.review.clone(), args.csv.clone(), args.dry_run);
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let workers = args.workers.map_or(cores, usize::from);
    let (meant, log) = Meant::of(args, home, world.now)?;
    let files = Files::of(&meant, home);
    if watching && files.folders.is_empty() {
        return Err(Trouble::usage("there is no folder to watch", "Name the folder the photos come into."));
    }
    if let Some(dir) = &review {
        review::ready(dir)?;
    }
    let brief = !dry && (watching || !files.folders.is_empty() || files.named.len() > TOLD_IN_FULL);
    let stop = stopper();
    let mut job = Job::new(meant, log, home, Manner { workers, brief, review, csv }, stop)?;
    let mut all = Vec::new();
    let end = match watching {
        false => job.once(files, world, &mut all),
        true => watch::watch(files, every, &mut job, world, &mut all),
    };
    // What was read until then is told whatever ended it.
    job.write(&all)?;
    end?;
    let stopped = stop.load(Ordering::SeqCst) && !watching;
    let exit = if stopped { Exit::Stopped } else { exit(&all) };
    let (first_kept, late, passed) = (job.first_kept(), job.late(world.now)?, job.passed());
    let summary = SummaryOut::of(&all, late, passed, dry, stopped);
    let done = ReadDone { photos: all, summary, first_kept, brief };
    match &done.photos[..] {
        // Standard error has said all there is to say.
        [one] if one.error.is_some() && !done.brief => world.whole(&done)?,
        _ => world.show(&done)?,
    }
    Ok(exit)
}

/// A flag that Ctrl-C sets: then what was begun is done and told. A second one ends at once, which loses nothing either.
pub(in crate::faces::cli) fn stopper() -> &'static AtomicBool {
    static STOP: AtomicBool = AtomicBool::new(false);
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        // Where no handler can be set, Ctrl-C ends the program where it stands: nothing is lost.
        let _ = ctrlc::set_handler(|| {
            if STOP.swap(true, Ordering::SeqCst) {
                std::process::exit(Exit::Stopped as i32);
            }
        });
    });
    &STOP
}

/// A run whose photos were all set aside has failed; where others were read it needs a look.
fn exit(photos: &[PhotoOut]) -> Exit {
    let aside = photos.iter().filter(|p| p.error.is_some()).count();
    let refused = photos.iter().flat_map(|p| &p.samples).any(|s| s.amount.status == "refused");
    match aside {
        n if n > 0 && n == photos.len() => Exit::Failed,
        n if n > 0 || refused => Exit::Look,
        _ => Exit::Done,
    }
}
