//! `wait`: starts are recorded, counted down, and photos outside their time are in doubt.

use super::brokenoff::{start, wait_for};
use super::furnished;
use super::wire::{EventList, LogList, ReadDone, WaitDone};
use crate::support::House;
use crate::support::shot::Shot;
use tintline::intake::Home;
use tintline::log::Log;

const LOG: [&str; 1] = ["home/log.db"];

/// A house whose nitrite test takes five minutes.
fn timed() -> House {
    let house = furnished();
    let home = Home::at(house.path("home"));
    let kept = home.kit(None).unwrap();
    let mut kit = kept.value.clone();
    kit.tests.iter_mut().find(|t| t.name == "nitrite").unwrap().wait_minutes = Some(5.0);
    home.changed_kit(&kept, kit).unwrap();
    house
}

#[test]
fn a_photo_outside_its_time_is_in_doubt() {
    let house = timed();
    let args = ["wait", "nitrite", "--at", "2026-03-01 18:30", "--no-wait"];
    house.run(&args).touches(&LOG).out_has("nitrite: photo from 18:35:00 to 18:45:00").go();
    // (minutes after the start, what is said): half a minute too early, in time, a minute of grace, too late, of another test.
    let cases = [(4, Some("read-early")), (5, None), (15, None), (20, Some("read-late")), (420, None)];
    for (i, (after, code)) in cases.into_iter().enumerate() {
        let (hour, minute) = (18 + (30 + after) / 60, (30 + after) % 60);
        let at = format!("2026:03:01 {:02}:{minute:02}:00", hour % 24);
        let at = if hour >= 24 { at.replace("03:01", "03:02") } else { at };
        let shot = Shot::new().dyed("B", 3.0).taken(&at, Some("+01:00"));
        let name = format!("after-{after}.jpg");
        house.lay(&name, (0..i).fold(shot, |s, _| s.retake()).jpeg());
        let args = ["read", "--json", "--no-keep", &name, "B=nitrite"];
        let said: ReadDone = house.run(&args).touches(&LOG).go().json();
        let sample = &said.photos[0].samples[0];
        let found: Vec<&str> =
            sample.findings.iter().filter(|f| f.severity == "doubt").map(|f| f.code.as_str()).collect();
        assert_eq!(found, code.into_iter().collect::<Vec<_>>(), "{after} minutes after");
    }
    // The time of the reagent is in the sample, so that the water has the time at which the test began.
    let log = Log::open(&house.path("home/log.db")).unwrap();
    let all = log.readings(&Default::default()).unwrap();
    assert_eq!(all.iter().filter(|r| r.sample.reagent.is_some()).count(), 4);
}

#[test]
fn without_a_start_nothing_is_claimed() {
    let house = timed();
    let said: ReadDone = house.run(&["read", "--json", "--no-keep", "tank.jpg", "B=nitrite"]).touches(&LOG).go().json();
    assert!(said.photos[0].samples[0].findings.iter().all(|f| !f.code.starts_with("read-")));
}

#[test]
fn a_time_that_is_over_is_not_waited_for() {
    let house = timed();
    let said: WaitDone =
        house.run(&["wait", "home", "nitrite", "--at", "2026-03-01 18:30", "--json"]).touches(&LOG).go().json();
    assert_eq!((said.tests.len(), said.stopped), (1, false));
    let one = &said.tests[0];
    assert_eq!((one.kit.as_str(), one.test.as_str(), one.tank.as_deref()), ("home", "nitrite", Some("reef")));
    assert_eq!(one.ready.as_deref(), Some("2026-03-01T17:35:00Z"));
    assert_eq!(one.until.as_deref(), Some("2026-03-01T17:45:00Z"));
    let events: EventList = house.run(&["event", "list", "--json"]).go().json();
    assert_eq!(events.events.iter().filter(|e| e.kind == "test-started").count(), 1);
    // A test of which the kit knows no time is recorded all the same; a mistake is undone as any entry.
    house.run(&["wait", "ammonia"]).touches(&LOG).out_has("does not say how long it takes").go();
    house.run(&["log", "undo"]).touches(&LOG).go();
    let events: EventList = house.run(&["event", "list", "--json"]).go().json();
    assert_eq!(events.events.len(), 1);
}

#[test]
fn wrong_words_are_told() {
    let house = timed();
    house.run(&["wait", "phosphate"]).exit(2).err_has("phosphate").go();
    house.run(&["wait", "home"]).exit(2).err_has("one by one").go();
    house.run(&["wait", "nitrite", "--at", "2999-01-01 12:00"]).exit(2).err_has("[time-future]").go();
    House::new().run(&["wait", "nitrite"]).exit(2).err_has("tank").go();
}

#[test]
fn ctrl_c_leaves_the_start_recorded() {
    let house = timed();
    let mut child = start(&house, &["wait", "nitrite"]);
    let log = Log::open(&house.path("home/log.db")).unwrap();
    wait_for(|| log.starts().unwrap().len() == 1, &mut child);
    assert!(child.try_wait().unwrap().is_none(), "it counts down");
    // The handler is set right after the start is written.
    std::thread::sleep(std::time::Duration::from_millis(500));
    crate::support::signal("INT", child.id());
    let done = child.wait_with_output().unwrap();
    assert_eq!(done.status.code(), Some(130));
    assert!(String::from_utf8_lossy(&done.stdout).contains("The start stays recorded"));
    assert_eq!(log.starts().unwrap().len(), 1);
    // An open log keeps files of its own beside it.
    drop(log);
    assert!(house.run(&["log", "--json"]).go().json::<LogList>().readings.is_empty());
}
