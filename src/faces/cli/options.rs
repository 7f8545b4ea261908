//! What can be typed. The texts here are the help and the README's table of commands.

use super::verb;
use crate::intake::Keep;
use clap::{CommandFactory, Parser, Subcommand};
use std::path::PathBuf;

/// Reads aquarium water tests from photos and keeps the tank log.
///
/// Lean the printed card upright, stand the vials before its lower edge, take a photo, and say what stands where:
///
///   tintline read photo.jpg A=ammonia B=nitrite
#[derive(Debug, Parser)]
#[command(name = "tintline", version, disable_help_subcommand = true, arg_required_else_help = true, after_help = EXITS)]
pub(super) struct Cli {
    /// The folder of log, kits, cards and photos [default: tintline in your data folder]
    #[arg(long, global = true, value_name = "DIR", env = "TINTLINE_HOME", value_parser = folder)]
    #[arg(hide_env_values = true, help_heading = ALL)]
    pub(super) home: Option<PathBuf>,

    /// Answer in JSON
    #[arg(long, global = true, help_heading = ALL)]
    pub(super) json: bool,

    #[command(subcommand)]
    pub(super) verb: Verb,
}

const ALL: &str = "For all commands";

const EXITS: &str = "Exit codes: 0 all read or done, 1 failed, 2 usage, 3 some need a look, 4 log or storage.\n\
After Ctrl-C: 130.";

#[derive(Debug, Subcommand)]
pub(super) enum Verb {
    /// Read vials from photos into the log
    Read(verb::read::Args),
    /// List readings; add them by hand, undo, export and import
    Log(verb::log::Args),
    /// Log and list what happened to a tank: water changes, fish, food, filter, power cuts
    Event(verb::event::Args),
    /// Add, change and list tanks
    Tank(verb::tank::Args),
    /// Show danger, stage of the cycle, what to do and when to test, for each tank
    Status(verb::status::Args),
    /// Draw a tank's results over time
    Chart(verb::chart::Args),
    /// Plan doses, water changes, stocking, standards, and what is due
    Plan(verb::plan::Args),
    /// Summarise a tank's log for somebody who helps
    Report(verb::report::Args),
    /// Record that tests were started, and count down to their photos
    Wait(verb::wait::Args),
    /// Open the page for the phone
    Serve(verb::serve::Args),
    /// Make test kits from photos of standards
    Kit(verb::kit::Args),
    /// Print, enrol and check reference cards
    Card(verb::card::Args),
    /// Read the shipped photos, to see what the program does
    Demo(verb::demo::Args),
}

/// What becomes of originals.
#[derive(Debug, Clone, Copy, clap::Args)]
pub(super) struct Originals {
    /// Keep no original
    #[arg(long)]
    no_keep: bool,
    /// Megabytes that kept originals may take together
    #[arg(long, value_name = "MB", default_value_t = 10_000)]
    #[arg(env = "TINTLINE_PHOTO_SPACE", hide_env_values = true)]
    photo_space: u64,
}

impl Originals {
    /// The help of every command that keeps originals.
    pub(super) const HELP: &str = "Originals are kept in the folder photos at home, so that they can be read again, until \
they take --photo-space; nothing is thrown out. They may hold the place where they were taken. --no-keep keeps none.";

    pub(super) fn meant(self) -> Keep {
        match self.no_keep {
            true => Keep::No,
            false => Keep::UpTo { bytes: self.photo_space.saturating_mul(1_000_000) },
        }
    }
}

/// All commands and options: the one definition from which help, man pages, completions and the README's tables are made.
pub fn command() -> clap::Command {
    let mut whole = Cli::command();
    whole.build();
    whole
}

/// The commands as a table in Markdown, from the same texts as the help.
pub fn command_table() -> String {
    let mut out = String::from("| command | what it does |\n| --- | --- |\n");
    let whole = command();
    rows(&whole, &mut out);
    out
}

fn rows(command: &clap::Command, out: &mut String) {
    for verb in command.get_subcommands() {
        // A verb with verbs below it has a row of its own only if it does something alone.
        if !verb.is_subcommand_required_set() {
            let usage = verb.clone().render_usage().to_string();
            let usage =
                usage.lines().next().unwrap_or_default().trim_start_matches("Usage: ").replace(" [OPTIONS]", "");
            let about = verb.get_about().map(ToString::to_string).unwrap_or_default();
            out.push_str(&format!("| `{usage}` | {about} |\n"));
        }
        rows(verb, out);
    }
}

fn folder(typed: &str) -> Result<PathBuf, String> {
    if typed.is_empty() { Err("it is empty".into()) } else { Ok(typed.into()) }
}
