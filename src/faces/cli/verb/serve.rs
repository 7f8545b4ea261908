//! `serve`: the page on the phone.

use super::read::stopper;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::Serving;
use crate::faces::cli::world::World;
use crate::faces::web::{self, Listening, Site};
use crate::intake::Home;
use jiff::Timestamp;
use std::path::PathBuf;

/// Opens a page for the phone: read photos, start the timer, see tanks and what to do. Only this computer may open it, unless --lan
/// opens it to the home network; then each phone is asked for the code that is shown here, once. Ctrl-C stops it: what was begun
/// is finished.
#[derive(Debug, clap::Args)]
pub(in crate::faces::cli) struct Args {
    /// The port; 0 for any that is free
    #[arg(long, default_value_t = 8646)]
    port: u16,
    /// Listen to the home network
    #[arg(long)]
    lan: bool,
    /// Serve over TLS, with these PEM files
    #[arg(long, num_args = 2, value_names = ["CERT", "KEY"])]
    tls: Vec<PathBuf>,
    /// Another name by which this computer is asked for, such as aquarium.home; may be given several times
    #[arg(long = "name", value_name = "NAME")]
    names: Vec<String>,
    /// Forget the phones that were paired
    #[arg(long, requires = "lan")]
    forget: bool,
}

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let asked = Listening {
        port: args.port,
        lan: args.lan,
        tls: <[PathBuf; 2]>::try_from(args.tls).ok().map(|[certificate, key]| (certificate, key)),
        names: args.names,
        forget: args.forget,
    };
    let site = Site::of(home.clone(), Timestamp::now);
    let mut shown = Ok(());
    web::serve(site, &asked, stopper(), |up| {
        shown = world.show(&Serving::of(up, asked.lan, asked.tls.is_some()));
    })?;
    shown?;
    Ok(Exit::Done)
}
