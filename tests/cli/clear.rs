//! `--clear`: the tank's own water without reagent, zeroed on.

use super::furnished;
use super::wire::{KitAdded, LabelList, LogList, ReadDone, Sample};
use crate::support::House;
use crate::support::shot::{DYE, Shot};
use crate::support::stick::{Scene, straight};
use std::sync::OnceLock;

/// ln units that water with wood and leaves in it takes from red, green and blue.
const TEA: [f64; 3] = [0.02, 0.07, 0.20];

/// A vial of nitrite on the reagent's yellow, in water of a colour, in so much less light (ln units).
fn dyed(water: [f64; 3], amount: f64, dim: f64) -> [f64; 3] {
    [0, 1, 2].map(|c| DYE[c] * amount + [0.02, 0.04, 0.25][c] + water[c] + dim)
}

/// Exit codes: of a reading, of a refusal, and where it is not the point which of the two.
const READ: (i32, i32) = (0, 0);
const REFUSED: (i32, i32) = (3, 3);
const EITHER: (i32, i32) = (0, 3);

fn water(of: [f64; 3], dim: f64) -> [f64; 3] {
    of.map(|c| c + dim)
}

/// A house with a tank, whose kit was calibrated with clear vials of pure water at D, one standard a photo at B.
fn house() -> House {
    static FIRST: OnceLock<House> = OnceLock::new();
    FIRST.get_or_init(furnish).copy()
}

fn furnish() -> House {
    let house = House::new();
    let go = |args: &[&str], touches: &[&str]| house.run(args).touches(touches).go();
    house.lay("empty.jpg", Shot::new().jpeg()).lay("empty2.jpg", Shot::new().retake().jpeg());
    go(&["tank", "add", "reef", "--water", "fresh", "--zone", "Europe/Berlin"], &["home/log.db"]);
    go(&["card", "enrol", "empty.jpg", "empty2.jpg"], &["home/cards/card/", "home/photos/"]);
    go(&["kit", "new", "home"], &["home/kits/home/"]);
    go(&["kit", "add-test", "nitrite", "--unit", "mg/L NO2-", "--water", "both"], &["home/kits/home/"]);
    for (i, value) in ["0", "0", "0.5", "1", "2", "3", "5"].into_iter().enumerate() {
        let (amount, dim) = (value.parse().unwrap(), 0.02 * (i % 3) as f64);
        let shot = (0..i).fold(Shot::new(), |shot, _| shot.retake());
        house.lay("s.jpg", shot.vial("B", dyed([0.0; 3], amount, dim)).vial("D", water([0.0; 3], dim)).jpeg());
        let word = format!("B=nitrite:{value}");
        go(&["kit", "add", "--photo", "s.jpg", &word, "--clear", "d"], &["home/kits/home/", "home/photos/"]);
    }
    house
}

/// Reads nitrite at B in a photo, as a trial.
fn read(house: &House, shot: Shot, args: &[&str], exits: (i32, i32)) -> Sample {
    house.lay("p.jpg", shot.taken("2026:03:01 18:30:00", Some("+01:00")).jpeg());
    let args = [&["read", "p.jpg", "B=nitrite", "--dry-run", "--json"], args].concat();
    let done = house.run(&args).exit(exits.0).or_exit(exits.1).go().json::<ReadDone>();
    done.photos.into_iter().next().unwrap().samples.into_iter().next().unwrap()
}

fn codes(s: &Sample) -> Vec<&str> {
    s.refusal.iter().chain(&s.findings).map(|f| f.code.as_str()).collect()
}

#[test]
fn tinted_water_at_a_dim_station_is_read_with_a_clear_vial_only() {
    let house = house();
    for amount in [0.0, 0.25, 0.75, 1.5, 4.0] {
        let shot = Shot::new().vial("B", dyed(TEA, amount, 0.3)).vial("D", water(TEA, 0.27));
        let with = read(&house, shot.clone(), &["--clear", "D"], READ);
        assert_eq!(codes(&with), ["clear-used"], "{amount}: {}", with.text);
        match amount {
            0.0 => assert!(with.status == "not-detected" && with.limit.unwrap() < 0.25, "{}", with.text),
            _ => {
                let off = (with.value.unwrap() / amount - 1.0).abs();
                assert!(off < 0.2, "{amount} is read as {}", with.text);
                assert!(with.lower.unwrap() < amount && amount < with.upper.unwrap(), "{amount}: {}", with.text);
            }
        }
        // The colour of the water is none of the test's, and of so dim a vial.
        let without = read(&house, shot, &[], EITHER);
        assert_eq!(codes(&without), ["colour-off-scale"], "{amount}: {}", without.text);
    }
}

#[test]
fn a_clear_vial_hides_no_positive_zero_standard() {
    let house = house();
    // Reagent in pure water that was not pure, beside pure water, and by mistake beside the tank's own: then it lacks the water's
    // tint, and is refused or in doubt, never read low.
    let shot = |tint, held| Shot::new().vial("B", dyed([0.0; 3], held, 0.1)).vial("D", water(tint, 0.1));
    for held in [0.5, 1.0, 2.0] {
        let s = read(&house, shot([0.0; 3], held), &["--clear", "D"], READ);
        assert!(s.lower.unwrap() > 0.0 && (s.value.unwrap() / held - 1.0).abs() < 0.2, "{held}: {}", s.text);
        let s = read(&house, shot(TEA, held), &["--clear", "D"], EITHER);
        assert!(s.status != "not-detected" && s.value.is_none_or(|v| v > 0.9 * held), "{held}: {}", s.text);
    }
    // Put where the clear vial belongs it is refused, and so is every reading on it.
    for held in [0.75, 1.0, 3.0] {
        let shot = Shot::new().vial("B", dyed(TEA, 1.0, 0.1)).vial("D", dyed([0.0; 3], held, 0.1));
        let s = read(&house, shot, &["--clear", "D"], REFUSED);
        assert_eq!(codes(&s), ["clear-coloured"], "{held}: {}", s.text);
    }
    // And something that is no water at all.
    let shot = Shot::new().vial("B", dyed(TEA, 1.0, 0.1)).vial("D", [0.1, 0.3, 1.1]);
    assert_eq!(codes(&read(&house, shot, &["--clear", "D"], REFUSED)), ["clear-coloured"]);
}

#[test]
fn a_kit_without_clear_vials_has_only_the_tint_taken_off() {
    let house = furnished();
    house.lay(
        "p.jpg",
        Shot::new()
            .vial("B", dyed(TEA, 3.0, 0.0))
            .vial("D", water(TEA, 0.0))
            .taken("2026:03:01 18:30:00", Some("+01:00"))
            .jpeg(),
    );
    let said = house.run(&["read", "p.jpg", "B=nitrite", "--clear", "D", "--overlay", "o.png"]);
    let said = said.touches(&["home/log.db", "home/photos/", "desk/o.png"]).go().out;
    assert!(said.contains("  D  clear vial\n"), "{said}");
    assert!(said.contains("Zeroed on the clear vial at D; its tint is taken off, its brightness not"), "{said}");
    let log = house.run(&["log", "--json"]).go().json::<LogList>();
    let (value, lower, upper) =
        (log.readings[0].value.unwrap(), log.readings[0].lower.unwrap(), log.readings[0].upper.unwrap());
    assert!((value - 3.0).abs() < 0.3 && lower < 3.0 && 3.0 < upper, "{value} ({lower} to {upper})");
    // Read again from the log alone it is zeroed again.
    let again = house.run(&["read", "--again", "--json"]).go().json::<ReadDone>();
    assert_eq!(again.photos[0].clear.as_deref(), Some("D"));
    assert_eq!((again.photos[0].samples[0].value, again.photos[0].samples[0].log.did.as_str()), (Some(value), "same"));
    // The standards keep what stood beside them.
    let own = self::house().run(&["kit", "show", "--toml"]).go().out;
    assert!(own.starts_with("format = 3\n") && own.matches("\nclear = { lab = [").count() == 7, "{own}");
}

#[test]
fn a_label_names_the_clear_vial_without_words() {
    let house = house();
    house.run(&["card", "labels", "print"]).touches(&["home/log.db", "desk/tintline-labels.pdf"]).go();
    let list = house.run(&["card", "labels", "list", "--json"]).go().json::<LabelList>();
    let number = |words: &str| list.labels.iter().find(|l| l.words == words).unwrap().number;
    let shot = Shot::new().vial("A", dyed(TEA, 2.0, 0.1)).vial("C", water(TEA, 0.1));
    let stuck = [straight("A", number("nitrite")), straight("C", number("clear vial"))];
    house.lay("l.jpg", Scene::of(&shot.jpeg()).stick(&stuck).jpeg());
    let done =
        house.run(&["read", "l.jpg", "--json"]).touches(&["home/log.db", "home/photos/"]).go().json::<ReadDone>();
    let s = &done.photos[0].samples[0];
    assert_eq!((done.photos[0].clear.as_deref(), codes(s)), (Some("C"), vec!["clear-used"]));
    assert!(s.lower.unwrap() < 2.0 && 2.0 < s.upper.unwrap(), "{}", s.text);
    house.run(&["read", "l.jpg", "--clear", "D"]).exit(2).err_has("at C, against --clear D [clear-against]").go();
    // A standard is of other water: it is read as it is.
    let zero = [stuck[0], straight("A", number("zero standard")), stuck[1]];
    house.lay("z.jpg", Scene::of(&shot.jpeg()).stick(&zero).jpeg());
    let done = house.run(&["read", "z.jpg", "--json", "--dry-run"]).go().json::<ReadDone>();
    assert_eq!(codes(&done.photos[0].samples[0]), ["colour-off-scale"]);
}

#[test]
fn what_can_be_no_clear_vial_is_said() {
    let house = house();
    house.lay("p.jpg", Shot::new().dyed("B", 2.0).taken("2026:03:01 18:30:00", Some("+01:00")).jpeg());
    let read = |args: &[&'static str]| house.run(&[&["read", "p.jpg", "B=nitrite"], args].concat()).exit(2);
    read(&["--clear", "b"])
        .err_has("said to stand at B, where nitrite is [clear-tested]")
        .err_has("zero standard")
        .go();
    read(&["--clear", "E"]).err_has("it has A, B, C, D [station-unknown]").go();
    let add = ["kit", "add", "--photo", "p.jpg", "B=nitrite:2", "--clear", "B"];
    house.run(&add).exit(2).err_has("[clear-tested]").go();
    let refused = house.run(&["read", "p.jpg", "B=nitrite", "--clear", "D", "--json", "--dry-run"]).exit(3).go();
    let refused = refused.json::<ReadDone>();
    let s = &refused.photos[0].samples[0];
    assert_eq!(codes(s), ["clear-unseen"]);
    assert!(s.refusal[0].sentence.contains("No vial was seen at station D"), "{:?}", s.refusal);
    let added = house.run(&["kit", "add", "--photo", "p.jpg", "B=nitrite:2", "--clear", "D", "--json"]).exit(3);
    let added = added.touches(&["home/photos/"]).go().json::<KitAdded>();
    assert_eq!(added.photos[0].standards[0].refusal[0].code, "clear-unseen");
    let strips = ["kit", "new", "strips", "--strip", "70.5,6,5,7.4,4.5"];
    house.run(&strips).touches(&["home/kits/strips/"]).out_has("strips").go();
    let test = ["kit", "add-test", "strips", "nitrate", "--unit", "mg/L NO3-", "--water", "fresh", "--pad", "1"];
    house.run(&test).touches(&["home/kits/strips/"]).out_has("Added").go();
    let args = ["read", "p.jpg", "--kit", "strips", "--clear", "D"];
    house.run(&args).exit(2).err_has("the kit 'strips' is one of strips").err_has("[clear-strip]").go();
}
