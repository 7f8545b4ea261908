//! `log backup` and `log restore`.

use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{LogBackedUp, LogRestored};
use crate::faces::cli::world::World;
use crate::intake::{self, Home};
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub(super) struct Backup {
    /// The new file, such as tanks.zip; it holds your photos with all that the camera wrote
    file: PathBuf,
}

#[derive(Debug, clap::Args)]
pub(super) struct Restore {
    /// A file that 'log backup' wrote
    file: PathBuf,
}

pub(super) fn backup(args: &Backup, home: &Home, world: &mut World) -> Result<(), Trouble> {
    let done = intake::backup(home, &args.file, world.now)?;
    Ok(world.show(&LogBackedUp::of(&done))?)
}

/// Files that differ need a look: neither version is lost.
pub(super) fn restore(args: &Restore, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let done = intake::restore(home, &args.file)?;
    world.show(&LogRestored::of(&done))?;
    Ok(if done.kept.is_empty() { Exit::Done } else { Exit::Look })
}
