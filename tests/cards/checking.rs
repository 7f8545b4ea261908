//! Checking a photo's card.

use tintline::card::{CardNumber, Layout};
use tintline::finding::Severity;
use tintline::light::{Agreement, CardCheck, CardFileError, Enrolment, check_card};

use super::{codes, enrol, photo};
use crate::card_detection::camera::{Picture, Pose, Print, View};

fn a() -> Enrolment {
    enrol(&["print-a-flat", "print-a-upright"]).unwrap().0
}

fn check(name: &str, card: Option<&Enrolment>) -> CardCheck {
    check_card(&photo(name), &Layout::first(), card).unwrap()
}

#[track_caller]
fn agreement(check: &CardCheck) -> &Agreement {
    check.light.as_ref().unwrap().agreement.as_ref().unwrap()
}

#[test]
fn a_good_photo_of_the_enrolled_card() {
    let check = check("print-a-vial", Some(&a()));
    assert!(check.good && check.findings.is_empty(), "{:?}", check.findings);
    let place = check.place.as_ref().unwrap();
    assert_eq!((place.number, place.hidden.len()), (None, 0));
    // From the picture's known places: the markers' outer edges are 140 mm apart.
    assert!((place.px_per_mm - 3.51).abs() < 0.02, "{}", place.px_per_mm);
    assert!((0.1..0.2).contains(&place.blur_mm) && place.residual_mm < 0.1);
    let light = check.light.as_ref().unwrap();
    // One vial and its shadow hide a sixth of the paper.
    assert!((0.78..0.86).contains(&light.earned), "{}", light.earned);
    assert!(light.slopes.iter().flatten().all(|s| s.abs() < 0.08), "{:?}", light.slopes);
    assert!((0.3..0.6).contains(&light.left_out), "{}", light.left_out);
    let agreement = agreement(&check);
    assert!(agreement.mean < 0.35 && (0.73..0.8).contains(&agreement.allowed), "{agreement:?}");
    assert_eq!((agreement.patches.len(), agreement.patches[27].0.as_str()), (28, "gr6"));
}

#[test]
fn without_an_enrolment_it_says_so() {
    let check = check("print-a-vial", None);
    assert_eq!((codes(&check.findings), check.good), (vec!["card-not-enrolled"], true));
    assert_eq!(check.light.unwrap().agreement, None);
}

#[test]
fn another_print_is_noticed_both_ways() {
    let (a, b) = (a(), enrol(&["print-b-flat", "print-b-upright"]).unwrap().0);
    let photos = [("print-a-flat", &b), ("print-a-upright", &b), ("print-a-vial", &b), ("print-b-flat", &a)];
    for (name, other) in photos.into_iter().chain([("print-b-upright", &a), ("slanted", &a), ("slanted", &b)]) {
        let check = check(name, Some(other));
        assert_eq!((codes(&check.findings), check.good), (vec!["card-other"], false), "{name}");
        let Agreement { mean, allowed, .. } = agreement(&check);
        assert!(*mean > 1.5 * allowed, "{name}: {mean:.2} of {allowed:.2}");
    }
}

#[test]
fn fading_and_stains_are_noticed() {
    let layout = Layout::first();
    // What was enrolled before the card faded: magenta ink was denser by a seventh in the colours, black has kept.
    let mut fresh = a();
    fresh.patches[..16].iter_mut().for_each(|p| p.colour[1] = p.colour[1].powf(8.0 / 7.0));
    let check = check_card(&photo("print-a-vial"), &layout, Some(&fresh)).unwrap();
    assert_eq!(codes(&check.findings), ["card-other"]);
    assert!(agreement(&check).mean > 1.2, "{:.2}", agreement(&check).mean);

    // One patch as if it were stained.
    let mut clean = a();
    let c16 = clean.patches.iter_mut().find(|p| p.name == "c16").unwrap();
    c16.colour = [c16.colour[0] * 1.2, c16.colour[1] * 1.35, c16.colour[2] * 1.1];
    let check = check_card(&photo("print-a-vial"), &layout, Some(&clean)).unwrap();
    assert_eq!((codes(&check.findings), check.good), (vec!["light-patches-odd"], true));
    assert!(check.findings[0].sentence.contains("patch c16"), "{}", check.findings[0].sentence);
    let (name, off) = agreement(&check).worst.clone().unwrap();
    assert!(name == "c16" && (5.0..10.0).contains(&off), "{name} {off:.1}");
}

#[test]
fn a_number_that_is_not_the_enrolled_one() {
    let layout = Layout::first();
    let print = Print::new(&layout, CardNumber::new(12));
    let picture = |yaw| Picture::table().add(&print, &View::new(&layout, Pose { yaw, ..Pose::STRAIGHT }), |mm| mm);
    let photos = [picture(3.0).photo(), picture(-7.0).photo()];
    let (card, _) = Enrolment::from_photos(&photos, &layout, None, super::DAY).unwrap();
    let check = check_card(&photos[0], &layout, Some(&card)).unwrap();
    assert!(check.good && check.place.as_ref().unwrap().number == Some(12), "{:?}", check.findings);
    let other = Enrolment { number: CardNumber::new(9), ..card };
    let check = check_card(&photos[0], &layout, Some(&other)).unwrap();
    assert_eq!((codes(&check.findings), check.good), (vec!["card-other"], false));
    assert_eq!(check.findings[0].sentence, "The photo shows card 12, the enrolment is of card 9.");
}

#[test]
fn what_spoils_the_photo_is_said_first_and_the_print_not_blamed() {
    let layout = Layout::first();
    let print = Print::new(&layout, None);
    let card = a();
    let view = |pose| View::new(&layout, pose);
    let picture = || Picture::table().add(&print, &view(Pose::STRAIGHT), |mm| mm);
    let halved = |rgb: [f32; 3], at: [f32; 2]| rgb.map(|v| if at[0] + at[1] < 0.9 { 0.5 * v } else { v });
    for (photo, code, placed) in [
        (picture().lit(halved).photo(), "light-shadow", true),
        (picture().blurred(2.2).photo(), "photo-blurred", false),
        (picture().mirrored(), "card-mirrored", false),
        (Picture::table().photo(), "card-missing", false),
        (
            Picture::table().add(&print, &view(Pose { scale: 2.5, ..Pose::STRAIGHT }), |mm| mm).photo(),
            "card-too-far",
            false,
        ),
    ] {
        let check = check_card(&photo, &layout, Some(&card)).unwrap();
        assert_eq!((codes(&check.findings), check.good), (vec![code], false));
        assert!(
            check.findings[0].severity == Severity::Doubt && check.place.is_some() == placed && check.light.is_none()
        );
    }
}

#[test]
fn a_card_file_of_another_layout_is_an_error() {
    let mut card = a();
    card.layout = 2;
    let error = check_card(&photo("print-a-flat"), &Layout::first(), Some(&card)).unwrap_err();
    assert_eq!(error, CardFileError::Layout { found: 2, wanted: 1 });
}
