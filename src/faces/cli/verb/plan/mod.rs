//! `plan`: what something would do before it is done.

mod forecast;

use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::world::World;
use crate::intake::Home;
use clap::Subcommand;

#[derive(Debug, clap::Args)]
pub(in crate::faces::cli) struct Args {
    #[command(subcommand)]
    verb: PlanVerb,
}

#[derive(Debug, Subcommand)]
enum PlanVerb {
    /// When the cycle is finished and nitrate reaches its limit, as ranges
    Forecast(forecast::Args),
}

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    match args.verb {
        PlanVerb::Forecast(args) => forecast::run(&args, home, world),
    }
}
