//! `kit`: test kits and their swatches.

use super::{kitkeep, kitseries, kitstart, kitvision};
use crate::card::Layout;
use crate::curve::{self, Kind, Kit, KitError, Matrix, Nuisance, Scale, Strip, Test};
use crate::faces::cli::options::Originals;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{KitAdded, KitChanged, KitChecked, KitLine, KitList, KitShown};
use crate::faces::cli::world::World;
use crate::intake::{self, Home, IntakeError, Kept};
use crate::water::{Analyte, Unit};
use clap::{Subcommand, ValueEnum};
use jiff::civil::Date;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub(in crate::faces::cli) struct Args {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Debug, Subcommand)]
enum Verb {
    /// Make a kit with its tests, and say step by step what makes it fit to read with
    Start(kitstart::Start),
    /// Make a kit
    New {
        /// Its name
        name: String,
        /// A kit of strips: millimetres from end to end, across, a pad's side, from a pad's middle to the next one's, and from
        /// the end held into the water to the middle of pad 1
        #[arg(long, value_name = "LENGTH,WIDTH,PAD,PITCH,END", value_parser = strip)]
        strip: Option<Strip>,
        /// Anything worth knowing
        #[arg(long, value_name = "WORDS")]
        note: Option<String>,
    },
    /// Add a test to a kit
    AddTest(AddTest),
    /// Add photos of standards, whose concentrations are known, to a kit
    Add(Add),
    /// Add the maker's printed shades, laid in the bay, to a test
    Shades(kitstart::Shades),
    /// Add one strong sample diluted again and again, its level told by a known standard
    Series(kitseries::Series),
    /// List the kits
    List,
    /// Show a kit with its swatches
    Show {
        /// The kit [default: the only one]
        kit: Option<String>,
        /// Print the kit's file
        #[arg(long)]
        toml: bool,
    },
    /// Check whether a kit is fit to read with
    Check {
        /// The kit [default: the only one]
        kit: Option<String>,
        /// Say instead which shades look alike to protan, deutan and tritan eyes
        #[arg(long)]
        vision: bool,
        /// Draw the shades as such eyes see them, into this .png or .svg
        #[arg(long, value_name = "FILE", requires = "vision")]
        picture: Option<PathBuf>,
    },
    /// Say that a new bottle of a test's reagent is in use, or when it was opened and until when it is good
    Lot(kitkeep::Lot),
    /// Carry a kit's curves over to another card, phone or bottle with two or three standards
    Adopt(kitkeep::Adopt),
    /// Check a test with a known standard, and show the control charts
    Control(kitkeep::Control),
    /// Measure a kit's swatches again in the kept photos, once their card is enrolled
    Remeasure(kitkeep::Remeasure),
    /// Take a test, or one of its swatches, out of a kit
    Remove {
        /// The kit
        kit: String,
        /// The test's name
        test: String,
        /// The swatch's number, as 'kit show' lists it
        swatch: Option<usize>,
    },
    /// Take in a kit's file, as a new kit or as a new revision of the one of its name
    Import {
        /// A kit's file, as 'kit show --toml' prints it
        file: PathBuf,
    },
}

#[derive(Debug, clap::Args)]
#[command(override_usage = "tintline kit add-test [KIT] TEST --unit UNIT --water WATER [OPTIONS]")]
struct AddTest {
    /// The kit, if there are several, and the test's name
    #[arg(value_names = ["KIT", "TEST"], num_args = 1..=2, required = true)]
    names: Vec<String>,
    /// What it measures [default: the test's name]
    #[arg(long)]
    analyte: Option<String>,
    /// Unit of its numbers, saying what is counted: mg/L NH3-N, mg/L NO2-, mg/L NO3-, dH
    #[arg(long)]
    unit: Option<String>,
    /// Whether its scale starts from none [default: from-zero, for pH bounded]
    #[arg(long, value_enum)]
    scale: Option<ScaleArg>,
    /// The water it is made for
    #[arg(long, value_enum, alias = "matrix")]
    water: MatrixArg,
    /// Its place on the strip, 1 nearest the end held into the water
    #[arg(long, value_name = "NUMBER")]
    pad: Option<u8>,
    /// Minutes from the last drop to the photo
    #[arg(long, value_name = "MINUTES")]
    wait: Option<f64>,
    /// Minutes after those in which the colour still counts [default: 10]
    #[arg(long, value_name = "MINUTES")]
    window: Option<f64>,
    /// Lot of the reagent
    #[arg(long)]
    lot: Option<String>,
    /// When the reagent was opened
    #[arg(long, value_name = "DATE")]
    opened: Option<Date>,
    /// Until when the reagent is good
    #[arg(long, value_name = "DATE")]
    expiry: Option<Date>,
    /// Anything worth knowing
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
}

#[derive(Debug, clap::Args)]
#[command(after_help = Originals::HELP)]
#[command(override_usage = "tintline kit add [KIT] --photo PHOTO [STATION=TEST:VALUE].. [OPTIONS]")]
struct Add {
    /// The kit, if there are several, and what stands where unless labels say it: STATION=TEST:CONCENTRATION, with
    /// its uncertainty where it is known: B=ammonia:0.5±0.03
    #[arg(value_name = "KIT STATION=TEST:VALUE")]
    words: Vec<String>,
    /// A photo of these standards; several if it was retaken
    #[arg(long = "photo", value_name = "PHOTO", required = true)]
    photos: Vec<PathBuf>,
    /// Station of a clear vial: the standards' water without reagent, for readings that are zeroed as well
    #[arg(long, value_name = "STATION")]
    clear: Option<String>,
    /// The enrolled card [default: the kit's own, or the only one]
    #[arg(long)]
    card: Option<String>,
    #[command(flatten)]
    originals: Originals,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum ScaleArg {
    FromZero,
    Bounded,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum MatrixArg {
    Fresh,
    Marine,
    Both,
}

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    match args.verb {
        Verb::New { name, strip, note } => {
            let kind = if strip.is_some() { Kind::Strip } else { Kind::Vial };
            let kit = Kit { note, kind, strip, ..Kit::new(name).map_err(IntakeError::from)? };
            kit.validate().map_err(IntakeError::from)?;
            changed(&home.new_kit(kit)?, |k| format!("Made the kit '{}'.", k.name), world)
        }
        Verb::AddTest(args) => {
            let (kit, test) = args.meant(home)?;
            let said = format!("Added the test '{}', in {}, to the kit '{}'.", test.name, test.unit, kit.name);
            let mut next = kit.value.clone();
            next.add_test(test).map_err(IntakeError::from)?;
            changed(&home.changed_kit(&kit, next)?, |_| said, world)
        }
        Verb::Add(args) => add(args, home, world),
        Verb::Lot(args) => kitkeep::lot(args, home, world),
        Verb::Adopt(args) => kitkeep::adopt(args, home, world),
        Verb::Control(args) => kitkeep::control(args, home, world),
        Verb::Remeasure(args) => kitkeep::remeasure(args, home, world),
        Verb::Start(args) => kitstart::start(args, home, world),
        Verb::Shades(args) => kitstart::shades(args, home, world),
        Verb::Series(args) => kitseries::series(args, home, world),
        Verb::List => {
            let kits = home.kit_names()?.into_iter().map(|name| home.kit(Some(&name)).map(|k| KitLine::of(&k)));
            world.show(&KitList { kits: kits.collect::<Result<_, _>>()? })?;
            Ok(Exit::Done)
        }
        Verb::Show { kit, toml } => {
            let kit = home.kit(kit.as_deref())?;
            if toml {
                world.raw().write_all(kit.value.to_toml().as_bytes())?;
            } else {
                let revisions = home.kit_revisions(&kit.name)?;
                world.show(&KitShown::of(&kit, revisions))?;
            }
            Ok(Exit::Done)
        }
        Verb::Check { kit, vision, picture } => {
            let kit = home.kit(kit.as_deref())?;
            if vision {
                return kitvision::vision(&kit, picture, world);
            }
            let checks: Vec<_> =
                kit.value.tests.iter().map(|t| curve::check(t, Nuisance::of(kit.value.kind))).collect();
            let events = home.log_if_any()?.map(|log| log.events(None)).transpose();
            let events = events.map_err(IntakeError::from)?.unwrap_or_default();
            let today = kitkeep::today(world);
            let checked = KitChecked::of(&kit, &checks, &intake::controls(&kit, &events, today), today);
            world.show(&checked)?;
            Ok(if checked.doubtful() { Exit::Look } else { Exit::Done })
        }
        Verb::Remove { kit, test, swatch } => remove(&home.kit(Some(&kit))?, &test, swatch, home, world),
        Verb::Import { file } => import(&file, home, world),
    }
}

/// A strip's measures as typed.
fn strip(text: &str) -> Result<Strip, String> {
    let numbers: Result<Vec<f64>, _> =
        text.split(',').map(|x| x.trim().trim_end_matches("mm").trim().parse()).collect();
    match numbers.as_deref() {
        Ok([length_mm, width_mm, pad_mm, pitch_mm, end_mm]) => Ok(Strip {
            length_mm: *length_mm,
            width_mm: *width_mm,
            pad_mm: *pad_mm,
            pitch_mm: *pitch_mm,
            end_mm: *end_mm,
        }),
        _ => Err("five numbers in millimetres, such as 70.5,6,5,7.4,4.5".to_string()),
    }
}

impl AddTest {
    fn meant(self, home: &Home) -> Result<(Kept<Kit>, Test), Trouble> {
        let (kit, name) = match &self.names[..] {
            [kit, name] => (Some(kit.as_str()), name.clone()),
            [name] => (None, name.clone()),
            _ => return Err(Trouble::usage("a kit and a test were expected", "Write: tintline kit add-test KIT TEST")),
        };
        let kit = home.kit(kit)?;
        let test = new_test(&name, self.analyte.as_deref(), self.unit.as_deref(), self.water)?;
        let scale = match self.scale {
            Some(ScaleArg::FromZero) => Scale::FromZero,
            Some(ScaleArg::Bounded) => Scale::Bounded,
            None => test.scale,
        };
        let (opened, expiry) = (self.opened, self.expiry);
        let test = Test {
            scale,
            pad: self.pad,
            wait_minutes: self.wait,
            window_minutes: self.window,
            lot: self.lot,
            opened,
            expiry,
            note: self.note,
            ..test
        };
        Ok((kit, test))
    }
}

/// A test as typed.
pub(super) fn new_test(
    name: &str,
    analyte: Option<&str>,
    unit: Option<&str>,
    water: MatrixArg,
) -> Result<Test, Trouble> {
    intake::check_test_name(name)?;
    let analyte = Analyte::parse(analyte.unwrap_or(name)).map_err(IntakeError::from)?;
    let unit = match unit {
        Some(unit) => Unit::parse(unit, &analyte).map_err(IntakeError::from)?,
        None if analyte == Analyte::Ph => Unit::ph(),
        None => {
            let choices = Unit::choices(&analyte).join("', '");
            let remedy =
                format!("Give it with --unit, or in 'kit start' as TEST=UNIT, as on the leaflet: '{choices}'.");
            return Err(Trouble::usage(format!("the unit of {analyte} was not said"), remedy));
        }
    };
    let matrix = match water {
        MatrixArg::Fresh => Matrix::Fresh,
        MatrixArg::Marine => Matrix::Marine,
        MatrixArg::Both => Matrix::Both,
    };
    Ok(Test::new(name, analyte, unit, matrix))
}

fn add(args: Add, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let (samples, names): (Vec<String>, Vec<String>) = args.words.into_iter().partition(|w| intake::is_sample(w));
    let kit = match (&names[..], &args.photos[..]) {
        // Labels name a test, and with it the kit.
        (named @ ([] | [_]), [first, ..]) if samples.is_empty() => {
            let given = named.first().map(String::as_str);
            home.kit(intake::kit_by_labels(home, first, given)?.as_deref())?
        }
        ([], _) => home.kit(None)?,
        ([name], _) => home.kit(Some(name))?,
        ([_, other, ..], _) => {
            let sentence = format!("'{other}' is neither STATION=TEST:VALUE nor the kit, which was named before");
            return Err(Trouble::usage(sentence, "Name one kit, and photos with --photo."));
        }
    };
    let card = home.card_for(args.card.as_deref(), &kit.value, &Layout::first())?;
    let (clear, keep) = (args.clear.as_deref(), args.originals.meant());
    let added = intake::add_standards(home, &kit, &card, &args.photos, &samples, clear, keep)?;
    let added = KitAdded::of(&added);
    world.show(&added)?;
    Ok(if added.refused() { Exit::Look } else { Exit::Done })
}

fn remove(kit: &Kept<Kit>, test: &str, swatch: Option<usize>, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let mut next = kit.value.clone();
    let said = match swatch {
        Some(number) => {
            let gone = next.remove_swatch(test, number).map_err(IntakeError::from)?;
            format!("Took swatch {number}, {}, out of the test '{test}' of the kit '{}'.", gone.value, kit.name)
        }
        None => {
            let gone = next.remove_test(test).map_err(IntakeError::from)?;
            format!("Took the test '{}' out of the kit '{}'.", gone.name, kit.name)
        }
    };
    changed(&home.changed_kit(kit, next)?, |_| said, world)
}

fn import(file: &PathBuf, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let wrong = |source| Trouble::File { doing: "read", path: file.clone(), source };
    let text = std::fs::read_to_string(file).map_err(wrong)?;
    let of_file = |e: KitError| IntakeError::KitImport { path: file.clone(), source: Box::new(e) };
    let kit = Kit::from_toml(&text).map_err(of_file)?;
    let known = home.kit_names()?.contains(&kit.name);
    let kit = match known {
        true => home.changed_kit(&home.kit(Some(&kit.name))?, kit)?,
        false => home.new_kit(kit)?,
    };
    let what = if known { "Changed" } else { "Made" };
    changed(&kit, |k| format!("{what} the kit '{}' after {}.", k.name, file.display()), world)
}

fn changed(kit: &Kept<Kit>, said: impl FnOnce(&Kept<Kit>) -> String, world: &mut World) -> Result<Exit, Trouble> {
    world.show(&KitChanged::new(kit, said(kit)))?;
    Ok(Exit::Done)
}
