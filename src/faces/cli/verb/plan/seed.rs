//! `plan seed`.

use super::load::Food;
use super::{Desk, litres};
use crate::advice::plan::{self, SeedRequest};
use crate::faces::books::book;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::PlanSeeded;
use crate::faces::cli::world::World;
use crate::intake::{Home, IntakeError, asked};

/// Says which share of a tank's need media from another tank's filter cover, by what that filter was shown to oxidise, and what
/// stays behind.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The share of the giving tank's media that moves, such as 50%
    share: String,
    /// The tank they come from
    #[arg(long, value_name = "TANK")]
    from: String,
    /// The tank they go into
    #[arg(long, value_name = "TANK")]
    to: String,
    /// The animals of the tank they go into, such as '6 barbs 4 cm' [default: the feedings of the log]
    #[arg(long, value_name = "ANIMALS")]
    animals: Option<String>,
    #[command(flatten)]
    food: Food,
    /// Water in the giving tank, in litres or with another unit [default: the tank's]
    #[arg(long, value_name = "LITRES")]
    volume: Option<String>,
}

pub(super) fn run(args: &Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let share = asked::share(&args.share).map_err(IntakeError::from)?;
    let asked = args.animals.is_some() || args.food.is_given();
    let load = asked.then(|| args.food.load(args.animals.as_deref())).transpose()?;
    let request = SeedRequest { share, from_litres: litres(args.volume.as_deref())?, load };
    let to = Desk::at(home, Some(&args.to))?;
    let from = to.log.tank(&args.from)?;
    if from.id == to.tank.id {
        let remedy = "Name the tank that gives with --from and the one that takes with --to.";
        return Err(Trouble::usage("the media stay where they are", remedy));
    }
    let giver = book(&to.log, &from, &home.kit_facts()?)?;
    let plan = plan::seed(&giver, &to.book, &request, world.now)?;
    world.show(&PlanSeeded::of(&to.tank, &from, &plan, world.now))?;
    Ok(Exit::Done)
}
