//! `plan dose`.

use super::{Desk, given, litres, typed};
use crate::advice::plan::{self, DoseRequest, Percent, Product};
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::PlanDosed;
use crate::faces::cli::world::World;
use crate::intake::{Home, IntakeError, asked};
use crate::log::happening::Strength;

/// Says how many mL or grams bring the water to so much ammonia, with all that went in. What the tank has now comes from the log.
/// Refused where animals are in the tank, or may be.
#[derive(Debug, clap::Args)]
#[command(group = clap::ArgGroup::new("product").required(true))]
pub(super) struct Args {
    /// What the water shall have, with its basis, such as '2 mg/L NH3-N'
    #[arg(value_name = "AMMONIA")]
    target: String,
    /// Ammonia solution of this strength, such as '9.5% by weight' or '25% w/v'
    #[arg(long, value_name = "STRENGTH", group = "product")]
    solution: Option<String>,
    /// The solution's density in g/mL, where the label says it
    #[arg(long, value_name = "DENSITY", requires = "solution")]
    density: Option<String>,
    /// Dry ammonium chloride
    #[arg(long, group = "product")]
    chloride: bool,
    /// Ammonium chloride dissolved before: so many grams in a litre
    #[arg(long, value_name = "GRAMS", group = "product")]
    stock: Option<String>,
    /// What the tank has now, such as 'ammonia=<0.1 mg/L NH3-N'; repeat it [default: as the log says]
    #[arg(long, value_name = "WHAT=VALUE")]
    now: Vec<String>,
    /// Water in the tank, in litres or with another unit [default: the tank's]
    #[arg(long, value_name = "LITRES")]
    volume: Option<String>,
    /// The tank [default: the only one]
    #[arg(long)]
    tank: Option<String>,
}

pub(super) fn run(args: &Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let product = match (&args.solution, &args.stock) {
        (Some(words), _) => {
            let (percent, of) = asked::strength(words).map_err(IntakeError::from)?;
            let of = match of {
                Some(Strength::ByWeight) => Percent::ByWeight,
                Some(Strength::ByVolume) => Percent::ByVolume,
                None => Percent::NotSaid,
            };
            Product::Solution { percent, of, density: typed(args.density.as_deref(), asked::plain_number)? }
        }
        (None, Some(grams)) => Product::Stock { g_l: asked::grams(grams).map_err(IntakeError::from)? },
        (None, None) => Product::Chloride,
    };
    let target = asked::ammonia(&args.target).map_err(IntakeError::from)?;
    let request =
        DoseRequest { target, product, litres: litres(args.volume.as_deref())?, now: given(&args.now, home)? };
    let desk = Desk::at(home, args.tank.as_deref())?;
    let plan = plan::dose(&desk.book, &request, world.now)?;
    world.show(&PlanDosed::of(&desk.tank, &plan, world.now))?;
    Ok(Exit::Done)
}
