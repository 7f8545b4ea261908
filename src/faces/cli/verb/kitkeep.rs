//! `kit lot`, `kit adopt`, `kit control`, `kit remeasure`: keeping a kit true.

use crate::card::Layout;
use crate::faces::cli::options::Originals;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{KitAdopted, KitChanged, KitControlled, KitRemeasured};
use crate::faces::cli::world::World;
use crate::intake::{self, Home, IntakeError};
use jiff::civil::Date;
use jiff::tz::TimeZone;

#[derive(Debug, clap::Args)]
pub(super) struct Lot {
    /// The kit
    kit: String,
    /// The test
    test: String,
    /// Lot of the new bottle, as printed on it; without one, the dates are those of the bottle in use
    lot: Option<String>,
    /// When it was opened [default: today, for a new bottle]
    #[arg(long, value_name = "DATE")]
    opened: Option<Date>,
    /// Until when it is good
    #[arg(long, value_name = "DATE", alias = "expires")]
    expiry: Option<Date>,
}

#[derive(Debug, clap::Args)]
#[command(after_help = Originals::HELP)]
#[command(
    override_usage = "tintline kit adopt [KIT] PHOTO STATION=TEST:VALUE.. [PHOTO STATION=TEST:VALUE..].. [OPTIONS]"
)]
pub(super) struct Adopt {
    /// The kit, if there are several, and photos, each followed by the standards in it
    #[arg(value_name = "KIT PHOTO STATION=TEST:VALUE", required = true)]
    words: Vec<String>,
    /// The enrolled card in the photos [default: the kit's own, or the only one]
    #[arg(long)]
    card: Option<String>,
    #[command(flatten)]
    originals: Originals,
}

#[derive(Debug, clap::Args)]
#[command(after_help = Originals::HELP)]
#[command(override_usage = "tintline kit control [KIT] [PHOTO STATION=TEST:VALUE..].. [OPTIONS]")]
pub(super) struct Control {
    /// The kit, if there are several, and photos, each followed by the standards in it; without photos, the charts are shown
    #[arg(value_name = "KIT PHOTO STATION=TEST:VALUE")]
    words: Vec<String>,
    /// The enrolled card [default: the kit's own, or the only one]
    #[arg(long)]
    card: Option<String>,
    #[command(flatten)]
    originals: Originals,
}

#[derive(Debug, clap::Args)]
pub(super) struct Remeasure {
    /// The kit [default: the only one]
    kit: Option<String>,
    /// The enrolled card, the very print that is in the photos [default: the kit's own, or the only one]
    #[arg(long)]
    card: Option<String>,
}

/// The day here.
pub(super) fn today(world: &World) -> Date {
    TimeZone::system().to_datetime(world.now).date()
}

pub(super) fn lot(args: Lot, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let kit = home.kit(Some(&args.kit))?;
    let test = kit.value.test(&args.test).map_err(IntakeError::from)?;
    let name = test.name.clone();
    let mut next = kit.value.clone();
    let said = match args.lot.filter(|lot| test.lot.as_ref() != Some(lot)) {
        Some(lot) => {
            let opened = args.opened.or(Some(today(world)));
            next.new_bottle(&name, Some(lot.clone()), opened, args.expiry).map_err(IntakeError::from)?;
            let new = next.test(&name).is_ok_and(|t| t.new_lot(None));
            let then = match new {
                true => {
                    " Readings with it have wider intervals until two or three standards were tested with it: kit adopt."
                }
                false => "",
            };
            format!("'{name}' of the kit '{}' goes on with a new bottle, lot {lot}.{then}", kit.name)
        }
        None if args.opened.is_none() && args.expiry.is_none() => {
            let remedy = format!("Write: tintline kit lot {} {name} LOT --opened DATE --expiry DATE", kit.name);
            return Err(Trouble::usage("nothing was said of the bottle that is not known", remedy));
        }
        None => {
            next.same_bottle(&name, args.opened, args.expiry).map_err(IntakeError::from)?;
            format!("Noted for the bottle of '{name}' of the kit '{}'.", kit.name)
        }
    };
    let kit = home.changed_kit(&kit, next)?;
    world.show(&KitChanged::new(&kit, said))?;
    Ok(Exit::Done)
}

pub(super) fn adopt(args: Adopt, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let (kit, shots) = intake::shots(home, &args.words)?;
    let kit = home.kit(kit.as_deref())?;
    let card = home.card_for(args.card.as_deref(), &kit.value, &Layout::first())?;
    let carried = intake::adopt(home, &kit, &card, &shots, today(world), args.originals.meant())?;
    let out = KitAdopted::of(&carried);
    world.show(&out)?;
    Ok(if out.all_hold() { Exit::Done } else { Exit::Look })
}

pub(super) fn control(args: Control, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let (kit, shots) = intake::shots(home, &args.words)?;
    let kit = home.kit(kit.as_deref())?;
    let mut unused = Vec::new();
    if !shots.is_empty() {
        let card = home.card_for(args.card.as_deref(), &kit.value, &Layout::first())?;
        let (zone, keep) = (TimeZone::system(), args.originals.meant());
        unused = intake::control(home, &mut home.log()?, &kit, &card, &shots, &zone, world.now, keep)?;
    }
    let events = home.log_if_any()?.map(|log| log.events(None)).transpose()?.unwrap_or_default();
    let today = today(world);
    let out = KitControlled::of(&kit, &intake::controls(&kit, &events, today), &unused, today);
    world.show(&out)?;
    Ok(if out.well() { Exit::Done } else { Exit::Look })
}

pub(super) fn remeasure(args: Remeasure, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let kit = home.kit(args.kit.as_deref())?;
    // Colours of a card that was not enrolled are to go over to the one that is.
    let given = match (&args.card, &kit.value.card) {
        (None, None) => Some(home.card(None)?.name),
        (given, _) => given.clone(),
    };
    let card = home.card_for(given.as_deref(), &kit.value, &Layout::first())?;
    let out = KitRemeasured::of(&intake::remeasure(home, &kit, &card)?);
    world.show(&out)?;
    Ok(if out.left.is_empty() { Exit::Done } else { Exit::Look })
}
