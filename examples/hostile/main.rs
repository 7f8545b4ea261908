//! Hostile input for as long as wanted: `cargo run --release --example hostile -- SECONDS [SEED] [TARGET]`.
//!
//! Gives every target of `tests/hostile` changed bytes in turn and prints how many it took and which seeds broke a promise; exit code 1 if
//! any did. A seed names the same bytes on every machine: give it to run that one again.

#[path = "../../tests/hostile/mutate.rs"]
mod mutate;
#[path = "../../tests/hostile/targets.rs"]
mod targets;

use mutate::{Dice, changed};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process::ExitCode;
use std::time::{Duration, Instant};

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let number = |i: usize| words.get(i).and_then(|w| w.parse::<u64>().ok());
    let Some(seconds) = number(0) else {
        eprintln!("How long? cargo run --release --example hostile -- SECONDS [SEED] [TARGET]");
        return ExitCode::from(2);
    };
    let first = number(1).unwrap_or(1_000_000);
    let all: Vec<_> = targets::ALL.iter().filter(|t| words.get(2).is_none_or(|w| w == t.name)).collect();
    let share = Duration::from_secs(seconds) / all.len().max(1) as u32;
    let mut broke = 0;
    for target in all {
        let (seeds, begin, mut n) = ((target.seeds)(), Instant::now(), 0);
        let mut bad = Vec::new();
        while begin.elapsed() < share {
            let bytes = changed(&seeds, &mut Dice::new(first + n));
            if catch_unwind(AssertUnwindSafe(|| (target.run)(&bytes))).is_err() {
                bad.push(first + n);
            }
            n += 1;
        }
        let often = n / u64::from(target.runs);
        println!("{:8} {n:9} runs ({often} × the test's), {} broke a promise {bad:?}", target.name, bad.len());
        broke += bad.len();
    }
    if broke == 0 { ExitCode::SUCCESS } else { ExitCode::from(1) }
}
