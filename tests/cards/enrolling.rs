//! Enrolling by photos of the empty card.

use tintline::card::{CardNumber, Layout};
use tintline::finding::{Code, Severity};
use tintline::light::{Enrolment, Origin};
use tintline::photo::Photo;

use super::{DAY, apart, codes, colours, enrol, nominal, photo};
use crate::card_detection::camera::{Picture, Pose, Print, View};

const A: [&str; 2] = ["print-a-flat", "print-a-upright"];
const B: [&str; 2] = ["print-b-flat", "print-b-upright"];

#[test]
fn two_photos_of_one_card_agree() {
    for names in [A, B] {
        let (card, notes) = enrol(&names).unwrap();
        assert!(notes.is_empty(), "{notes:?}");
        assert_eq!((card.layout, card.number, card.date, card.origin), (1, None, DAY, Origin::Photos));
        assert_eq!(card.photos, names.map(|n| photo(n).id().to_string()));
        let scatter: Vec<f64> = card.patches.iter().map(|p| p.scatter.unwrap()).collect();
        let mean = scatter.iter().sum::<f64>() / 28.0;
        assert!((0.1..0.6).contains(&mean), "scatter {mean:.2}");
        // Each photo alone gives nearly the same, and never exactly.
        let (one, notes) = enrol(&names[..1]).unwrap();
        assert_eq!(codes(&notes), ["enrol-few-photos"]);
        assert!(notes[0].severity == Severity::Note && one.patches.iter().all(|p| p.scatter.is_none()));
        let (mean, _) = apart(&colours(&one), &colours(&card));
        assert!((0.05..0.5).contains(&mean), "one against both {mean:.2}");
    }
}

#[test]
fn two_prints_are_told_apart() {
    let (a, b) = (enrol(&A).unwrap().0, enrol(&B).unwrap().0);
    let (mean, _) = apart(&colours(&a), &colours(&b));
    assert!((1.3..2.5).contains(&mean), "{mean:.2}");

    let (_, notes) = enrol(&[A[0], B[0]]).unwrap();
    assert_eq!((codes(&notes), notes[0].severity), (vec!["enrol-disagree"], Severity::Doubt));

    // Of three, the odd one does not count.
    let (card, notes) = enrol(&[A[0], B[0], A[1]]).unwrap();
    assert_eq!((codes(&notes), notes[0].severity), (vec!["enrol-disagree"], Severity::Note));
    assert!(notes[0].sentence.starts_with("Photo 2 "), "{}", notes[0].sentence);
    assert_eq!(card, a);
}

#[test]
fn what_cannot_enrol_is_refused_by_photo() {
    let refused = |names: &[&str]| enrol(names).unwrap_err();
    let why = refused(&[A[0], "print-a-vial", "turned"]);
    assert_eq!(codes(&why), ["enrol-not-empty", "enrol-not-empty"]);
    assert!(why[0].sentence.starts_with("Photo 2: On 19 % of the bay"), "{}", why[0].sentence);
    assert!(why[1].sentence.starts_with("Photo 3: On 5 % of the bay"), "{}", why[1].sentence);
    assert_eq!(codes(&refused(&[])), ["enrol-few-photos"]);
    let (card, notes) = enrol(&[A[0], A[0]]).unwrap();
    assert_eq!(codes(&notes), ["enrol-few-photos", "enrol-few-photos"]);
    assert_eq!((card.photos.len(), card.patches[0].scatter), (1, None));
}

/// An empty drawn card as a phone shows it.
fn drawn(print: &Print, yaw: f64, phone: impl Fn([f32; 3], [f32; 2]) -> [f32; 3]) -> Picture {
    let pose = Pose { yaw, ..Pose::STRAIGHT };
    Picture::table().add(print, &View::new(&Layout::first(), pose), |mm| mm).lit(phone)
}

/// A phone with its own sensitivities, white balance and tone curve.
fn phone(rgb: [f32; 3]) -> [f32; 3] {
    let [r, g, b] = rgb;
    let seen = [0.62 * r + 0.30 * g + 0.03 * b, 0.12 * r + 0.72 * g + 0.10 * b, 0.02 * r + 0.22 * g + 0.66 * b];
    // Steeper in the middle, flat at both ends.
    seen.map(|v| v.powf(1.15) * (1.35 - 0.4 * v))
}

fn from(photos: &[Photo], number: Option<CardNumber>) -> Result<Enrolment, Vec<&'static str>> {
    Enrolment::from_photos(photos, &Layout::first(), number, DAY).map(|(card, _)| card).map_err(|e| codes(&e))
}

#[test]
fn a_perfect_print_has_the_nominal_colours_whatever_the_phone() {
    let print = Print::new(&Layout::first(), None);
    let photos = |turned: [f64; 2], phone: fn([f32; 3], [f32; 2]) -> [f32; 3]| {
        let card = from(&turned.map(|yaw| drawn(&print, yaw, phone).photo()), None).unwrap();
        apart(&colours(&card), &nominal())
    };
    // JPEG and blur at the patches' edges leave this much.
    let (mean, most) = photos([0.0, 12.0], |rgb, _| rgb);
    assert!(mean <= 0.15 && most <= 0.4, "plain: mean {mean:.2}, most {most:.2}");
    // The tone curve is of another form than the one fitted.
    let (mean, most) = photos([5.0, -9.0], |rgb, _| phone(rgb));
    assert!(mean <= 0.45 && most <= 1.15, "phone: mean {mean:.2}, most {most:.2}");
}

#[test]
fn a_print_keeps_its_colours_whatever_the_phone() {
    // A printer of other hues and little contrast, and whims of its own.
    let mut layout = Layout::first();
    let whims = [[9, -6, 0], [0, 7, -9], [-8, 0, 6], [5, 5, -5]];
    for (p, whim) in layout.patches.iter_mut().zip(whims.iter().cycle()) {
        let [r, g, b] = p.srgb.map(f64::from);
        let printed = [0.92 * r + 0.04 * g + 6.0, 0.93 * g + 0.05 * r + 2.0, 0.85 * b + 0.07 * g + 9.0];
        p.srgb = [0, 1, 2].map(|i| (printed[i].round() as i32 + whim[i]).clamp(0, 255) as u8);
    }
    let print = Print::new(&layout, None);
    let one = from(&[0.0, 12.0].map(|yaw| drawn(&print, yaw, |rgb, _| rgb).photo()), None).unwrap();
    let other = from(&[5.0, -9.0].map(|yaw| drawn(&print, yaw, |rgb, _| phone(rgb)).photo()), None).unwrap();
    let (of_nominal, _) = apart(&colours(&one), &nominal());
    assert!((4.0..5.5).contains(&of_nominal), "{of_nominal:.2}");
    let (mean, most) = apart(&colours(&one), &colours(&other));
    assert!(mean <= 0.7 && most <= 1.5, "two phones: mean {mean:.2}, most {most:.2}");
}

#[test]
fn numbers_must_agree() {
    let layout = Layout::first();
    let twelve = drawn(&Print::new(&layout, CardNumber::new(12)), 3.0, |rgb, _| rgb).photo();
    let seven = drawn(&Print::new(&layout, CardNumber::new(7)), 3.0, |rgb, _| rgb).photo();
    let plain = drawn(&Print::new(&layout, None), -3.0, |rgb, _| rgb).photo();
    let both = [plain, twelve];
    assert_eq!(from(&both, None).unwrap().number, CardNumber::new(12));
    assert_eq!(from(&both, CardNumber::new(12)).unwrap().number, CardNumber::new(12));
    assert_eq!(from(&both[..1], CardNumber::new(9)).unwrap().number, CardNumber::new(9));
    assert_eq!(from(&both, CardNumber::new(9)).unwrap_err(), ["card-number-other"]);
    let [_, twelve] = both;
    let why = Enrolment::from_photos(&[twelve, seven], &layout, None, DAY).unwrap_err();
    assert_eq!(why[0].code, Code::CardNumberOther);
    assert_eq!(why[0].sentence, "Photo 1 shows card 12, but photo 2 shows card 7.");
}

#[test]
fn light_that_will_not_do_is_refused() {
    let print = Print::new(&Layout::first(), None);
    let good = || drawn(&print, 8.0, |rgb, _| rgb).photo();
    let sloping = drawn(&print, 0.0, |rgb, at| rgb.map(|v| v * (0.8 * (0.5 - at[0])).exp())).photo();
    let why = Enrolment::from_photos(&[good(), sloping], &Layout::first(), None, DAY).unwrap_err();
    assert_eq!(codes(&why), ["light-uneven"]);
    assert!(why[0].sentence.starts_with("Photo 2: The light falls by 4"), "{}", why[0].sentence);
    let sun = |rgb: [f32; 3], at: [f32; 2]| rgb.map(|v| if at[0] < 0.5 && at[1] < 0.45 { 2.2 * v } else { v });
    assert_eq!(from(&[drawn(&print, 0.0, sun).photo(), good()], None).unwrap_err(), ["light-clipped"]);
    let blurred = drawn(&print, 0.0, |rgb, _| rgb).blurred(2.2).photo();
    assert_eq!(from(&[good(), blurred], None).unwrap_err(), ["photo-blurred"]);
    let edge = drawn(&print, 0.0, |rgb, at| rgb.map(|v| if at[0] + at[1] < 0.9 { 0.5 * v } else { v })).photo();
    assert_eq!(from(&[edge, good()], None).unwrap_err(), ["light-shadow"]);
}
