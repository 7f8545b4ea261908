//! `plan forecast`.

use super::Desk;
use crate::advice;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::verb::status::SEED;
use crate::faces::cli::wire::PlanForecast;
use crate::faces::cli::world::World;
use crate::intake::Home;

/// Says when the cycle is finished, as a range that holds four times in five, and when nitrate reaches its limit; with what that
/// rests on. No date before ammonia has measurably fallen: then it says what is needed.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The tank [default: the only one]
    tank: Option<String>,
}

pub(super) fn run(args: &Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let desk = Desk::at(home, args.tank.as_deref())?;
    let forecast = advice::forecast(&desk.book, world.now, SEED);
    world.show(&PlanForecast::of(&forecast, &desk.tank))?;
    Ok(Exit::Done)
}
