//! `event` and what `tank` knows.

use super::wire::{EventAdded, EventList, Failed, TankChanged, TankList};
use crate::support::House;

const LOG: [&str; 1] = ["home/log.db"];

/// A house with an empty fresh tank `hall` of 60 L and a marine one, `reef`.
fn two_tanks() -> House {
    let house = House::new();
    let hall = ["tank", "add", "hall", "--water", "fresh", "--volume", "60", "--animals", "none"];
    house.run(&hall).touches(&LOG).go();
    house.run(&["tank", "add", "reef", "--water", "marine"]).touches(&LOG).go();
    house
}

fn add(house: &House, args: &[&str]) -> EventAdded {
    house.run(&[&["event", "add"], args, &["--tank", "hall", "--json"]].concat()).touches(&LOG).go().json()
}

fn refused(house: &House, args: &[&str]) -> Failed {
    let said = house.run(&[&["event", "add"], args, &["--json"]].concat()).exit(2).err_has("error: ").go();
    said.json()
}

#[test]
fn events_are_added_listed_and_undone() {
    let house = two_tanks();
    let change = add(&house, &["wc", "30%", "old", "hose", "--at", "2026-03-01 18:30"]).event;
    assert_eq!((change.kind.as_str(), change.at.at.as_str()), ("water-change", "2026-03-01T18:30:00+01:00"));
    assert_eq!((change.text.as_str(), change.note.as_deref()), ("water-change: 30 %, old hose", Some("old hose")));
    assert_eq!(change.facts["share"], 0.3);
    let fish = add(&house, &["fish-added", "3", "neon", "tetras", "2cm", "--at", "2026-03-02 18:30"]).event;
    assert_eq!(fish.text, "fish-added: 3 neon tetras, 2 cm");
    let dose = add(&house, &["dose", "4", "mL", "9.5%", "by", "weight", "--at", "2026-02-01 08:00"]);
    assert_eq!(dose.event.text, "ammonia-dosed: 4 mL, 9.5 % by-weight");
    let said = house.run(&["event", "list", "--tank", "hall", "--until", "2026-04-01"]).go().out;
    let lines: Vec<&str> = said.lines().map(|l| l.rsplit_once("  ").unwrap().0.trim_end()).collect();
    assert_eq!(
        lines,
        [
            "2026-02-01 08:00  hall  ammonia-dosed  4 mL, 9.5 % by-weight",
            "2026-03-01 18:30  hall  water-change   30 %, old hose",
            "2026-03-02 18:30  hall  fish-added     3 neon tetras, 2 cm",
        ],
    );
    let count =
        |args: &[&str]| house.run(&[&["event", "list", "--json"], args].concat()).go().json::<EventList>().events.len();
    assert_eq!((count(&[]), count(&["--kind", "wc"]), count(&["--last", "2"])), (4, 1, 2));
    assert_eq!((count(&["--since", "2026-03-02"]), count(&["--tank", "reef"])), (2, 0));
    house.run(&["log", "undo", &fish.id, "--reason", "other tank"]).touches(&LOG).out_has("Undone").go();
    assert_eq!(count(&["--kind", "fish-added"]), 0);
    house.run(&["log", "history", &fish.id]).out_has("undo of").out_has("other tank").go();
}

#[test]
fn media_that_moved_are_one_event_of_two_tanks() {
    let house = two_tanks();
    let said = house.run(&["event", "add", "media-moved", "half", "the", "sponge", "--tank", "reef", "--to", "hall"]);
    said.touches(&LOG).out_has("media-moved: 50 %, the sponge, into hall").go();
    for tank in ["hall", "reef"] {
        let list = house.run(&["event", "list", "--kind", "media-moved", "--tank", tank, "--json"]).go();
        let events = list.json::<EventList>().events;
        let both = (events[0].tank.as_deref(), events[0].other_tank.as_deref());
        assert_eq!((events.len(), both), (1, (Some("reef"), Some("hall"))), "{tank}");
    }
    for (args, code) in [
        (&["media-moved", "--tank", "hall"][..], "event-incomplete"),
        (&["media-moved", "--tank", "hall", "--to", "hall"], "event-unfit"),
        (&["media-moved", "--tank", "hall", "--to", "pond"], "tank-unknown"),
    ] {
        assert_eq!(refused(&house, args).error.code, code, "{args:?}");
    }
    // Neither side can be taken out of the log while the event stands.
    let tanks = house.run(&["tank", "list", "--json"]).go().json::<TankList>().tanks;
    house.run(&["log", "undo", &tanks[1].id]).exit(2).err_has("[tank-in-use]").go();
}

#[test]
fn what_cannot_be_is_asked_back_and_nothing_written() {
    let house = two_tanks();
    house.run(&["event", "add", "note", "x"]).exit(2).err_has("[name-ambiguous]").go();
    let hall = |args: &[&str]| refused(&house, &[args, &["--tank", "hall"]].concat()).error;
    for (args, code) in [
        (&["moon-phase"][..], "event-kind"),
        (&["wc", "400%"], "event-unfit"),
        (&["wc", "80", "L"], "change-more-than-tank"),
        (&["wc", "30"], "event-number-bare"),
        (&["wc", "30", "g"], "event-number-misplaced"),
        (&["wc", "10", "gal"], "volume-gallons"),
        (&["dose", "2", "mg/L"], "unit-needs-basis"),
        (&["dose", "2"], "event-number-bare"),
        (&["dose", "2", "mg/L", "NO3-"], "unit-other-analyte"),
        (&["dose", "4", "mL", "95%"], "water-out-of-range"),
        (&["note"], "event-incomplete"),
        (&["wc", "30%", "--at", "2999-01-01 10:00"], "time-future"),
        (&["wc", "30%", "--at", "2026-03-01"], "time-malformed"),
        (&["wc", "30%", "--new-water", "pH=15"], "amount-ph-out-of-range"),
        (&["wc", "30%", "--new-water", "pH"], "reading-malformed"),
        (&["wc", "30%", "--new-water", "pH=7", "--new-water", "ph=8"], "reading-twice"),
        (&["wc", "30%", "--new-water", "nitrate=0 mg/L NO3-"], "amount-bare-zero"),
    ] {
        let e = hall(args);
        assert_eq!(e.code, code, "{args:?}");
        assert!(e.remedy.len() > 15 && e.remedy.ends_with('.'), "{args:?}: {}", e.remedy);
    }
    assert_eq!(house.run(&["event", "list", "--kind", "wc", "--json"]).go().json::<EventList>().events.len(), 0);
}

#[test]
fn the_same_twice_is_asked_for() {
    let house = two_tanks();
    add(&house, &["wc", "30%", "--at", "2026-03-01 18:00"]);
    let twice = refused(&house, &["wc", "30%", "--tank", "hall", "--at", "2026-03-01 18:59"]).error;
    assert_eq!(twice.code, "entry-twice");
    assert!(twice.sentence.contains("2026-03-01 18:00") && twice.remedy.contains("--again"), "{twice:?}");
    // Another amount, another tank, an hour later, or said to be meant.
    add(&house, &["wc", "20%", "--at", "2026-03-01 18:59"]);
    add(&house, &["wc", "30%", "--at", "2026-03-01 19:01"]);
    add(&house, &["wc", "30%", "--at", "2026-03-01 18:30", "--again"]);
    house
        .run(&["event", "add", "wc", "30%", "--tank", "reef", "--at", "2026-03-01 18:00"])
        .touches(&LOG)
        .out_has("reef")
        .go();
}

#[test]
fn an_event_is_corrected_by_another_in_its_place() {
    let house = two_tanks();
    let wrong = add(&house, &["wc", "30%", "--at", "2026-03-01 18:00"]).event;
    let right = add(&house, &["wc", "50%", "--at", "2026-03-01 18:00", "--instead", &wrong.id]).event;
    let shares = || {
        let list = house.run(&["event", "list", "--kind", "wc", "--json"]).go().json::<EventList>().events;
        list.iter().map(|e| (e.id.clone(), e.facts["share"].as_f64().unwrap())).collect::<Vec<_>>()
    };
    assert_eq!(shares(), [(right.id.clone(), 0.5)]);
    // Only the time was wrong: not the same twice.
    let later = add(&house, &["wc", "50%", "--at", "2026-03-01 18:30", "--instead", &right.id]).event;
    assert_eq!(shares(), [(later.id, 0.5)]);
    house.run(&["log", "history", &wrong.id]).out_has("corrected: another event stands in its place").go();
    for id in [&wrong.id, &house.run(&["tank", "list", "--json"]).go().json::<TankList>().tanks[0].id] {
        let e = refused(&house, &["wc", "20%", "--tank", "hall", "--instead", id]).error;
        assert_eq!(e.code, "event-not-standing");
    }
    assert_eq!(refused(&house, &["wc", "20%", "--tank", "hall", "--instead", "zz"]).error.code, "entry-unknown");
}

#[test]
fn a_clock_change_leaves_the_time_unsure() {
    let house = two_tanks();
    let at = |time: &str| {
        let e = add(&house, &["feeding", "--at", time, "--again"]);
        (e.event.at.at, e.event.at.certainty, e.findings.into_iter().map(|f| f.code).collect::<Vec<_>>())
    };
    // Clocks in Berlin: forward 2026-03-29 02:00 → 03:00, back 2026-10-25 03:00 → 02:00 (IANA time zone database).
    let unsure = |at: &str| (at.to_string(), "unsure".to_string(), vec!["time-unsure".to_string()]);
    assert_eq!(at("2026-03-29 02:30"), unsure("2026-03-29T03:30:00+02:00"));
    assert_eq!(at("2026-10-25 02:30"), unsure("2026-10-25T02:30:00+02:00"));
    let sure = ("2026-10-25T02:30:00+01:00".to_string(), "sure".to_string(), vec![]);
    assert_eq!(at("2026-10-25T02:30:00+01:00"), sure);
}

#[test]
fn a_tank_changes_by_entries_that_can_be_undone() {
    let house = two_tanks();
    let facts = [
        "--volume",
        "15 us gal",
        "--salinity",
        "1.025 sg",
        "--temp",
        "78 °F",
        "--planted",
        "no",
        "--animals",
        "12 gobies",
    ];
    let changed = house.run(&[&["tank", "change", "reef"], &facts[..], &["--json"]].concat()).touches(&LOG).go();
    let changed = changed.json::<TankChanged>();
    let (t, close) = (&changed.tank, |x: Option<f64>, y: f64| (x.unwrap() - y).abs() < 0.02);
    // NIST Handbook 44: a US gallon is 3.785411784 L. 78 °F are 25.56 °C.
    assert!(close(t.volume_l, 56.781) && close(t.celsius, 25.556), "{t:?}");
    assert!((t.salinity_g_kg.unwrap() - 35.0).abs() < 1.0, "{t:?}");
    assert_eq!((t.planted, t.animals.as_str(), t.animal_count), (Some(false), "present", Some(12)));
    assert_eq!(changed.entries.len(), 2);
    house.run(&["log", "undo", &changed.entries[0]]).touches(&LOG).out_has("Undone").go();
    let tank = |name: &str| {
        let tanks = house.run(&["tank", "list", "--json"]).go().json::<TankList>().tanks;
        tanks.into_iter().find(|t| t.name == name).unwrap()
    };
    let t = tank("reef");
    assert_eq!((t.volume_l, t.celsius, t.animal_count), (None, None, Some(12)));
    // Events count animals on and off; a change of water alone leaves the rest.
    add(&house, &["fish-added", "3", "tetras"]);
    assert_eq!((tank("hall").animals, tank("hall").animal_count), ("present".to_string(), Some(3)));
    add(&house, &["died", "3", "tetras"]);
    assert_eq!(tank("hall").animals, "none");
    house.run(&["tank", "change", "hall", "--water", "brackish"]).touches(&LOG).out_has("brackish water, 60 L").go();
    for (args, code) in [
        (&["--volume", "-5"][..], "event-number"),
        (&["--volume", "0"], "event-unfit"),
        (&["--volume", "10 gal"], "volume-gallons"),
        (&["--salinity", "35"], "entry-no-unit"),
        (&["--salinity", "1.025 sg"], "entry-no-temperature"),
        (&["--temp", "78"], "amount-temperature-out-of-range"),
        (&["--animals", "2.5"], "event-number"),
        (&["--planted", "yes", "--at", "2999-01-01 10:00"], "time-future"),
        (&[], "usage"),
    ] {
        let said = house.run(&[&["tank", "change", "hall", "--json"], args].concat()).exit(2).err_has("error: ").go();
        assert_eq!(said.json::<Failed>().error.code, code, "{args:?}");
    }
    house.run(&["log", "undo"]).touches(&LOG).go();
    assert_eq!(tank("hall").water, "fresh");
}
