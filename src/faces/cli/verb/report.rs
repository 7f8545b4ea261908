//! `report`: a tank's log for somebody who helps.

use super::chart::Window;
use crate::advice;
use crate::card::Layout;
use crate::faces::books::book;
use crate::faces::books::trends;
use crate::faces::chart::Chart;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{ReportWritten, Summary};
use crate::faces::cli::world::World;
use crate::faces::report::Report;
use crate::intake::{self, Home};
use crate::log::{Filter, Log};
use crate::store;
use std::path::{Path, PathBuf};

/// Crops of photos on a page.
const CROPS: usize = 12;

/// Writes what the log shows for somebody who helps: one page with charts, to show a shop or a vet, or a text to paste. Neither holds
/// names, paths or places, unless asked.
#[derive(Debug, clap::Args)]
pub(in crate::faces::cli) struct Args {
    /// The tank [default: the only one]
    tank: Option<String>,
    /// Into this page, .html: one file with everything in it
    #[arg(long, value_name = "FILE", required_unless_present = "text")]
    out: Option<PathBuf>,
    /// As plain text
    #[arg(long, conflicts_with_all = ["out", "photos", "names", "days", "all"])]
    text: bool,
    #[command(flatten)]
    window: Window,
    /// With the measured parts of kept photos, the newest twelve
    #[arg(long)]
    photos: bool,
    /// With the names of tank and kits, and your notes on events
    #[arg(long)]
    names: bool,
}

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let Some(path) = args.out else { return summary(args.tank.as_deref(), home, world) };
    if !is_page(&path) {
        let sentence = format!("'{}' does not end in .html", path.display());
        return Err(Trouble::usage(sentence, "Name the page so that a browser opens it: report.html."));
    }
    let log = home.log_if_any()?.ok_or(intake::IntakeError::NoneYet { what: "tank" })?;
    let tank = home.tank(&log, args.tank.as_deref())?;
    let kits = home.kit_facts()?;
    let (book, trends) = trends(&log, &tank, &kits, world.now)?;
    let review = advice::review(&book, world.now);
    let window = args.window.meant(&trends, world.now);
    let title = if args.names { tank.name.as_str() } else { "Tank" };
    let chart = Chart::new(title, intake::zone(&tank.zone), window, trends, &book.events, args.names);
    let own = Filter { tank: Some(tank.id), ..Filter::default() };
    let mut readings = log.samples(&own, &|r| kits.window_minutes(r))?;
    readings.retain(|r| (window.0..=window.1).contains(&r.sample.at().instant));
    readings.sort_by_key(|r| std::cmp::Reverse(r.sample.at().instant));
    let crops = if args.photos { intake::crops(home, &readings, &Layout::first(), CROPS)? } else { Vec::new() };
    let report =
        Report { book: &book, review: &review, chart: &chart, readings: &readings, crops: &crops, names: args.names };
    store::write_atomic(&path, report.html().as_bytes())?;
    world.show(&ReportWritten {
        file: path.display().to_string(),
        charts: chart.trends.len(),
        events: chart.events.len(),
        results: readings.len(),
        photos: crops.len(),
        names: args.names,
        tank: tank.name,
    })?;
    Ok(Exit::Done)
}

fn is_page(path: &Path) -> bool {
    let ending = path.extension().map(|e| e.to_string_lossy().to_ascii_lowercase());
    matches!(ending.as_deref(), Some("html" | "htm"))
}

/// Shows the summary of a tank.
pub(super) fn summary(tank: Option<&str>, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let log = match home.log_if_any()? {
        Some(log) => log,
        None => Log::open_memory()?,
    };
    let tank = home.tank(&log, tank)?;
    let book = book(&log, &tank, &home.kit_facts()?)?;
    let review = advice::review(&book, world.now);
    world.show(&Summary { tank: tank.name, text: advice::summary(&book, &review) })?;
    Ok(Exit::Done)
}
