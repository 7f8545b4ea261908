//! `serve`: the page on the phone.

use super::read::stopper;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{PairingCode, PhoneList, PhonesForgotten, Serving};
use crate::faces::cli::world::World;
use crate::faces::web::{self, Listening, Notice, Phones, ServeError, Site};
use crate::intake::Home;
use jiff::Timestamp;
use std::path::PathBuf;

/// Opens a page for the phone: read photos, start the timer, see tanks and what to do. Only this computer may open it, unless --lan
/// opens it to the home network; then each phone is asked for the code that is shown here, once. Ctrl-C stops it: what was begun
/// is finished.
#[derive(Debug, clap::Args)]
#[command(args_conflicts_with_subcommands = true)]
pub(in crate::faces::cli) struct Args {
    #[command(subcommand)]
    verb: Option<Verb>,
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
}

#[derive(Debug, clap::Subcommand)]
enum Verb {
    /// Show a new code that pairs a phone with the server that runs elsewhere, such as one started with the computer
    Pair,
    /// List the paired phones
    Phones,
    /// Forget paired phones: they are asked for a code again
    Forget(Forget),
}

#[derive(Debug, clap::Args)]
struct Forget {
    /// Their names, or the signs before them in the list
    #[arg(required_unless_present = "all")]
    phones: Vec<String>,
    /// Forget every phone
    #[arg(long, conflicts_with = "phones")]
    all: bool,
}

pub(in crate::faces::cli) fn run(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let phones = Phones::of(home);
    match args.verb {
        None => return serve(args, home, world),
        Some(Verb::Pair) => {
            let code = phones.new_code(world.now).map_err(ServeError::from)?;
            world.show(&PairingCode::of(&code))?;
        }
        Some(Verb::Phones) => {
            let list = phones.list(None, world.now).map_err(ServeError::from)?;
            world.show(&PhoneList::of(&list))?;
        }
        Some(Verb::Forget(forget)) => {
            let before = phones.list(None, world.now).map_err(ServeError::from)?;
            if forget.all {
                phones.forget_all().map_err(ServeError::from)?;
            }
            forget.phones.iter().try_for_each(|which| phones.forget(which)).map_err(ServeError::from)?;
            let left = phones.list(None, world.now).map_err(ServeError::from)?;
            let gone = before.iter().filter(|p| !left.iter().any(|l| l.id == p.id));
            world.show(&PhonesForgotten { forgotten: gone.map(|p| p.name.clone()).collect() })?;
        }
    }
    Ok(Exit::Done)
}

fn serve(args: Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let asked = Listening {
        port: args.port,
        lan: args.lan,
        tls: <[PathBuf; 2]>::try_from(args.tls).ok().map(|[certificate, key]| (certificate, key)),
        names: args.names,
    };
    let site = Site::of(home.clone(), Timestamp::now);
    let mut shown = Ok(());
    web::serve(site, &asked, stopper(), |notice| match notice {
        Notice::Up(up) => {
            let serving = Serving::of(&up, asked.lan, asked.tls.is_some(), world.on_terminal());
            shown = world.show(&serving).and_then(|()| world.flush());
        }
        Notice::Code(code) => world.note(&format!("A phone asks to be paired. The code is now {}.", code.shown)),
    })?;
    shown?;
    Ok(Exit::Done)
}
