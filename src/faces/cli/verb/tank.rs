//! `tank`: the tanks of the log.

use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{TankAdded, TankList, TankOut};
use crate::faces::cli::world::World;
use crate::intake::Home;
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
    /// Litres of water
    #[arg(long, value_name = "LITRES")]
    volume: Option<f64>,
    /// Anything worth knowing
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
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

impl Add {
    fn meant(self) -> Result<NewTank, Trouble> {
        let zone = match self.zone {
            Some(zone) => zone,
            None => system_zone()?,
        };
        Ok(NewTank { volume_l: self.volume, note: self.note, ..NewTank::new(&self.name, &zone, self.water.into()) })
    }
}

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    match args.verb {
        Tanks::Add(add) => {
            let new = add.meant()?;
            let mut log = home.log()?;
            log.write(world.now, |w| w.add_tank(&new))?;
            world.show(&TankAdded { tank: TankOut::of(&log.tank(&new.name)?) })?;
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
