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

/// The seed of all forecasts: a log that did not change gives the same dates at the same time.
pub(super) const SEED: u64 = 20;

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
    let whole = args.tank.is_some() || tanks.len() == 1;
    let (mut reviews, mut forecast) = (Vec::with_capacity(tanks.len()), None);
    for tank in &tanks {
        let book = book(&log, tank, &kits)?;
        reviews.push(advice::review(&book, world.now));
        // A line for each tank has no room for it.
        forecast = whole.then(|| advice::forecast(&book, world.now, SEED));
    }
    advice::worst_first(&mut reviews);
    let zone = |r: &Review| tanks.iter().find(|t| t.name == r.tank).map(|t| intake::zone(&t.zone));
    let shown =
        reviews.iter().map(|r| TankStatus::of(r, forecast.as_ref(), &zone(r).unwrap_or(jiff::tz::TimeZone::UTC)));
    let shown = shown.collect();
    world.show(&StatusShown::of(shown, whole))?;
    Ok(Exit::Done)
}
