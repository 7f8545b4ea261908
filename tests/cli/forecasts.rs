//! `plan forecast`, and the line of it in `status`.

use super::wire::{Failed, PlanForecast, StatusShown};
use crate::support::House;

const LOG: [&str; 1] = ["home/log.db"];

/// A house with the fresh tank `hall` without animals, dosed ten days ago, or sixteen; `falls` tells whether ammonia fell since.
fn cycling(falls: bool) -> House {
    let house = House::new();
    let hall = ["tank", "add", "hall", "--water", "fresh", "--volume", "100", "--animals", "none"];
    house.run(&hall).touches(&LOG).go();
    let at = |h: i64| (jiff::Timestamp::now() - jiff::SignedDuration::from_hours(h)).to_string();
    let add = |args: &[&str], h: i64| {
        house.run(&[args, &["--at", &at(h)]].concat()).touches(&LOG).go();
    };
    let begun = if falls { 384 } else { 240 };
    add(&["event", "add", "ammonia-dosed", "2 mg/L NH3-N"], begun + 1);
    add(&["log", "add", "ammonia=2 mg/L NH3-N", "nitrite=<0.1 mg/L NO2-"], begun);
    add(&["log", "add", "ammonia=1.9 mg/L NH3-N", "nitrite=<0.1 mg/L NO2-"], 120);
    if falls {
        add(&["log", "add", "ammonia=1.2 mg/L NH3-N", "nitrite=2.2 mg/L NO2-"], 48);
        add(&["log", "add", "ammonia=0.4 mg/L NH3-N", "nitrite=4.5 mg/L NO2-"], 2);
    }
    house
}

#[test]
fn a_cycle_under_way_has_a_range_in_both_places() {
    let house = cycling(true);
    let f = house.run(&["plan", "forecast", "--json"]).go().json::<PlanForecast>();
    assert_eq!((f.tank.as_str(), f.finish.answer.as_str()), ("hall", "range"));
    let day = |t: &Option<String>| t.as_ref().unwrap().parse::<jiff::Timestamp>().unwrap();
    assert!(jiff::Timestamp::now() < day(&f.finish.early) && day(&f.finish.early) <= day(&f.finish.middle));
    let first = &f.finish.statements[0];
    assert!(first.rule == "forecast" && first.source.contains("Monod") && first.rests_on.len() >= 3, "{first:?}");
    assert_eq!((f.nitrate.limit, f.nitrate.without_changes.answer.as_str()), (40.0, "unknown"));
    let said = house.run(&["plan", "forecast", "HALL"]).go().out;
    for words in ["Finished: ", "[forecast, 2 h ago]", "    from ammonia ", "[proof]", "Nitrate at 40 mg/L:"] {
        assert!(said.contains(words), "no '{words}' in:\n{said}");
    }
    let status = house.run(&["status"]).go().out;
    let line = |text: &str| text.lines().find(|l| l.starts_with("Finished: ")).map(str::to_string);
    assert!(line(&status).is_some_and(|l| l.contains("chances in")), "{status}");
    let t = house.run(&["status", "hall", "--json"]).go().json::<StatusShown>().tanks.remove(0);
    assert_eq!(t.forecast.unwrap().answer, "range");
}

#[test]
fn without_a_fall_it_says_what_is_needed() {
    let house = cycling(false);
    let f = house.run(&["plan", "forecast", "--json"]).go().json::<PlanForecast>();
    assert_eq!((f.finish.answer.as_str(), &f.finish.early, &f.finish.late), ("not-fallen", &None, &None));
    assert!(house.run(&["status"]).go().out.contains("Finished: No date yet: ammonia has not fallen"));
    // Several tanks are shown a line each, without a forecast.
    house.run(&["tank", "add", "den", "--water", "fresh"]).touches(&LOG).go();
    let tanks = house.run(&["status", "--json"]).go().json::<StatusShown>().tanks;
    assert!(tanks.len() == 2 && tanks.iter().all(|t| t.forecast.is_none()));
    let e = house.run(&["plan", "forecast", "attic", "--json"]).exit(2).err_has("error: ").go().json::<Failed>().error;
    assert_eq!(e.code, "tank-unknown");
}

#[test]
fn without_a_tank_it_is_no_plan() {
    let house = House::new();
    house.run(&["plan", "forecast"]).exit(2).err_has("[name-none-yet]").go();
    house.run(&["plan"]).exit(2).err_has("forecast").go();
}
