//! `plan standards`.

use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::PlanStandards;
use crate::faces::cli::world::World;
use crate::intake::{self, Home, IntakeError, StandardsAsked};
use crate::water::standards::{Means, Syringe, Vessel};

/// Says what to weigh and to dilute for standards of a test, and how well they are known, with the lines that add their photos to the
/// kit. Without --values those that the kit lacks.
#[derive(Debug, clap::Args)]
#[command(override_usage = "tintline plan standards [KIT] TEST [OPTIONS]")]
pub(super) struct Args {
    /// The kit, if there are several, and its test; or what is measured, where no kit has it
    #[arg(value_name = "KIT TEST", num_args = 1..=2, required = true)]
    names: Vec<String>,
    /// Unit of the concentrations, where no kit tells it: mg/L NH3-N, mg/L NO2-, mg/L NO3-, dH
    #[arg(long)]
    unit: Option<String>,
    /// Concentrations wanted: 0,0.5,1,2
    #[arg(long, value_name = "VALUES", conflicts_with = "top")]
    values: Vec<String>,
    /// The highest one wanted; five steps are made up to it
    #[arg(long, value_name = "VALUE")]
    top: Option<String>,
    /// What they are made of, such as 'household ammonia', 'sodium nitrate', 'epsom salt' [default: the usual substance]
    #[arg(long, value_name = "SUBSTANCE")]
    of: Option<String>,
    /// Strength of household ammonia, as on its label: '9.5% by weight'
    #[arg(long, value_name = "STRENGTH")]
    strength: Option<String>,
    /// Purity, as on the label, per cent by weight [default: what is usual of that substance]
    #[arg(long, value_name = "PERCENT")]
    purity: Option<f64>,
    /// Grams from one step of the scale's display to the next
    #[arg(long, value_name = "GRAMS", default_value_t = Means::default().scale_g)]
    scale: f64,
    /// A syringe: its mL and the mL from one line to the next, 10/0.5; may be given several times [default: 1/0.02, 5/0.2, 20/1]
    #[arg(long, value_name = "ML/DIVISION")]
    syringe: Vec<String>,
    /// A vessel with a mark: its mL and how far off the mark may be, 1000±20; may be given several times [default: 1000±20, 100±2]
    #[arg(long, value_name = "ML±TOLERANCE")]
    container: Vec<String>,
    /// Fill the vessels on the scale rather than up to their mark
    #[arg(long)]
    weigh: bool,
    /// For sea water
    #[arg(long)]
    marine: bool,
    /// The tank they are for; a marine one makes it sea water
    #[arg(long)]
    tank: Option<String>,
}

pub(super) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let mut names = args.names.into_iter();
    let (kit, test) = match (names.next(), names.next()) {
        (Some(kit), Some(test)) => (Some(kit), test),
        (Some(test), None) => (None, test),
        _ => return Err(Trouble::usage("a test was expected", "Write: tintline plan standards [KIT] TEST")),
    };
    let usual = Means::default();
    let syringes = args.syringe.iter().map(|s| Syringe::parse(s)).collect::<Result<Vec<_>, _>>();
    let vessels = args.container.iter().map(|s| Vessel::parse(s)).collect::<Result<Vec<_>, _>>();
    let (syringes, vessels) = (syringes.map_err(IntakeError::from)?, vessels.map_err(IntakeError::from)?);
    let means = Means {
        scale_g: args.scale,
        syringes: if syringes.is_empty() { usual.syringes } else { syringes },
        vessels: if vessels.is_empty() { usual.vessels } else { vessels },
        weigh: args.weigh,
    };
    let asked = StandardsAsked {
        kit,
        test,
        unit: args.unit,
        values: args.values,
        top: args.top,
        tank: args.tank,
        marine: args.marine,
        substance: args.of,
        strength: args.strength,
        purity: args.purity,
    };
    let plan = intake::standards_for(home, &asked, &means)?;
    world.show(&PlanStandards::of(&plan))?;
    Ok(Exit::Done)
}
