//! What can be typed. The texts here are the help and the README's table of commands.

use super::verb;
use clap::{Parser, Subcommand};
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

const EXITS: &str = "Exit codes: 0 all read or done, 1 failed, 2 usage, 3 some need a look, 4 log or storage.";

#[derive(Debug, Subcommand)]
pub(super) enum Verb {
    /// Read vials from photos into the log
    Read(verb::read::Args),
    /// List, correct, export and import the log
    Log(verb::log::Args),
    /// Add and list tanks
    Tank(verb::tank::Args),
    /// Make test kits from photos of standards
    Kit(verb::kit::Args),
    /// Print, enrol and check reference cards
    Card(verb::card::Args),
    /// Read the shipped photos, to see what the program does
    Demo(verb::demo::Args),
}

fn folder(typed: &str) -> Result<PathBuf, String> {
    if typed.is_empty() { Err("it is empty".into()) } else { Ok(typed.into()) }
}
