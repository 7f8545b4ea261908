//! `plan stock`.

use super::load::{Food, groups};
use super::{Desk, litres, typed};
use crate::advice::plan::{self, Load, StockRequest};
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::PlanStocked;
use crate::faces::cli::world::World;
use crate::intake::{Home, asked};

/// Says what the animals to come will make of ammonia, against what the filter was shown to oxidise: by a dose that was gone in a
/// day, or by logged feedings that left nothing.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The animals to come, such as 6 barbs 4 cm; several kinds with a comma between
    #[arg(value_name = "ANIMALS", required_unless_present = "food")]
    animals: Vec<String>,
    #[command(flatten)]
    food: Food,
    /// Animals that go when these come, such as '1 catfish 5 cm'
    #[arg(long, value_name = "ANIMALS")]
    instead_of: Option<String>,
    /// Grams of food a day that the tank gets now [default: as the log says]
    #[arg(long, value_name = "GRAMS")]
    feeding: Option<String>,
    /// Water in the tank, in litres or with another unit [default: the tank's]
    #[arg(long, value_name = "LITRES")]
    volume: Option<String>,
    /// The tank [default: the only one]
    #[arg(long)]
    tank: Option<String>,
}

pub(super) fn run(args: &Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let words = args.animals.join(" ");
    let feeding = typed(args.feeding.as_deref(), asked::grams)?;
    let leaving = args.instead_of.as_deref().map(groups).transpose()?;
    let request = StockRequest {
        litres: litres(args.volume.as_deref())?,
        coming: args.food.load(Some(&words))?,
        leaving: leaving.map(|animals| Load { animals, ..Load::default() }),
        present: feeding.map(|g| Load { food_g: Some(g), ..Load::default() }),
    };
    let desk = Desk::at(home, args.tank.as_deref())?;
    let plan = plan::stock(&desk.book, &request, world.now)?;
    world.show(&PlanStocked::of(&desk.tank, &plan, world.now))?;
    Ok(if plan.batches.is_empty() { Exit::Look } else { Exit::Done })
}
