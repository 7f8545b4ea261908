//! Following folders: what comes in is read once it is complete.

use super::round::{Files, Job};
use crate::faces::cli::trouble::Trouble;
use crate::faces::cli::wire::{PhotoOut, Wrong};
use crate::faces::cli::world::World;
use crate::intake::{self, Fault, IntakeError};
use crate::photo::Limits;
use jiff::Timestamp;
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant, SystemTime};

/// After so many looks at which a file has neither changed nor become whole it is read as it is, which says what is wrong with it.
const PATIENCE: u32 = 5;

/// A file as it looked last.
struct Seen {
    size: u64,
    changed: Option<SystemTime>,
    /// Looks since it changed; none once it was read.
    still: Option<u32>,
}

/// Looks into the folders every so often until the job's stop is set. A file is complete when neither its size nor its time has
/// changed since the last look and the photo in it is whole.
pub(super) fn watch(
    files: Files,
    every: Duration,
    job: &mut Job<'_>,
    world: &mut World,
    all: &mut Vec<PhotoOut>,
) -> Result<(), Trouble> {
    let mut seen: HashMap<PathBuf, Seen> = HashMap::new();
    let mut named: Vec<(PathBuf, bool)> = files.named.iter().map(|p| (p.clone(), false)).collect();
    let (mut shut_told, mut trouble_told) = (false, String::new());
    world.note("Watching; Ctrl-C ends it.");
    while !job.stop.load(Ordering::SeqCst) {
        let found = files.found();
        if !found.shut.is_empty() && !std::mem::replace(&mut shut_told, true) {
            job.shut(found.shut, world, all);
        }
        seen.retain(|path, _| found.photos.contains(path));
        let ready: Vec<PathBuf> = found.photos.into_iter().filter(|path| is_ready(path, &mut seen)).collect();
        let batch: Vec<_> = named.iter().cloned().chain(ready.iter().map(|p| (p.clone(), true))).collect();
        if !batch.is_empty() {
            job.meant.now = Timestamp::now();
            let told = all.len();
            match job.round(batch, world, all) {
                Ok(()) => {
                    ready.iter().filter_map(|p| seen.get_mut(p).map(|s| s.still = None)).for_each(drop);
                    named.clear();
                    job.write(all)?;
                    trouble_told.clear();
                    let read = all[told..].iter().filter(|p| !p.known && p.error.is_none()).count();
                    if read > 0 {
                        world.note(&format!("{read} read."));
                    }
                }
                // A rule is being edited: say it once, and try again.
                Err(Trouble::Intake(e)) if e.fault() != Fault::Storage => {
                    let wrong = Wrong::of(&Trouble::Intake(e));
                    if trouble_told != wrong.sentence {
                        world.report_in(&wrong, true);
                        trouble_told = wrong.sentence;
                    }
                }
                Err(trouble) => return Err(trouble),
            }
        }
        rest(every, job);
    }
    Ok(())
}

/// Waits, but not for longer than Ctrl-C takes to be noticed.
fn rest(every: Duration, job: &Job<'_>) {
    let begun = Instant::now();
    while begun.elapsed() < every && !job.stop.load(Ordering::SeqCst) {
        std::thread::sleep(Duration::from_millis(50).min(every));
    }
}

fn is_ready(path: &Path, seen: &mut HashMap<PathBuf, Seen>) -> bool {
    let Ok(meta) = std::fs::metadata(path) else {
        // Gone again, or a link to nothing: it is looked at when it can be.
        seen.remove(path);
        return false;
    };
    let (size, changed) = (meta.len(), meta.modified().ok());
    let before = seen.get_mut(path).filter(|s| s.size == size && s.changed == changed);
    let Some(before) = before else {
        seen.insert(path.to_path_buf(), Seen { size, changed, still: Some(0) });
        return false;
    };
    let Some(still) = &mut before.still else { return false };
    *still += 1;
    *still >= PATIENCE || whole(path)
}

fn whole(path: &Path) -> bool {
    let look = || -> Result<(), IntakeError> {
        let limits = Limits::default();
        intake::Raw::read(path, &limits)?.id(&limits).map(drop)
    };
    look().is_ok()
}
