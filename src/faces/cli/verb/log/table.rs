//! `log table`: readings and events from a spreadsheet.

use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::LogTable;
use crate::faces::cli::world::World;
use crate::intake::{Column, DateOrder, Home, IntakeError, Mapping, Plan, TableError};
use clap::ValueEnum;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The table: CSV in UTF-8 with one line of column names
    file: PathBuf,
    /// What a column is: COLUMN=WHAT UNIT, such as 'NO2=nitrite mg/L NO2-', 'Change=water-change %', 'Remarks=note'; repeat it
    #[arg(long, value_name = "COLUMN=WHAT")]
    column: Vec<String>,
    /// A file that says what the columns are, instead of --column or beside it
    #[arg(long, value_name = "FILE")]
    map: Option<PathBuf>,
    /// The column with the date [default: Date, Time, When or Day]
    #[arg(long, value_name = "COLUMN")]
    time_column: Option<String>,
    /// The column with the time of day, if it has its own
    #[arg(long, value_name = "COLUMN")]
    clock_column: Option<String>,
    /// The time of day of rows that have none, such as 18:00
    #[arg(long, value_name = "TIME")]
    clock: Option<String>,
    /// Which number of a date such as 3/4/2026 comes first
    #[arg(long, value_enum)]
    date_order: Option<Order>,
    /// A test's lowest shade above none, below which lie its zeros, or all its shades: COLUMN=0.25; repeat it
    #[arg(long, value_name = "COLUMN=VALUE")]
    first_shade: Vec<String>,
    /// The tank [default: the only one]
    #[arg(long)]
    tank: Option<String>,
    /// Write it into the log
    #[arg(long)]
    write: bool,
    /// Leave out cells that cannot be understood
    #[arg(long, requires = "write")]
    skip_wrong: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Order {
    DayMonth,
    MonthDay,
}

impl Args {
    fn mapping(&self) -> Result<Mapping, Trouble> {
        let table = |e: TableError| Trouble::from(IntakeError::from(e));
        let mut out = match &self.map {
            None => Mapping::default(),
            Some(path) => Mapping::from_toml(&read(path)?).map_err(table)?,
        };
        for typed in &self.column {
            out.columns.push(Column::typed(typed).map_err(table)?);
        }
        out.time = self.time_column.clone().or(out.time);
        out.clock_column = self.clock_column.clone().or(out.clock_column);
        if let Some(clock) = &self.clock {
            out.set_clock(clock).map_err(table)?;
        }
        let order = self.date_order.map(|o| match o {
            Order::DayMonth => DateOrder::DayMonth,
            Order::MonthDay => DateOrder::MonthDay,
        });
        out.order = order.or(out.order);
        self.first_shade.iter().try_for_each(|typed| out.add_shades(typed)).map_err(table)?;
        Ok(out)
    }
}

fn read(path: &PathBuf) -> Result<String, Trouble> {
    std::fs::read_to_string(path).map_err(|source| Trouble::File { doing: "read", path: path.clone(), source })
}

pub(super) fn run(args: &Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let mapping = args.mapping()?;
    let text = read(&args.file)?;
    let mut log = home.log_if_any()?.ok_or(IntakeError::NoneYet { what: "tank" })?;
    let tank = home.tank(&log, args.tank.as_deref())?;
    let plan = Plan::of(&text, &mapping, &home.tests(None)?, &log, &tank, world.now)?;
    let written = match args.write {
        true => Some(plan.write(&mut log, &tank, args.skip_wrong, world.now)),
        false => None,
    };
    // What is wrong is shown even where it keeps everything from being written.
    let (done, failed) = match written {
        Some(Err(e)) => (false, Some(e)),
        Some(Ok(_)) => (true, None),
        None => (false, None),
    };
    match failed {
        Some(e) => {
            world.part(&LogTable::of(&plan, &tank, done))?;
            Err(e.into())
        }
        None => {
            world.show(&LogTable::of(&plan, &tank, done))?;
            Ok(if plan.wrong.is_empty() { Exit::Done } else { Exit::Look })
        }
    }
}
