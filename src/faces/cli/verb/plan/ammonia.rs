//! `plan ammonia`.

use super::{Desk, given};
use crate::advice::plan::{self, TableRequest};
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::PlanAmmonia;
use crate::faces::cli::world::World;
use crate::intake::Home;

/// Writes a table of free ammonia over pH and temperature, for the tank's total ammonia and salinity or for those given.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// What the tank has, such as 'ammonia=1 mg/L NH3-N', 'salinity=35 g/kg' [default: as the log says]
    #[arg(value_name = "WHAT=VALUE")]
    now: Vec<String>,
    /// The tank [default: the only one]
    #[arg(long)]
    tank: Option<String>,
}

pub(super) fn run(args: &Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let request = TableRequest { now: given(&args.now, home)? };
    let desk = Desk::at(home, args.tank.as_deref())?;
    let plan = plan::table(&desk.book, &request, world.now)?;
    world.show(&PlanAmmonia::of(&desk.tank, &plan, world.now))?;
    Ok(Exit::Done)
}
