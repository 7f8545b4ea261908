//! Scores the forecast on invented logs: `cargo run --release --example forecast -- [--logs N] [--seed N]`.

mod keeper;
mod nitrate;
mod score;
mod tank;

use keeper::{Log, at};
use score::{ASKED, HEAD, ask, line};
use std::time::Instant;
use tintline::advice::{When, forecast};
use tintline::numeric::robust::{median, quantile};

fn option(name: &str, default: u64) -> u64 {
    let args: Vec<String> = std::env::args().collect();
    let given = args.iter().position(|a| a == name).and_then(|i| args.get(i + 1));
    match given.map(|g| g.parse()) {
        None => default,
        Some(Ok(n)) => n,
        Some(Err(_)) => {
            eprintln!("{name} takes a whole number");
            std::process::exit(2);
        }
    }
}

fn main() {
    let (count, seed) = (option("--logs", 300), option("--seed", 1));
    let logs: Vec<Log> = (0..count).map(|i| keeper::log(seed * 1_000_000 + i)).collect();
    let ends: Vec<f64> = logs.iter().filter_map(|l| l.finished).collect();
    let q = |p| quantile(&ends, p).unwrap_or(f64::NAN);
    println!(
        "{count} logs, seed {seed}: {} finish, on day {:.0} (median; {:.0} to {:.0} for 80 %), {} do not",
        ends.len(),
        median(&ends).unwrap_or(f64::NAN),
        q(0.1),
        q(0.9),
        logs.len() - ends.len()
    );
    println!("{HEAD}");
    let (mut all, mut times) = (Vec::new(), Vec::new());
    for day in ASKED {
        let begun = Instant::now();
        let asked = ask(&logs, day);
        times.push(begun.elapsed().as_secs_f64() / asked.len().max(1) as f64);
        let mut out = String::new();
        line(&mut out, &format!("{day:.0}"), &asked, &logs);
        print!("{out}");
        all.extend(asked);
    }
    for form in [tank::Form::Haldane, tank::Form::Logistic, tank::Form::Tessier] {
        let of: Vec<_> = all.iter().copied().filter(|a| logs[a.log].form == form).collect();
        let mut out = String::new();
        line(&mut out, &format!("{form:?}"), &of, &logs);
        print!("{out}");
    }
    let mut out = String::new();
    line(&mut out, "all", &all, &logs);
    print!("{out}");
    println!("(In the last rows a log counts several times: their bands are too narrow.)");
    let stalled: Vec<&Log> = logs.iter().filter(|l| l.finished.is_none()).collect();
    let dated = |day: f64| {
        let given = |l: &&&Log| matches!(forecast(&l.book, at(day), 1).finish.when, When::Range { .. });
        stalled.iter().filter(given).count()
    };
    let days = [16.0, 20.0, 30.0, 41.0, 60.0, 90.0];
    let said: Vec<String> = days.iter().map(|d| format!("{d:.0}: {}", dated(*d))).collect();
    println!(
        "Of {} that are not finished on day {}, with a date on day {}",
        stalled.len(),
        keeper::LAST_DAY,
        said.join(", ")
    );
    let bias: Vec<f64> = all.iter().filter_map(|a| a.range.map(|r| r[1].min(a.day + 120.0) - a.truth)).collect();
    println!("The middle of the range lies {:+.1} days from the truth (median)", median(&bias).unwrap_or(f64::NAN));
    println!("{}", nitrate::line(count, seed));
    println!("{:.3} s a forecast at most, mean of a row", times.into_iter().fold(0.0, f64::max));
}
