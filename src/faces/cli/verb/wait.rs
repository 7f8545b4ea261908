//! `wait`: the time a test wants.

use super::read::stopper;
use crate::curve::Kind;
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::{WaitDone, WaitingOut};
use crate::faces::cli::words::minutes_seconds;
use crate::faces::cli::world::World;
use crate::intake::{self, At, Entered, Home, IntakeError};
use crate::log::{Start, WINDOW_MINUTES};
use indicatif::{ProgressBar, ProgressStyle};
use jiff::{SignedDuration, Timestamp};
use std::sync::atomic::Ordering;
use std::time::Duration;

/// Records that the last drop of reagent went in, and counts down to the photo. A photo of the test that is taken too early or too
/// late is then in doubt. Ctrl-C ends the counting; the start stays recorded, and 'tintline log undo' takes it back.
#[derive(Debug, clap::Args)]
#[command(override_usage = "tintline wait [KIT] TEST.. [OPTIONS]")]
pub(in crate::faces::cli) struct Args {
    /// The kit, if there are several, and its tests that were started together; of strips none need be named
    #[arg(value_name = "KIT TEST", required = true)]
    words: Vec<String>,
    /// The tank [default: the only one, or any]
    #[arg(long)]
    tank: Option<String>,
    /// When the last drop went in: now, 18:30, or 2026-03-01 18:30
    #[arg(long, value_name = "TIME", default_value = "now")]
    at: String,
    /// Record the start, and do not count down
    #[arg(long)]
    no_wait: bool,
}

/// How often the clock is looked at.
const TICK: Duration = Duration::from_millis(100);

pub(in crate::faces::cli) fn run(args: &Args, home: &Home, world: &mut World) -> Result<Exit, Trouble> {
    let at = At::parse(&args.at)?;
    let mut log = home.log_if_any()?.ok_or(IntakeError::NoneYet { what: "tank" })?;
    let (kit, tests) = named(&args.words, home)?;
    let kit = home.kit(kit)?;
    let every: Vec<String> = kit.value.tests.iter().map(|t| t.name.clone()).collect();
    if tests.is_empty() && kit.value.kind != Kind::Strip {
        let remedy = format!("Name its tests that were started: {}.", every.join(", "));
        return Err(Trouble::usage(format!("the kit '{}' has tests that are started one by one", kit.name), remedy));
    }
    let asked = if tests.is_empty() { every } else { tests.to_vec() };
    let tests = asked.iter().map(|name| kit.value.test(name)).collect::<Result<Vec<_>, _>>();
    let tests = tests.map_err(IntakeError::from)?;
    let tanks = log.tanks()?;
    let tank = match (&args.tank, &tanks[..]) {
        (Some(name), _) => Some(log.tank(name)?),
        (None, [one]) => Some(one.clone()),
        (None, _) => None,
    };
    let zone = tank.as_ref().or(tanks.first()).cloned().ok_or(IntakeError::NoneYet { what: "tank" })?;
    let names: Vec<String> = tests.iter().map(|t| t.name.clone()).collect();
    let when = Entered { at: Some(at), again: true, instead: None };
    let own = tank.as_ref().map(|t| t.id);
    let (started, _) = intake::start_tests(&mut log, &zone, own, (&kit.name, &names), when, world.now)?;
    let of = |(id, start): &(crate::log::Id, Start)| {
        let test = tests.iter().find(|t| t.name == start.test);
        let wait = test.and_then(|t| t.wait_minutes);
        let window = test.and_then(|t| t.window_minutes).unwrap_or(WINDOW_MINUTES);
        WaitingOut::of(*id, start, tank.as_ref(), wait, window)
    };
    let mut waiting: Vec<WaitingOut> = started.iter().map(of).collect();
    waiting.sort_by_key(|w| w.ready);
    for w in &waiting {
        world.part(w)?;
    }
    let stopped = !args.no_wait && count_down(&mut waiting, world)?;
    let done = WaitDone { tests: waiting, stopped };
    if args.no_wait {
        world.whole(&done)?;
    } else {
        world.show(&done)?;
    }
    Ok(if stopped { Exit::Stopped } else { Exit::Done })
}

/// The kit, where the first word is one, and the tests.
fn named<'w>(words: &'w [String], home: &Home) -> Result<(Option<&'w str>, &'w [String]), Trouble> {
    let kits = home.kit_names()?;
    let is_kit = |word: &String| kits.iter().any(|k| k.to_lowercase() == word.trim().to_lowercase());
    match words.split_first() {
        Some((first, rest)) if is_kit(first) => Ok((Some(first), rest)),
        _ => Ok((None, words)),
    }
}

/// Counts down to each of them; whether Ctrl-C ended it. The wall clock is asked each time, so that a computer that slept in between
/// goes on with the right time.
fn count_down(waiting: &mut [WaitingOut], world: &mut World) -> Result<bool, Trouble> {
    let stop = stopper();
    let begin = Timestamp::now();
    let last = waiting.iter().filter_map(|w| w.ready).max();
    let left = |to: Timestamp| to.duration_since(Timestamp::now()).max(SignedDuration::ZERO);
    let whole = last.map_or(SignedDuration::ZERO, |l| l.duration_since(begin)).max(SignedDuration::ZERO);
    let bar = bar(whole);
    loop {
        let now = Timestamp::now();
        for w in waiting.iter_mut().filter(|w| !w.told && w.ready.is_some_and(|r| r <= now)) {
            w.told = true;
            let words = w.now_words(now);
            bar.suspend(|| world.note(&words));
        }
        let Some(next) = waiting.iter().filter(|w| !w.told).filter_map(|w| Some((w.ready?, &w.test))).min() else {
            break;
        };
        if stop.load(Ordering::SeqCst) {
            bar.finish_and_clear();
            return Ok(true);
        }
        bar.set_position(now.duration_since(begin).as_secs().max(0).unsigned_abs());
        bar.set_message(format!("{} in {}", next.1, minutes_seconds(left(next.0))));
        std::thread::sleep(TICK.min(left(next.0).try_into().unwrap_or(TICK)));
    }
    bar.finish_and_clear();
    Ok(false)
}

/// On standard error; nothing where that is no terminal.
fn bar(whole: SignedDuration) -> ProgressBar {
    let bar = ProgressBar::new(whole.as_secs().max(1).unsigned_abs());
    if let Ok(style) = ProgressStyle::with_template("{bar:30} {msg}") {
        bar.set_style(style);
    }
    bar
}
