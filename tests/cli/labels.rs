//! `card labels`, and photos that say by themselves what they show.

use super::furnished;
use super::wire::{KitAdded, LabelChanged, LabelList, LabelsPrinted, LogList, ReadDone};
use crate::support::House;
use crate::support::shot::Shot;
use crate::support::stick::{Scene, Stuck, friday, straight};
use tintline::curve::Kit;
use tintline::intake::Home;
use tintline::light::Enrolment;

const LOG: [&str; 1] = ["home/log.db"];
const NEW: [&str; 2] = ["home/log.db", "home/photos/"];

/// A house with the demo's card and kit and four tanks, their labels printed: tests 16 ammonia, 17 nitrate, 18 nitrite, 19 pH or in the
/// kit's own order; tanks 256 to 259.
fn four_tanks() -> (House, LabelList) {
    let house = House::new();
    let home = Home::at(house.path("home"));
    home.put_card("card", Enrolment::from_toml(include_str!("../../calibration/card/demo-print.toml")).unwrap())
        .unwrap();
    home.new_kit(Kit::from_toml(include_str!("../../calibration/kit/demo-vials.toml")).unwrap()).unwrap();
    for tank in ["east", "north", "south", "west"] {
        house.run(&["tank", "add", tank, "--water", "fresh", "--zone", "Europe/Berlin"]).touches(&LOG).go();
    }
    house.run(&["card", "labels", "print", "--out", "l.pdf"]).touches(&["home/log.db", "desk/l.pdf"]).go();
    let list = house.run(&["card", "labels", "list", "--json"]).go().json::<LabelList>();
    (house, list)
}

fn number(list: &LabelList, words: &str) -> u32 {
    list.labels.iter().find(|l| l.words == words).unwrap_or_else(|| panic!("no label '{words}'")).number
}

#[test]
fn four_tanks_in_one_photo_need_no_options() {
    let (house, list) = four_tanks();
    let shown = [("A", "pH", "south"), ("B", "ammonia", "east"), ("C", "nitrate", "west"), ("D", "nitrite", "north")];
    let stuck: Vec<Stuck> =
        shown.iter().flat_map(|(s, test, tank)| [*test, *tank].map(|w| straight(s, number(&list, w)))).collect();
    house.lay("four.jpg", friday().stick(&stuck).jpeg());
    let args = ["read", "four.jpg", "--json", "--overlay", "o.png"];
    let said = house.run(&args).touches(&["home/log.db", "home/photos/", "desk/o.png"]).go().json::<ReadDone>();
    let photo = &said.photos[0];
    assert_eq!((photo.tank.as_deref(), photo.kit.as_ref().unwrap().name.as_str()), (None, "demo-vials"));
    let got: Vec<_> =
        photo.samples.iter().map(|s| (s.station.as_str(), s.test.as_str(), s.tank.as_deref().unwrap())).collect();
    assert_eq!(got, shown);
    assert!(photo.samples.iter().all(|s| s.target == "tank" && s.log.did == "added"));
    // Each in its own tank's log, of one capture.
    for (_, test, tank) in shown {
        let log = house.run(&["log", "--tank", tank, "--json"]).go().json::<LogList>();
        let tests: Vec<&str> = log.readings.iter().map(|r| r.test.as_str()).collect();
        assert_eq!(tests, [test], "{tank}");
    }
    // In words, and a second time nothing is new.
    let said = house.run(&["read", "four.jpg"]).out_has("four.jpg: several waters, 2026-03-01 18:30").go();
    assert!(said.out.contains("  A  tank 'south'  pH "), "{}", said.out);
    assert!(said.out.contains("0 readings logged, 4 in the log before."), "{}", said.out);
    // Read again from the log alone, every sample keeps its tank.
    let again = house.run(&["read", "--again", "--json"]).go().json::<ReadDone>();
    let mut tanks: Vec<_> = again.photos[0].samples.iter().map(|s| s.tank.clone().unwrap()).collect();
    tanks.sort();
    assert_eq!(tanks, ["east", "north", "south", "west"]);
    // A label moved to another station contradicts the log.
    let other: Vec<Stuck> =
        [("A", "pH", "west")].iter().flat_map(|(s, t, w)| [*t, *w].map(|w| straight(s, number(&list, w)))).collect();
    house.lay("four.png", friday().stick(&other).jpeg());
    house
        .run(&["read", "four.png", "--tank", "east"])
        .exit(1)
        .err_has("says 'west', against --tank [label-against]")
        .go();
    house.run(&["read", "four.png", "A=nitrite"]).exit(1).err_has("says 'pH', against A=nitrite [label-against]").go();
}

#[test]
fn labels_are_printed_listed_renamed_and_retired() {
    let (house, list) = four_tanks();
    let words: Vec<&str> = list.labels.iter().map(|l| l.words.as_str()).collect();
    assert_eq!(words[4..], ["east", "north", "south", "west", "tap water", "new water", "zero standard", "clear vial"]);
    assert!(list.labels.iter().enumerate().all(|(i, l)| l.number == if i < 4 { 16 } else { 252 } + i as u32));
    assert!(std::fs::read(house.path("desk/l.pdf")).unwrap().starts_with(b"%PDF-1.7"));
    // A second print has the same numbers and writes nothing.
    let args =
        ["card", "labels", "print", "--tank", "west", "--standard", "nitrate:5 mg/L NO3-", "--copies", "3", "--json"];
    let args = [&args[..], &["--out", "l.svg"]].concat();
    let printed = house.run(&args).touches(&["home/log.db", "desk/l.svg"]).go().json::<LabelsPrinted>();
    let numbers: Vec<u32> = printed.labels.iter().map(|l| l.number).collect();
    assert_eq!((numbers, printed.copies, printed.format.as_str()), (vec![259, 264], 3, "svg"));
    assert_eq!((printed.labels[1].value, printed.labels[1].unit.as_deref()), (Some(5.0), Some("mg/L NO3-")));
    house.run(&args).touches(&[]).go();
    house
        .run(&["card", "labels", "print", "--zero", "--out", "l.png"])
        .touches(&["desk/l.png"])
        .out_has("1 label; ")
        .go();
    // Renamed, it keeps its number.
    let renamed = house.run(&["card", "labels", "rename", "west", "west wall", "--json"]).touches(&LOG).go();
    let renamed = renamed.json::<LabelChanged>().label;
    assert_eq!((renamed.number, renamed.words.as_str(), renamed.tank.as_deref()), (259, "west wall", Some("west")));
    house.run(&["card", "labels", "retire", "259"]).touches(&LOG).out_has("Retired the label 259, 'west wall'.").go();
    let left = house.run(&["card", "labels", "list", "--json"]).go().json::<LabelList>();
    assert!(left.labels.iter().all(|l| l.number != 259));
    house.run(&["card", "labels", "list", "--all"]).out_has("retired").go();
    house
        .run(&["card", "labels", "print", "--tank", "west"])
        .touches(&["home/log.db", "desk/tintline-labels.pdf"])
        .out_has("265")
        .go();
    house.run(&["tank", "add", "пруд", "--water", "fresh", "--zone", "UTC"]).touches(&LOG).go();
    let args = ["card", "labels", "print", "--tank", "пруд", "--json"];
    let printed = house.run(&args).touches(&["home/log.db", "desk/tintline-labels.pdf"]).go().json::<LabelsPrinted>();
    assert!(printed.remarks[0].contains("--format png"), "{:?}", printed.remarks);
    let png = [&args[..], &["--format", "png"]].concat();
    assert!(house.run(&png).touches(&["desk/tintline-labels.png"]).go().json::<LabelsPrinted>().remarks.is_empty());
    // What cannot be.
    house.run(&["card", "labels", "retire", "259"]).exit(2).err_has("[name-unknown]").go();
    house.run(&["card", "labels", "print", "--tank", "pond"]).exit(2).err_has("[tank-unknown]").go();
    house.run(&["card", "labels", "print", "--out", "l.gif"]).exit(2).err_has("labels are not printed as .gif").go();
    house.run(&["card", "labels", "print", "--standard", "nitrate:5"]).exit(2).err_has("[sample-malformed]").go();
    house
        .run(&["card", "labels", "print", "--copies", "20", "--out", "x.png"])
        .exit(1)
        .err_has("[print-too-many]")
        .go();
    let empty = House::new();
    empty.run(&["card", "labels", "list"]).out_has("No label yet").go();
    empty.run(&["card", "labels", "print"]).exit(2).err_has("there is no tank yet").go();
}

#[test]
fn what_a_label_does_not_say_is_said_or_refused() {
    let house = furnished();
    house.run(&["card", "labels", "print"]).touches(&["home/log.db", "desk/tintline-labels.pdf"]).go();
    let list = house.run(&["card", "labels", "list", "--json"]).go().json::<LabelList>();
    let nitrite = number(&list, "nitrite");
    let shot = Shot::new().dyed("B", 3.0).jpeg();
    let lay = |name: &str, stuck: &[Stuck]| {
        house.lay(name, Scene::of(&shot).stick(stuck).jpeg());
    };
    // A test's label and the only tank.
    lay("test.jpg", &[straight("B", nitrite)]);
    let said = house.run(&["read", "test.jpg", "--json"]).touches(&NEW).go().json::<ReadDone>();
    let sample = &said.photos[0].samples[0];
    assert_eq!((sample.station.as_str(), sample.test.as_str(), sample.tank.as_deref()), ("B", "nitrite", Some("reef")));
    let (lower, upper) = (sample.lower.unwrap(), sample.upper.unwrap());
    assert!(lower < 3.0 && 3.0 < upper, "{}", sample.text);
    // A number of another home.
    lay("strange.jpg", &[straight("B", nitrite), straight("B", 400)]);
    house
        .run(&["read", "strange.jpg"])
        .exit(1)
        .err_has("strange.jpg: the label 400 above B is not one of this home's [label-unknown]")
        .err_has("means something only in the home that printed it")
        .go();
    // Two of a kind, one between stations, one half covered.
    lay("two.jpg", &[straight("B", nitrite), Stuck { number: number(&list, "ammonia"), ..straight("B", 256) }]);
    house.run(&["read", "two.jpg"]).exit(1).err_has("two labels lie above B").err_has("[label-two]").go();
    lay("half.jpg", &[straight("B", nitrite), Stuck { covered: 0.4, ..straight("B", 256) }]);
    house.run(&["read", "half.jpg"]).exit(1).err_has("a label above B cannot be read [label-unreadable]").go();
    house.run(&["read", "half.jpg", "B=nitrite", "--tank", "reef"]).touches(&NEW).out_has("1 reading logged.").go();
    // Tap water goes to no tank.
    lay("tap.jpg", &[straight("B", nitrite), straight("B", number(&list, "tap water"))]);
    house.run(&["read", "tap.jpg"]).touches(&NEW).out_has("tap.jpg: tap water, 2026-03-01 18:30").go();
    let log = house.run(&["log", "--tank", "reef", "--json"]).go().json::<LogList>();
    assert_eq!(log.readings.len(), 1, "test.jpg and half.jpg, of one time and water, are one sample");
    // Without labels and words nothing is guessed; without a card the reason is the card's.
    house.run(&["read", "tank.jpg"]).exit(2).err_has("[samples-missing]").err_has("or lay labels").go();
    house.run(&["read", "bare.jpg"]).exit(1).err_has("[card-missing]").go();
}

#[test]
fn labelled_standards_are_added_without_words() {
    let house = furnished();
    let args =
        ["card", "labels", "print", "--kit", "home", "--zero", "--standard", "nitrite:4 mg/L NO2-", "--tank", "reef"];
    house.run(&args).touches(&["home/log.db", "desk/tintline-labels.pdf"]).go();
    let list = house.run(&["card", "labels", "list", "--json"]).go().json::<LabelList>();
    let n = |words: &str| number(&list, words);
    let stuck = [
        straight("A", n("nitrite")),
        straight("A", n("zero standard")),
        straight("D", n("nitrite")),
        straight("D", n("nitrite 4 mg/L NO2-")),
    ];
    house.lay("std.jpg", Scene::of(&Shot::new().dyed("A", 0.0).dyed("D", 4.0).jpeg()).stick(&stuck).jpeg());
    // What is typed against them is refused before anything is kept.
    house
        .run(&["kit", "add", "--photo", "std.jpg", "D=nitrite:5"])
        .exit(1)
        .err_has("against D=nitrite:5 [label-against]")
        .go();
    let said =
        house.run(&["kit", "add", "--photo", "std.jpg", "--json"]).touches(&["home/kits/home/", "home/photos/"]).go();
    let added = said.json::<KitAdded>();
    let values: Vec<f64> = added.photos[0].standards.iter().map(|s| s.value).collect();
    assert_eq!(values, [0.0, 4.0]);
    // A photo of tank water is no standard, and one without labels says nothing.
    let tank = [straight("B", n("nitrite")), straight("B", n("reef"))];
    house.lay("water.jpg", Scene::of(&Shot::new().dyed("B", 3.0).jpeg()).stick(&tank).jpeg());
    house.run(&["kit", "add", "--photo", "water.jpg"]).exit(1).err_has("'reef' above B is no standard").go();
    house.run(&["kit", "add", "--photo", "tank.jpg"]).exit(2).err_has("[samples-missing]").go();
}
