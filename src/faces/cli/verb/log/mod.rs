//! `log`: list, add, undo, history, export, import, merge, table, backup, restore.

mod add;
mod backup;
mod correct;
mod table;

use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{LogHistory, LogImported, LogList, LogMerged, LogUndone};
use crate::faces::cli::world::World;
use crate::intake::{self, At, Home, IntakeError};
use crate::log::{Filter, Log, LogError, Show, Status, Undo};
use crate::photo::Limits;
use crate::store;
use crate::water::Analyte;
use clap::{Subcommand, ValueEnum};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use std::collections::HashMap;
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

/// Lists the readings that stand, oldest first; the verbs below do more.
#[derive(Debug, clap::Args)]
#[command(args_conflicts_with_subcommands = true)]
pub(in crate::faces::cli) struct Args {
    #[command(flatten)]
    list: List,
    /// A summary of the tank to paste for somebody who helps, as 'report --text' writes it
    #[arg(long, conflicts_with_all = ["test", "analyte", "since", "until", "status", "last", "all"])]
    text: bool,
    #[command(subcommand)]
    verb: Option<Verb>,
}

#[derive(Debug, Subcommand)]
enum Verb {
    /// Log readings by hand
    Add(add::Args),
    /// Put your own judgement in the place of a reading; what the photo said stays beside it
    Correct(correct::Args),
    /// Take back an entry; without one, the last
    Undo(UndoArgs),
    /// Show what was written, in the order of writing; of one entry all that concerns it
    History(HistoryArgs),
    /// Write readings as CSV, or the whole log as JSON
    Export(Export),
    /// Take in a JSON export
    Import(Import),
    /// Join another log to this one, each entry once
    Merge(Merge),
    /// Take in a table of readings and events, as CSV from a spreadsheet; without --write it only shows what would be written
    Table(table::Args),
    /// Write everything into one file: log, kits, cards, labels, photos
    Backup(backup::Backup),
    /// Put a backup back: into an empty home, or into one with files only what is missing
    Restore(backup::Restore),
}

#[derive(Debug, Default, clap::Args)]
struct List {
    /// Of this tank
    #[arg(long)]
    tank: Option<String>,
    /// By this test
    #[arg(long)]
    test: Option<String>,
    /// Of this analyte, such as nitrate
    #[arg(long)]
    analyte: Option<String>,
    /// From this day or time on
    #[arg(long, value_name = "TIME")]
    since: Option<String>,
    /// Before this day or time
    #[arg(long, value_name = "TIME")]
    until: Option<String>,
    /// Of this kind
    #[arg(long, value_enum)]
    status: Option<StatusArg>,
    /// Only the last so many
    #[arg(long, value_name = "COUNT")]
    last: Option<u32>,
    /// With those undone and superseded
    #[arg(long)]
    all: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum StatusArg {
    Measured,
    NotDetected,
    Above,
    Below,
    Refused,
}

impl From<StatusArg> for Status {
    fn from(s: StatusArg) -> Self {
        match s {
            StatusArg::Measured => Self::Measured,
            StatusArg::NotDetected => Self::NotDetected,
            StatusArg::Above => Self::Above,
            StatusArg::Below => Self::Below,
            StatusArg::Refused => Self::Refused,
        }
    }
}

#[derive(Debug, clap::Args)]
struct UndoArgs {
    /// The entry, as the list shows it
    entry: Option<String>,
    /// All readings of this photo: the file, or its hash
    #[arg(long, conflicts_with = "entry")]
    photo: Option<String>,
    /// Why
    #[arg(long, value_name = "WORDS", default_value = "no reason given")]
    reason: String,
}

#[derive(Debug, clap::Args)]
struct HistoryArgs {
    /// The entry, as the list shows it
    entry: Option<String>,
    /// The last so many lines
    #[arg(long, value_name = "COUNT", default_value_t = 50)]
    last: u32,
}

#[derive(Debug, clap::Args)]
struct Export {
    /// csv: readings, one a line; json: everything, to be imported again
    #[arg(value_enum)]
    format: Format,
    /// Into this file [default: standard output]
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(flatten)]
    list: List,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    Csv,
    Json,
}

#[derive(Debug, clap::Args)]
struct Import {
    /// A file that 'log export json' wrote
    file: PathBuf,
}

#[derive(Debug, clap::Args)]
struct Merge {
    /// The other log: its file, its home folder, or its JSON export. It is only read
    other: PathBuf,
    /// Count what would be added, and add nothing
    #[arg(long)]
    dry_run: bool,
}

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    match args.verb {
        None if args.text => return super::report::summary(args.list.tank.as_deref(), home, world),
        None => list(&args.list, home, world)?,
        Some(Verb::Add(args)) => add::run(&args, home, world)?,
        Some(Verb::Correct(args)) => correct::run(&args, home, world)?,
        Some(Verb::Undo(args)) => undo(args, home, world)?,
        Some(Verb::History(args)) => history(&args, home, world)?,
        Some(Verb::Export(args)) => export(&args, home, world)?,
        Some(Verb::Import(args)) => import(&args.file, home, world)?,
        Some(Verb::Merge(args)) => merge(&args, home, world)?,
        Some(Verb::Table(args)) => return table::run(&args, home, world),
        Some(Verb::Backup(args)) => backup::backup(&args, home, world)?,
        Some(Verb::Restore(args)) => return backup::restore(&args, home, world),
    }
    Ok(Exit::Done)
}

impl List {
    fn meant(&self, log: &Log, now: Timestamp) -> Result<Filter, Trouble> {
        let tank = self.tank.as_deref().map(|name| log.tank(name)).transpose()?;
        let zone = tank.as_ref().map_or_else(TimeZone::system, |t| intake::zone(&t.zone));
        let time = |typed: &Option<String>| typed.as_deref().map(|t| instant(t, &zone, now)).transpose();
        Ok(Filter {
            tank: tank.map(|t| t.id),
            test: self.test.clone(),
            analyte: self.analyte.as_deref().map(Analyte::parse).transpose().map_err(IntakeError::from)?,
            since: time(&self.since)?,
            until: time(&self.until)?,
            status: self.status.map(Status::from),
            last: self.last,
            show: if self.all { Show::History } else { Show::Current },
            ..Filter::default()
        })
    }
}

/// A day means its beginning.
pub(super) fn instant(typed: &str, zone: &TimeZone, now: Timestamp) -> Result<Timestamp, Trouble> {
    let at = match typed.trim().parse::<jiff::civil::Date>() {
        Ok(day) if typed.trim().len() == 10 => At::Local(day.at(0, 0, 0, 0)),
        _ => At::parse(typed)?,
    };
    Ok(at.moment(zone, now).instant)
}

fn list(args: &List, home: &Home, world: &mut World) -> Result<(), Trouble> {
    let readings = match home.log_if_any()? {
        Some(log) => {
            let kits = home.kit_facts()?;
            log.samples(&args.meant(&log, world.now)?, &|r| kits.window_minutes(r))?
        }
        None => Vec::new(),
    };
    Ok(world.show(&LogList::of(&readings, args.all))?)
}

/// The log, for what cannot be done without one.
fn there(home: &Home) -> Result<Log, Trouble> {
    Ok(home.log_if_any()?.ok_or(IntakeError::Log(LogError::NothingToUndo))?)
}

fn undo(args: UndoArgs, home: &Home, world: &mut World) -> Result<(), Trouble> {
    let mut log = there(home)?;
    let what = match (&args.entry, &args.photo) {
        (Some(typed), _) => Undo::Entry(log.find(typed)?),
        (None, Some(photo)) => Undo::Photo(hash(photo, &log)?),
        (None, None) => Undo::Last,
    };
    let done = log.write(world.now, |w| w.undo(&what, &args.reason))?;
    Ok(world.show(&LogUndone::of(&done))?)
}

/// The hash of a photo of which the log has readings, given by its file, its hash or the beginning of it.
fn hash(photo: &str, log: &Log) -> Result<String, Trouble> {
    let path = Path::new(photo);
    let wanted = match path.exists() {
        true => intake::open(path, &Limits::default())?.photo.id().to_string(),
        false => photo.to_string(),
    };
    let readings = log.readings(&Filter { show: Show::History, ..Filter::default() })?;
    let mut known = readings.into_iter().filter_map(|r| r.photo);
    let found = known.find(|h| wanted.len() >= 8 && h.starts_with(&wanted));
    Ok(found.ok_or_else(|| IntakeError::NotLogged { path: path.into() })?)
}

fn history(args: &HistoryArgs, home: &Home, world: &mut World) -> Result<(), Trouble> {
    let log = home.log_if_any()?;
    let lines = match (&log, &args.entry) {
        (None, None) => Vec::new(),
        (None, Some(typed)) => return Err(LogError::EntryUnknown { id: typed.clone() }.into()),
        (Some(log), None) => log.journal(args.last)?,
        (Some(log), Some(typed)) => log.history(log.find(typed)?)?,
    };
    let mut said = HashMap::new();
    for line in lines.iter().filter(|l| l.kind == "reading") {
        if let Some(log) = &log {
            said.insert(line.id, log.reading(line.id)?);
        }
    }
    Ok(world.show(&LogHistory::of(&lines, &said))?)
}

fn export(args: &Export, home: &Home, world: &mut World) -> Result<(), Trouble> {
    let log = match home.log_if_any()? {
        Some(log) => log,
        None => Log::open_memory()?,
    };
    let filter = args.list.meant(&log, world.now)?;
    if args.format == Format::Json && filter != Filter::default() {
        let remedy = "Leave the filters out, or export CSV.";
        return Err(Trouble::usage("a JSON export is always of the whole log", remedy));
    }
    let kits = home.kit_facts()?;
    let write = |mut out: &mut dyn std::io::Write| match args.format {
        Format::Csv => log.export_csv(&filter, &|r| kits.window_minutes(r), &mut out),
        Format::Json => log.export_json(&mut out),
    };
    match &args.out {
        None => write(world.raw())?,
        Some(path) => {
            let mut bytes = Vec::new();
            write(&mut bytes)?;
            store::write_atomic(path, &bytes)?;
        }
    }
    Ok(())
}

fn import(path: &Path, home: &Home, world: &mut World) -> Result<(), Trouble> {
    let file = |source| Trouble::File { doing: "read", path: path.into(), source };
    let mut input = File::open(path).map_err(file)?;
    let done = home.log()?.import_json(&mut input)?;
    Ok(world.show(&LogImported::of(path.display().to_string(), done))?)
}

fn merge(args: &Merge, home: &Home, world: &mut World) -> Result<(), Trouble> {
    let path = if args.other.is_dir() { Home::at(&args.other).log_path() } else { args.other.clone() };
    let file = |source| Trouble::File { doing: "read", path: path.clone(), source };
    let mut input = File::open(&path).map_err(file)?;
    let temp = |source| Trouble::File { doing: "write", path: std::env::temp_dir(), source };
    let dir = tempfile::Builder::new().prefix("tintline-").tempdir().map_err(temp)?;
    let mut head = [0; 16];
    let database = input.read_exact(&mut head).is_ok() && head.starts_with(b"SQLite format 3");
    let other = if database { Some(Log::open_copy(&path, &dir.path().join("other.db"))?) } else { None };
    let mut log = match (args.dry_run, home.log_if_any()?) {
        (false, _) => home.log()?,
        (true, Some(log)) => {
            // What would come of it is tried on a copy.
            let copy = dir.path().join("log.db");
            log.copy_to(&copy)?;
            Log::open(&copy)?
        }
        (true, None) => Log::open_memory()?,
    };
    let done = match &other {
        Some(other) => log.merge(other)?,
        None => log.import_json(&mut File::open(&path).map_err(file)?)?,
    };
    Ok(world.show(&LogMerged::of(args.other.display().to_string(), done, args.dry_run))?)
}
