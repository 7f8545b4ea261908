//! `plan capacity`.

use super::load::Food;
use super::{Desk, litres};
use crate::advice::plan::{self, CapacityRequest, Loss};
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::PlanCapacity;
use crate::faces::cli::world::World;
use crate::intake::{Home, IntakeError, asked};

/// Says what the filter was shown to oxidise in a day, what of it is left after media were taken out or rinsed, and whether that
/// carries what animals and food make.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The share of the media that is taken out or replaced, such as 50%
    #[arg(long, value_name = "SHARE")]
    removed: Option<String>,
    /// The share of the media that is rinsed in water from the tank
    #[arg(long, value_name = "SHARE")]
    rinsed: Option<String>,
    /// The share of the media that is rinsed in tap water
    #[arg(long, value_name = "SHARE")]
    rinsed_in_tap: Option<String>,
    /// The animals, such as '6 barbs 4 cm' [default: the feedings of the log]
    #[arg(long, value_name = "ANIMALS")]
    animals: Option<String>,
    #[command(flatten)]
    food: Food,
    /// Water in the tank, in litres or with another unit [default: the tank's]
    #[arg(long, value_name = "LITRES")]
    volume: Option<String>,
    /// The tank [default: the only one]
    #[arg(long)]
    tank: Option<String>,
}

pub(super) fn run(args: &Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let share = |typed: &Option<String>| -> Result<Option<f64>, Trouble> {
        Ok(typed.as_deref().map(asked::share).transpose().map_err(IntakeError::from)?)
    };
    let losses = [
        share(&args.removed)?.map(Loss::Removed),
        share(&args.rinsed)?.map(Loss::RinsedInTankWater),
        share(&args.rinsed_in_tap)?.map(Loss::RinsedInTapWater),
    ];
    let losses = losses.into_iter().flatten().collect();
    let asked = args.animals.is_some() || args.food.is_given();
    let load = asked.then(|| args.food.load(args.animals.as_deref())).transpose()?;
    let request = CapacityRequest { litres: litres(args.volume.as_deref())?, losses, load };
    let desk = Desk::at(home, args.tank.as_deref())?;
    let plan = plan::capacity(&desk.book, &request, world.now)?;
    world.show(&PlanCapacity::of(&desk.tank, &plan, world.now))?;
    Ok(Exit::Done)
}
