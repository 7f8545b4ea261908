//! `plan`: what something would do before it is done.

mod ammonia;
mod capacity;
mod change;
mod dose;
mod due;
mod forecast;
mod load;
mod seed;
mod standards;
mod stock;

use crate::advice::{Book, plan::Given};
use crate::faces::books::book;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::world::World;
use crate::intake::{self, Chart, Home, IntakeError};
use crate::log::{Log, Tank};
use clap::Subcommand;

#[derive(Debug, clap::Args)]
pub(in crate::faces::cli) struct Args {
    #[command(subcommand)]
    verb: PlanVerb,
}

#[derive(Debug, Subcommand)]
enum PlanVerb {
    /// How much ammonia to dose in a cycle without animals
    Dose(dose::Args),
    /// What a water change does, in how many steps it comes to a target, or what a routine leads to
    Change(change::Args),
    /// More animals: whether the filter was shown to carry them, and in which steps they come
    Stock(stock::Args),
    /// What the filter was shown to carry, and what is left after media were removed or rinsed
    Capacity(capacity::Args),
    /// What media moved from another tank cover
    Seed(seed::Args),
    /// Free ammonia over pH and temperature
    Ammonia(ammonia::Args),
    /// Which tests are due, as a list or a calendar file
    Due(due::Args),
    /// When the cycle is finished and nitrate reaches its limit, as ranges
    Forecast(forecast::Args),
    /// Standards made at home for a test: what to weigh and to dilute, and how well they are known
    Standards(standards::Args),
}

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    match args.verb {
        PlanVerb::Dose(args) => dose::run(&args, home, world),
        PlanVerb::Change(args) => change::run(&args, home, world),
        PlanVerb::Stock(args) => stock::run(&args, home, world),
        PlanVerb::Capacity(args) => capacity::run(&args, home, world),
        PlanVerb::Seed(args) => seed::run(&args, home, world),
        PlanVerb::Ammonia(args) => ammonia::run(&args, home, world),
        PlanVerb::Due(args) => due::run(&args, home, world),
        PlanVerb::Forecast(args) => forecast::run(&args, home, world),
        PlanVerb::Standards(args) => standards::run(args, home, world),
    }
}

/// The tank asked about, and its book.
struct Desk {
    log: Log,
    tank: Tank,
    book: Book,
}

impl Desk {
    fn at(home: &Home, tank: Option<&str>) -> Result<Self, Trouble> {
        let log = home.log_if_any()?.ok_or(IntakeError::NoneYet { what: "tank" })?;
        let tank = home.tank(&log, tank)?;
        let book = book(&log, &tank, &home.kit_facts()?)?;
        Ok(Self { log, tank, book })
    }
}

/// Values typed as WHAT=VALUE.
fn given(words: &[String], home: &Home) -> Result<Given, Trouble> {
    if words.is_empty() {
        return Ok(Given::default());
    }
    let tests = home.tests(None)?;
    let values = intake::new_water(words, &tests, &Chart::default()).map_err(IntakeError::from)?;
    Given::of(&values.values).map_err(|what| {
        let remedy =
            "Give ammonia, nitrite, nitrate, pH, hardness, alkalinity, temperature, salinity, chloride or chlorine.";
        Trouble::usage(format!("no plan counts with {what}"), remedy)
    })
}

/// Litres as typed.
fn litres(typed: Option<&str>) -> Result<Option<f64>, Trouble> {
    Ok(typed.map(intake::litres).transpose().map_err(IntakeError::from)?)
}

/// What was typed, understood by `of`.
fn typed<T>(text: Option<&str>, of: impl Fn(&str) -> Result<T, intake::HandError>) -> Result<Option<T>, Trouble> {
    Ok(text.map(of).transpose().map_err(IntakeError::from)?)
}
