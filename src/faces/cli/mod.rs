//! The command line.
//!
//! Each verb is a file: what was typed (`clap`) becomes what is meant, a call to the library, and a document that is shown as
//! text or, with `--json`, as JSON. No rule, threshold or formula lives here.
//!
//! # Exit codes
//! | code | meaning |
//! | --- | --- |
//! | 0 | all was read or done |
//! | 1 | failed: a file that cannot be used |
//! | 2 | usage: what was typed cannot be meant |
//! | 3 | some need a look: refused, or set aside while others were read; a plan that a rule forbids |
//! | 4 | the log or something else that is kept cannot be used |
//! | 130 | stopped by Ctrl-C: what was read until then is logged, the same command reads the rest |
//!
//! A reader that closes the pipe is no failure: the work is done to its end, the rest of the output is dropped.
//!
//! # JSON, schema 1
//! With `--json` standard output holds one object a run, with `schema` (1) and the fields of one document of [`wire`]; after an
//! error that ends the run, only `schema` and `error`. What is not known is null. Times are RFC 3339 with the offset at the
//! tank. Numbers stand in `unit`; no number is ever 0 in the place of 'not detected'. The schema number grows when a field
//! changes its meaning or goes; fields may be added.

mod options;
mod trouble;
mod verb;
pub mod wire;
mod words;
mod world;

use crate::intake::Home;
use clap::Parser;
use options::{Cli, Verb};

use std::ffi::OsString;
use std::path::PathBuf;
use std::process::ExitCode;
use trouble::{Exit, Trouble};
use world::World;

pub use options::{command, command_table};

/// The number of the JSON documents' schema.
pub const JSON_SCHEMA: u32 = 1;

/// Runs the program on these arguments, the first being its own name.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let cli = match Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(e) => {
            // Help and version come this way too; a closed pipe is no failure.
            let _ = e.print();
            return if e.use_stderr() { Exit::Usage.into() } else { Exit::Done.into() };
        }
    };
    let json = cli.json;
    let mut world = World::new(json);
    let exit = match home(cli.home).and_then(|home| go(cli.verb, &home, &mut world)) {
        Ok(exit) => exit,
        Err(trouble) => world.fail(&trouble),
    };
    world.finish(exit).into()
}

fn go(verb: Verb, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    match verb {
        Verb::Read(args) => verb::read::run(args, home, world),
        Verb::Log(args) => verb::log::run(args, home, world),
        Verb::Event(args) => verb::event::run(args, home, world),
        Verb::Tank(args) => verb::tank::run(args, home, world),
        Verb::Status(args) => verb::status::run(args, home, world),
        Verb::Chart(args) => verb::chart::run(args, home, world),
        Verb::Plan(args) => verb::plan::run(args, home, world),
        Verb::Report(args) => verb::report::run(args, home, world),
        Verb::Wait(args) => verb::wait::run(&args, home, world),
        Verb::Serve(args) => verb::serve::run(args, home, world),
        Verb::Kit(args) => verb::kit::run(args, home, world),
        Verb::Card(args) => verb::card::run(args, home, world),
        Verb::Demo(args) => verb::demo::run(args, world),
    }
}

/// The folder named, else the user's data folder.
fn home(given: Option<PathBuf>) -> Result<Home, Trouble> {
    use etcetera::BaseStrategy;
    match given {
        Some(root) => Ok(Home::at(root)),
        None => match etcetera::choose_base_strategy() {
            Ok(folders) => Ok(Home::at(folders.data_dir().join("tintline"))),
            Err(_) => Err(Trouble::NoHome),
        },
    }
}
