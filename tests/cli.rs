//! The program from outside: what is typed, what is said, what is written.

mod backups;
mod bad;
mod batch;
mod brokenoff;
mod byhand;
mod cards;
mod charts;
mod clear;
mod corrections;
mod due;
mod effort;
mod events;
mod forecasts;
mod hazards;
mod help;
mod keeping;
mod kits;
mod labels;
mod logs;
mod marine;
mod merging;
mod places;
mod plans;
mod reading;
mod rereading;
mod samples;
mod series;
pub mod shades;
mod standards;
mod status;
mod strips;
mod tables;
mod tanks;
mod textonly;
mod waiting;
mod watching;
pub mod week;
pub mod wire;

use crate::support::House;
use crate::support::shot::Shot;
use std::sync::OnceLock;

/// A house with the marine tank `reef`, the card `card`, and the kit `home`: nitrite calibrated, ammonia and pH not; three photos
/// of tank water on the desk: `tank.jpg` (offset written), `local.jpg` (no offset), `silent.jpg` (no time), all with a vial of
/// nitrite 3 mg/L at B, and `bare.jpg` without a card.
fn furnished() -> House {
    static FIRST: OnceLock<House> = OnceLock::new();
    FIRST.get_or_init(furnish).copy()
}

fn furnish() -> House {
    let house = House::new();
    let go = |args: &[&str], touches: &[&str]| house.run(args).touches(touches).go();
    house.lay("empty.jpg", Shot::new().jpeg()).lay("empty2.jpg", Shot::new().retake().jpeg());
    let standards = |a, c| Shot::new().taken("2026:02:01 12:00:00", Some("+01:00")).dyed("A", a).dyed("C", c);
    house.lay("s1.jpg", standards(0.0, 2.0).jpeg()).lay("s2.jpg", standards(0.0, 3.0).retake().jpeg());
    house.lay("s3.jpg", standards(1.0, 5.0).jpeg());
    go(&["tank", "add", "reef", "--water", "marine", "--zone", "Europe/Berlin"], &["home/log.db"]);
    go(&["card", "enrol", "empty.jpg", "empty2.jpg"], &["home/cards/card/", "home/photos/"]);
    go(&["kit", "new", "home"], &["home/kits/home/"]);
    let add = |test: &str, unit: &str| {
        go(&["kit", "add-test", test, "--unit", unit, "--water", "both"], &["home/kits/home/"]);
    };
    add("nitrite", "mg/L NO2-");
    add("ammonia", "mg/L NH3-N");
    add("pH", "pH");
    for (photo, [a, c]) in [("s1.jpg", [0, 2]), ("s2.jpg", [0, 3]), ("s3.jpg", [1, 5])] {
        let (a, c) = (format!("A=nitrite:{a}"), format!("C=nitrite:{c}"));
        go(&["kit", "add", "--photo", photo, &a, &c], &["home/kits/home/", "home/photos/"]);
    }
    let water = |n| (0..n).fold(Shot::new().dyed("B", 3.0), |shot, _| shot.retake());
    house.lay("tank.jpg", water(0).taken("2026:03:01 18:30:00", Some("+01:00")).jpeg());
    house.lay("local.jpg", water(1).taken("2026:03:02 18:30:00", None).jpeg());
    house.lay("silent.jpg", water(2).jpeg());
    house.lay("bare.jpg", Shot::bare().taken("2026:03:03 18:30:00", None).jpeg());
    house
}
