//! `card labels`: labels printed, listed, renamed and retired.

use super::card::{DpiArg, Format, PaperArg, format};
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{LabelChanged, LabelList, LabelOut, LabelsPrinted};
use crate::faces::cli::world::World;
use crate::faces::print::{self, Dpi, LabelText, Paper};
use crate::intake::{Home, IntakeError, Wanted};
use crate::log::Undo;
use crate::store;
use clap::Subcommand;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub(in crate::faces::cli) struct Args {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Debug, Subcommand)]
enum Verb {
    /// Write a sheet of labels to cut out: for all kits and tanks, or for what is named
    Print(Print),
    /// List the labels and what they stand for
    List {
        /// With those retired
        #[arg(long)]
        all: bool,
    },
    /// Give a label other words, for its next print; its number stays
    Rename {
        /// Its number or its words
        label: String,
        /// The new words
        words: String,
    },
    /// Retire a label that is lost or no longer used; its number is not given out again
    Retire {
        /// Its number or its words
        label: String,
        /// Why
        #[arg(long, value_name = "WORDS", default_value = "retired")]
        reason: String,
    },
}

#[derive(Debug, clap::Args)]
struct Print {
    /// The tests of this kit; may be given several times
    #[arg(long = "kit", value_name = "KIT")]
    kits: Vec<String>,
    /// This tank; may be given several times
    #[arg(long = "tank", value_name = "TANK")]
    tanks: Vec<String>,
    /// The tap
    #[arg(long)]
    tap: bool,
    /// Water made ready for a change
    #[arg(long)]
    new_water: bool,
    /// A standard, such as 'nitrate:5 mg/L NO3-'; may be given several times
    #[arg(long = "standard", value_name = "ANALYTE:VALUE UNIT")]
    standards: Vec<String>,
    /// The zero standard: reagent in pure water
    #[arg(long)]
    zero: bool,
    /// The clear vial: tank water without reagent
    #[arg(long)]
    clear: bool,
    /// How many of each
    #[arg(long, value_name = "COUNT", default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..=20))]
    copies: u8,
    /// pdf for a home printer, png for a 6 × 4 inch photo print, svg for anything else [default: as --out ends, else pdf]
    #[arg(long, value_enum)]
    format: Option<Format>,
    /// Paper of the PDF
    #[arg(long, value_enum, default_value_t = PaperArg::A4)]
    paper: PaperArg,
    /// Dots per inch of the PNG
    #[arg(long, value_enum, default_value_t = DpiArg::D300)]
    dpi: DpiArg,
    /// Into this file; - for standard output [default: tintline-labels with the format's ending]
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    match args.verb {
        Verb::Print(args) => printed(args, home, world),
        Verb::List { all } => {
            let log = home.log_if_any()?;
            let labels = log.as_ref().map(|l| l.labels()).transpose()?.unwrap_or_default();
            let tanks = log.as_ref().map(|l| l.tanks()).transpose()?.unwrap_or_default();
            let shown = labels.iter().filter(|l| all || !l.retired).map(|l| LabelOut::of(l, &labels, &tanks));
            world.show(&LabelList { labels: shown.collect() })?;
            Ok(Exit::Done)
        }
        Verb::Rename { label, words } => change(
            &label,
            home,
            world,
            |label, said| (format!("The label {} now says '{words}', from its next print on.", label.number), said),
            |w, label| w.rename_label(label.id, &words).map(drop),
        ),
        Verb::Retire { label, reason } => change(
            &label,
            home,
            world,
            |label, said| {
                (
                    format!(
                        "Retired the label {}, '{}'. Throw away what was printed of it.",
                        label.number, label.words
                    ),
                    said,
                )
            },
            |w, label| w.undo(&Undo::Entry(label.id), &reason).map(drop),
        ),
    }
}

fn change(
    typed: &str,
    home: &Home,
    world: &mut World,
    say: impl FnOnce(&crate::log::Label, LabelOut) -> (String, LabelOut),
    work: impl FnOnce(&crate::log::Writer<'_>, &crate::log::Label) -> Result<(), crate::log::LogError>,
) -> Result<Exit, Trouble> {
    let mut log = home.log_if_any()?.ok_or(IntakeError::NoneYet { what: "label" })?;
    let label = home.sticker(&log, typed)?;
    log.write(world.now, |w| work(w, &label))?;
    let (all, tanks) = (log.labels()?, log.tanks()?);
    let now = all.iter().find(|l| l.id == label.id).unwrap_or(&label);
    let (said, label) = say(&label, LabelOut::of(now, &all, &tanks));
    world.show(&LabelChanged { label, said })?;
    Ok(Exit::Done)
}

fn printed(args: Print, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let format = format(args.format, args.out.as_deref(), "labels are")?;
    let wanted = Wanted {
        kits: args.kits,
        tanks: args.tanks,
        tap: args.tap,
        new_water: args.new_water,
        standards: args.standards,
        zero: args.zero,
        clear: args.clear,
    };
    // A log is made only by adding something to it.
    let mut log = home.log_if_any()?.ok_or(IntakeError::NoneYet { what: "tank" })?;
    let labels = home.stickers(&mut log, &wanted, world.now)?;
    let texts: Vec<LabelText> =
        labels.iter().flat_map(|l| std::iter::repeat_n(LabelText::from(l), usize::from(args.copies))).collect();
    let (bytes, ending, how) = match format {
        Format::Pdf => {
            let how = "print it at 100 %, not fitted to the page, check the ruler line, and cut along the grey lines.";
            (print::labels_pdf(&texts, args.paper.into())?, "pdf", how)
        }
        Format::Png => {
            let how = "have it printed 6 × 4 inch, without enlarging or enhancing, and cut along the grey lines.";
            (print::labels_png(&texts, args.dpi.into())?, "png", how)
        }
        Format::Svg => (print::labels_svg(&texts)?.into_bytes(), "svg", "print it at its own size."),
    };
    match &args.out {
        Some(path) if path.as_os_str() == "-" => world.raw().write_all(&bytes)?,
        out => {
            let path = out.clone().unwrap_or_else(|| PathBuf::from(format!("tintline-labels.{ending}")));
            store::write_atomic(&path, &bytes)?;
            let (all, tanks) = (log.labels()?, log.tanks()?);
            let lacks = format == Format::Pdf && labels.iter().any(|l| print::pdf_lacks(&l.words));
            let remark =
                "A PDF lacks letters of some words and shows question marks; as PNG they come out whole: --format png.";
            let remarks = lacks.then(|| remark.to_string()).into_iter().collect();
            let labels = labels.iter().map(|l| LabelOut::of(l, &all, &tanks)).collect();
            let copies = args.copies;
            world.show(&LabelsPrinted {
                file: path.display().to_string(),
                format: ending,
                copies,
                labels,
                remarks,
                how,
            })?;
        }
    }
    Ok(Exit::Done)
}

impl From<PaperArg> for Paper {
    fn from(p: PaperArg) -> Self {
        if p == PaperArg::A4 { Self::A4 } else { Self::Letter }
    }
}

impl From<DpiArg> for Dpi {
    fn from(d: DpiArg) -> Self {
        if d == DpiArg::D300 { Self::D300 } else { Self::D600 }
    }
}
