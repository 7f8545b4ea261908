//! `status`: what the log shows of the tanks, and what to do.

use crate::advice::{self, Review};
use crate::faces::books::book;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{StatusShown, TankStatus};
use crate::faces::cli::world::World;
use crate::intake::{self, Home};

/// Says for each tank what danger was shown and how old that is, the stage of its cycle, and when to test; worst first. With a
/// tank, all of it: what to do today and why, what it rests on, and cautions.
#[derive(Debug, clap::Args)]
pub(in crate::faces::cli) struct Args {
    /// The tank
    tank: Option<String>,
}

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let Some(log) = home.log_if_any()? else {
        if let Some(name) = args.tank {
            return Err(crate::log::LogError::TankUnknown { name, known: Vec::new() }.into());
        }
        world.show(&StatusShown::of(Vec::new(), false))?;
        return Ok(Exit::Done);
    };
    let tanks = match &args.tank {
        Some(name) => vec![log.tank(name)?],
        None => log.tanks()?,
    };
    let kits = home.kit_facts()?;
    let mut reviews = Vec::with_capacity(tanks.len());
    for tank in &tanks {
        reviews.push(advice::review(&book(&log, tank, &kits)?, world.now));
    }
    advice::worst_first(&mut reviews);
    let zone = |r: &Review| tanks.iter().find(|t| t.name == r.tank).map(|t| intake::zone(&t.zone));
    let shown = reviews.iter().map(|r| TankStatus::of(r, &zone(r).unwrap_or(jiff::tz::TimeZone::UTC))).collect();
    world.show(&StatusShown::of(shown, args.tank.is_some() || tanks.len() == 1))?;
    Ok(Exit::Done)
}
