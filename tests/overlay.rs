//! The overlay of a photo made from the drawn card and a made-up reading, judged by its pixels.

use image::{Rgb, RgbImage};
use tintline::card::Layout;
use tintline::faces::overlay;
use tintline::faces::print::{self, Dpi};
use tintline::finding::{Code, Finding};
use tintline::photo::{Limits, Photo};
use tintline::reading::{Outcome, PhotoReading, SampleReading};
use tintline::water::{Amount, Dilution, Interval, Quantity, Species, Unit};

/// Where the card's top left corner lies in the photo, and photo pixels to the millimetre.
const CARD: [f64; 2] = [140.0, 90.0];
const PER_MM: f64 = 8.0;

fn px(mm: [f64; 2]) -> [f64; 2] {
    [CARD[0] + mm[0] * PER_MM, CARD[1] + mm[1] * PER_MM]
}

/// A card on a grey-green table, with a coloured vial before each station but C.
fn photo(layout: &Layout) -> RgbImage {
    let card = image::load_from_memory(&print::png(layout, None, Dpi::D300).unwrap()).unwrap().to_rgb8();
    let (w, h) = ((152.4 * PER_MM) as u32, (101.6 * PER_MM) as u32);
    let card = image::imageops::resize(&card, w, h, image::imageops::FilterType::Triangle);
    let mut picture =
        RgbImage::from_fn(1500, 1000, |x, y| Rgb([120 + (x / 30 % 12) as u8, 128 + (y / 20 % 9) as u8, 110]));
    image::imageops::replace(&mut picture, &card, (CARD[0] - 1.2 * PER_MM) as i64, (CARD[1] - 0.8 * PER_MM) as i64);
    for (i, colour) in [[244u8, 226, 120], [214, 90, 160], [255, 255, 255], [240, 150, 70]].iter().enumerate() {
        let [[left, top], [right, foot]] = [vial(layout, i)[0], vial(layout, i)[2]];
        for y in top as u32..foot as u32 {
            for x in left as u32..right as u32 {
                picture.put_pixel(x, y, Rgb([0, 1, 2].map(|c| colour[c].saturating_sub((x % 3 + y % 4) as u8))));
            }
        }
    }
    picture
}

/// A vial's liquid, 14 mm wide, and the part of it that was used.
fn vial(layout: &Layout, station: usize) -> [[f64; 2]; 4] {
    let (x, foot) = (layout.stations.x[station], layout.bay.y + layout.bay.h);
    [[x - 7.0, foot - 34.0], [x + 7.0, foot - 34.0], [x + 7.0, foot - 3.0], [x - 7.0, foot - 3.0]].map(px)
}

fn used(layout: &Layout, station: usize) -> [[f64; 2]; 4] {
    let (x, foot) = (layout.stations.x[station], layout.bay.y + layout.bay.h);
    [[x - 2.5, foot - 30.0], [x + 2.5, foot - 30.0], [x + 2.5, foot - 23.0], [x - 2.5, foot - 23.0]].map(px)
}

fn reading(layout: &Layout, card: Option<[[f64; 2]; 4]>) -> PhotoReading {
    let q = |value: f64, basis: Species| Quantity::new(value, Unit::mg_l(basis));
    let sample = |i: usize, test: &str, outcome: Outcome| SampleReading {
        station: layout.stations.names[i].clone(),
        test: test.into(),
        outcome,
        detection_limit: Some(q(0.04, Species::AmmoniaN)),
        findings: Vec::new(),
        dilution: None,
        lab: None,
        off_curve: None,
        light: None,
        outlines: vec![vial(layout, i).to_vec(), used(layout, i).to_vec()],
    };
    let measured = Amount::measured(q(0.4213, Species::AmmoniaN), Interval::new(0.31, 0.552).unwrap()).unwrap();
    let mut a = sample(0, "ammonia", Outcome::Read(measured));
    a.findings = vec![Finding::note(Code::SampleOffMark, "The vial stands 4 mm left of its mark.")];
    let mut b = sample(1, "nitrite", Outcome::Read(Amount::above(q(5.0, Species::Nitrite)).unwrap()));
    b.dilution = Some(Dilution::parse("1+4").unwrap());
    b.findings =
        vec![Finding::doubt(Code::SampleNeighbour, "A strongly coloured vial stands on the lit side, 27 mm away.")];
    let c = sample(2, "phosphate", Outcome::Read(Amount::not_detected(q(0.05, Species::PhosphateP)).unwrap()));
    let glare = Finding::doubt(Code::SampleGlare, "Glare lies over most of the liquid.");
    let d = sample(3, "nitrate", Outcome::Refused(vec![glare]));
    PhotoReading {
        photo: "0".repeat(64),
        samples: vec![a, b, c, d],
        findings: vec![Finding::note(Code::LightUneven, "The light falls off by 30 % from left to right.")],
        card,
        clear: None,
    }
}

fn corners(layout: &Layout) -> [[f64; 2]; 4] {
    [[0.0, 0.0], [layout.width, 0.0], [layout.width, layout.height], [0.0, layout.height]].map(px)
}

fn as_photo(picture: &RgbImage) -> Photo {
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    Photo::from_bytes(bytes.get_ref(), &Limits::default()).unwrap()
}

/// Distance from a point to a closed outline.
fn away(p: [f64; 2], outline: &[[f64; 2]]) -> f64 {
    let pairs = outline.iter().zip(outline.iter().cycle().skip(1));
    let one = |(a, b): (&[f64; 2], &[f64; 2])| {
        let d = [b[0] - a[0], b[1] - a[1]];
        let t = ((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / (d[0] * d[0] + d[1] * d[1]);
        let t = t.clamp(0.0, 1.0);
        (p[0] - a[0] - t * d[0]).hypot(p[1] - a[1] - t * d[1])
    };
    pairs.map(one).fold(f64::MAX, f64::min)
}

/// Shares of black and of white pixels along a closed outline, one look a pixel.
fn along(picture: &RgbImage, outline: &[[f64; 2]]) -> (f64, f64) {
    let (mut black, mut white, mut all) = (0, 0, 0);
    for (a, b) in outline.iter().zip(outline.iter().cycle().skip(1)) {
        let n = (b[0] - a[0]).hypot(b[1] - a[1]) as usize;
        for i in 0..n {
            let t = i as f64 / n as f64;
            let at = [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t].map(|v| v.round() as u32);
            let c = picture.get_pixel(at[0], at[1]).0;
            black += usize::from(c.iter().all(|v| *v < 60));
            white += usize::from(c.iter().all(|v| *v > 200));
            all += 1;
        }
    }
    (black as f64 / all as f64, white as f64 / all as f64)
}

#[test]
fn outlines_are_drawn_and_nothing_sampled_is_covered() {
    let layout = Layout::first();
    let original = photo(&layout);
    let reading = reading(&layout, Some(corners(&layout)));
    let picture = overlay::draw(&as_photo(&original), &reading);
    assert!(picture.width() == 1500 && picture.height() > 1150, "plates stand below: {:?}", picture.dimensions());

    // The card: dashes of 9 widths, gaps of 5; the liquid: 1.6 and 2.4; what was used: unbroken.
    let (black, white) = along(&picture, reading.card.as_ref().unwrap());
    assert!((0.6..0.68).contains(&black) && (0.3..0.4).contains(&white), "card {black}, {white}");
    for sample in &reading.samples {
        let (black, white) = along(&picture, &sample.outlines[0]);
        assert!((0.25..0.5).contains(&black) && (0.25..0.65).contains(&white), "liquid {black}, {white}");
        let (black, _) = along(&picture, &sample.outlines[1]);
        assert!(black > 0.99, "used {black}");
        // Inside, further from a line than half its band (3.3 pixels) and a pixel: as photographed, to the last bit.
        let [[left, top], _, [right, foot], _] = sample.outlines[0][..] else { panic!("four corners") };
        let mut untouched = 0;
        for y in top as u32..=foot as u32 {
            for x in left as u32..=right as u32 {
                let p = [f64::from(x), f64::from(y)];
                if sample.outlines.iter().all(|o| away(p, o) > 4.5) {
                    assert_eq!(picture.get_pixel(x, y), original.get_pixel(x, y), "{} at {x}, {y}", sample.station);
                    untouched += 1;
                }
            }
        }
        assert!(untouched > 20_000, "{untouched}");
    }
}

#[test]
fn every_mark_is_black_grey_or_white() {
    let layout = Layout::first();
    // A photo without colour: any colour in the picture would be the overlay's.
    let grey = image::DynamicImage::from(photo(&layout)).to_luma8();
    let photo = as_photo(&image::DynamicImage::from(grey).to_rgb8());
    let picture = overlay::draw(&photo, &reading(&layout, Some(corners(&layout))));
    assert!(picture.pixels().all(|p| p.0[0] == p.0[1] && p.0[1] == p.0[2]));
}

#[test]
fn the_plates_lie_under_the_photo_on_their_own_ground() {
    let layout = Layout::first();
    let picture = overlay::draw(&as_photo(&photo(&layout)), &reading(&layout, Some(corners(&layout))));
    // Along a row through the plates' middle: white plates with black frames, parted by the ground's grey.
    let row = 1000 + 120;
    let kinds: Vec<u8> = (0..1500).map(|x| picture.get_pixel(x, row).0[0]).collect();
    let parts = kinds.split(|v| *v == 232).filter(|p| !p.is_empty()).collect::<Vec<_>>();
    assert_eq!(parts.len(), 4, "four plates");
    let frames: Vec<usize> = parts.iter().map(|p| p.iter().take_while(|v| **v == 0).count()).collect();
    assert_eq!(frames, [2, 5, 2, 5], "the doubtful and the refused one have the heavier frame");
    assert!(parts.iter().all(|p| p.len() > 300 && p.last() == Some(&0)));
}

#[test]
fn a_large_photo_is_shrunk_and_a_small_one_enlarged() {
    let layout = Layout::first();
    let original = photo(&layout);
    let blank =
        PhotoReading { photo: String::new(), samples: Vec::new(), findings: Vec::new(), card: None, clear: None };
    let resized = |w, h| image::imageops::resize(&original, w, h, image::imageops::FilterType::Nearest);
    for ((w, h), shown) in [((3000, 2000), (1600, 1067)), ((2000, 3000), (1067, 1600)), ((300, 200), (900, 600))] {
        let picture = overlay::draw(&as_photo(&resized(w, h)), &blank);
        assert_eq!((picture.width(), shown.0), (shown.0, picture.width()), "{w} × {h}");
        assert!(picture.height() >= shown.1 && picture.height() < shown.1 + 40, "{w} × {h}: {}", picture.height());
    }
    // An outline follows: 3000 pixels wide, drawn at 8/15.
    let mut reading = reading(&layout, None);
    for s in &mut reading.samples {
        s.outlines.iter_mut().flatten().for_each(|p| *p = [p[0] * 2.0, p[1] * 2.0]);
    }
    let picture = overlay::draw(&as_photo(&resized(3000, 2000)), &reading);
    let outline: Vec<_> =
        reading.samples[1].outlines[1].iter().map(|p| p.map(|v| (v + 0.5) * 8.0 / 15.0 - 0.5)).collect();
    assert!(along(&picture, &outline).0 > 0.97);
}

#[test]
fn mean_light_not_mean_code() {
    // Black and white lines one pixel wide: half the light is code 188, not 128 (IEC 61966-2-1).
    let lines = RgbImage::from_fn(3200, 400, |x, _| Rgb([if x % 2 == 0 { 0 } else { 255 }; 3]));
    let blank =
        PhotoReading { photo: String::new(), samples: Vec::new(), findings: Vec::new(), card: None, clear: None };
    let picture = overlay::draw(&as_photo(&lines), &blank);
    assert_eq!(picture.get_pixel(700, 100).0, [188; 3]);
}

#[test]
fn files_are_written_by_their_ending() {
    let folder = tempfile::tempdir().unwrap();
    let picture = RgbImage::from_pixel(40, 30, Rgb([200, 100, 50]));
    for (name, start) in [("o.png", &b"\x89PNG"[..]), ("o.JPG", &[0xff, 0xd8]), ("o.jpeg", &[0xff, 0xd8])] {
        let path = folder.path().join(name);
        overlay::write(&picture, &path).unwrap();
        assert!(std::fs::read(&path).unwrap().starts_with(start), "{name}");
        let back = image::open(&path).unwrap().to_rgb8();
        let off = back.get_pixel(20, 15).0.iter().zip([200u8, 100, 50]).map(|(a, b)| a.abs_diff(b)).max();
        assert!(back.dimensions() == (40, 30) && off <= Some(2));
    }
    let wrong = overlay::write(&picture, &folder.path().join("o.gif")).unwrap_err();
    assert_eq!(
        (wrong.code(), wrong.remedy()),
        ("overlay-unknown-ending", "Name the overlay with the ending .png or .jpg.")
    );
    let nowhere = overlay::write(&picture, &folder.path().join("missing/o.png")).unwrap_err();
    assert_eq!(nowhere.code(), "overlay-unwritable");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 3);
}
