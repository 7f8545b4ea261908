//! `log place`: the usual places.

use crate::faces::cli::trouble::Trouble;
use crate::faces::cli::wire::{PlaceChanged, PlaceList};
use crate::faces::cli::words::quoted;
use crate::faces::cli::world::World;
use crate::intake::{self, Home, IntakeError};
use clap::Subcommand;
use jiff::tz::TimeZone;

/// Lists the places, as swatches and readings make them known.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    verb: Option<Verb>,
}

#[derive(Debug, Subcommand)]
enum Verb {
    /// Give a place a name, or another one
    Name {
        /// The place: its name, its number in the list, or the entry of a reading made there
        place: String,
        /// The name
        name: String,
    },
    /// Forget a place's name, and that it was seen; readings and swatches stay
    Forget {
        /// The place: its name, its number in the list, or the entry of a reading made there
        place: String,
    },
}

pub(super) fn run(args: Args, home: &Home, world: &mut World) -> Result<(), Trouble> {
    let Some(verb) = args.verb else {
        let log = home.log_if_any()?;
        return Ok(world.show(&PlaceList::of(&home.places(log.as_ref())?))?);
    };
    let mut log = home.log_if_any()?.ok_or(IntakeError::NoneYet { what: "tank" })?;
    let places = home.places(Some(&log))?;
    let (zone, now) = (TimeZone::system(), world.now);
    let changed = match verb {
        Verb::Name { place, name } => {
            let i = places.find(&place, &log)?;
            let before = places.all[i].name.clone();
            let id = intake::name_place(&mut log, &places, i, &name, &zone, now)?;
            let name = intake::place_name(&name).map_err(IntakeError::from)?;
            let called = before.map_or(String::new(), |b| format!(" It was called '{b}'."));
            let said =
                format!("The place is called '{name}'.{called} To take it back: tintline log undo {}", id.short());
            PlaceChanged { did: "named", name: Some(name), entry: id.to_string(), said }
        }
        Verb::Forget { place } => {
            let i = places.find(&place, &log)?;
            let swatches = places.all[i].swatches.len();
            let id = intake::forget_place(&mut log, &places, i, &zone, now)?;
            let kept = match swatches {
                0 => String::new(),
                1 => " The swatch made there still counts.".to_string(),
                n => format!(" The {n} swatches made there still count."),
            };
            let said = format!("Forgot {}.{kept} To take it back: tintline log undo {}", quoted(&place), id.short());
            PlaceChanged { did: "forgotten", name: None, entry: id.to_string(), said }
        }
    };
    Ok(world.show(&changed)?)
}
