//! `demo`: the shipped photos read with the shipped card and kit, the way a keeper reads them.

use crate::curve::Kit;
use crate::faces::cli::options::{Cli, Verb};
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::verb;
use crate::faces::cli::world::World;
use crate::intake::{Home, IntakeError};
use crate::light::Enrolment;
use clap::Parser;
use std::path::{Path, PathBuf};

#[derive(Debug, clap::Args)]
pub(in crate::faces::cli) struct Args {
    /// Where log, photos and overlays go [default: a new folder among the temporary files]
    #[arg(long, value_name = "DIR")]
    into: Option<PathBuf>,
}

const CARD: &str = include_str!("../../../../calibration/card/demo-print.toml");
const KIT: &str = include_str!("../../../../calibration/kit/demo-vials.toml");

/// A photo of the demo: its file, what stands where, and what it is about.
struct Shot {
    file: &'static str,
    bytes: &'static [u8],
    samples: &'static [&'static str],
    about: &'static str,
}

macro_rules! shot {
    ($file:literal, $samples:expr, $about:literal) => {
        Shot {
            file: $file,
            bytes: include_bytes!(concat!("../../../../fixtures/photos/demo/", $file)),
            samples: &$samples,
            about: $about,
        }
    };
}

const SHOTS: &[Shot] = &[
    shot!("saturday.jpg", ["A=pH", "C=nitrite"], "Two vials by the window, a station free between them."),
    shot!(
        "friday.jpg",
        ["A=pH", "B=ammonia", "C=nitrate", "D=nitrite"],
        "All four tests in one photo: quick, but vials tint their neighbours, and that is said."
    ),
    shot!("thursday-blurred.jpg", ["B=ammonia", "C=pH"], "A shaky photo. It is refused, not guessed."),
    shot!(
        "thursday.jpg",
        ["A=nitrite"],
        "One vial alone, colourless: none seen, and below which amount none can be seen."
    ),
    shot!("sunday.jpg", ["C=ammonia"], "One vial alone: the narrowest interval."),
];

pub(in crate::faces::cli) fn run(args: Args, world: &mut World) -> Result<Exit, Trouble> {
    if world.json() {
        let sentence = "the demo speaks in words only";
        return Err(Trouble::usage(
            sentence,
            "Run it without --json, then ask its log: tintline --home DIR log --json",
        ));
    }
    let root = match args.into {
        Some(dir) => dir,
        None => std::env::temp_dir().join(format!("tintline-demo-{}", world.now.as_millisecond())),
    };
    let home = Home::at(&root);
    home.make()?;
    let photos = root.join("demo-photos");
    make_folder(&photos)?;

    world.say(
        "A tank of 60 litres, some weeks old, read with the shipped card and kit. The photos are computer-made.\n",
    )?;
    if home.card_names()?.is_empty() {
        let card = Enrolment::from_toml(CARD);
        home.put_card(
            "demo-print",
            card.map_err(|source| IntakeError::CardFile { name: "demo-print".into(), source })?,
        )?;
        let kit = Kit::from_toml(KIT).map_err(Box::new);
        home.new_kit(kit.map_err(|source| IntakeError::KitFile { name: "demo-vials".into(), source })?)?;
        typed(
            &["tank", "add", "shelf-60", "--water", "fresh", "--volume", "60", "--zone", "Asia/Tokyo"],
            &home,
            world,
        )?;
    }
    for shot in SHOTS {
        let path = photos.join(shot.file);
        write(&path, shot.bytes)?;
        let path = path.display().to_string();
        let overlays = photos.display().to_string();
        let mut words = vec!["read", path.as_str()];
        words.extend(shot.samples);
        words.extend(["--tank", "shelf-60", "--no-keep", "--overlay", overlays.as_str()]);
        world.say(&format!("\n{}\n$ tintline read {} {}", shot.about, shot.file, shot.samples.join(" ")))?;
        typed(&words, &home, world)?;
    }
    world.say("\n$ tintline log")?;
    typed(&["log"], &home, world)?;
    world.say(&format!(
        "\nThe overlays show where each colour was taken: {}\nThe log: {}\nGo on with it: tintline --home {} log",
        photos.display(),
        home.log_path().display(),
        root.display()
    ))?;
    Ok(Exit::Done)
}

/// Does what typing these words would do. A refused photo is part of the story, not a failure of the demo.
fn typed(words: &[&str], home: &Home, world: &mut World) -> Result<(), Trouble> {
    let cli = Cli::try_parse_from(std::iter::once("tintline").chain(words.iter().copied()));
    match cli.map(|c| c.verb) {
        Ok(Verb::Read(args)) => verb::read::run(args, home, world).map(drop),
        Ok(Verb::Tank(args)) => verb::tank::run(args, home, world).map(drop),
        Ok(Verb::Log(args)) => verb::log::run(args, home, world).map(drop),
        _ => Err(Trouble::usage("the demo's own words are not understood", "This is a fault of the program.")),
    }
}

fn make_folder(path: &Path) -> Result<(), Trouble> {
    let trouble = |source| Trouble::File { doing: "make", path: path.to_path_buf(), source };
    std::fs::create_dir_all(path).map_err(trouble)
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), Trouble> {
    let trouble = |source| Trouble::File { doing: "write", path: path.to_path_buf(), source };
    std::fs::write(path, bytes).map_err(trouble)
}
