//! `kit start` and `kit shades`: a kit from what its maker printed.

use super::kit::MatrixArg;
use crate::card::Layout;
use crate::curve::Kit;
use crate::faces::cli::options::Originals;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{KitAdded, KitStarted};
use crate::faces::cli::world::World;
use crate::intake::{self, Home, IntakeError};
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
#[command(override_usage = "tintline kit start NAME [TEST=UNIT].. [OPTIONS]")]
pub(super) struct Start {
    /// The kit's name; without tests, what a kit that is there needs next
    name: String,
    /// Its tests with their units, as on the leaflet: 'ammonia=mg/L NH3-N' pH
    #[arg(value_name = "TEST=UNIT")]
    tests: Vec<String>,
    /// The water it is made for
    #[arg(long, value_enum, default_value = "fresh")]
    water: MatrixArg,
}

#[derive(Debug, clap::Args)]
#[command(after_help = Originals::HELP)]
#[command(override_usage = "tintline kit shades [KIT] TEST VALUES.. --photo PHOTO [OPTIONS]")]
pub(super) struct Shades {
    /// The kit, if there are several, the test, and what the shades stand for, left to right as they lie: 0,0.2,0.6
    #[arg(value_name = "KIT TEST VALUES", required = true)]
    words: Vec<String>,
    /// The photo: the empty card flat, the slip alone in its bay
    #[arg(long, value_name = "PHOTO")]
    photo: PathBuf,
    /// The enrolled card [default: the kit's own, or the only one]
    #[arg(long)]
    card: Option<String>,
    #[command(flatten)]
    originals: Originals,
}

pub(super) fn start(args: Start, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let known = home.kit_names()?.iter().any(|n| n.eq_ignore_ascii_case(args.name.trim()));
    let kit = match (known, args.tests.is_empty()) {
        (true, true) => home.kit(Some(&args.name))?,
        (false, true) => {
            let remedy = "Write: tintline kit start NAME 'ammonia=mg/L NH3-N' 'nitrite=mg/L NO2-' pH";
            return Err(Trouble::usage(format!("it was not said which tests the kit '{}' has", args.name), remedy));
        }
        (_, false) => {
            let mut kit = Kit::new(args.name).map_err(IntakeError::from)?;
            for word in &args.tests {
                let (name, unit) = word.split_once('=').map_or((word.as_str(), None), |(n, u)| (n, Some(u)));
                kit.add_test(intake::new_test(name.trim(), None, unit, args.water.meant())?)
                    .map_err(IntakeError::from)?;
            }
            home.new_kit(kit)?
        }
    };
    let steps = intake::next_steps(&kit.value, !home.card_names()?.is_empty());
    world.show(&KitStarted::of(&kit, &steps, !known))?;
    Ok(Exit::Done)
}

pub(super) fn shades(args: Shades, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let number = |w: &&String| w.starts_with(|c: char| c.is_ascii_digit() || c == '.');
    let count = args.words.iter().rev().take_while(number).count();
    let (names, values) = args.words.split_at(args.words.len() - count);
    let (kit, test) = match names {
        [kit, test] => (home.kit(Some(kit))?, test),
        [test] => (home.kit(None)?, test),
        _ => {
            let sentence = "a kit, a test and concentrations were expected";
            return Err(Trouble::usage(sentence, "Write: tintline kit shades KIT TEST 0,0.2,0.6 --photo PHOTO"));
        }
    };
    if values.is_empty() {
        let sentence = "it was not said what the shades stand for";
        return Err(Trouble::usage(sentence, "Write it left to right as they lie on the card: 0,0.2,0.6"));
    }
    let card = home.card_for(args.card.as_deref(), &kit.value, &Layout::first())?;
    let added = intake::add_shades(home, &kit, &card, &args.photo, test, values, args.originals.meant())?;
    let added = KitAdded::of(&added);
    world.show(&added)?;
    Ok(if added.refused() { Exit::Look } else { Exit::Done })
}
