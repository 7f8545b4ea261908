//! `kit start` and `kit shades`.

use super::wire::{KitAdded, KitShown, KitStarted};
use crate::support::House;
use crate::support::shot::Shot;
use image::{Rgb, RgbImage};
use tintline::colour::encode_srgb;

/// Lays a paper slip with shades in the bay, turned by `degrees`; each shade takes light by so many ln units.
pub(super) fn slip(shades: &'static [[f64; 3]], degrees: f64) -> impl FnOnce(RgbImage) -> RgbImage {
    move |mut picture: RgbImage| {
        // The middle of the bay, in pixels of the drawn photo, and six pixels a millimetre.
        let (centre, per_mm) = ([110.0 + 76.0 * 6.0, 80.0 + 64.0 * 6.0], 6.0);
        let (s, c) = degrees.to_radians().sin_cos();
        let half = [6.0 * shades.len() as f64 + 4.0, 9.0];
        for (x, y, p) in picture.enumerate_pixels_mut() {
            let d = [(x as f64 - centre[0]) / per_mm, (y as f64 - centre[1]) / per_mm];
            let (u, v) = (d[0] * c + d[1] * s, d[1] * c - d[0] * s);
            if u.abs() > half[0] || v.abs() > half[1] {
                continue;
            }
            let place = (u + 6.0 * shades.len() as f64) / 12.0;
            let (i, within) = (place.floor(), place.fract());
            let shade = (i >= 0.0 && (0.14..0.86).contains(&within) && v.abs() < 4.3).then(|| shades.get(i as usize));
            let absorbs = shade.flatten().copied().unwrap_or([0.03, 0.03, 0.05]);
            *p = Rgb([0, 1, 2].map(|k| (encode_srgb(0.62 * (-absorbs[k]).exp()) * 255.0).round() as u8));
        }
        picture
    }
}

/// Yellow to deep pink, as the drawn vials.
pub(super) const ROW: [[f64; 3]; 5] =
    [[0.05, 0.06, 0.30], [0.07, 0.33, 0.40], [0.10, 0.62, 0.52], [0.13, 0.95, 0.65], [0.20, 1.60, 0.92]];
/// With a palest shade that cannot be told from the slip.
const PALE: [[f64; 3]; 5] =
    [[0.03, 0.03, 0.05], [0.07, 0.25, 0.12], [0.10, 0.55, 0.25], [0.13, 0.95, 0.40], [0.20, 1.60, 0.70]];
const REVERSED: [[f64; 3]; 5] = [ROW[4], ROW[3], ROW[2], ROW[1], ROW[0]];

fn started() -> House {
    let house = House::new();
    let made = house.run(&["kit", "start", "drops", "nitrite=mg/L NO2-", "--json"]).touches(&["home/kits/drops/"]).go();
    let steps: Vec<String> = made.json::<KitStarted>().steps.into_iter().map(|s| s.step).collect();
    assert_eq!(steps, ["enrol", "shades"]);
    house
}

fn add<'a>(house: &'a House, values: &str) -> crate::support::Run<'a> {
    house.run(&["kit", "shades", "nitrite", values, "--photo", "slip.jpg", "--json"])
}

#[test]
fn printed_shades_are_found_at_any_angle_and_make_a_provisional_kit() {
    for degrees in [0.0, 12.0, -27.0] {
        let house = started();
        house.lay("slip.jpg", Shot::new().jpeg_after(slip(&ROW, degrees)));
        let touched = ["home/kits/drops/", "home/photos/"];
        let added = add(&house, "0,1,2,3,5").touches(&touched).go().json::<KitAdded>();
        let labs: Vec<[f64; 3]> = added.photos[0].standards.iter().map(|s| s.lab.unwrap()).collect();
        // Drawn by one law: each shade is darker, and from the second on redder than the one before.
        assert!(labs.windows(2).all(|w| w[1][0] < w[0][0] - 3.0 && w[1][1] > w[0][1] + 3.0), "{degrees}: {labs:?}");
        // The drawn colours themselves: ln light of the middle shade, by hand through sRGB's matrix to CIELAB.
        let middle = tintline::colour::lab_from_linear(tintline::colour::LinRgb(ROW[2].map(|a| (-a).exp())));
        let off = tintline::colour::delta_e_2000(middle, tintline::colour::Lab(labs[2]));
        assert!(off < 2.0, "{degrees}: {off} {labs:?}");
        let shown = house.run(&["kit", "show", "--json"]).go().json::<KitShown>();
        assert_eq!(shown.swatches[0].swatches[4].station, "shade-5");
        house.run(&["kit", "check"]).exit(3).out_has("[kit-from-print]").go();
        let next = house.run(&["kit", "start", "drops", "--json"]).go().json::<KitStarted>();
        let said: Vec<&str> = next.steps.iter().map(|s| s.step.as_str()).collect();
        assert_eq!(said, ["zero", "standard"]);
        assert_eq!(next.steps[1].command, "tintline kit add drops 'B=nitrite:3' --photo PHOTO");
    }
}

#[test]
fn without_ones_own_zero_nothing_is_called_none() {
    let house = started();
    house.lay("slip.jpg", Shot::new().jpeg_after(slip(&ROW, 8.0)));
    add(&house, "0,1,2,3,5").touches(&["home/kits/drops/", "home/photos/"]).go();
    house.run(&["tank", "add", "reef", "--water", "fresh", "--zone", "Europe/Berlin"]).touches(&["home/log.db"]).go();
    house.lay("none.jpg", Shot::new().dyed("B", 0.0).taken("2026:03:01 18:30:00", Some("+01:00")).jpeg());
    let touched = ["home/log.db", "home/photos/"];
    let read = house.run(&["read", "none.jpg", "B=nitrite", "--json"]).touches(&touched).go();
    let done = read.json::<super::wire::ReadDone>();
    let sample = &done.photos[0].samples[0];
    assert_eq!((sample.status.as_str(), sample.lower, sample.detection_limit), ("measured", Some(0.0), None));
    assert!(sample.findings.iter().any(|f| f.code == "kit-from-print" && f.severity == "doubt"));
    // One zero of one's own tells what none looks like.
    house.lay("zero.jpg", Shot::new().dyed("B", 0.0).retake().jpeg());
    let touched = ["home/kits/drops/", "home/photos/"];
    house.run(&["kit", "add", "--photo", "zero.jpg", "B=nitrite:0"]).touches(&touched).out_has("1 swatch added").go();
    let read = house.run(&["read", "--again", "--json"]).touches(&["home/log.db"]).go();
    let sample = &read.json::<super::wire::ReadDone>().photos[0].samples[0];
    assert!(sample.detection_limit.is_some(), "{sample:?}");
    assert!(sample.findings.iter().any(|f| f.code == "kit-from-print" && f.severity == "note"));
}

#[test]
fn a_row_named_wrongly_is_refused() {
    let house = started();
    house.lay("slip.jpg", Shot::new().jpeg_after(slip(&ROW, 10.0)));
    let code = |values: &str| {
        let added = add(&house, values).exit(3).go().json::<KitAdded>();
        assert_eq!(added.kit.tests[0].swatches, 0, "all or none");
        added.photos[0].standards[0].refusal[0].code.clone()
    };
    house.run(&["kit", "shades", "nitrite", "0,1", "--photo", "slip.jpg"]).exit(3).touches(&["home/photos/"]).go();
    assert_eq!(code("0,1,2"), "shades-count");
    assert_eq!(code("0,1,2,3,5,7,9"), "shades-count");
    assert_eq!(code("0,1,3,2,5"), "shades-order");
    assert_eq!(code("5,3,2,1,0"), "shades-order");
    house.lay("slip.jpg", Shot::new().retake().jpeg());
    let added = add(&house, "0,1,2").exit(3).touches(&["home/photos/"]).go().json::<KitAdded>();
    assert_eq!(added.photos[0].standards[0].refusal[0].code, "shades-count");
}

#[test]
fn a_row_may_run_from_right_to_left_and_begin_as_pale_as_paper() {
    for (row, values, last) in [(&REVERSED, "5 3 2 1 0", 0.0), (&PALE, "0 1 2 3 5", 5.0)] {
        let house = started();
        house.lay("slip.jpg", Shot::new().jpeg_after(slip(row, -9.0)));
        let mut args = vec!["kit", "shades", "drops", "nitrite"];
        args.extend(values.split(' '));
        args.extend(["--photo", "slip.jpg", "--json"]);
        let added = house.run(&args).touches(&["home/kits/drops/", "home/photos/"]).go().json::<KitAdded>();
        assert_eq!(added.photos[0].standards[4].value, last);
        let palest = added.photos[0].standards.iter().find(|s| s.value == 0.0).unwrap().lab.unwrap();
        assert!(added.photos[0].standards.iter().all(|s| s.lab.unwrap()[0] <= palest[0]), "{palest:?}");
    }
}

#[test]
fn what_is_typed_wrongly_is_said() {
    let house = started();
    house.run(&["kit", "start", "other"]).exit(2).err_has("which tests").go();
    house.run(&["kit", "start", "drops", "pH"]).exit(2).err_has("[name-taken]").go();
    house.run(&["kit", "start", "more", "nitrate"]).exit(2).err_has("TEST=UNIT").go();
    house.run(&["kit", "shades", "nitrite", "--photo", "x.jpg"]).exit(2).err_has("left to right").go();
    house.run(&["kit", "shades", "0,1", "--photo", "x.jpg"]).exit(2).err_has("a kit, a test").go();
    house.run(&["kit", "shades", "iron", "0,1", "--photo", "x.jpg"]).exit(2).err_has("[test-unknown]").go();
    house.run(&["kit", "shades", "nitrite", "0,1", "--photo", "x.jpg"]).exit(1).err_has("[photo-unreadable]").go();
}
