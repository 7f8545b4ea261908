//! `report`: a tank's log for somebody who helps.

use super::status::book;
use crate::advice;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::Summary;
use crate::faces::cli::world::World;
use crate::intake::Home;

/// Writes a summary to paste: tank, stage, danger, last readings in both bases with their age, tap water, events. It holds no
/// names, paths or places.
#[derive(Debug, clap::Args)]
pub(in crate::faces::cli) struct Args {
    /// The tank [default: the only one]
    tank: Option<String>,
    /// As plain text
    #[arg(long, required = true)]
    text: bool,
}

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    // Text is the only form yet, and asked for by name so that another can become the default.
    let Args { tank, text: _ } = args;
    summary(tank.as_deref(), home, world)
}

/// Shows the summary of a tank.
pub(super) fn summary(tank: Option<&str>, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let log = match home.log_if_any()? {
        Some(log) => log,
        None => crate::log::Log::open_memory()?,
    };
    let tank = home.tank(&log, tank)?;
    let book = book(&log, &tank, &home.kit_facts()?)?;
    let review = advice::review(&book, world.now);
    world.show(&Summary { tank: tank.name, text: advice::summary(&book, &review) })?;
    Ok(Exit::Done)
}
