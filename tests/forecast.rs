//! Forecasts of logs whose tanks grow by other equations, of the simulated logs, and against published times.

#[path = "../examples/forecast/keeper.rs"]
#[allow(dead_code, reason = "the report uses all of it")]
mod keeper;
#[path = "../examples/forecast/nitrate.rs"]
#[allow(dead_code, reason = "the report uses all of it")]
mod nitrate;
#[path = "../examples/forecast/score.rs"]
#[allow(dead_code, reason = "the report uses all of it")]
mod score;
#[path = "../examples/forecast/tank.rs"]
#[allow(dead_code, reason = "the report uses all of it")]
mod tank;

mod cases;
mod simulated;

use keeper::{Log, at};
use score::{Asked, ask, no_skill, rule};
use tintline::advice::*;
use tintline::numeric::robust::median;
use tintline::numeric::stats::clopper_pearson;

/// Enough for a band of a quarter; the report does more.
const LOGS: u64 = 48;

fn logs() -> Vec<Log> {
    (0..LOGS).map(|i| keeper::log(9_000_000 + i)).collect()
}

/// What the report counts as finished is what advice calls cycled, on the day it does.
#[test]
fn finished_is_what_the_proofs_make_of_a_whole_log() {
    let all: Vec<Log> = logs();
    let mut seen = 0;
    for log in all.iter().filter(|l| l.finished.is_some()) {
        let day = log.finished.unwrap();
        let stage = |day: f64| review(&log.whole, at(day + 0.001)).stage.stage;
        assert_eq!(stage(day), Stage::Cycled, "on day {day}");
        assert_ne!(stage(day - 1.0), Stage::Cycled, "the day before {day}");
        let now = at(day + 0.001);
        assert_eq!(forecast(&log.whole, now, 1).finish.when, When::Done);
        seen += 1;
    }
    assert!(seen >= 25, "{seen} of {LOGS} finish");
}

/// The range holds the day as often as it says, and its middle is nearer than the rule of thumb and than no skill.
#[test]
fn ranges_cover_and_beat_the_rule_of_thumb() {
    let logs = logs();
    let days = [16.0, 25.0, 35.0];
    let rows: Vec<Vec<Asked>> = std::thread::scope(|s| {
        let started: Vec<_> = days.iter().map(|d| s.spawn(|| ask(&logs, *d))).collect();
        started.into_iter().map(|t| t.join().unwrap()).collect()
    });
    let (mut errors, mut rules, mut none) = (Vec::new(), Vec::new(), Vec::new());
    for (day, asked) in days.iter().zip(&rows) {
        let given: Vec<&Asked> = asked.iter().filter(|a| a.range.is_some()).collect();
        let hits = given.iter().filter(|a| a.covered() == Some(true)).count();
        let band = clopper_pearson(hits as u64, given.len() as u64, 0.95).unwrap();
        println!("day {day}: {hits} of {} covered, {:.2} to {:.2}", given.len(), band.low, band.high);
        assert!(given.len() >= 10, "day {day}: {} dated", given.len());
        assert!(band.low <= 0.8 && 0.8 <= band.high, "day {day}: {hits} of {}", given.len());
        errors.extend(given.iter().filter_map(|a| a.error()));
        rules.extend(given.iter().map(|a| rule(a)));
        none.extend(given.iter().map(|a| no_skill(a, &logs)));
    }
    let of = |x: &[f64]| median(x).unwrap();
    println!("error {:.1} days, three weeks {:.1}, no skill {:.1}", of(&errors), of(&rules), of(&none));
    assert!(of(&errors) < of(&rules) && of(&errors) < of(&none));
}

/// Whatever a log shows, there is no date in the first two weeks or after six, nor while no test shows a fall.
#[test]
fn no_invented_log_has_a_date_too_early_or_too_late() {
    let mut asked = 0;
    for log in logs() {
        for day in [2.0, 9.0, 13.5, 43.5, 60.0, 100.0] {
            // The first dose goes in with the first test.
            let when = forecast(&log.book, at(day), 1).finish.when;
            assert!(!matches!(when, When::Range { .. }), "day {day}: {when:?}");
            asked += 1;
        }
    }
    assert_eq!(asked, 288);
}

/// The range of nitrate's day holds as often as it says.
#[test]
fn nitrate_is_covered() {
    let scored = nitrate::scored(200, 9);
    println!("{scored:?}");
    assert!(scored.given >= 180 && (0.72..=0.88).contains(&(scored.hits as f64 / scored.given as f64)), "{scored:?}");
}
