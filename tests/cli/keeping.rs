//! Keeping a kit true: bottles, phones, prints; control checks; eyes that see colours otherwise.

use super::furnished;
use super::wire::{
    EventList, KitAdopted, KitChecked, KitControlled, KitRemeasured, KitShown, KitVision, ReadDone, Sample,
};
use crate::support::House;
use crate::support::shot::Shot;

const KIT: &str = "home/kits/home/";
const PHOTOS: &str = "home/photos/";
const LOG: &str = "home/log.db";

/// The sample at B of a photo that is read, again if it was read before.
fn read(house: &House, photo: &str, again: bool) -> Sample {
    let mut args = vec!["read", photo, "B=nitrite", "--no-keep", "--json"];
    if again {
        args.push("--again");
    }
    let mut done = house.run(&args).touches(&[LOG]).go().json::<ReadDone>();
    done.photos.remove(0).samples.remove(0)
}

fn codes(sample: &Sample) -> Vec<(&str, &str)> {
    sample.findings.iter().map(|f| (f.code.as_str(), f.severity.as_str())).collect()
}

fn width(sample: &Sample) -> f64 {
    sample.upper.unwrap() - sample.lower.unwrap()
}

/// Photos of standards as the demo reagent shows them, its dye `strength` times as strong.
fn standards(house: &House, values: &[f64], strength: f64, camera: Option<&str>) -> Vec<String> {
    let one = |v: &f64| {
        let mut shot = Shot::new().dyed("B", v * strength).taken("2026:03:05 12:00:00", Some("+01:00"));
        shot = (0..(v * 10.0) as usize % 7 + 1).fold(shot, |s, _| s.retake());
        if let Some(camera) = camera {
            shot = shot.camera(camera);
        }
        let name = format!("std-{v}-{strength}-{}.jpg", camera.unwrap_or("none"));
        house.lay(&name, shot.jpeg());
        [name, format!("B=nitrite:{v}")]
    };
    values.iter().flat_map(one).collect()
}

fn with<'a>(head: &[&'a str], words: &'a [String]) -> Vec<&'a str> {
    head.iter().copied().chain(words.iter().map(String::as_str)).collect()
}

#[test]
fn a_new_bottle_widens_until_two_standards_carry_the_kit_over() {
    let house = furnished();
    let before = read(&house, "tank.jpg", false);
    assert!(codes(&before).iter().all(|(code, _)| *code != "lot-new"));
    // Nothing is new yet.
    let same = standards(&house, &[1.0, 3.0], 1.0, None);
    house.run(&with(&["kit", "adopt", "home"], &same)).exit(2).err_has("[adopt-nothing-new]").go();
    let lot = ["kit", "lot", "home", "nitrite", "L2", "--opened", "2026-02-20", "--expires", "2026-03-31"];
    house.run(&lot).touches(&[KIT]).out_has("lot L2").out_has("kit adopt").go();
    let new = read(&house, "tank.jpg", true);
    assert!(codes(&new).contains(&("lot-new", "note")), "{:?}", codes(&new));
    assert!(width(&new) > 1.2 * width(&before), "{before:?} {new:?}");
    let shown = house.run(&["kit", "show", "--json"]).go().json::<KitShown>();
    let bottle = &shown.swatches[0].bottle;
    assert_eq!((bottle.lot.as_deref(), bottle.new, bottle.earlier.len()), (Some("L2"), true, 1));
    house.run(&["kit", "show"]).out_has("bottle: lot L2, opened 2026-02-20, good until 2026-03-31, 1 before it").go();

    // One concentration is not enough; a weak bottle is sent to be calibrated.
    let one = standards(&house, &[3.0], 1.0, None);
    let args = with(&["kit", "adopt", "--no-keep"], &one);
    house.run(&args).exit(3).out_has("at least two concentrations").go();
    let weak = standards(&house, &[1.0, 3.0], 0.35, None);
    let args = with(&["kit", "adopt", "--no-keep", "--json"], &weak);
    let refused = house.run(&args).exit(3).go().json::<KitAdopted>();
    assert!(!refused.tests[0].adopted && refused.tests[0].standards[1].steps < -1.0, "{refused:?}");
    assert_eq!((&refused.tests[0].new[..], refused.tests[0].freedom), (&["bottle".to_string()][..], Some(6)));

    let good = standards(&house, &[1.0, 3.0], 1.0, None);
    let args = with(&["kit", "adopt", "home", "--json"], &good);
    let done = house.run(&args).touches(&[KIT, PHOTOS]).go().json::<KitAdopted>();
    let trial = &done.tests[0];
    assert!(trial.adopted && trial.p.unwrap() > 0.5 && trial.way.unwrap() < 0.15, "{trial:?}");
    assert!(trial.standards.iter().all(|s| s.steps.abs() < 0.2), "{trial:?}");
    let after = read(&house, "tank.jpg", true);
    assert!(codes(&after).iter().all(|(code, _)| *code != "lot-new"), "{:?}", codes(&after));
    assert!(width(&after) < width(&new) && width(&after) > width(&before), "{after:?}");
    house.run(&["kit", "show"]).out_has("carried over").out_has("with 1, 3").go();
    // A photo from before the bottle was opened is the old one's; one after its date is in doubt.
    house.lay("old.jpg", Shot::new().dyed("B", 2.5).taken("2026:02:10 18:30:00", Some("+01:00")).jpeg());
    house.lay("late.jpg", Shot::new().dyed("B", 2.6).taken("2026:04:01 18:30:00", Some("+02:00")).jpeg());
    assert!(width(&read(&house, "old.jpg", false)) < width(&after));
    assert!(codes(&read(&house, "late.jpg", false)).contains(&("reagent-expired", "doubt")));
    // What was read before stands in the history as it was said.
    house.run(&["log", "history"]).out_has("nitrite").go();
}

#[test]
fn a_strange_phone_is_noticed_where_the_kit_knows_its_own() {
    let house = furnished();
    assert!(codes(&read(&house, "tank.jpg", false)).iter().all(|(code, _)| *code != "phone-unknown"));
    for (value, photo) in [(1.5, "p1.jpg"), (4.0, "p2.jpg")] {
        house.lay(photo, Shot::new().dyed("B", value).camera("Sample One").jpeg());
        let word = format!("B=nitrite:{value}");
        house.run(&["kit", "add", "--photo", photo, &word]).touches(&[KIT, PHOTOS]).out_has("1 swatch added").go();
    }
    // A photo sent through a messenger names no phone any more.
    let silent = read(&house, "tank.jpg", true);
    assert!(codes(&silent).contains(&("phone-unknown", "note")), "{:?}", codes(&silent));
    let shot = |camera| Shot::new().dyed("B", 2.9).taken("2026:03:08 18:30:00", Some("+01:00")).camera(camera);
    house.lay("own.jpg", shot("Sample One").jpeg()).lay("other.jpg", shot("Sample Two").retake().jpeg());
    let (own, other) = (read(&house, "own.jpg", false), read(&house, "other.jpg", false));
    assert!(codes(&own).iter().all(|(code, _)| *code != "phone-unknown"), "{:?}", codes(&own));
    let said = other.findings.iter().find(|f| f.code == "phone-unknown").unwrap();
    assert!(said.sentence.contains("(Sample Two)") && width(&other) > width(&own), "{said:?} {own:?} {other:?}");
    // Photos by two phones carry over to none.
    let mut words = standards(&house, &[1.0], 1.0, Some("Sample Two"));
    words.extend(standards(&house, &[3.0], 1.0, None));
    house.run(&with(&["kit", "adopt"], &words)).exit(2).err_has("[photos-two-phones]").go();
    let words = standards(&house, &[1.0, 3.0], 1.0, Some("Sample Two"));
    house.run(&with(&["kit", "adopt"], &words)).touches(&[KIT, PHOTOS]).out_has("Carried over").go();
    let carried = read(&house, "other.jpg", true);
    assert!(codes(&carried).iter().all(|(code, _)| *code != "phone-unknown"), "{:?}", codes(&carried));
}

#[test]
fn a_card_enrolled_anew_is_noticed_and_its_photos_are_measured_again() {
    let house = furnished();
    house.run(&["card", "enrol", "empty2.jpg"]).touches(&["home/cards/card/"]).out_has("Enrolled").go();
    let new = read(&house, "tank.jpg", false);
    assert!(codes(&new).contains(&("card-new", "note")), "{:?}", codes(&new));
    house.lay("more.jpg", Shot::new().dyed("B", 4.0).jpeg());
    house
        .run(&["kit", "add", "--photo", "more.jpg", "B=nitrite:4"])
        .exit(2)
        .err_has("[kit-card-renewed]")
        .err_has("tintline kit remeasure home")
        .go();
    let done = house.run(&["kit", "remeasure", "--json"]).touches(&[KIT]).go().json::<KitRemeasured>();
    assert_eq!((done.measured, done.left.len()), (6, 0));
    assert!(codes(&read(&house, "tank.jpg", true)).iter().all(|(code, _)| *code != "card-new"));
    // Once more changes nothing.
    house.run(&["kit", "remeasure"]).out_has("Measured 6 swatches").go();
    // A print with another name is another card; carrying over to it ends the doubt.
    house
        .run(&["card", "enrol", "empty.jpg", "--name", "second"])
        .touches(&["home/cards/second/"])
        .out_has("second")
        .go();
    let by = |extra: &[&'static str]| {
        let args = [&["read", "tank.jpg", "B=nitrite", "--card", "second", "--again", "--no-keep", "--json"], extra];
        let mut done = house.run(&args.concat()).touches(&[LOG]).go().json::<ReadDone>();
        done.photos.remove(0).samples.remove(0)
    };
    let foreign = by(&[]);
    assert!(codes(&foreign).contains(&("card-other", "doubt")), "{:?}", codes(&foreign));
    assert!(codes(&foreign).iter().all(|(code, _)| *code != "card-new"));
    let words = standards(&house, &[1.0, 3.0], 1.0, None);
    let args = with(&["kit", "adopt", "home", "--card", "second"], &words);
    house.run(&args).touches(&[KIT, PHOTOS]).out_has("new: card").go();
    let carried = by(&[]);
    assert!(codes(&carried).iter().all(|(code, _)| !code.starts_with("card-")), "{:?}", codes(&carried));
}

#[test]
fn a_kit_begun_before_the_card_was_enrolled_goes_over_to_it() {
    let house = House::new();
    house.lay("zero.jpg", Shot::new().dyed("B", 0.0).jpeg()).lay("two.jpg", Shot::new().dyed("B", 2.0).jpeg());
    house.lay("empty.jpg", Shot::new().jpeg());
    house.run(&["kit", "start", "home", "nitrite=mg/L NO2-"]).touches(&[KIT]).out_has("Next").go();
    for (photo, word) in [("zero.jpg", "B=nitrite:0"), ("two.jpg", "B=nitrite:2")] {
        house.run(&["kit", "add", "--photo", photo, word]).touches(&[KIT, PHOTOS]).out_has("1 swatch").go();
    }
    house.run(&["kit", "remeasure"]).exit(2).err_has("there is no card yet").go();
    house.run(&["card", "enrol", "empty.jpg"]).touches(&["home/cards/card/", PHOTOS]).exit(0).out_has("Enrolled").go();
    let done = house.run(&["kit", "remeasure", "--json"]).touches(&[KIT]).go().json::<KitRemeasured>();
    assert!(done.measured == 2 && done.kit.card.is_some(), "{done:?}");
    // Without its photo a swatch cannot follow; nothing is changed then.
    std::fs::remove_dir_all(house.path("home/photos")).unwrap();
    let left = house.run(&["kit", "remeasure", "--json"]).exit(3).go().json::<KitRemeasured>();
    assert_eq!((left.left.len(), left.left[0].kept, left.left[0].number), (2, false, 1));
}

#[test]
fn a_standard_read_again_shows_a_dead_reagent() {
    let house = furnished();
    house.run(&["kit", "control"]).out_has("nitrite: control check due since 2026-03-01").out_has("No check yet").go();
    let zero = standards(&house, &[0.0], 1.0, None);
    house.run(&with(&["kit", "control"], &zero)).exit(2).err_has("[control-zero]").go();
    house.run(&["kit", "control", "B=nitrite:3"]).exit(2).err_has("[sample-before-photo]").go();
    let good = standards(&house, &[3.0], 1.0, None);
    let done = house.run(&with(&["kit", "control", "--json"], &good)).touches(&[LOG, PHOTOS]).go();
    let done = done.json::<KitControlled>();
    let check = &done.tests[0].checks[0];
    assert!(check.steps.abs() < 0.2 && check.sigma > 0.02 && check.broken.is_empty(), "{check:?}");
    assert_eq!((check.value, done.tests[0].due.as_str(), done.tests[0].why.as_str()), (3.0, "2026-04-05", "month"));
    // The same photo is the same check.
    house.run(&with(&["kit", "control"], &good)).out_has("good").go();
    assert_eq!(house.run(&["kit", "control", "--json"]).go().json::<KitControlled>().tests[0].checks.len(), 1);
    house.lay("later.jpg", Shot::new().dyed("B", 2.0).taken("2026:03:07 12:00:00", Some("+01:00")).jpeg());
    assert!(codes(&read(&house, "later.jpg", false)).iter().all(|(code, _)| *code != "control-out"));

    // Dead: it shows next to nothing of three.
    house.lay("dead.jpg", Shot::new().dyed("B", 0.1).taken("2026:03:06 12:00:00", Some("+01:00")).jpeg());
    house
        .run(&["kit", "control", "dead.jpg", "B=nitrite:3"])
        .exit(3)
        .touches(&[LOG, PHOTOS])
        .out_has("OUT")
        .out_has("beyond the action limit")
        .go();
    house.lay("after.jpg", Shot::new().dyed("B", 2.2).taken("2026:03:07 18:00:00", Some("+01:00")).jpeg());
    assert!(codes(&read(&house, "after.jpg", false)).contains(&("control-out", "doubt")));
    // A reading from before it is not touched by it.
    house.lay("earlier.jpg", Shot::new().dyed("B", 2.1).taken("2026:03:05 18:00:00", Some("+01:00")).jpeg());
    assert!(codes(&read(&house, "earlier.jpg", false)).iter().all(|(code, _)| *code != "control-out"));
    let checked = house.run(&["kit", "check", "--json"]).exit(3).go().json::<KitChecked>();
    let control = &checked.tests[0].control;
    assert_eq!((control.under_control, control.why.as_str(), control.due.as_str()), (false, "off", "2026-03-06"));
    // It is in the log as what happened, and can be taken back.
    let events = house.run(&["event", "list", "--kind", "control-checked", "--json"]).go().json::<EventList>();
    assert_eq!((events.events.len(), events.events[1].tank.as_ref()), (2, None));
    assert_eq!(events.events[1].facts["value"], 3.0);
    house.run(&["log", "undo", &events.events[1].id]).touches(&[LOG]).out_has("").go();
    assert!(house.run(&["kit", "control", "--json"]).go().json::<KitControlled>().tests[0].under_control);
}

#[test]
fn shades_are_named_and_drawn_for_all_eyes() {
    let house = furnished();
    let seen = house.run(&["kit", "check", "--vision", "--json"]).go().json::<KitVision>();
    let nitrite = &seen.tests[0];
    assert_eq!(seen.alike_below, 5.0);
    assert_eq!(nitrite.shades.iter().map(|s| s.value).collect::<Vec<_>>(), [0.0, 1.0, 2.0, 3.0, 5.0]);
    assert!(nitrite.shades[0].colour.contains("yellow") && nitrite.shades[4].colour.contains("pink"), "{nitrite:?}");
    let neighbours: Vec<_> = nitrite.pairs.iter().filter(|p| p.neighbours).map(|p| (p.from, p.to)).collect();
    assert_eq!(neighbours, [(0.0, 1.0), (1.0, 2.0), (2.0, 3.0), (3.0, 5.0)]);
    for p in &nitrite.pairs {
        let said = |name: &str| p.alike_to.iter().any(|a| a == name);
        for (name, apart) in [("usual", p.usual), ("protan", p.protan), ("deutan", p.deutan), ("tritan", p.tritan)] {
            assert_eq!(said(name), apart < 5.0, "{p:?}");
        }
    }
    house.run(&["kit", "check", "--vision"]).out_has("no step needs your eye").out_has("told apart").go();
    house.run(&["kit", "check", "--picture", "x.png"]).exit(2).err_has("--vision").go();
    house.run(&["kit", "check", "--vision", "--picture", "x.gif"]).exit(2).err_has(".png or .svg").go();
    house
        .run(&["kit", "check", "--vision", "--picture", "x.png"])
        .touches(&["desk/x.png"])
        .out_has("Picture: x.png")
        .go();
    house.run(&["kit", "check", "--vision", "--picture", "x.svg"]).touches(&["desk/x.svg"]).out_has("x.svg").go();
    let picture = image::open(house.path("desk/x.png")).unwrap().to_rgb8();
    // A shade as the usual eye sees it stands in the picture as it is.
    let lab = tintline::colour::Lab(nitrite.shades[4].lab);
    let code = tintline::colour::srgb_from_linear(tintline::colour::linear_from_lab(lab)).0;
    let code = code.map(|c| (c.clamp(0.0, 1.0) * 255.0).round() as u8);
    let count = picture.pixels().filter(|p| p.0 == code).count();
    assert!(count > 5000, "{count} pixels of {code:?}");
    let svg = std::fs::read_to_string(house.path("desk/x.svg")).unwrap();
    for word in ["usual", "protan", "deutan", "tritan", "nitrite (mg/L NO2-)"] {
        assert!(svg.contains(word), "{word}");
    }
}

#[test]
fn kit_show_marks_printed_shades_and_uncertain_standards() {
    let house = furnished();
    let toml = house.run(&["kit", "show", "--toml"]).go().out;
    let changed = toml.replacen("format = 1", "format = 2", 1).replacen(
        "value = 5.0",
        "value = 5.0\nvalue_sd = 0.25\nsource = \"print\"",
        1,
    );
    house.lay("changed.toml", changed);
    house.run(&["kit", "import", "changed.toml"]).touches(&[KIT]).out_has("Changed").go();
    house.run(&["kit", "show"]).out_has("5 ± 0.5").out_has("printed shade").go();
    let shown = house.run(&["kit", "show", "--json"]).go().json::<KitShown>();
    let sources: Vec<&str> = shown.swatches[0].swatches.iter().map(|s| s.source.as_str()).collect();
    assert_eq!(sources, ["standard", "standard", "standard", "standard", "standard", "print"]);
    assert_eq!(shown.swatches[0].swatches[5].value_sd, Some(0.25));
}
