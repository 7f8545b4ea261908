//! `tank`.

use super::wire::{Failed, TankAdded, TankList};
use crate::support::House;

#[test]
fn tanks_are_added_and_listed() {
    let house = House::new();
    house.run(&["tank", "list"]).out_has("No tank yet").go();
    house
        .run(&["tank", "add", "Reef", "--water", "marine", "--volume", "240", "--note", "by the window"])
        .out_has("Added the tank 'Reef': marine water, time zone Europe/Berlin.")
        .touches(&["home/log.db"])
        .go();
    let new = house
        .run(&["tank", "add", "hall", "--water", "fresh", "--zone", "america/new_york", "--json"])
        .touches(&["home/log.db"])
        .go()
        .json::<TankAdded>();
    assert_eq!((new.tank.zone.as_str(), new.tank.water.as_str()), ("America/New_York", "fresh"));
    let said = house.run(&["tank", "list"]).go();
    let lines = "hall  fresh water          America/New_York\n\
                 Reef  marine water  240 L  Europe/Berlin     by the window\n";
    assert_eq!(said.out, lines);
    let list = house.run(&["--json", "tank", "list"]).go().json::<TankList>();
    assert_eq!(list.tanks.iter().map(|t| t.name.as_str()).collect::<Vec<_>>(), ["hall", "Reef"]);
    assert_eq!(list.tanks[1].volume_l, Some(240.0));
}

#[test]
fn a_tank_is_added_once_and_soundly() {
    let house = House::new();
    let add = |args: &[&'static str]| [&["tank", "add"], args].concat();
    house.run(&add(&["reef", "--water", "marine"])).touches(&["home/log.db"]).out_has("Added").go();
    for (args, code) in [
        (&["REEF", "--water", "fresh"][..], "[tank-taken]"),
        (&["", "--water", "fresh"], "[tank-name]"),
        (&["hall", "--water", "fresh", "--zone", "Mars/Base"], "[zone-unknown]"),
        (&["hall", "--water", "fresh", "--volume", "0"], "[tank-volume]"),
        (&["hall"], "--water"),
        (&["hall", "--water", "fizzy"], "fresh, brackish, marine"),
    ] {
        house.run(&add(args)).exit(2).err_has(code).go();
    }
    let said = house.run(&[&add(&["reef", "--water", "fresh"])[..], &["--json"]].concat());
    let error = said.exit(2).err_has("Choose another name.").go().json::<Failed>().error;
    assert_eq!((error.code.as_str(), error.remedy.as_str()), ("tank-taken", "Choose another name."));
}
