//! `plan change`.

use super::{Desk, given, litres, typed};
use crate::advice::plan::{self, Aim, ChangeRequest, Routine, Verdict};
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{PlanChanged, PlanRoutine};
use crate::faces::cli::world::World;
use crate::intake::{ByHand, Chart, Home, IntakeError, asked};
use crate::water::{Amount, Analyte};

/// Says which changes bring something to a target, or what a change of a share does, always with free ammonia, pH, alkalinity,
/// temperature and salinity before and after; splits or refuses what would raise free ammonia or jump. With --every, what a
/// routine leads to: 'plan change nitrate --share 25% --every week'.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// What to bring down and to how much, such as 'nitrate=20 mg/L NO3-'; with --every only what
    #[arg(value_name = "WHAT=VALUE", required_unless_present = "share")]
    target: Option<String>,
    /// Change this share of the water instead, such as 30%
    #[arg(long, value_name = "SHARE")]
    share: Option<String>,
    /// The share is changed every so many days: what that leads to
    #[arg(long, value_name = "DAYS", requires = "share")]
    every: Option<String>,
    /// By how much it rises from one change to the next, such as '10 mg/L NO3-' [default: as the log shows]
    #[arg(long, value_name = "VALUE", requires = "every")]
    rise: Option<String>,
    /// What the new water has, such as 'nitrate=10 mg/L NO3-', 'pH=7.8', 'KH=8 dKH', 'chlorine=1 mg/L'; repeat it [default: as the log says
    /// of the tap]
    #[arg(long, value_name = "WHAT=VALUE")]
    new_water: Vec<String>,
    /// What the tank has now; repeat it [default: as the log says]
    #[arg(long, value_name = "WHAT=VALUE", conflicts_with = "every")]
    now: Vec<String>,
    /// Water in the tank, in litres or with another unit [default: the tank's]
    #[arg(long, value_name = "LITRES")]
    volume: Option<String>,
    /// The tank [default: the only one]
    #[arg(long)]
    tank: Option<String>,
}

pub(super) fn run(args: &Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let share = typed(args.share.as_deref(), asked::share)?;
    match (typed(args.every.as_deref(), asked::days)?, share) {
        (Some(every), Some(share)) => routine(args, every, share, home, world),
        (_, share) => once(args, share, home, world),
    }
}

fn routine(args: &Args, every_days: f64, share: f64, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let what = args.target.as_deref().unwrap_or("nitrate");
    let what = what.split_once('=').map_or(what, |(what, _)| what);
    let (analyte, rise) = match &args.rise {
        Some(rise) => value(&format!("{what}={rise}"), home).map(|(analyte, amount)| (analyte, Some(amount)))?,
        None => (Analyte::parse(what).map_err(IntakeError::from)?, None),
    };
    // The kind is asked from any amount of it: a rise, else one of its unit.
    let one = match &rise {
        Some(amount) => amount.clone(),
        None => value(&format!("{what}=1 {}", analyte.canonical_unit()), home)?.1,
    };
    let Some(Aim::To { kind, target }) = Aim::to(&analyte, &one) else { return Err(unplanned(&analyte)) };
    let request = Routine { kind, share, every_days, rise: rise.map(|_| target), new: given(&args.new_water, home)? };
    let desk = Desk::at(home, args.tank.as_deref())?;
    let plan = plan::routine(&desk.book, &request, world.now)?;
    world.show(&PlanRoutine::of(&desk.tank, &plan, world.now))?;
    Ok(Exit::Done)
}

fn once(args: &Args, share: Option<f64>, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let aim = match (&args.target, share) {
        (Some(_), Some(_)) => {
            let remedy = "Give one of them; both go together only with --every, which asks what a routine leads to.";
            return Err(Trouble::usage("a target and a share are given", remedy));
        }
        (Some(word), None) => {
            let (analyte, amount) = value(word, home)?;
            Aim::to(&analyte, &amount).ok_or_else(|| unplanned(&analyte))?
        }
        (None, share) => Aim::Share(share.unwrap_or_default()),
    };
    let request = ChangeRequest {
        aim,
        litres: litres(args.volume.as_deref())?,
        now: given(&args.now, home)?,
        new: given(&args.new_water, home)?,
    };
    let desk = Desk::at(home, args.tank.as_deref())?;
    let plan = plan::change(&desk.book, &request, world.now)?;
    world.show(&PlanChanged::of(&desk.tank, &plan, world.now))?;
    Ok(if plan.verdict == Verdict::Refused { Exit::Look } else { Exit::Done })
}

fn value(word: &str, home: &Home) -> Result<(Analyte, Amount), Trouble> {
    let by_hand = ByHand::typed(word, &home.tests(None)?, &Chart::default()).map_err(IntakeError::from)?;
    Ok((by_hand.key.analyte, by_hand.amount))
}

fn unplanned(analyte: &Analyte) -> Trouble {
    let remedy = "Ask for ammonia, nitrite, nitrate, hardness, alkalinity, chloride or salinity.";
    Trouble::usage(format!("no plan counts with {analyte}"), remedy)
}
