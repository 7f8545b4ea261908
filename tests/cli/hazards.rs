//! Photos and kits that are whole but not as they should be: refused with the reason, or read all the same.

use super::furnished;
use super::wire::{KitShown, ReadDone, Sample};
use crate::pictures::{Extras, jpeg, png, scene};
use crate::support::House;
use crate::support::shot::Shot;
use image::{GenericImage, RgbImage, imageops};

const NEW: [&str; 1] = ["home/log.db"];

fn water() -> Shot {
    Shot::new().taken("2026:03:05 18:30:00", None).dyed("B", 3.0)
}

/// The photo of water at B, changed and read.
fn read(house: &House, change: impl FnOnce(RgbImage) -> RgbImage, exit: i32) -> Sample {
    house.lay("changed.jpg", water().jpeg_after(change));
    let args = ["read", "changed.jpg", "B=nitrite", "--no-keep", "--json"];
    let said = house.run(&args).exit(exit).touches(&NEW).go().json::<ReadDone>();
    said.photos.into_iter().next().unwrap().samples.remove(0)
}

#[test]
fn two_cards_a_mirror_and_covered_corners_are_refused_by_name() {
    let house = furnished();
    let beside = |p: RgbImage| {
        let mut both = RgbImage::new(p.width() * 2, p.height());
        both.copy_from(&p, 0, 0).unwrap();
        both.copy_from(&p, p.width(), 0).unwrap();
        both
    };
    // Corner markers 1 and 2 stand at the right edge of the card.
    let covered = |mut p: RgbImage| {
        let (w, h) = p.dimensions();
        imageops::replace(&mut p, &RgbImage::from_pixel(w / 4, h, image::Rgb([120, 90, 70])), i64::from(w * 3 / 4), 0);
        p
    };
    let mirrored = |p: RgbImage| imageops::flip_horizontal(&p);
    let code = |s: Sample| {
        assert_eq!((s.status.as_str(), s.value, s.limit), ("refused", None, None));
        s.refusal[0].code.clone()
    };
    assert_eq!(code(read(&house, beside, 3)), "card-several");
    assert_eq!(code(read(&house, mirrored, 3)), "card-mirrored");
    let hidden = read(&house, covered, 3);
    assert!(hidden.refusal[0].sentence.contains('1') && hidden.refusal[0].sentence.contains('2'), "{hidden:?}");
    assert_eq!(code(hidden), "card-markers-hidden");
}

#[test]
fn a_photo_upside_down_reads_the_same() {
    let house = furnished();
    let upright = read(&house, |p| p, 0);
    let turned = read(&house, |p| imageops::rotate180(&p), 0);
    let (a, b, width) =
        (upright.value.unwrap(), turned.value.unwrap(), upright.upper.unwrap() - upright.lower.unwrap());
    // JPEG codes the turned picture anew: the same to a small part of the interval.
    assert!((a - b).abs() < 0.05 * width, "{} {}", upright.text, turned.text);
}

#[test]
fn headers_that_ask_for_too_much_or_nothing_are_refused_before_decoding() {
    let house = furnished();
    // A PNG's size stands big-endian at bytes 16 and 20 (W3C PNG, section 11.2.1).
    let sized = |w: u32, h: u32| {
        let mut bytes = png(&scene(8, 8), &Extras::default());
        bytes[16..20].copy_from_slice(&w.to_be_bytes());
        bytes[20..24].copy_from_slice(&h.to_be_bytes());
        bytes
    };
    house.lay("none.png", sized(0, 0)).lay("vast.png", sized(60_000, 60_000));
    house
        .run(&["read", "none.png", "B=nitrite"])
        .exit(1)
        .err_has("0 × 0 pixels: there is no picture [photo-no-pixels]")
        .go();
    house
        .run(&["read", "vast.png", "B=nitrite"])
        .exit(1)
        .err_has("60000 × 60000 pixels")
        .err_has("[photo-too-many-pixels]")
        .go();
}

#[test]
fn broken_camera_data_costs_the_time_and_a_broken_profile_the_photo() {
    let house = furnished();
    let picture = image::load_from_memory(&water().jpeg()).unwrap().to_rgb8();
    let with = |exif: Option<&[u8]>, icc: Option<&[u8]>| {
        jpeg(&picture, &Extras { exif: exif.map(<[u8]>::to_vec), icc: icc.map(<[u8]>::to_vec) })
    };
    house.lay("exif.jpg", with(Some(b"II*\0 and then nothing that makes sense"), None));
    house.run(&["read", "exif.jpg", "B=nitrite"]).exit(1).err_has("[time-missing]").go();
    let args = ["read", "exif.jpg", "B=nitrite", "--at", "2026-03-05 18:30", "--no-keep"];
    house.run(&args).touches(&NEW).out_has("The camera data (EXIF) is partly broken").out_has("1 reading logged.").go();
    house.lay("icc.jpg", with(None, Some(&[7; 200])));
    house.run(&["read", "icc.jpg", "B=nitrite", "--at", "now"]).exit(1).err_has("[photo-profile-broken]").go();
}

#[test]
fn a_kit_of_two_swatches_gives_no_value_without_a_word() {
    let house = furnished();
    // Zero and 2 mg/L only: the two of the first photo.
    for number in ["6", "5", "4", "3"] {
        house
            .run(&["kit", "remove", "home", "nitrite", number])
            .touches(&["home/kits/home/"])
            .out_has("Took swatch")
            .go();
    }
    let kit = house.run(&["kit", "show", "--json"]).go().json::<KitShown>();
    assert_eq!(kit.kit.tests[0].values, [0.0, 2.0]);
    house
        .run(&["kit", "check"])
        .exit(3)
        .out_has("Doubt: Test 'nitrite' has swatches of 2 concentrations only. [curve-thin]")
        .go();
    house.lay("changed.jpg", water().jpeg());
    let args = ["read", "changed.jpg", "B=nitrite", "--no-keep", "--json"];
    let said = house.run(&args).touches(&NEW).go().json::<ReadDone>();
    let sample = &said.photos[0].samples[0];
    // 3 mg/L was drawn.
    assert_eq!((sample.status.as_str(), sample.value, sample.limit), ("above", None, Some(2.0)));
    assert_eq!((sample.findings[0].code.as_str(), sample.findings[0].severity.as_str()), ("curve-thin", "doubt"));
}
