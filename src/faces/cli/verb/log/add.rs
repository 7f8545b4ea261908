//! `log add`: readings by hand.

use crate::faces::cli::trouble::Trouble;
use crate::faces::cli::wire::LogAdded;
use crate::faces::cli::world::World;
use crate::intake::{self, At, ByHand, Chart, Entered, Home, IntakeError};
use crate::log::Target;
use crate::water::{Counted, Dilution, EntryError, Shades, Titration};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Readings with their units, such as 'nitrite=<0.25 mg/L NO2-', pH=7.4, 'temperature=78 °F', 'salinity=1.025 sg'
    #[arg(value_name = "WHAT=VALUE", required = true)]
    readings: Vec<String>,
    /// The tank [default: the only one]
    #[arg(long)]
    tank: Option<String>,
    /// Of tap water, or whatever water changes are made with
    #[arg(long)]
    tap: bool,
    /// When the water was drawn: now, 18:30, or 2026-03-01 18:30
    #[arg(long, value_name = "TIME", default_value = "now")]
    at: String,
    /// The kit that names tests and lends them units and shades [default: all]
    #[arg(long)]
    kit: Option<String>,
    /// The test's lowest shade above none: below it lies what was read as 0; for one reading
    #[arg(long, value_name = "VALUE")]
    first_shade: Option<String>,
    /// All shades of the chart, such as '0, 0.25, 0.5, 1': a reading is good for one of them either way; for one reading
    #[arg(long, value_name = "VALUES", conflicts_with = "first_shade")]
    shades: Option<String>,
    /// Parts of tank water and of pure water that were mixed, such as 1+4; for one reading
    #[arg(long, value_name = "PARTS")]
    dilution: Option<String>,
    /// What one drop of a titration stands for, such as '1 dKH'; the reading is how many it took: 'KH=7 drops'; for one reading
    #[arg(long, value_name = "AMOUNT", conflicts_with = "ml")]
    drop: Option<String>,
    /// What one mL of a titration's syringe stands for, such as '500 mg/L'; the reading is how many it took: 'calcium=0.84 mL'
    #[arg(long, value_name = "AMOUNT", requires = "division")]
    ml: Option<String>,
    /// How far apart the lines of that syringe are, in mL
    #[arg(long, value_name = "ML", requires = "ml")]
    division: Option<f64>,
    /// The water's temperature, for a hydrometer or a conductivity meter; 25 for a meter that turns its reading to 25 °C
    #[arg(long, value_name = "TEMPERATURE")]
    water_temp: Option<String>,
    /// The temperature printed on the hydrometer [default: any of the usual ones]
    #[arg(long, value_name = "TEMPERATURE")]
    printed_temp: Option<String>,
    /// Anything worth knowing
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
    /// It was measured again: log it although the log has the same within the hour
    #[arg(long)]
    again: bool,
}

pub(super) fn run(args: &Args, home: &Home, world: &mut World) -> Result<(), Trouble> {
    let one = [
        ("--first-shade", &args.first_shade),
        ("--shades", &args.shades),
        ("--dilution", &args.dilution),
        ("--drop", &args.drop),
        ("--ml", &args.ml),
    ];
    if let Some((option, _)) = one.iter().find(|(_, given)| given.is_some()).filter(|_| args.readings.len() > 1) {
        let remedy = "Log the readings one by one.";
        return Err(Trouble::usage(format!("{option} belongs to one reading, and there are several"), remedy));
    }
    let shades = args.shades.as_deref().or(args.first_shade.as_deref()).map(Shades::parse).transpose();
    let dilution = args.dilution.as_deref().map(Dilution::parse).transpose();
    let celsius = |typed: &Option<String>| typed.as_deref().map(intake::celsius).transpose().map_err(IntakeError::from);
    let chart = Chart {
        shades: shades.map_err(|e: EntryError| Trouble::usage(e.to_string(), e.remedy()))?,
        temperature: celsius(&args.water_temp)?,
        printed: celsius(&args.printed_temp)?,
        titration: match (&args.drop, &args.ml, args.division) {
            (Some(each), ..) => Some(Titration { each: each.clone(), counted: Counted::Drops }),
            (None, Some(each), Some(division)) => {
                Some(Titration { each: each.clone(), counted: Counted::Millilitres { division } })
            }
            _ => None,
        },
        dilution: dilution.map_err(|e| Trouble::usage(e.to_string(), e.remedy()))?,
    };
    let mut log = home.log_if_any()?.ok_or(IntakeError::NoneYet { what: "tank" })?;
    let tank = home.tank(&log, args.tank.as_deref())?;
    let tests = home.tests(args.kit.as_deref())?;
    let readings = args.readings.iter().map(|word| ByHand::typed(word, &tests, &chart));
    let readings = readings.collect::<Result<Vec<_>, _>>().map_err(IntakeError::from)?;
    let when = Entered { at: Some(At::parse(&args.at)?), again: args.again, instead: None };
    let target = if args.tap { Target::Tap } else { Target::Tank(tank.id) };
    let (ids, finding) =
        intake::add_readings(&mut log, &tank, target, &readings, args.note.as_deref(), when, world.now)?;
    let readings = ids.into_iter().map(|id| log.reading(id)).collect::<Result<Vec<_>, _>>()?;
    Ok(world.show(&LogAdded::of(&readings, finding.as_ref()))?)
}
