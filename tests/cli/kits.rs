//! `kit`.

use super::furnished;
use super::wire::{KitAdded, KitChanged, KitChecked, KitList, KitShown};
use crate::support::House;
use crate::support::shot::Shot;

fn with_kit() -> House {
    let house = House::new();
    house.run(&["kit", "new", "home"]).touches(&["home/kits/home/"]).out_has("Made the kit 'home'.").go();
    house
}

fn add_test(house: &House, args: &[&str]) {
    house.run(&[&["kit", "add-test"], args].concat()).touches(&["home/kits/home/"]).out_has("Added the test").go();
}

#[test]
fn a_kit_is_made_test_by_test() {
    let house = House::new();
    house.run(&["kit", "list"]).out_has("No kit yet").go();
    house.run(&["kit", "show"]).exit(2).err_has("there is no kit yet [name-none-yet]").go();
    let house = with_kit();
    add_test(&house, &["home", "Ammonia", "--unit", "ppm NH3-N", "--water", "both", "--wait", "5", "--lot", "L1"]);
    add_test(&house, &["pH", "--water", "fresh"]);
    add_test(&house, &["hard water", "--analyte", "GH", "--unit", "dH", "--water", "fresh"]);
    let list = house.run(&["kit", "list", "--json"]).go().json::<KitList>();
    let tests = &list.kits[0].tests;
    let said: Vec<_> =
        tests.iter().map(|t| [&t.name, &t.analyte, &t.unit, &t.scale, &t.matrix].map(String::as_str)).collect();
    assert_eq!(
        said,
        [
            ["Ammonia", "ammonia", "mg/L NH3-N", "from-zero", "both"],
            ["pH", "pH", "pH", "bounded", "fresh"],
            ["hard water", "hardness", "dH", "from-zero", "fresh"]
        ]
    );
    assert_eq!(tests[0].wait_minutes, Some(5.0));
    house.run(&["kit", "list"]).out_has("home  Ammonia, pH, hard water").go();
    house.run(&["kit", "show"]).out_has("of 4 revisions, no enrolled card").out_has("wait 5 min").go();
    let toml = house.run(&["kit", "show", "--toml"]).go().out;
    assert!(toml.starts_with("format = 1\n") && toml.contains("lot = \"L1\""), "{toml}");
    let checked = house.run(&["kit", "check", "--json"]).exit(3).go().json::<KitChecked>();
    assert!(checked.tests.iter().all(|t| t.findings[0].code == "curve-thin" && t.findings[0].severity == "doubt"));
}

#[test]
fn units_say_what_they_count() {
    let house = with_kit();
    let add = |args: &[&'static str]| house.run(&[&["kit", "add-test"], args].concat()).exit(2);
    for unit in ["mg/L", "ppm", "mg/l"] {
        add(&["nitrate", "--unit", unit, "--water", "both"])
            .err_has("does not say what nitrate is counted as [unit-needs-basis]")
            .err_has("mg/L NO3-N, mg/L NO3-")
            .go();
    }
    add(&["nitrate", "--water", "both"]).err_has("the unit of nitrate was not said").err_has("'mg/L NO3-'").go();
    add(&["nitrate", "--unit", "mg/L NO2-", "--water", "both"]).err_has("[unit-other-analyte]").go();
    add(&["nitrate", "--unit", "drops", "--water", "both"]).err_has("[unit-unknown]").go();
    add(&["pH", "--scale", "from-zero", "--water", "both"]).err_has("[kit-scale]").go();
    add(&["a:b", "--unit", "ppm", "--water", "both"]).err_has("[test-name]").go();
    add(&["iron", "--unit", "mg/L", "--wait", "999", "--water", "both"]).err_has("[kit-wait]").go();
    add(&["iron", "--unit", "mg/L"]).err_has("--water").go();
    add(&["hall", "iron", "--unit", "mg/L", "--water", "both"]).err_has("there is no kit 'hall'; there is: home").go();
    add_test(&house, &["iron", "--unit", "mg/L", "--water", "both"]);
    add(&["IRON", "--unit", "mg/L", "--water", "both"]).err_has("[kit-test-twice]").go();
}

#[test]
fn a_kits_name_is_free_once() {
    let house = with_kit();
    house.run(&["kit", "new", "home"]).exit(2).err_has("a kit named 'home' already [name-taken]").go();
    house.run(&["kit", "new", "HOME"]).exit(2).err_has("[store-name-taken]").go();
    house.run(&["kit", "new", "../out"]).exit(2).err_has("[store-name]").go();
    house.run(&["kit", "new", "hall"]).touches(&["home/kits/hall/"]).out_has("hall").go();
    house.run(&["kit", "show"]).exit(2).err_has("several kits").err_has("hall, home [name-ambiguous]").go();
    house.run(&["kit", "show", "Hall"]).out_has("hall: revision").go();
}

#[test]
fn standards_become_swatches() {
    let house = furnished();
    let shown = house.run(&["kit", "show", "home", "--json"]).go().json::<KitShown>();
    let nitrite = &shown.swatches[0].swatches;
    assert_eq!(nitrite.iter().map(|s| s.value).collect::<Vec<_>>(), [0.0, 2.0, 0.0, 3.0, 1.0, 5.0]);
    assert_eq!(nitrite[1].taken.as_deref(), Some("2026-02-01T12:00:00+01:00"));
    assert_eq!((nitrite[1].station.as_str(), nitrite[1].photo.len(), nitrite[1].number), ("C", 64, 2));
    // More of the dye, darker and redder.
    assert!(nitrite[0].lab[0] > nitrite[1].lab[0] && nitrite[1].lab[0] > nitrite[5].lab[0] + 5.0, "{nitrite:?}");
    // Kit made, three tests, three photos.
    assert_eq!(shown.revisions.len(), 7);
    assert!(shown.kit.card.is_some());
    house.lay("ph.jpg", Shot::new().vial("D", [0.3, 0.1, 0.0]).jpeg());
    let added = house
        .run(&["kit", "add", "home", "--photo", "ph.jpg", "d=pH:6,5", "--json"])
        .touches(&["home/kits/home/", "home/photos/"])
        .go()
        .json::<KitAdded>();
    let standard = &added.photos[0].standards[0];
    assert_eq!((standard.station.as_str(), standard.test.as_str(), standard.value), ("D", "pH", 6.5));
    assert!(standard.lab.is_some() && standard.refusal.is_empty());
}

#[test]
fn a_standards_uncertainty_is_kept_and_shown() {
    let house = furnished();
    house.lay("four.jpg", Shot::new().dyed("B", 4.0).jpeg());
    let args = ["kit", "add", "--photo", "four.jpg", "B=nitrite:4±0.3", "--json"];
    let added = house.run(&args).touches(&["home/kits/home/", "home/photos/"]).go().json::<KitAdded>();
    assert_eq!(added.photos[0].standards[0].value_sd, Some(0.15));
    house.run(&["kit", "show"]).out_has("4 ± 0.3").go();
    let toml = house.run(&["kit", "show", "--toml"]).go().out;
    assert!(toml.starts_with("format = 2\n") && toml.contains("value_sd = 0.15"), "{toml}");
    let shown = house.run(&["kit", "show", "--json"]).go().json::<KitShown>();
    let sds: Vec<_> = shown.swatches[0].swatches.iter().map(|s| s.value_sd).collect();
    assert_eq!((sds[6], sds.iter().flatten().count()), (Some(0.15), 1), "{sds:?}");
    for (word, code) in [("B=nitrite:3-5", "amount-malformed"), ("B=nitrite:4±x", "amount-malformed")] {
        house.run(&["kit", "add", "--photo", "four.jpg", word]).exit(2).err_has(code).go();
    }
}

#[test]
fn a_standard_that_is_not_seen_is_left_out_with_its_reason() {
    let house = furnished();
    house.lay("one.jpg", Shot::new().dyed("A", 4.0).jpeg());
    let args = ["kit", "add", "--photo", "one.jpg", "A=nitrite:4", "D=nitrite:8", "--json"];
    let added = house.run(&args).exit(3).touches(&["home/kits/home/", "home/photos/"]).go().json::<KitAdded>();
    let [a, d] = &added.photos[0].standards[..] else { panic!("two standards") };
    assert!(a.lab.is_some() && d.lab.is_none());
    assert_eq!(d.refusal[0].code, "sample-missing");
    assert_eq!(added.kit.tests[0].values, [0.0, 1.0, 2.0, 3.0, 4.0, 5.0]);
    // Nothing usable: no new revision.
    house
        .run(&["kit", "add", "--photo", "bare.jpg", "A=nitrite:4", "--no-keep"])
        .exit(3)
        .out_has("[card-missing]")
        .go();
}

#[test]
fn what_is_no_standard_is_said() {
    let house = furnished();
    let add = |args: &[&'static str]| house.run(&[&["kit", "add", "--photo", "s1.jpg"], args].concat()).exit(2);
    add(&["A=nitrite"]).err_has("[sample-malformed]").err_has("A=nitrate:5").go();
    add(&["home"]).err_has("[samples-missing]").err_has("nitrite:VALUE").go();
    add(&["A=nitrite:<1"]).err_has("[amount-malformed]").go();
    add(&["A=nitrite:1,250"]).err_has("[amount-comma]").go();
    add(&["A=nitrite:1", "a=nitrite:2"]).err_has("[station-twice]").go();
    add(&["E=nitrite:1"]).err_has("it has A, B, C, D [station-unknown]").go();
    add(&["A=iron:1"]).err_has("it has nitrite, ammonia, pH [test-unknown]").go();
    add(&["hall", "A=nitrite:1"]).err_has("[name-unknown]").go();
    add(&["home", "s2.jpg", "A=nitrite:1"]).err_has("'s2.jpg' is neither").go();
    // This photo gave its swatch at A before.
    add(&["A=nitrite:1"]).err_has("[kit-swatch-twice]").go();
    add(&["A=pH:15"]).err_has("[kit-swatch-value]").go();
    house.run(&["kit", "add", "A=nitrite:1"]).exit(2).err_has("--photo").go();
    house.run(&["kit", "add", "--photo", "gone.jpg", "A=nitrite:1"]).exit(1).err_has("[photo-unreadable]").go();
    // The colours in a kit are in one card's space.
    house
        .run(&["card", "enrol", "empty2.jpg", "--name", "second"])
        .touches(&["home/cards/second/"])
        .out_has("second")
        .go();
    house.lay("new.jpg", Shot::new().dyed("A", 4.0).jpeg());
    let other = ["kit", "add", "--photo", "new.jpg", "--card", "second", "A=nitrite:4"];
    house
        .run(&other)
        .exit(2)
        .err_has("calibrated with the card 'card', not with the card 'second' [kit-other-card]")
        .go();
}

#[test]
fn a_kit_is_checked_swatch_by_swatch() {
    let house = furnished();
    let checked = house.run(&["kit", "check", "--json"]).exit(3).go().json::<KitChecked>();
    let nitrite = &checked.tests[0];
    let said: Vec<_> = nitrite.left_out.iter().map(|l| (l.number, l.value, l.read.is_some())).collect();
    // 5 mg/L is the end and stands alone; zero was given twice.
    assert_eq!(said, [(1, 0.0, true), (2, 2.0, true), (3, 0.0, true), (4, 3.0, true), (5, 1.0, true), (6, 5.0, false)]);
    // Drawn by one law of absorption, they agree with one another.
    assert!(nitrite.left_out.iter().all(|l| l.steps.is_none_or(|s| s.abs() < 0.5)), "{:?}", nitrite.left_out);
    let gaps: Vec<_> = nitrite.gaps.iter().map(|g| (g.from, g.to)).collect();
    assert_eq!(gaps, [(0.0, 1.0), (1.0, 2.0), (2.0, 3.0), (3.0, 5.0)]);
    assert!(nitrite.gaps.iter().all(|g| (4.0..40.0).contains(&g.delta_e)), "{:?}", nitrite.gaps);
    let doubts = |t: &super::wire::TestChecked| t.findings.iter().filter(|f| f.severity == "doubt").count();
    assert_eq!(checked.tests.iter().map(doubts).collect::<Vec<_>>(), [0, 1, 1], "the others have no swatches yet");
    // Standards named the wrong way round.
    let toml = house.run(&["kit", "show", "--toml"]).go().out;
    let swapped = toml.replacen("value = 3.0", "value = 0.5", 1).replacen("value = 1.0", "value = 4.0", 1);
    house.lay("swapped.toml", swapped);
    house.run(&["kit", "import", "swapped.toml"]).touches(&["home/kits/home/"]).out_has("Changed").go();
    house.run(&["kit", "check"]).exit(3).out_has("[curve-not-monotone]").out_has("standards").go();
}

#[test]
fn swatches_and_tests_are_taken_out() {
    let house = furnished();
    let touched = ["home/kits/home/"];
    let gone =
        house.run(&["kit", "remove", "home", "nitrite", "4", "--json"]).touches(&touched).go().json::<KitChanged>();
    assert_eq!(gone.kit.tests[0].values, [0.0, 1.0, 2.0, 5.0]);
    house.run(&["kit", "remove", "home", "nitrite", "9"]).exit(2).err_has("[kit-no-swatch]").go();
    house.run(&["kit", "remove", "home", "iron"]).exit(2).err_has("[kit-no-test]").go();
    house.run(&["kit", "remove", "home", "pH"]).touches(&touched).out_has("Took the test 'pH' out").go();
}

#[test]
fn a_kits_file_goes_out_and_comes_in() {
    let (house, other) = (furnished(), House::new());
    let toml = house.run(&["kit", "show", "--toml"]).go().out;
    other.lay("kit.toml", &toml);
    let new =
        other.run(&["kit", "import", "kit.toml", "--json"]).touches(&["home/kits/home/"]).go().json::<KitChanged>();
    let own = house.run(&["kit", "list", "--json"]).go().json::<KitList>();
    assert_eq!(new.kit.revision, own.kits[0].revision);
    other
        .lay("kit.toml", toml.replace("wait_minutes", "wait_hours").replace("unit = \"mg/L NO2-\"", "unit = \"mg/L\""));
    other
        .run(&["kit", "import", "kit.toml"])
        .exit(1)
        .err_has("kit.toml: test 'nitrite': ")
        .err_has("[unit-needs-basis]")
        .go();
    other.lay("kit.toml", toml.replacen("format = 1", "format = 4", 1));
    other.run(&["kit", "import", "kit.toml"]).exit(1).err_has("file format 4").err_has("[kit-newer]").go();
    other.lay("kit.toml", toml.replacen("kind = ", "colour = 1\nkind = ", 1));
    other.run(&["kit", "import", "kit.toml"]).exit(1).err_has("line 5").err_has("[kit-malformed]").go();
    other.run(&["kit", "import", "gone.toml"]).exit(1).err_has("[file-unusable]").go();
}
