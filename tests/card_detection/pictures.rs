//! Drawn cards in every position and state.

use std::sync::OnceLock;

use tintline::card::{self, Card, CardNumber, Layout};
use tintline::finding::{Code, Finding, Severity};
use tintline::photo::{Limits, Photo};

use image::RgbImage;

use crate::pictures::{Extras, fixture, jpeg};

use super::camera::{FOCAL, Picture, Pose, Print, View, unrolled};

fn plain() -> &'static Print {
    static PLAIN: OnceLock<Print> = OnceLock::new();
    PLAIN.get_or_init(|| Print::new(&Layout::first(), None))
}

fn flat(mm: [f64; 2]) -> [f64; 2] {
    mm
}

fn view(pose: Pose) -> View {
    View::new(&Layout::first(), pose)
}

fn picture(print: &Print, pose: Pose) -> Picture {
    Picture::table().add(print, &view(pose), flat)
}

fn find(photo: &Photo) -> Result<Card, Vec<Finding>> {
    card::find(photo, &Layout::first())
}

/// The one reason of a refusal.
#[track_caller]
fn refusal(photo: &Photo) -> Finding {
    match find(photo) {
        Ok(card) => panic!("found at {} px/mm", card.px_per_mm),
        Err(mut why) => {
            assert_eq!(why.len(), 1, "{why:?}");
            why.remove(0)
        }
    }
}

/// How far (mm) places all over the card lie from where they are, at most.
fn off(card: &Card, view: &View) -> f64 {
    let mut worst = 0.0f64;
    for i in 0..=10 {
        for j in 0..=10 {
            let mm = [15.0 * f64::from(i), 10.0 * f64::from(j)];
            let seen = card.plane.mm(view.px(mm));
            worst = worst.max((seen[0] - mm[0]).hypot(seen[1] - mm[1]));
        }
    }
    worst
}

#[test]
fn tilted_cards_keep_their_millimetres() {
    let tilts = [(0.0, 0.0), (45.0, 0.0), (-45.0, 0.0), (0.0, 45.0), (0.0, -45.0), (32.0, 32.0), (-32.0, 32.0)];
    for (yaw, pitch) in tilts {
        let pose = Pose { yaw, pitch, ..Pose::STRAIGHT };
        let card = find(&picture(plain(), pose).photo()).unwrap();
        // A third of a pixel at the far edge of the steepest, whose markers show 3 px/mm.
        let off = off(&card, &view(pose));
        assert!(off <= 0.1, "turned {yaw}°, {pitch}°: {off:.3} mm");
        assert_eq!((card.hidden.len(), card.others.len(), card.findings.len()), (0, 0, 0));
    }
}

#[test]
fn cards_lie_any_way_round() {
    for roll in [30.0, 90.0, 135.0, 180.0, 247.0, 270.0, 315.0] {
        let pose = Pose { roll, scale: 4.2, ..Pose::STRAIGHT };
        let card = find(&picture(plain(), pose).photo()).unwrap();
        let off = off(&card, &view(pose));
        assert!(off <= 0.08, "rolled {roll}°: {off:.3} mm");
        assert!((card.px_per_mm - 4.2).abs() < 0.01, "rolled {roll}°: {} px/mm", card.px_per_mm);
    }
    // Upside down: its top left corner is the picture's lower right.
    let pose = Pose { roll: 180.0, ..Pose::STRAIGHT };
    let [x, y] = find(&picture(plain(), pose).photo()).unwrap().corners(&Layout::first())[0];
    assert!(x > 800.0 && y > 600.0, "{x}, {y}");
}

#[test]
fn one_covered_marker_is_named_and_done_without() {
    for m in Layout::first().markers {
        let pose = Pose { yaw: 20.0, ..Pose::STRAIGHT };
        let print = plain().clone().covered(m.x + 3.0, m.y - 1.0, 8.0);
        let card = find(&picture(&print, pose).photo()).unwrap();
        assert_eq!(card.hidden, [m.id]);
        let [finding] = &card.findings[..] else { panic!("{:?}", card.findings) };
        assert_eq!((finding.code, finding.severity), (Code::CardMarkerHidden, Severity::Note));
        assert!(finding.sentence.contains(&format!("marker {} ", m.id)), "{}", finding.sentence);
        // The corner without a marker is extrapolated over 120 mm.
        let off = off(&card, &view(pose));
        assert!(off <= 0.3, "without {}: {off:.3} mm", m.id);
    }
}

#[test]
fn two_covered_markers_are_a_refusal_that_names_them() {
    let markers = Layout::first().markers;
    let mut pairs = 0;
    for a in &markers {
        for b in markers.iter().filter(|b| b.id > a.id) {
            let print = plain().clone().covered(a.x + 3.0, a.y + 3.0, 7.0).covered(b.x, b.y, 6.0);
            let why = refusal(&picture(&print, Pose::STRAIGHT).photo());
            assert_eq!(why.code, Code::CardMarkersHidden);
            for m in &markers {
                let named = why.sentence.contains(&format!("number {}", m.id));
                assert_eq!(named, m.id == a.id || m.id == b.id, "{}", why.sentence);
            }
            pairs += 1;
        }
    }
    assert_eq!(pairs, 6);
}

#[test]
fn a_card_cut_off_by_the_edge_is_refused() {
    // The card is 750 of 1008 pixels wide: moved by 12 % it still fits, by 14 % it loses 3 mm, by 20 % two markers.
    let at = |x: f64| picture(plain(), Pose { middle: [x, 0.5], ..Pose::STRAIGHT }).photo();
    assert!(find(&at(0.62)).is_ok());
    assert_eq!(refusal(&at(0.64)).code, Code::CardCutOff);
    let why = refusal(&at(0.70));
    assert_eq!(why.code, Code::CardMarkersHidden);
    assert!(why.sentence.contains("number 1 and number 2"), "{}", why.sentence);
}

#[test]
fn a_card_too_far_away_is_refused_with_its_scale() {
    let at = |scale: f64| picture(plain(), Pose { scale, ..Pose::STRAIGHT }).photo();
    let card = find(&at(3.3)).unwrap();
    assert!((card.px_per_mm - 3.3).abs() < 0.02, "{}", card.px_per_mm);
    for (scale, said) in [(3.1, "3.1 pixels"), (2.0, "2.0 pixels")] {
        let why = refusal(&at(scale));
        assert_eq!(why.code, Code::CardTooFar);
        assert!(why.sentence.contains(said), "{}", why.sentence);
    }
}

/// A photo of the fixtures, changed.
fn changed(name: &str, change: impl FnOnce(RgbImage) -> RgbImage) -> Photo {
    let picture = image::load_from_memory(&fixture(&format!("photos/cards/{name}.jpg"))).unwrap().to_rgb8();
    Photo::from_bytes(&jpeg(&change(picture), &Extras::default()), &Limits::default()).unwrap()
}

/// Moved while it was taken: the mean over a line of so many pixels right and down.
fn moved(picture: &RgbImage, [right, down]: [i32; 2]) -> RgbImage {
    let (w, h) = picture.dimensions();
    let steps = right.abs().max(down.abs());
    RgbImage::from_fn(w, h, |x, y| {
        let mut sum = [0u32; 3];
        for k in 0..=steps {
            let at = |from: u32, by: i32, most: u32| (from as i32 + by * k / steps).clamp(0, most as i32 - 1) as u32;
            let there = picture.get_pixel(at(x, right, w), at(y, down, h));
            (0..3).for_each(|c| sum[c] += u32::from(there.0[c]));
        }
        image::Rgb(sum.map(|s| (s / (steps as u32 + 1)) as u8))
    })
}

#[test]
fn blur_that_leaves_no_marker_is_named_and_an_empty_picture_is_not() {
    for sigma in [9.0, 14.0, 25.0, 45.0] {
        let why = refusal(&picture(plain(), Pose::STRAIGHT).blurred(sigma).photo());
        assert_eq!(why.code, Code::PhotoBlurred, "{sigma} px");
        assert!(why.sentence.starts_with("Nothing in the picture is sharp"), "{why:?}");
        assert!(why.remedy().contains("focus"), "{}", why.remedy());
    }
    // The same with everything else that is in a real picture.
    for name in ["print-a-flat", "slanted"] {
        for sigma in [10.0, 18.0, 30.0] {
            let why = refusal(&changed(name, |p| image::imageops::blur(&p, sigma)));
            assert_eq!(why.code, Code::PhotoBlurred, "{name} {sigma} px");
        }
        // Sideways by much more, nothing is left of the slanted card that a blur could be measured by.
        for by in [[40, 0], [0, 70], [60, 40]] {
            let why = refusal(&changed(name, |p| moved(&p, by)));
            assert_eq!(why.code, Code::PhotoBlurred, "{name} moved by {by:?}");
        }
        // The middle of the card alone, without its markers: sharp, and no card.
        let middle = |p: RgbImage| {
            let (w, h) = p.dimensions();
            image::imageops::crop_imm(&p, w * 2 / 5, h * 2 / 5, w / 5, h / 5).to_image()
        };
        assert_eq!(refusal(&changed(name, middle)).code, Code::CardMissing, "{name}");
    }
    // Nothing to see is not blur: paper and table, evenly lit, in noise, or dark.
    for light in [12u8, 90, 200] {
        let even = RgbImage::from_fn(900, 700, |x, y| {
            let noise = (x * 7919 + y * 104_729) % 11;
            image::Rgb([0, 1, 2].map(|c| light + noise as u8 + c))
        });
        let photo = Photo::from_bytes(&jpeg(&even, &Extras::default()), &Limits::default()).unwrap();
        assert_eq!(refusal(&photo).code, Code::CardMissing, "{light}");
    }
}

#[test]
fn blur_is_measured_and_refused() {
    for sigma in [0.15, 0.2, 0.25, 0.3] {
        let card = find(&picture(plain(), Pose::STRAIGHT).blurred(5.0 * sigma).photo()).unwrap();
        // The pixel itself (0.2 mm wide) adds 0.06 mm in squares; the far ends of a wide edge leave the marker's border.
        assert!((card.blur_mm - sigma).abs() < 0.03, "{sigma} mm: {:.3}", card.blur_mm);
    }
    for sigma in [0.4, 0.6] {
        let why = refusal(&picture(plain(), Pose::STRAIGHT).blurred(5.0 * sigma).photo());
        assert_eq!(why.code, Code::PhotoBlurred, "{sigma} mm");
    }
}

#[test]
fn a_mirrored_picture_two_cards_and_none_are_refused() {
    assert_eq!(refusal(&picture(plain(), Pose::STRAIGHT).mirrored()).code, Code::CardMirrored);
    let small = |middle| Pose { scale: 3.3, middle, ..Pose::STRAIGHT };
    let two = picture(plain(), small([0.25, 0.3])).add(plain(), &view(small([0.75, 0.7])), flat);
    assert_eq!(refusal(&two.photo()).code, Code::CardSeveral);
    assert_eq!(refusal(&Picture::table().photo()).code, Code::CardMissing);
}

#[test]
fn a_bent_card_is_refused_before_it_misleads() {
    let bent = |sagitta: f64| {
        let away = FOCAL / Pose::STRAIGHT.scale;
        let lies = move |mm| unrolled(mm, sagitta, away);
        let found = find(&Picture::table().add(plain(), &view(Pose::STRAIGHT), lies).photo());
        found.map(|card| {
            // The card's own place seen at places of the plane, against what the flat map says.
            let off = (0..=70).map(|i| {
                let seen = [5.0 + 2.0 * f64::from(i), 50.0];
                let (own, said) = (lies(seen), card.plane.mm(view(Pose::STRAIGHT).px(seen)));
                (own[0] - said[0]).hypot(own[1] - said[1])
            });
            off.fold(0.0, f64::max)
        })
    };
    // Edges 2 mm behind the middle move places by a quarter of a millimetre; patches are measured 1.2 mm inside.
    for (sagitta, most) in [(2.0, 0.27), (6.0, 0.9)] {
        let off = bent(sagitta).unwrap();
        assert!(off <= most, "{sagitta} mm: {off:.2} mm");
    }
    assert_eq!(bent(8.0).unwrap_err()[0].code, Code::CardBent);
}

#[test]
fn a_numbered_print_says_its_number() {
    let layout = Layout::first();
    for n in [1, 12, 75] {
        let print = Print::new(&layout, CardNumber::new(n));
        let pose = Pose { yaw: -15.0, scale: 4.0, ..Pose::STRAIGHT };
        let card = find(&picture(&print, pose).photo()).unwrap();
        assert_eq!(card.number(), Some(n));
        assert_eq!(card.others.iter().map(|s| s.id).collect::<Vec<_>>(), [511 + n]);
    }
    assert_eq!(find(&picture(plain(), Pose::STRAIGHT).photo()).unwrap().number(), None);
}
