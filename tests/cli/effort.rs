//! Effort: the shortest ways to a first reading and through a weekly session of four tests, played and counted. The README states
//! what comes out (`WRITE_README=1` writes it there).

use super::shades::{ROW, slip};
use super::wire::{LabelList, LogList, ReadDone};
use crate::support::House;
use crate::support::shot::Shot;
use crate::support::stick::{friday, straight};
use tintline::curve::Kit;
use tintline::intake::Home;
use tintline::light::Enrolment;

/// A way through the program, counted as it is played.
struct Played {
    house: House,
    commands: usize,
    /// Arguments that are no file names: what must be thought of.
    words: usize,
    photos: usize,
}

impl Played {
    fn new(house: House) -> Self {
        Self { house, commands: 0, words: 0, photos: 0 }
    }

    /// Takes a photo.
    fn photo(&mut self, name: &str, bytes: Vec<u8>) {
        self.house.lay(name, bytes);
        self.photos += 1;
    }

    /// Types a command.
    fn types(&mut self, args: &[&str], touches: &[&str]) -> String {
        self.commands += 1;
        self.words += args.iter().filter(|a| !a.contains(".jpg") && !a.contains(".pdf")).count();
        self.house.run(args).touches(touches).go().out
    }

    /// Half a minute a command, a third a photo, and `waiting` minutes.
    fn minutes(&self, waiting: f64) -> f64 {
        self.commands as f64 / 2.0 + self.photos as f64 / 3.0 + waiting
    }

    fn row(&self, what: &str, waiting: f64) -> String {
        let Self { commands, words, photos, .. } = self;
        format!("| {what} | {commands} | {words} | {photos} | {:.0} |\n", self.minutes(waiting))
    }
}

const LOG: [&str; 1] = ["home/log.db"];
const KIT: [&str; 2] = ["home/kits/drops/", "home/photos/"];
const NEW: [&str; 2] = ["home/log.db", "home/photos/"];

/// From an empty home to the first reading, by the maker's printed shades.
fn first() -> Played {
    let mut p = Played::new(House::new());
    p.types(&["card", "print", "--out", "card.pdf"], &["desk/card.pdf"]);
    p.types(&["tank", "add", "hall", "--water", "fresh"], &LOG);
    p.types(&["kit", "start", "drops", "nitrite=mg/L NO2-"], &["home/kits/drops/"]);
    p.photo("empty-1.jpg", Shot::new().jpeg());
    p.photo("empty-2.jpg", Shot::new().retake().jpeg());
    p.types(&["card", "enrol", "empty-1.jpg", "empty-2.jpg"], &["home/cards/card/", "home/photos/"]);
    p.photo("slip.jpg", Shot::new().jpeg_after(slip(&ROW, 8.0)));
    p.types(&["kit", "shades", "nitrite", "0,1,2,3,5", "--photo", "slip.jpg"], &KIT);
    p.photo("tank.jpg", Shot::new().dyed("B", 3.0).taken("2026:03:01 18:30:00", None).jpeg());
    // One tank and one kit: neither needs to be named.
    let said = p.types(&["read", "tank.jpg", "B=nitrite"], &NEW);
    assert!(said.contains("1 reading logged"), "{said}");
    p
}

/// Four tests of one tank, each vial on a photo of its own with its label, read as a folder.
fn week() -> Played {
    let house = House::new();
    let home = Home::at(house.path("home"));
    let card = Enrolment::from_toml(include_str!("../../calibration/card/demo-print.toml")).unwrap();
    home.put_card("card", card).unwrap();
    home.new_kit(Kit::from_toml(include_str!("../../calibration/kit/demo-vials.toml")).unwrap()).unwrap();
    house.run(&["tank", "add", "hall", "--water", "fresh"]).touches(&LOG).go();
    house.run(&["card", "labels", "print", "--out", "l.pdf"]).touches(&["home/log.db", "desk/l.pdf"]).go();
    let labels = house.run(&["card", "labels", "list", "--json"]).go().json::<LabelList>().labels;
    std::fs::create_dir(house.path("desk/week")).unwrap();
    let mut p = Played::new(house);
    for (station, test) in [("A", "pH"), ("B", "ammonia"), ("C", "nitrate"), ("D", "nitrite")] {
        let label = labels.iter().find(|l| l.words == test).unwrap().number;
        p.photo(&format!("week/{test}.jpg"), friday().stick(&[straight(station, label)]).jpeg());
    }
    p.types(&["read", "week"], &NEW);
    let log = p.house.run(&["log", "--json"]).go().json::<LogList>().readings;
    let mut tests: Vec<&str> = log.iter().map(|r| r.test.as_str()).collect();
    tests.sort_unstable();
    assert_eq!(tests, ["ammonia", "nitrate", "nitrite", "pH"]);
    // The same command next week reads only what is new.
    let again = p.house.run(&["read", "week", "--json"]).go().json::<ReadDone>();
    assert_eq!((again.summary.known, again.summary.readings), (4, 0));
    p
}

#[test]
fn effort_is_as_stated() {
    let (first, week) = (first(), week());
    // What must not creep up.
    assert_eq!((first.commands, first.photos), (6, 4));
    assert_eq!((week.commands, week.words, week.photos), (1, 2, 4));
    let mut table =
        "| | commands | words typed | photos | minutes, about |\n| --- | --- | --- | --- | --- |\n".to_string();
    table.push_str(&first.row("from nothing to the first reading, by the maker's printed shades", 15.0));
    table.push_str(&week.row("a weekly session of four tests, with labels", 10.0));
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/README.md");
    let readme = std::fs::read_to_string(path).unwrap();
    let (begin, end) = ("<!-- effort -->\n", "<!-- end of effort -->");
    let (head, rest) = readme.split_once(begin).unwrap();
    let (stated, tail) = rest.split_once(end).unwrap();
    if std::env::var_os("WRITE_README").is_some() {
        std::fs::write(path, format!("{head}{begin}{table}{end}{tail}")).unwrap();
    } else {
        assert_eq!(stated, table);
    }
}
