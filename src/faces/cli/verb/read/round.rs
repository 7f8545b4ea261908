//! A round of reading: some files, read at once and entered one by one in the order of their times.

use super::crew::Crew;
use super::meant::{Meant, Prepared};
use super::{review, table};
use crate::advice;
use crate::faces::books::book;
use crate::faces::cli::trouble::Trouble;
use crate::faces::cli::wire::{LateOut, MovedOut, PhotoOut, Wrong, other_name};
use crate::faces::cli::world::World;
use crate::faces::overlay;
use crate::intake::{self, By, Candidate, Fault, Home, IntakeError, Ledger, Originals, Places, Ready, Sayings};
use crate::log::Log;
use crate::photo::{self, Limits};
use indicatif::{ProgressBar, ProgressStyle};
use jiff::Timestamp;
use std::collections::HashSet;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{PoisonError, RwLock};

/// How often folders are looked into again for what came meanwhile.
const LOOKS: usize = 3;

/// What is to be read.
pub(super) struct Files {
    /// Files named themselves.
    pub(super) named: Vec<PathBuf>,
    /// Folders, looked into when it is their turn.
    pub(super) folders: Vec<PathBuf>,
    home: PathBuf,
}

impl Files {
    pub(super) fn of(meant: &Meant, home: &Home) -> Self {
        let (folders, named) = meant.places.iter().cloned().partition(|p| p.is_dir());
        Self { named, folders, home: home.root().to_path_buf() }
    }

    /// What lies in the folders now.
    pub(super) fn found(&self) -> intake::Found {
        let mut all = intake::Found::default();
        let mut seen = HashSet::new();
        for folder in &self.folders {
            let found = intake::photos_in(folder, &self.home);
            all.photos.extend(found.photos.into_iter().filter(|p| seen.insert(p.clone())));
            all.others += found.others;
            all.shut.extend(found.shut);
        }
        all
    }
}

/// A run of `read`, over all its rounds.
pub(super) struct Job<'a> {
    pub(super) meant: Meant,
    pub(super) stop: &'a AtomicBool,
    log: Log,
    home: &'a Home,
    workers: usize,
    brief: bool,
    review: Option<PathBuf>,
    csv: Option<PathBuf>,
    ledger: RwLock<Ledger>,
    places: Places,
    originals: Originals<'a>,
    none_kept: bool,
    any_kept: bool,
    passed: usize,
    /// Names of overlays written in this run.
    drawn: HashSet<PathBuf>,
}

/// How a run goes about its work.
pub(super) struct Manner {
    pub(super) workers: usize,
    /// A line a photo, and only where it needs a look.
    pub(super) brief: bool,
    /// Where the page and the table go.
    pub(super) review: Option<PathBuf>,
    pub(super) csv: Option<PathBuf>,
}

impl<'a> Job<'a> {
    pub(super) fn new(
        meant: Meant,
        log: Log,
        home: &'a Home,
        Manner { workers, brief, review, csv }: Manner,
        stop: &'a AtomicBool,
    ) -> Result<Self, Trouble> {
        let originals = Originals::of(home, meant.keep)?;
        Ok(Self {
            ledger: RwLock::new(Ledger::of(&log)?),
            places: home.places(Some(&log))?,
            none_kept: originals.is_empty(),
            any_kept: false,
            passed: 0,
            drawn: HashSet::new(),
            meant,
            stop,
            log,
            home,
            workers,
            brief,
            review,
            csv,
            originals,
        })
    }

    /// Reads all there is, and what comes into the folders while that is read.
    pub(super) fn once(&mut self, files: Files, world: &mut World, all: &mut Vec<PhotoOut>) -> Result<(), Trouble> {
        let mut seen = HashSet::new();
        for look in 0..LOOKS {
            let found = files.found();
            if look == 0 {
                self.shut(found.shut, world, all);
            }
            self.passed = found.others;
            let named = files.named.iter().filter(|_| look == 0).map(|p| (p.clone(), false));
            let fresh: Vec<(PathBuf, bool)> = named.chain(found.photos.into_iter().map(|p| (p, true))).collect();
            let fresh: Vec<_> = fresh.into_iter().filter(|(p, found)| !*found || seen.insert(p.clone())).collect();
            if look > 0 && fresh.is_empty() || self.stop.load(Ordering::SeqCst) {
                break;
            }
            self.round(fresh, world, all)?;
            if files.folders.is_empty() {
                break;
            }
        }
        Ok(())
    }

    /// Tells of folders that cannot be looked into.
    pub(super) fn shut(&self, shut: Vec<IntakeError>, world: &mut World, all: &mut Vec<PhotoOut>) {
        for e in shut {
            let file = match &e {
                IntakeError::Photo { path, .. } => path.display().to_string(),
                _ => String::new(),
            };
            let wrong = Wrong::of(&Trouble::Intake(e));
            world.report_in(&wrong, self.brief);
            all.push(PhotoOut::aside(file, None, wrong));
        }
    }

    /// Reads files, each said to have been found in a folder or not, and adds what came of them.
    pub(super) fn round(
        &mut self,
        files: Vec<(PathBuf, bool)>,
        world: &mut World,
        all: &mut Vec<PhotoOut>,
    ) -> Result<(), Trouble> {
        let several = files.len() > 1 || files.iter().any(|(_, found)| *found);
        let zone = self.meant.zone(&self.log)?;
        let files = match self.meant.kept() {
            // Kept originals are read again whatever their order.
            true => {
                let plain = |(path, found)| Candidate { path, found, peek: photo::Peek::default() };
                files.into_iter().map(plain).collect()
            }
            false => intake::by_time(files, &zone, &Limits::default()),
        };
        let said = Sayings::read(&files, self.home, &self.log, &self.meant.layout)?;
        let bar = bar(files.len());
        let crew = Crew { workers: self.workers, heavy: self.workers.div_ceil(2), stop: self.stop };
        let path = self.meant.log.clone();
        let Self { meant, log, home, ledger, places, originals, review, drawn, brief, any_kept, .. } = self;
        let (meant, home, ledger, review) = (&*meant, *home, &*ledger, review.as_deref());
        let prepare = |own: &mut Result<Log, Trouble>, file: &Candidate| {
            let (id, done) = match own {
                Ok(log) => meant.prepare(file, home, log, &said, ledger),
                Err(_) => (None, Log::open(&path).map_err(Trouble::from).map(|_| Prepared::Passed)),
            };
            // Drawn here, where the pixels are and other photos are read meanwhile.
            let picture = match (&done, review) {
                (Ok(Prepared::Ready(ready)), Some(dir)) => Some(review::picture(ready, dir)),
                _ => None,
            };
            (id, done, picture.transpose())
        };
        let take = |file: &Candidate, (id, done, picture): Outcome| {
            bar.inc(1);
            let mut finish = Finish { meant, log, ledger, places, originals, drawn };
            let name = file.path.display().to_string();
            let out = match done.and_then(|p| finish.any(p, &name, id.as_deref(), several)) {
                Ok(Some(mut out)) => {
                    out.picture = picture?;
                    out
                }
                Ok(None) => return Ok(()),
                Err(Trouble::Intake(e)) if e.fault() == Fault::Input || e.fault() == Fault::Asked && several => {
                    let wrong = Wrong::of(&Trouble::Intake(about(e, &file.path, several)));
                    bar.suspend(|| world.report_in(&wrong, *brief));
                    PhotoOut::aside(name, id, wrong)
                }
                Err(trouble) => return Err(trouble),
            };
            *any_kept |= out.kept.is_some();
            bar.suspend(|| if *brief { world.part(&out.brief()) } else { world.part(&out) })?;
            all.push(out);
            Ok(())
        };
        let tools = || Log::open(&path).map_err(Trouble::from);
        let end = crew.run(&files, |f| f.peek.heavy, tools, prepare, take);
        bar.finish_and_clear();
        end
    }

    /// Writes the page and the table, as far as they were asked for.
    pub(super) fn write(&self, all: &[PhotoOut]) -> Result<(), Trouble> {
        if let Some(dir) = &self.review {
            review::page(dir, all)?;
        }
        match &self.csv {
            Some(path) => table::write(path, all),
            None => Ok(()),
        }
    }

    /// Where originals lie, if the first ones were kept now.
    pub(super) fn first_kept(&self) -> Option<String> {
        (self.none_kept && self.any_kept).then(|| self.home.photos().display().to_string())
    }

    /// What came late, and what that changed in what is said of the tanks at `now`.
    pub(super) fn late(&self, now: Timestamp) -> Result<(Vec<LateOut>, Vec<MovedOut>), Trouble> {
        let late = self.ledger.read().unwrap_or_else(PoisonError::into_inner).late();
        let told = late.iter().map(|l| Ok(LateOut::of(l, &self.log.reading(l.newest)?)));
        let told = told.collect::<Result<_, Trouble>>()?;
        let mut moved = Vec::new();
        if !late.is_empty() {
            let kits = self.home.kit_facts()?;
            for tank in self.log.tanks()? {
                let own = late.iter().filter(|l| l.target.tank() == Some(tank.id));
                let entries: Vec<String> = own.flat_map(|l| &l.readings).map(|id| id.short()).collect();
                if !entries.is_empty() {
                    let changed = advice::moved_by(&book(&self.log, &tank, &kits)?, &entries, now);
                    moved.push(MovedOut { tank: tank.name, changed });
                }
            }
        }
        Ok((told, moved))
    }

    /// How many files in the folders are no photos.
    pub(super) fn passed(&self) -> usize {
        self.passed
    }
}

/// What a thread made of a file: its identity, what it shows, the name of its picture.
type Outcome = (Option<String>, Result<Prepared, Trouble>, Result<Option<String>, Trouble>);

/// What is needed to log a photo.
struct Finish<'r, 'h> {
    meant: &'r Meant,
    log: &'r mut Log,
    ledger: &'r RwLock<Ledger>,
    places: &'r mut Places,
    originals: &'r mut Originals<'h>,
    drawn: &'r mut HashSet<PathBuf>,
}

impl Finish<'_, '_> {
    fn any(
        &mut self,
        done: Prepared,
        file: &str,
        id: Option<&str>,
        several: bool,
    ) -> Result<Option<PhotoOut>, Trouble> {
        match done {
            Prepared::Passed => Ok(None),
            Prepared::Known(known) => Ok(Some(PhotoOut::known(file.to_string(), id.map(str::to_string), &known))),
            Prepared::Ready(mut ready) => self.ready(&mut ready, several).map(Some),
        }
    }

    /// Says where it was taken, logs the readings and draws the overlay.
    fn ready(&mut self, ready: &mut Ready, several: bool) -> Result<PhotoOut, Trouble> {
        let layout = &self.meant.layout;
        let mut ledger = self.ledger.write().unwrap_or_else(PoisonError::into_inner);
        if let Some(twin) = ready.twin(&ledger, layout).filter(|_| several && !self.meant.twins) {
            return Err(twin.into());
        }
        let others = self.place(ready)?;
        let (look, bench) = (&ready.look, ready.showing.bench(layout));
        let (noted, keeping) = ready.log(self.log, self.originals, layout, self.meant.again, self.meant.now)?;
        ledger.note(look, &bench, &noted);
        drop(ledger);
        let mut out = PhotoOut::of(look, &bench, &noted, &keeping);
        others.into_iter().for_each(|words| out.add_aside(words));
        (out.named_by, out.rule) = match &ready.showing.by {
            By::Labels => (Some("labels"), None),
            By::Typed => (Some("typed"), None),
            By::Log => (Some("log"), None),
            By::Rule(place) => (Some("rule"), Some(place.clone())),
        };
        if let Some(target) = &self.meant.overlay {
            out.overlay = Some(self.draw(ready, target)?.display().to_string());
        }
        Ok(out)
    }

    /// Says where the photo was taken, after its light was given the name the keeper said; with what is to be said where it has another.
    fn place(&mut self, ready: &mut Ready) -> Result<Vec<String>, Trouble> {
        let mut others = Vec::new();
        if let Some((name, light)) = self.meant.place.as_ref().zip(ready.look.light()) {
            let (zone, lights) = (intake::zone(&ready.showing.tank.zone), &[light.to_vec()]);
            let found = intake::name_light(self.log, self.places, name, lights, &zone, self.meant.now)?;
            others.extend(found.iter().map(|other| other_name(other, name)));
        }
        ready.placed(self.places);
        Ok(others)
    }

    fn draw(&mut self, ready: &Ready, target: &Path) -> Result<PathBuf, Trouble> {
        let look = &ready.look;
        let path = match target.is_dir() {
            true => {
                let stem = look.opened.path.file_stem().unwrap_or_default().to_string_lossy().to_string();
                let plain = target.join(format!("{stem}.overlay.png"));
                match self.drawn.insert(plain.clone()) {
                    true => plain,
                    // Photos of the same name from several folders.
                    false => target.join(format!("{stem}-{}.overlay.png", &look.opened.photo.id()[..12])),
                }
            }
            false => target.to_path_buf(),
        };
        let picture = overlay::draw_ready(ready);
        overlay::write(&picture, &path)?;
        Ok(path)
    }
}

/// Of many photos, which one nobody says anything about.
fn about(e: IntakeError, path: &Path, several: bool) -> IntakeError {
    match e {
        IntakeError::NoSamples { .. } if several => IntakeError::Unsaid { path: path.into() },
        other => other,
    }
}

/// A bar on standard error with rate and time left; nothing where that is no terminal, or for one photo.
fn bar(files: usize) -> ProgressBar {
    if files < 2 {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(files as u64);
    if let Ok(style) = ProgressStyle::with_template("{bar:30} {pos} of {len} photos, {per_sec}, {eta} left") {
        bar.set_style(style);
    }
    bar
}
