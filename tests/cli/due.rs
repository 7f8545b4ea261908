//! `plan due`.

use super::furnished;
use super::wire::{DueList, Failed};
use crate::support::House;
use icalendar::{Calendar, Component};

const LOG: [&str; 1] = ["home/log.db"];

#[test]
fn tanks_and_kits_are_on_one_list() {
    let house = furnished();
    let hall = ["tank", "add", "hall; south", "--water", "fresh", "--zone", "Europe/Berlin"];
    house.run(&hall).touches(&LOG).go();
    let list = house.run(&["plan", "due", "--json"]).go().json::<DueList>().due;
    let of = |tank: Option<&str>, key: &str| list.iter().find(|d| d.tank.as_deref() == tank && d.key == key);
    let tests = of(Some("reef"), "tests").unwrap();
    assert!(tests.tests.iter().any(|t| t == "salinity") && tests.at.contains("+0"), "{tests:?}");
    assert!(of(Some("hall; south"), "tests").is_some());
    // The kit's standards were photographed on 2026-02-01; a month later, without a control since, it is due.
    let control = of(None, "control-home").unwrap();
    assert_eq!(control.at, "2026-03-01T12:00:00+01:00");
    assert!(control.why.rule == "control-due" && control.tests.is_empty(), "{control:?}");
    let said = house.run(&["plan", "due"]).go().out;
    assert!(said.contains("Control the kit 'home' with a known standard"), "{said}");
    let one = house.run(&["plan", "due", "reef", "--json"]).go().json::<DueList>().due;
    assert!(!one.is_empty() && one.iter().all(|d| d.tank.as_deref() == Some("reef")));
}

#[test]
fn the_calendar_file_holds_the_list_and_keeps_its_ids() {
    let house = furnished();
    let list = house.run(&["plan", "due", "--ics", "due.ics", "--json"]).touches(&["desk/due.ics"]).go();
    let list = list.json::<DueList>();
    assert_eq!(list.file.as_deref(), Some("due.ics"));
    let read = |text: &str| text.parse::<Calendar>().unwrap();
    let ids = |c: &Calendar| c.events().map(|e| e.get_uid().unwrap().to_string()).collect::<Vec<_>>();
    let file = read(&std::fs::read_to_string(house.path("desk/due.ics")).unwrap());
    assert_eq!(file.events().count(), list.due.len());
    for (event, due) in file.events().zip(&list.due) {
        let summary = due.tank.as_ref().map_or(due.what.clone(), |t| format!("{t}: {}", due.what));
        assert_eq!(event.get_summary(), Some(summary.as_str()));
    }
    let again = read(&house.run(&["plan", "due", "--ics", "-"]).go().out);
    assert_eq!(ids(&again), ids(&file));
    let unique: std::collections::BTreeSet<_> = ids(&file).into_iter().collect();
    assert_eq!(unique.len(), list.due.len());
}

#[test]
fn what_is_wrong_is_said() {
    let house = House::new();
    house.run(&["plan", "due"]).exit(2).err_has("[name-none-yet]").go();
    house.run(&["tank", "add", "hall", "--water", "fresh"]).touches(&LOG).go();
    let e = house.run(&["plan", "due", "pond", "--json"]).exit(2).err_has("error: ").go().json::<Failed>().error;
    assert_eq!(e.code, "tank-unknown");
    house.run(&["plan", "due", "--ics", "nowhere/due.ics"]).exit(4).err_has("nowhere/due.ics").go();
}
