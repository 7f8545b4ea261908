//! `log correct`: the keeper's own judgement in the place of a reading.

use crate::faces::cli::trouble::Trouble;
use crate::faces::cli::wire::LogCorrected;
use crate::faces::cli::world::World;
use crate::intake::{self, Chart, Home, IntakeError};
use crate::log::LogError;
use crate::water::{EntryError, Shades};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The reading's entry, as the list shows it
    entry: String,
    /// What you judge it to be, as the vial showed it: '0.5', '0.5 (0.25 to 1)', '<0.25'; in the test's unit unless you name one
    value: String,
    /// Why
    #[arg(long, value_name = "WORDS")]
    reason: String,
    /// The test's lowest shade above none: below it lies what was read as 0
    #[arg(long, value_name = "VALUE")]
    first_shade: Option<String>,
    /// All shades of the chart, such as '0, 0.25, 0.5, 1': a value is good for one of them either way
    #[arg(long, value_name = "VALUES", conflicts_with = "first_shade")]
    shades: Option<String>,
}

pub(super) fn run(args: &Args, home: &Home, world: &mut World) -> Result<(), Trouble> {
    let mut log = home.log_if_any()?.ok_or_else(|| LogError::EntryUnknown { id: args.entry.clone() })?;
    let id = log.find(&args.entry)?;
    let shades = args.shades.as_deref().or(args.first_shade.as_deref()).map(Shades::parse).transpose();
    let shades = shades.map_err(|e: EntryError| Trouble::usage(e.to_string(), e.remedy()))?;
    let kit = log.reading(id)?.test.kit;
    // A kit that is gone has no shades to lend.
    let tests = match kit.filter(|name| home.kit_names().is_ok_and(|all| all.contains(name))) {
        Some(name) => home.tests(Some(&name))?,
        None => Vec::new(),
    };
    let chart = Chart { shades, ..Chart::default() };
    let new = intake::correct(&mut log, id, &args.value, &tests, &chart, &args.reason, world.now);
    let new = log.judged(new.map_err(|e: IntakeError| e)?)?;
    Ok(world.show(&LogCorrected::of(&new))?)
}
