//! `chart`: a tank's results over time.

use crate::advice::{Subject, Trend};
use crate::faces::books::trends;
use crate::faces::chart::{self, Chart, Signs, Skin};
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::ChartShown;
use crate::faces::cli::world::World;
use crate::intake::{self, Home};
use crate::store;
use crate::water::Analyte;
use jiff::Timestamp;
use std::path::{Path, PathBuf};

/// Columns of the chart in the terminal: with its names and numbers it fits into eighty.
const COLUMNS: usize = 40;

/// Draws all tests of a tank over time, with their intervals, limits and events; 'not detected' is an open bar up to its limit. In the
/// terminal, or into a picture.
#[derive(Debug, clap::Args)]
pub(in crate::faces::cli) struct Args {
    /// The tank [default: the only one]
    tank: Option<String>,
    /// Only this test, or free-ammonia; may be given several times
    #[arg(long = "test", value_name = "TEST")]
    tests: Vec<String>,
    #[command(flatten)]
    window: Window,
    /// Into this picture, .svg or .png
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Width of a PNG in pixels
    #[arg(long, value_name = "PIXELS", default_value_t = 1520, value_parser = clap::value_parser!(u32).range(400..=8000))]
    width: u32,
    /// Only letters and digits in the terminal
    #[arg(long)]
    ascii: bool,
    /// With your own notes on events
    #[arg(long)]
    notes: bool,
}

/// How far back to look.
#[derive(Debug, Clone, Copy, clap::Args)]
pub(super) struct Window {
    /// The last so many days
    #[arg(long, value_name = "DAYS", default_value_t = 60, value_parser = clap::value_parser!(u32).range(1..=36500))]
    days: u32,
    /// From the first result on
    #[arg(long, conflicts_with = "days")]
    all: bool,
}

impl Window {
    /// From when to when.
    pub(super) fn meant(self, trends: &[Trend], now: Timestamp) -> (Timestamp, Timestamp) {
        chart::window(trends, (!self.all).then_some(self.days), now)
    }
}

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let form = args.out.as_deref().map(Form::of).transpose()?;
    let log = home.log_if_any()?.ok_or(intake::IntakeError::NoneYet { what: "tank" })?;
    let tank = home.tank(&log, args.tank.as_deref())?;
    let (book, mut trends) = trends(&log, &tank, &home.kit_facts()?, world.now)?;
    if !args.tests.is_empty() {
        trends = chosen(trends, &args.tests)?;
    }
    let window = args.window.meant(&trends, world.now);
    let chart = Chart::new(&tank.name, intake::zone(&tank.zone), window, trends, &book.events, args.notes);
    chart.filled()?;
    let file = match (&args.out, form) {
        (Some(path), Some(form)) => {
            let bytes = match form {
                Form::Svg => chart.svg(Skin::Paper)?.into_bytes(),
                Form::Png => chart.png(args.width)?,
            };
            store::write_atomic(path, &bytes)?;
            Some(path.display().to_string())
        }
        _ => None,
    };
    let signs = if args.ascii || !reads_unicode() { Signs::Ascii } else { Signs::Blocks };
    let text = chart::terminal(&chart, signs, COLUMNS);
    world.show(&ChartShown::of(&tank.name, &chart, file, text))?;
    Ok(Exit::Done)
}

/// Those of the tests that were named.
fn chosen(trends: Vec<Trend>, names: &[String]) -> Result<Vec<Trend>, Trouble> {
    let is = |t: &Trend, name: &str| {
        let subject = &t.subject;
        let said = [subject.code(), subject.words()].iter().any(|w| w.eq_ignore_ascii_case(name));
        let analyte = || Analyte::parse(name).is_ok_and(|a| a.as_str() == subject.code());
        said || (*subject != Subject::FreeAmmonia && analyte())
    };
    for name in names {
        if !trends.iter().any(|t| is(t, name)) {
            let known: Vec<&str> = trends.iter().map(|t| t.subject.code()).collect();
            let known = if known.is_empty() { "none yet".to_string() } else { known.join(", ") };
            let sentence = format!("there are no results of '{name}'");
            return Err(Trouble::usage(sentence, format!("There are: {known}.")));
        }
    }
    Ok(trends.into_iter().filter(|t| names.iter().any(|n| is(t, n))).collect())
}

enum Form {
    Svg,
    Png,
}

impl Form {
    fn of(path: &Path) -> Result<Self, Trouble> {
        let ending = path.extension().map(|e| e.to_string_lossy().to_ascii_lowercase());
        match ending.as_deref() {
            Some("svg") => Ok(Self::Svg),
            Some("png") => Ok(Self::Png),
            _ => Err(Trouble::usage(
                format!("'{}' ends neither in .svg nor in .png", path.display()),
                "Name the picture so that its ending says what it is to be.",
            )),
        }
    }
}

/// Whether the terminal's letters are Unicode, as the environment says.
fn reads_unicode() -> bool {
    let said =
        ["LC_ALL", "LC_CTYPE", "LANG"].iter().find_map(|name| std::env::var(name).ok().filter(|v| !v.is_empty()));
    said.map_or(cfg!(windows), |v| {
        let v = v.to_ascii_lowercase();
        v.contains("utf-8") || v.contains("utf8")
    })
}
