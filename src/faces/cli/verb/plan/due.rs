//! `plan due`.

use crate::advice::{self, Due};
use crate::faces::books::book;
use crate::faces::calendar::{Entry, calendar};
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{DueList, DueOut};
use crate::faces::cli::world::World;
use crate::faces::dues;
use crate::intake::{self, Home, IntakeError};
use crate::log::Tank;
use crate::store::write_atomic;
use jiff::tz::TimeZone;
use std::path::PathBuf;

/// Lists which tests are due, for each tank and for the kits, soonest first: from danger, stage and what happened lately. With
/// --ics also as a calendar file; a later file moves the entries of an earlier one.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The tank [default: all of them, and the kits]
    tank: Option<String>,
    /// Write a calendar file (iCalendar), such as due.ics; - for standard output
    #[arg(long, value_name = "FILE")]
    ics: Option<PathBuf>,
}

pub(super) fn run(args: &Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let log = home.log_if_any()?.ok_or(IntakeError::NoneYet { what: "tank" })?;
    let tanks = match &args.tank {
        Some(name) => vec![log.tank(name)?],
        None => log.tanks()?,
    };
    let kits = home.kit_facts()?;
    let mut all: Vec<(Option<&Tank>, Due)> = Vec::new();
    for tank in &tanks {
        let book = book(&log, tank, &kits)?;
        let due = advice::due(&book, &advice::review(&book, world.now));
        all.extend(due.into_iter().map(|d| (Some(tank), d)));
    }
    if args.tank.is_none() {
        let zone = tanks.first().map_or_else(TimeZone::system, |t| intake::zone(&t.zone));
        all.extend(dues::controls(home, &log, &zone, world.now)?.into_iter().map(|due| (None, due)));
    }
    all.sort_by_key(|d| d.1.at);
    let to_output = args.ics.as_ref().is_some_and(|f| f.as_os_str() == "-");
    if let Some(file) = &args.ics {
        // An id of this log makes the kits' entries its own.
        let own = tanks.first().map(|t| t.id.to_string()).unwrap_or_default();
        let entries: Vec<Entry> = all.iter().map(|(tank, due)| entry(*tank, due, &own)).collect();
        let text = calendar(&entries, world.now);
        if to_output {
            world.raw().write_all(text.as_bytes())?;
        } else {
            write_atomic(file, text.as_bytes())?;
        }
    }
    if !to_output {
        let zone = |tank: Option<&Tank>| tank.map_or_else(TimeZone::system, |t| intake::zone(&t.zone));
        let items = all.iter().map(|(tank, due)| {
            DueOut::of(tank.map(|t| t.name.as_str()), due, &zone(tank.or(tanks.first())), world.now)
        });
        let file = args.ics.as_ref().map(|f| f.display().to_string());
        world.show(&DueList { due: items.collect(), file })?;
    }
    Ok(Exit::Done)
}

fn entry(tank: Option<&Tank>, due: &Due, own: &str) -> Entry {
    let key: String = due.key.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
    let (id, summary) = match tank {
        Some(tank) => (tank.id.to_string(), format!("{}: {}", tank.name, due.what)),
        None => (own.to_string(), due.what.clone()),
    };
    Entry { uid: format!("{id}-{key}@tintline"), at: due.at, summary, description: due.why.words.clone() }
}
