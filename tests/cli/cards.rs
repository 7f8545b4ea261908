//! `card`.

use super::furnished;
use super::wire::{CardEnrolled, CardList, CardPrinted, CardShown, CardsChecked};
use crate::support::House;
use crate::support::shot::Shot;

#[test]
fn a_card_is_printed_in_three_formats() {
    let house = House::new();
    let starts = |name: &str| std::fs::read(house.path("desk").join(name)).unwrap()[..8].to_vec();
    house.run(&["card", "print"]).out_has("100 %").touches(&["desk/tintline-card.pdf"]).go();
    assert_eq!(starts("tintline-card.pdf"), b"%PDF-1.7");
    // A second one, with a number on it, is another file in the place of the first.
    house
        .run(&["card", "print", "--number", "7", "--paper", "letter"])
        .touches(&["desk/tintline-card.pdf"])
        .out_has("pdf")
        .go();
    let png = house.run(&["card", "print", "--out", "c.png", "--dpi", "300", "--json"]).touches(&["desk/c.png"]).go();
    let png = png.json::<CardPrinted>();
    assert_eq!((png.file.as_str(), png.format.as_str(), png.number), ("c.png", "png", None));
    let picture = image::open(house.path("desk/c.png")).unwrap();
    assert_eq!((picture.width(), picture.height()), (1800, 1200));
    house
        .run(&["card", "print", "--dpi", "600", "--format", "png", "--out", "c.6"])
        .touches(&["desk/c.6"])
        .out_has("c.6")
        .go();
    let svg = house.run(&["card", "print", "--format", "svg", "--out", "-"]).go();
    assert!(svg.out.starts_with("<svg") && svg.out.contains("width=\"150mm\""), "{}", &svg.out[..200]);
    house.run(&["card", "print", "--out", "c.gif"]).exit(2).err_has("[usage]").err_has("--format").go();
    for number in ["0", "76", "x"] {
        house.run(&["card", "print", "--number", number]).exit(2).err_has("a print's number is 1 to 75").go();
    }
    house.run(&["card", "print", "--out", "no/c.pdf"]).exit(4).err_has("[store-failed]").go();
}

#[test]
fn a_card_is_enrolled_listed_and_shown() {
    let house = House::new();
    house.lay("a.jpg", Shot::new().number(7).taken("2026:01:02 12:00:00", None).jpeg());
    house.lay("b.jpg", Shot::new().number(7).retake().taken("2026:01:03 12:00:00", None).jpeg());
    house.run(&["card", "list"]).out_has("No card enrolled yet").go();
    house.run(&["card", "show"]).exit(2).err_has("[name-none-yet]").go();
    let args = ["card", "enrol", "a.jpg", "b.jpg", "--name", "kitchen", "--note", "ink jet", "--json"];
    let new = house.run(&args).touches(&["home/cards/kitchen/", "home/photos/"]).go().json::<CardEnrolled>();
    let card = new.card.unwrap();
    assert_eq!(
        (card.name.as_str(), card.number, card.date.as_str(), card.photos),
        ("kitchen", Some(7), "2026-01-03", 2)
    );
    assert!(new.refusal.is_empty() && new.findings.is_empty(), "{:?}", new.findings);
    let list = house.run(&["card", "list", "--json"]).go().json::<CardList>();
    assert_eq!(list.cards[0].revision, card.revision);
    house.run(&["card", "list"]).out_has("kitchen  number 7  enrolled 2026-01-03  from 2 photos").go();
    let shown = house.run(&["card", "show", "Kitchen", "--json"]).go().json::<CardShown>();
    assert_eq!((shown.patches.len(), shown.note.as_deref(), shown.revisions.len()), (28, Some("ink jet"), 1));
    // The drawn card has its nominal colours: mid grey (code 119) is 0.1845 of paper (IEC 61966-2-1).
    let paper_like = shown.patches.iter().filter(|p| p.colour.iter().all(|c| (0.0..=1.05).contains(c))).count();
    assert!(paper_like >= 20, "{:?}", shown.patches);
    house.run(&["card", "show", "hall"]).exit(2).err_has("there is: kitchen [name-unknown]").go();
}

#[test]
fn what_is_no_empty_card_is_not_enrolled() {
    let house = House::new();
    house.lay("vial.jpg", Shot::new().dyed("B", 2.0).jpeg()).lay("bare.jpg", Shot::bare().jpeg());
    let args = ["card", "enrol", "vial.jpg", "--no-keep", "--json"];
    let said = house.run(&args).exit(3).go().json::<CardEnrolled>();
    assert!(said.card.is_none());
    assert_eq!(said.refusal[0].code, "enrol-not-empty");
    house
        .run(&["card", "enrol", "bare.jpg", "--no-keep"])
        .exit(3)
        .out_has("[card-missing]")
        .out_has("not enrolled")
        .go();
    house.run(&["card", "enrol"]).exit(2).err_has("PHOTO").go();
    house.run(&["card", "enrol", "vial.jpg", "--name", "a/b"]).exit(2).err_has("[store-name]").go();
    house.run(&["card", "enrol", "gone.jpg"]).exit(1).err_has("[photo-unreadable]").go();
}

#[test]
fn measured_values_enrol_a_card_too() {
    let house = House::new();
    house.lay("m.txt", "NOT CGATS\n");
    house.run(&["card", "enrol", "--measured", "m.txt"]).exit(1).err_has("m.txt: ").err_has("[cgats-").go();
    house.run(&["card", "enrol", "--measured", "gone.txt"]).exit(1).err_has("[file-unusable]").go();
}

#[test]
fn photos_of_the_card_are_checked() {
    let house = furnished();
    house.lay("other.jpg", Shot::new().number(9).retake().jpeg());
    let args = ["card", "check", "empty.jpg", "bare.jpg", "gone.jpg", "--json"];
    let said = house.run(&args).exit(3).err_has("gone.jpg").go().json::<CardsChecked>();
    assert_eq!(said.card.as_deref(), Some("card"));
    let [good, bare, gone] = &said.photos[..] else { panic!("three photos") };
    assert_eq!((good.good, bare.good, gone.good), (Some(true), Some(false), None));
    let (place, light) = (good.place.as_ref().unwrap(), good.light.as_ref().unwrap());
    // Drawn at 6 pixels a millimetre.
    assert!((place.px_per_mm - 6.0).abs() < 0.05 && place.hidden.is_empty(), "{place:?}");
    assert!(light.agreement.unwrap() < light.agreement_allowed.unwrap(), "{light:?}");
    assert_eq!(
        (bare.findings[0].code.as_str(), gone.error.as_ref().unwrap().code.as_str()),
        ("card-missing", "photo-unreadable")
    );
    house.run(&["card", "check", "empty.jpg"]).out_has("empty.jpg: good to read by").out_has("'card'").go();
    house.run(&["card", "check", "gone.jpg"]).exit(1).err_has("[photo-unreadable]").go();
    House::new().lay("e.jpg", Shot::new().jpeg()).run(&["card", "check", "e.jpg"]).out_has("No card is enrolled").go();
}
