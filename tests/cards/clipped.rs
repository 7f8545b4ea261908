//! Patches beyond the camera's range are left out, and the rest serves.

use tintline::card::{self, Layout};
use tintline::colour::{LinRgb, delta_e_2000, lab_from_linear};
use tintline::finding::Severity;
use tintline::light::{Reference, Scene};
use tintline::photo::{Limits, Photo};

use super::{codes, enrol};
use crate::pictures::{Extras, fixture, jpeg};

/// The enrolled card, with some of its patches at the end of the camera's range.
fn overexposed(patches: &[usize]) -> Result<Scene, Vec<tintline::finding::Finding>> {
    let layout = Layout::first();
    let reference: Reference = enrol(&["print-a-flat", "print-a-upright"]).unwrap().0.reference(&layout).unwrap();
    let mut picture = image::load_from_memory(&fixture("photos/cards/print-a-flat.jpg")).unwrap().to_rgb8();
    let open = |p: &image::RgbImage| Photo::from_bytes(&jpeg(p, &Extras::default()), &Limits::default()).unwrap();
    let card = card::find(&open(&picture), &layout).unwrap();
    for i in patches {
        let r = layout.patches[*i].rect;
        for (a, b) in (0..=80).flat_map(|a| (0..=80).map(move |b| (f64::from(a) / 80.0, f64::from(b) / 80.0))) {
            let [x, y] = card.plane.px([r.x + a * r.w, r.y + b * r.h]);
            picture.put_pixel(x.round() as u32, y.round() as u32, image::Rgb([255, 250, 60]));
        }
    }
    let photo = open(&picture);
    let card = card::find(&photo, &layout).unwrap();
    Scene::fit(&photo, &layout, &card, &reference)
}

#[test]
fn two_clipped_patches_are_left_out_and_move_nothing() {
    let (plain, clipped) = (overexposed(&[]).unwrap(), overexposed(&[2, 9]).unwrap());
    assert_eq!(codes(&plain.findings), Vec::<&str>::new());
    assert_eq!(codes(&clipped.findings), ["light-clipped"]);
    let said = &clipped.findings[0];
    assert!(said.severity == Severity::Note && said.sentence.starts_with("2 of the card's patches"), "{said:?}");
    assert!([2, 9].iter().all(|i| clipped.trusted[*i] == 0.0 && plain.trusted[*i] > 0.3), "{:?}", clipped.trusted);
    // Counted in they would throw every colour about by several ΔE; without them the others stay where they were.
    let colour = |scene: &Scene, i: usize| lab_from_linear(scene.correction.apply(plain.straight[i]));
    for i in 0..plain.straight.len() {
        let by = delta_e_2000(colour(&plain, i), colour(&clipped, i));
        assert!(by < 1.2, "patch {i} moved by ΔE {by:.2}");
    }
    let white = lab_from_linear(clipped.correction.apply([1.0; 3]));
    assert!(delta_e_2000(white, lab_from_linear(LinRgb([1.0; 3]))) < 0.3, "paper stays white: {white:?}");
}

#[test]
fn three_clipped_patches_are_refused() {
    let why = overexposed(&[2, 9, 5]).unwrap_err();
    assert_eq!(codes(&why), ["light-clipped"]);
    assert!(why[0].sentence.starts_with("3 of the card's patches"), "{why:?}");
}
