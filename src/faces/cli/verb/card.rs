//! `card`: reference cards, printed and enrolled.

use crate::card::{CardNumber, Layout};
use crate::faces::cli::options::Originals;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{
    CardEnrolled, CardLine, CardList, CardPrinted, CardShown, CardsChecked, PhotoChecked, Wrong,
};
use crate::faces::cli::world::World;
use crate::faces::print;
use crate::intake::{self, EnrolAsked, Home, IntakeError};
use crate::light::{self, Enrolment};
use crate::photo::Limits;
use crate::store;
use clap::{Subcommand, ValueEnum};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::path::{Path, PathBuf};

#[derive(Debug, clap::Args)]
pub(in crate::faces::cli) struct Args {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Debug, Subcommand)]
enum Verb {
    /// Write a card to print
    Print(Print),
    /// Learn a print's colours from photos of the empty card in open shade
    Enrol(Enrol),
    /// Check whether photos are good to read by, and the card in them still the one enrolled
    Check {
        /// Photos with the card in them
        #[arg(value_name = "PHOTO", required = true)]
        photos: Vec<PathBuf>,
        /// The enrolled card [default: the only one]
        #[arg(long)]
        card: Option<String>,
    },
    /// Labels that say in the photo which test and which tank it shows
    Labels(super::label::Args),
    /// List the enrolled cards
    List,
    /// Show an enrolled card
    Show {
        /// The card [default: the only one]
        card: Option<String>,
    },
}

#[derive(Debug, clap::Args)]
struct Print {
    /// pdf for a home printer, png for a 6 × 4 inch photo print, svg for anything else [default: as --out ends, else pdf]
    #[arg(long, value_enum)]
    format: Option<Format>,
    /// Paper of the PDF
    #[arg(long, value_enum, default_value_t = PaperArg::A4)]
    paper: PaperArg,
    /// Dots per inch of the PNG
    #[arg(long, value_enum, default_value_t = DpiArg::D300)]
    dpi: DpiArg,
    /// Number of the print, 1 to 75, to tell several cards apart
    #[arg(long, value_parser = number)]
    number: Option<CardNumber>,
    /// Into this file; - for standard output [default: tintline-card with the format's ending]
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Format {
    Pdf,
    Png,
    Svg,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum PaperArg {
    A4,
    Letter,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum DpiArg {
    #[value(name = "300")]
    D300,
    #[value(name = "600")]
    D600,
}

#[derive(Debug, clap::Args)]
#[command(after_help = Originals::HELP)]
struct Enrol {
    /// Photos of the empty card, or with --measured none
    #[arg(value_name = "PHOTO", required_unless_present = "measured")]
    photos: Vec<PathBuf>,
    /// Its name; a name that is taken gets a new revision
    #[arg(long, default_value = "card")]
    name: String,
    /// Number of the print, where it has none on it
    #[arg(long, value_parser = number)]
    number: Option<CardNumber>,
    /// Take the patches from measured values, a CGATS text file (ISO 28178)
    #[arg(long, value_name = "FILE", conflicts_with_all = ["photos", "number"])]
    measured: Option<PathBuf>,
    /// Anything worth knowing
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
    #[command(flatten)]
    originals: Originals,
}

fn number(typed: &str) -> Result<CardNumber, String> {
    let number = typed.parse().ok().and_then(CardNumber::new);
    number.ok_or_else(|| format!("a print's number is 1 to {}", CardNumber::MAX))
}

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    match args.verb {
        Verb::Print(args) => printed(&args, world),
        Verb::Enrol(args) => enrol(args, home, world),
        Verb::Check { photos, card } => check(&photos, card.as_deref(), home, world),
        Verb::Labels(args) => super::label::run(args, home, world),
        Verb::List => {
            let cards = home.card_names()?.into_iter().map(|name| home.card(Some(&name)).map(|c| CardLine::of(&c)));
            world.show(&CardList { cards: cards.collect::<Result<_, _>>()? })?;
            Ok(Exit::Done)
        }
        Verb::Show { card } => {
            let card = home.card(card.as_deref())?;
            let revisions = home.card_revisions(&card.name)?;
            world.show(&CardShown::of(&card, revisions))?;
            Ok(Exit::Done)
        }
    }
}

/// The format that was said, or the one the file's ending says; `what` is not printed as anything else.
pub(super) fn format(given: Option<Format>, out: Option<&Path>, what: &str) -> Result<Format, Trouble> {
    let ending = out.and_then(Path::extension).map(|e| e.to_string_lossy().to_ascii_lowercase());
    match (given, ending.as_deref()) {
        (Some(format), _) => Ok(format),
        (None, None | Some("pdf")) => Ok(Format::Pdf),
        (None, Some("png")) => Ok(Format::Png),
        (None, Some("svg")) => Ok(Format::Svg),
        (None, Some(other)) => {
            let sentence = format!("{what} not printed as .{other}");
            Err(Trouble::usage(sentence, "End the file in .pdf, .png or .svg, or say which with --format."))
        }
    }
}

fn printed(args: &Print, world: &mut World) -> Result<Exit, Trouble> {
    let (layout, number) = (Layout::first(), args.number);
    let (bytes, format, how) = match format(args.format, args.out.as_deref(), "a card is")? {
        Format::Pdf => {
            let how = "print it at 100 %, not fitted to the page, and check the ruler line.";
            (print::pdf(&layout, number, args.paper.into())?, "pdf", how)
        }
        Format::Png => {
            let how = "have it printed 6 × 4 inch, without enlarging or enhancing.";
            (print::png(&layout, number, args.dpi.into())?, "png", how)
        }
        Format::Svg => (print::svg(&layout, number)?.into_bytes(), "svg", "print it at its own size, 150 × 100 mm."),
    };
    match &args.out {
        Some(path) if path.as_os_str() == "-" => world.raw().write_all(&bytes)?,
        out => {
            let path = out.clone().unwrap_or_else(|| PathBuf::from(format!("tintline-card.{format}")));
            store::write_atomic(&path, &bytes)?;
            let number = number.map(CardNumber::get);
            world.show(&CardPrinted { file: path.display().to_string(), format, number, how })?;
        }
    }
    Ok(Exit::Done)
}

fn enrol(args: Enrol, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    store::check_name(&args.name)?;
    let today = TimeZone::system().to_datetime(world.now).date();
    let done = match &args.measured {
        Some(file) => {
            let (mut card, findings) = measured(file, &Layout::first(), today)?;
            if let Some(note) = &args.note {
                let wrong = |source| IntakeError::CardFile { name: args.name.clone(), source };
                card = card.with_note(note).map_err(wrong)?;
            }
            Ok((home.put_card(&args.name, card)?, findings))
        }
        None => {
            let asked = EnrolAsked { name: args.name, number: args.number, note: args.note };
            intake::enrol(home, &args.photos, &asked, today, args.originals.meant())?
        }
    };
    let (said, exit) = match &done {
        Ok((kept, findings)) => (CardEnrolled::done(kept, findings), Exit::Done),
        Err(why) => (CardEnrolled::refused(why), Exit::Look),
    };
    world.show(&said)?;
    Ok(exit)
}

fn measured(file: &Path, layout: &Layout, today: Date) -> Result<(Enrolment, Vec<crate::finding::Finding>), Trouble> {
    let wrong = |source| Trouble::File { doing: "read", path: file.into(), source };
    let text = std::fs::read_to_string(file).map_err(wrong)?;
    Enrolment::from_cgats(&text, layout, today).map_err(|source| Trouble::Measured { path: file.into(), source })
}

fn check(photos: &[PathBuf], card: Option<&str>, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let layout = Layout::first();
    let card = match card {
        None if home.card_names()?.is_empty() => None,
        name => Some(home.card(name)?),
    };
    let mut out = Vec::new();
    for path in photos {
        let file = path.display().to_string();
        let checked = match intake::open(path, &Limits::default()) {
            Err(e) => {
                let wrong = Wrong::of(&e.into());
                world.report(&wrong);
                PhotoChecked::aside(file, wrong)
            }
            Ok(opened) => {
                let enrolment = card.as_ref().map(|c| &c.value);
                let checked = light::check_card(&opened.photo, &layout, enrolment);
                let named = |source| IntakeError::CardFile {
                    name: card.as_ref().map(|c| c.name.clone()).unwrap_or_default(),
                    source,
                };
                PhotoChecked::of(file, &checked.map_err(named)?)
            }
        };
        world.part(&checked)?;
        out.push(checked);
    }
    let opened = out.iter().filter(|p| p.good.is_some()).count();
    let exit = match opened {
        0 => Exit::Failed,
        n if n < out.len() || out.iter().any(|p| p.good == Some(false)) => Exit::Look,
        _ => Exit::Done,
    };
    let whole = CardsChecked { card: card.map(|c| c.name), photos: out };
    if opened > 0 {
        world.show(&whole)?
    } else {
        world.whole(&whole)?
    }
    Ok(exit)
}
