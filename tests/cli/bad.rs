//! Bad input: one clear sentence with the remedy, the documented exit code, nothing lost.

use super::furnished;
use super::wire::{Failed, ReadDone};
use crate::pictures::fixture;
use crate::support::House;
use crate::support::shot::Shot;

#[test]
fn what_is_typed_wrong_is_said_before_anything_is_read() {
    let house = furnished();
    let bad = |words: &[&str], says: &str| {
        house.run(&[&["read", "tank.jpg"], words].concat()).exit(2).err_has(says).go();
    };
    bad(&[], "it was not said what stands at the stations [samples-missing]");
    bad(&[], "the kit's tests: nitrite, ammonia, pH.");
    bad(&["B=nitrite", "--tank", "hall"], "there is no tank 'hall'; there are: reef [tank-unknown]");
    bad(&["B=nitrite", "--kit", "hall"], "there is no kit 'hall'; there is: home [name-unknown]");
    bad(&["B=iron"], "the kit 'home' has no test 'iron'; it has nitrite, ammonia, pH [test-unknown]");
    bad(&["B="], "STATION=TEST");
    bad(&["E=nitrite"], "the card has no station 'E'; it has A, B, C, D [station-unknown]");
    bad(&["B=nitrite", "b=ammonia"], "the station B is named twice [station-twice]");
    bad(&["B=nitrite:1:4"], "write 1+3) or 1 part of tank water and 4 of pure water (write 1+4) [dilution-ambiguous]");
    bad(&["B=nitrite:4"], "[dilution-malformed]");
    bad(&["B=nitrite:1+0"], "[dilution-out-of-range]");
    bad(&["B=pH:1+4"], "a diluted sample tells nothing about the tank's pH [dilution-not-for-ph]");
    bad(&["B=nitrite", "--at", "noon"], "'noon' is no date and time [time-malformed]");
    bad(&["B=nitrite", "--clock-offset", "fast"], "[clock-offset-malformed]");
    bad(&["B=nitrite", "--at", "now", "--clock-offset", "1h"], "cannot be used with");
    house.run(&["read"]).exit(2).err_has("PHOTO").go();
    house.run(&["read", "B=nitrite"]).exit(2).err_has("there is no photo to read").go();
    house.run(&["look"]).exit(2).err_has("unrecognized subcommand").go();
}

#[test]
fn a_new_home_says_what_comes_first() {
    let house = House::new();
    house.lay("tank.jpg", Shot::new().jpeg());
    house
        .run(&["read", "tank.jpg", "A=x"])
        .exit(2)
        .err_has("there is no tank yet [name-none-yet]")
        .err_has("tank add")
        .go();
    house.run(&["tank", "add", "reef", "--water", "fresh"]).touches(&["home/log.db"]).out_has("reef").go();
    house
        .run(&["read", "tank.jpg", "A=x"])
        .exit(2)
        .err_has("there is no kit yet [name-none-yet]")
        .err_has("kit new")
        .go();
}

#[test]
fn files_that_are_no_photo_to_measure_are_set_aside() {
    let house = furnished();
    house.lay("text.jpg", "Nitrite looked pink today.\n").lay("empty.jpg", "").lay("zeros.jpg", [0; 4096]);
    house.lay("grey.jpg", fixture("photos/torn/grey.jpg")).lay("inks.jpg", fixture("photos/torn/inks.jpg"));
    let whole = std::fs::read(house.path("desk/tank.jpg")).unwrap();
    house.lay("cut.jpg", &whole[..whole.len() / 2]);
    let cases = [
        ("text.jpg", "text.jpg: the file holds text, not a picture [photo-text]"),
        ("empty.jpg", "empty.jpg: the file is empty [photo-empty]"),
        ("zeros.jpg", "[photo-blank]"),
        ("grey.jpg", "[photo-grey-only]"),
        ("inks.jpg", "[photo-inks]"),
        ("cut.jpg", "[photo-torn]"),
        ("gone.jpg", "the file gone.jpg could not be read"),
    ];
    for (file, says) in cases {
        let said = house.run(&["read", file, "B=nitrite"]).exit(1).err_has(says).go();
        assert_eq!((said.err.lines().count(), said.out.as_str()), (2, ""), "{}", said.err);
    }
    let files = cases.map(|(file, _)| file);
    let args = [&["read", "--no-keep", "B=nitrite", "tank.jpg", "--json"], &files[..]].concat();
    let said = house.run(&args).exit(3).err_has("[photo-torn]").touches(&["home/log.db"]).go();
    let photos = said.json::<ReadDone>().photos;
    assert_eq!(photos.iter().filter(|p| p.error.is_some()).count(), cases.len());
    assert_eq!((photos[0].samples[0].status.as_str(), photos.len()), ("measured", cases.len() + 1));
}

#[test]
fn no_cut_of_a_photo_is_ever_measured() {
    let house = furnished();
    let whole = std::fs::read(house.path("desk/tank.jpg")).unwrap();
    let mut names = Vec::new();
    for i in 0..40 {
        names.push(format!("cut{i:02}.jpg"));
        house.lay(names.last().unwrap(), &whole[..whole.len() * i / 40]);
    }
    let args: Vec<&str> = ["read", "B=nitrite", "--json"].into_iter().chain(names.iter().map(String::as_str)).collect();
    let said = house.run(&args).exit(1).err_has("[photo-torn]").go().json::<ReadDone>();
    let codes: Vec<&str> = said.photos.iter().map(|p| p.error.as_ref().unwrap().code.as_str()).collect();
    assert_eq!((codes.len(), codes.iter().filter(|c| **c == "photo-empty").count()), (40, 1));
    assert_eq!(codes.iter().filter(|c| **c == "photo-torn").count(), 39, "{codes:?}");
}

#[test]
fn a_home_that_cannot_be_used_is_exit_4_and_left_alone() {
    let house = House::new();
    // A file in the place of the folder; permissions would not stop a superuser.
    std::fs::write(house.path("home"), "a file").unwrap();
    house.lay("tank.jpg", Shot::new().jpeg());
    for args in [
        &["tank", "add", "reef", "--water", "fresh"][..],
        &["tank", "list"],
        &["log"],
        &["kit", "list"],
        &["kit", "new", "k"],
        &["read", "tank.jpg", "A=x"],
    ] {
        house.run(args).exit(4).err_has("error: ").err_has("home").go();
    }
    let said = house.run(&["tank", "list", "--json"]).exit(4).err_has("[home-unusable]").err_has("--home").go();
    assert_eq!(said.json::<Failed>().error.code, "home-unusable");
    house.run(&["tank", "list", "--home", ""]).exit(2).err_has("it is empty").go();
    house.run(&["tank", "list", "--home", "elsewhere"]).out_has("No tank yet").go();
}

#[test]
fn a_log_that_is_not_ours_to_read_is_left_as_it_is() {
    let put = |bytes: &[u8]| {
        let house = furnished();
        std::fs::write(house.path("home/log.db"), bytes).unwrap();
        house
    };
    let own = std::fs::read(furnished().path("home/log.db")).unwrap();
    // The version number of the file, big-endian at byte 60: <https://www.sqlite.org/fileformat.html>, section 1.3.
    let mut newer = own.clone();
    newer[60..64].copy_from_slice(&99u32.to_be_bytes());
    let mut foreign = own.clone();
    foreign[68..72].copy_from_slice(b"ELSE");
    let cases = [
        (&newer[..], "is of schema 99", "[log-newer]"),
        (&foreign, "another program", "[log-foreign]"),
        (b"no database at all, but long enough to be one", "not a sound log", "[log-damaged]"),
    ];
    for (bytes, says, code) in cases {
        let house = put(bytes);
        for args in [
            &["log"][..],
            &["read", "tank.jpg", "B=nitrite"],
            &["tank", "add", "hall", "--water", "fresh"],
            &["log", "export", "json"],
        ] {
            house.run(args).exit(4).err_has(says).err_has(code).go();
        }
    }
}

#[test]
fn a_damaged_kit_or_card_is_said_by_name() {
    let house = furnished();
    let current = std::fs::read_to_string(house.path("home/kits/home/current")).unwrap();
    let file = house.path(&format!("home/kits/home/{}.toml", current.lines().last().unwrap()));
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, text.replacen("value = 2", "value = 20", 1)).unwrap();
    house
        .run(&["read", "tank.jpg", "B=nitrite"])
        .exit(4)
        .err_has("was changed or damaged")
        .err_has("[store-damaged]")
        .go();
    house.run(&["kit", "list"]).exit(4).err_has("[store-damaged]").go();
}
