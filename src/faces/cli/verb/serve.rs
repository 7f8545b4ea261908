//! `serve`: the page on the phone.

use super::read::stopper;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::world::World;
use crate::faces::web::{self, Asked, Site};
use crate::intake::Home;
use jiff::Timestamp;

/// Opens a page to read photos, start the timer, and see tanks and what to do. This computer alone may open it. Ctrl-C stops it:
/// what was begun is finished.
#[derive(Debug, clap::Args)]
pub(in crate::faces::cli) struct Args {
    /// The port
    #[arg(long, default_value_t = 8646)]
    port: u16,
}

pub(in crate::faces::cli) fn run(args: &Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let site = Site::of(home.clone(), Timestamp::now);
    let stop = stopper();
    let asked = Asked { port: args.port };
    web::serve(site, &asked, stop, |at| world.note(&format!("The page is at http://{at}/. Ctrl-C stops it.")))?;
    Ok(Exit::Done)
}
