//! A week of photos in a folder, for the tests of many photos at once.

use super::furnished;
use super::wire::LogList;
use crate::support::House;
use crate::support::shot::Shot;
use std::sync::OnceLock;

/// How many photos there are.
pub const PHOTOS: usize = 8;

/// The rules that say what they show.
pub const RULES: &str = "format = 1\n\n[[rule]]\nfolder = \"week\"\ntank = \"reef\"\nstations = [\"B=nitrite\"]\n";

/// A furnished house with the folder `desk/week`: photos of nitrite at B, one a day, named against the order of their times; and
/// rules that say so.
pub fn week() -> House {
    static FIRST: OnceLock<House> = OnceLock::new();
    FIRST.get_or_init(make).copy()
}

fn make() -> House {
    let house = furnished();
    std::fs::create_dir(house.path("desk/week")).unwrap();
    for i in 0..PHOTOS {
        let (name, photo) = day(i);
        house.lay(&format!("week/{name}"), photo);
    }
    std::fs::write(house.path("home/rules.toml"), RULES).unwrap();
    house
}

/// The photo of a day: its name and bytes.
pub fn day(i: usize) -> (String, Vec<u8>) {
    let shot = (0..i).fold(Shot::new().dyed("B", 2.0 + 0.3 * i as f64), |shot, _| shot.retake());
    let photo = shot.taken(&format!("2026:03:{:02} 18:30:00", 10 + i), Some("+01:00")).jpeg();
    (format!("p{:02}.jpg", 90 - i), photo)
}

/// What stands in the log: time, station, words; by time.
pub fn standing(house: &House) -> Vec<(String, Option<String>, String)> {
    let log = house.run(&["log", "--json"]).go().json::<LogList>();
    log.readings.into_iter().map(|r| (r.taken.at, r.station, r.text)).collect()
}
