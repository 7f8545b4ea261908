//! `event`: what happened to a tank besides tests.

use super::log::instant;
use crate::advice;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{EventAdded, EventList};
use crate::faces::cli::world::World;
use crate::intake::{self, At, Beside, Chart, Entered, Home, IntakeError};
use crate::log::LogError;
use clap::Subcommand;
use jiff::tz::TimeZone;

#[derive(Debug, clap::Args)]
pub(in crate::faces::cli) struct Args {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Debug, Subcommand)]
enum Verb {
    /// Log what happened, in plain words: event add water-change 30%
    Add(Add),
    /// List what happened
    List(List),
}

#[derive(Debug, clap::Args)]
#[command(after_help = KINDS)]
struct Add {
    /// What happened, such as fish-added, feeding, water-change, media-rinsed
    kind: String,
    /// How much of what, such as '3 neon tetras 2 cm', 30%, '4 mL 9.5% by weight'
    #[arg(value_name = "WORDS")]
    words: Vec<String>,
    /// The tank [default: the only one]
    #[arg(long)]
    tank: Option<String>,
    /// The tank that moved media went into
    #[arg(long, value_name = "TANK")]
    to: Option<String>,
    /// What the new water of a change has, such as 'nitrate=10 mg/L NO3-'; repeat it
    #[arg(long, value_name = "WHAT=VALUE")]
    new_water: Vec<String>,
    /// When: now, 18:30, or 2026-03-01 18:30; of what lasts, its beginning
    #[arg(long, value_name = "TIME", default_value = "now")]
    at: String,
    /// Anything worth knowing
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
    /// The event that this one corrects: it is undone, and this stands in its place
    #[arg(long, value_name = "ENTRY")]
    instead: Option<String>,
    /// It happened again: log it although the log has the same within the hour
    #[arg(long)]
    again: bool,
}

#[derive(Debug, clap::Args)]
struct List {
    /// Of this tank
    #[arg(long)]
    tank: Option<String>,
    /// Of this kind
    #[arg(long)]
    kind: Option<String>,
    /// From this day or time on
    #[arg(long, value_name = "TIME")]
    since: Option<String>,
    /// Before this day or time
    #[arg(long, value_name = "TIME")]
    until: Option<String>,
    /// Only the last so many
    #[arg(long, value_name = "COUNT")]
    last: Option<usize>,
}

const KINDS: &str = "Kinds: fish-added, fish-removed, fish-died, fish-counted; feeding; media-added, media-removed, \
media-rinsed, media-moved (--tank FROM --to INTO); decor-removed; water-change, top-up; ammonia-dosed; conditioner, buffer, \
salt, medicine; power-cut, filter-off, heater-fault; plants; symptom, symptom-over; declared-established; note. To take one \
back: tintline log undo ENTRY";

const NOT_LOGGED: &str = "\nThis is not logged yet, and need not be for any of the above. When there is time, say which tank it is, and \
log it again with --tank; a tank that is not there yet is added with 'tintline tank add NAME --water fresh'.";

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    match args.verb {
        Verb::Add(args) => add(args, home, world)?,
        Verb::List(args) => list(&args, home, world)?,
    }
    Ok(Exit::Done)
}

fn add(args: Add, home: &Home, world: &mut World) -> Result<(), Trouble> {
    let kind = intake::kind(&args.kind).map_err(IntakeError::from)?;
    let found = home.log_if_any()?.ok_or(IntakeError::NoneYet { what: "tank" });
    let found = found.and_then(|log| Ok((home.tank(&log, args.tank.as_deref())?, log)));
    if found.is_err() && intake::is_trouble(kind) && !world.json() {
        advice::first_help().iter().try_for_each(|s| world.say(&s.words))?;
        world.say(NOT_LOGGED)?;
    }
    let (tank, mut log) = found?;
    let to = args.to.as_deref().map(|name| log.tank(name)).transpose()?;
    let tests = if args.new_water.is_empty() { Vec::new() } else { home.tests(None)? };
    let new_water = intake::new_water(&args.new_water, &tests, &Chart::default()).map_err(IntakeError::from)?;
    let beside = Beside { to: to.map(|t| t.id), new_water };
    let (what, words) = intake::happening(&args.kind, &args.words.join(" "), beside).map_err(IntakeError::from)?;
    let note = [words, args.note].into_iter().flatten().collect::<Vec<_>>().join("; ");
    let note = Some(note).filter(|n| !n.is_empty());
    let instead = args.instead.as_deref().map(|typed| log.find(typed)).transpose()?;
    let when = Entered { at: Some(At::parse(&args.at)?), again: args.again, instead };
    let written = intake::add_event(&mut log, &tank, &what, note, when, world.now)?;
    let events = log.events(Some(tank.id))?;
    let event = events.into_iter().find(|e| e.id == written.id);
    let event = event.ok_or_else(|| LogError::EntryUnknown { id: written.id.to_string() })?;
    Ok(world.show(&EventAdded::of(&event, &log.tanks()?, written.finding.as_ref()))?)
}

fn list(args: &List, home: &Home, world: &mut World) -> Result<(), Trouble> {
    // A kind of a later version can be asked for by its own name.
    let kind = args.kind.as_deref().map(|k| intake::kind(k).map_or_else(|_| k.trim().to_string(), str::to_string));
    let (events, tanks) = match home.log_if_any()? {
        None => (Vec::new(), Vec::new()),
        Some(log) => {
            let tank = args.tank.as_deref().map(|name| log.tank(name)).transpose()?;
            let zone = tank.as_ref().map_or_else(TimeZone::system, |t| intake::zone(&t.zone));
            let time = |typed: &Option<String>| typed.as_deref().map(|t| instant(t, &zone, world.now)).transpose();
            let (since, until) = (time(&args.since)?, time(&args.until)?);
            let mut events = log.events(tank.map(|t| t.id))?;
            events.retain(|e| {
                let of_kind = kind.as_ref().is_none_or(|k| e.kind == *k);
                of_kind && since.is_none_or(|s| e.at.instant >= s) && until.is_none_or(|u| e.at.instant < u)
            });
            let first = args.last.map_or(0, |n| events.len().saturating_sub(n));
            (events.split_off(first), log.tanks()?)
        }
    };
    Ok(world.show(&EventList::of(&events, &tanks))?)
}
