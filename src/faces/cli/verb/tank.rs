//! `tank`: the tanks of the log.

use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{TankAdded, TankChanged, TankList, TankOut};
use crate::faces::cli::world::World;
use crate::intake::{self, At, Described, Entered, Home, IntakeError};
use crate::log::{NewTank, WaterKind};
use clap::{Subcommand, ValueEnum};
use jiff::tz::TimeZone;

#[derive(Debug, clap::Args)]
pub(in crate::faces::cli) struct Args {
    #[command(subcommand)]
    verb: Tanks,
}

#[derive(Debug, Subcommand)]
enum Tanks {
    /// Add a tank
    Add(Add),
    /// Change what is known of a tank; what was known before stays in the history
    Change(Change),
    /// List the tanks
    List,
}

#[derive(Debug, clap::Args)]
struct Add {
    /// Its name
    name: String,
    /// Its water
    #[arg(long, value_enum)]
    water: Water,
    /// IANA time zone, such as Europe/Berlin [default: this computer's]
    #[arg(long)]
    zone: Option<String>,
    #[command(flatten)]
    facts: Facts,
    /// Anything worth knowing
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
}

#[derive(Debug, clap::Args)]
struct Change {
    /// Its name [default: the only one]
    name: Option<String>,
    /// Its water from now on
    #[arg(long, value_enum)]
    water: Option<Water>,
    #[command(flatten)]
    facts: Facts,
    /// Since when: now, 18:30, or 2026-03-01 18:30
    #[arg(long, value_name = "TIME", default_value = "now")]
    at: String,
}

#[derive(Debug, Default, PartialEq, clap::Args)]
struct Facts {
    /// Its water as filled, in litres, or with another unit, such as '15 us gal'
    #[arg(long, value_name = "LITRES", allow_negative_numbers = true)]
    volume: Option<String>,
    /// Salinity it is kept at, such as '35 g/kg' or '1.025 sg'
    #[arg(long, value_name = "SALINITY", allow_negative_numbers = true)]
    salinity: Option<String>,
    /// Temperature it is kept at, in °C, or such as '78 °F'
    #[arg(long, value_name = "TEMPERATURE", allow_negative_numbers = true)]
    temp: Option<String>,
    /// Whether plants grow in it
    #[arg(long, value_enum)]
    planted: Option<YesNo>,
    /// What lives in it, such as none, some, or '12 neon tetras'; unless said, animals count as present
    #[arg(long, value_name = "ANIMALS", allow_negative_numbers = true)]
    animals: Option<String>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum YesNo {
    Yes,
    No,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Water {
    Fresh,
    Brackish,
    Marine,
}

impl From<Water> for WaterKind {
    fn from(w: Water) -> Self {
        match w {
            Water::Fresh => Self::Fresh,
            Water::Brackish => Self::Brackish,
            Water::Marine => Self::Marine,
        }
    }
}

impl Facts {
    fn meant(self, water: Option<Water>) -> Described {
        Described {
            water: water.map(WaterKind::from),
            volume: self.volume,
            salinity: self.salinity,
            temperature: self.temp,
            planted: self.planted.map(|p| p == YesNo::Yes),
            animals: self.animals,
        }
    }
}

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    match args.verb {
        Tanks::Add(add) => {
            let zone = match add.zone {
                Some(zone) => zone,
                None => system_zone()?,
            };
            let new = NewTank { note: add.note, ..NewTank::new(&add.name, &zone, add.water.into()) };
            let described = add.facts.meant(None);
            // Before the log is made: what is typed wrong leaves nothing behind.
            described.meant().map_err(IntakeError::from)?;
            let mut log = home.log()?;
            intake::add_tank(&mut log, &new, &described, world.now)?;
            world.show(&TankAdded { tank: TankOut::of(&log.tank(&new.name)?) })?;
        }
        Tanks::Change(change) => {
            if change.facts == Facts::default() && change.water.is_none() {
                let remedy = "Give what is different, such as --volume 60 or --animals none.";
                return Err(Trouble::usage("it was not said what to change", remedy));
            }
            let when = Entered { at: Some(At::parse(&change.at)?), again: true, instead: None };
            let mut log = home.log_if_any()?.ok_or(IntakeError::NoneYet { what: "tank" })?;
            let tank = home.tank(&log, change.name.as_deref())?;
            let described = change.facts.meant(change.water);
            let entries = intake::change_tank(&mut log, &tank, &described, when, world.now)?;
            world.show(&TankChanged::of(&log.tank(&tank.name)?, &entries))?;
        }
        Tanks::List => {
            let tanks = home.log_if_any()?.map(|log| log.tanks()).transpose()?.unwrap_or_default();
            world.show(&TankList { tanks: tanks.iter().map(TankOut::of).collect() })?;
        }
    }
    Ok(Exit::Done)
}

/// The time zone this computer is set to.
fn system_zone() -> Result<String, Trouble> {
    let name = TimeZone::try_system().ok().and_then(|zone| zone.iana_name().map(str::to_string));
    name.ok_or_else(|| {
        Trouble::usage(
            "this computer does not say its time zone",
            "Give the tank's with --zone, such as Europe/Berlin.",
        )
    })
}
