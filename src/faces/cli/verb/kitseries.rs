//! `kit series`: one strong sample, diluted.

use crate::card::Layout;
use crate::faces::cli::options::Originals;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::KitSeries;
use crate::faces::cli::world::World;
use crate::intake::{self, Home, SeriesAsked};
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
#[command(after_help = Originals::HELP)]
#[command(override_usage = "tintline kit series [KIT] TEST STATION=DILUTIONS.. --photo PHOTO.. [OPTIONS]")]
pub(super) struct Series {
    /// The kit, if there are several, the test, and what stands where: one dilution a photo, in their order, 1+0 the sample itself:
    /// B=1+0,1+1,1+3
    #[arg(value_name = "KIT TEST STATION=DILUTIONS", required = true)]
    words: Vec<String>,
    /// The photos, in the order of the dilutions
    #[arg(long = "photo", value_name = "PHOTO", required = true)]
    photos: Vec<PathBuf>,
    /// Level of the undiluted sample, 40±2 [default: as a known standard of the test tells it]
    #[arg(long, value_name = "VALUE")]
    known: Option<String>,
    /// How well each dilution is known, per cent (k = 2)
    #[arg(long, value_name = "PERCENT", default_value_t = 6.0, value_parser = within)]
    within: f64,
    /// The enrolled card [default: the kit's own, or the only one]
    #[arg(long)]
    card: Option<String>,
    #[command(flatten)]
    originals: Originals,
}

fn within(typed: &str) -> Result<f64, String> {
    match typed.trim_end_matches('%').trim().parse() {
        Ok(percent) if (0.0..=50.0).contains(&percent) => Ok(percent),
        _ => Err("a per cent from 0 to 50".into()),
    }
}

pub(super) fn series(args: Series, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let (words, names): (Vec<String>, Vec<String>) = args.words.into_iter().partition(|w| w.contains('='));
    let (kit, test) = match &names[..] {
        [kit, test] => (Some(kit.as_str()), test.clone()),
        [test] => (None, test.clone()),
        _ => {
            let remedy = "Write: tintline kit series KIT TEST B=1+0,1+1,1+3 --photo 1.jpg --photo 2.jpg --photo 3.jpg";
            return Err(Trouble::usage("a kit, a test and its dilutions were expected", remedy));
        }
    };
    let kit = home.kit(kit)?;
    let card = home.card_for(args.card.as_deref(), &kit.value, &Layout::first())?;
    let asked = SeriesAsked { test, words, known: args.known, within: args.within };
    let (added, level) = intake::add_series(home, &kit, &card, &args.photos, &asked, args.originals.meant())?;
    let added = KitSeries::of(&added, &level);
    world.show(&added)?;
    Ok(if added.refused() { Exit::Look } else { Exit::Done })
}
