//! `plan`: what something would do before it is done.

mod standards;

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
    /// Standards made at home for a test: what to weigh and to dilute, and how well they are known
    Standards(standards::Args),
}

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    match args.verb {
        PlanVerb::Standards(args) => standards::run(args, home, world),
    }
}
