//! Photos from outside: every format, orientation, depth and profile gives the pixels it should.

use crate::pictures::{self, Extras, exif, fixture, scene, text, turned};
use exif::{Tag, Value};
use image::{ImageBuffer, Rgb, RgbImage};
use palette::color_difference::Ciede2000;
use palette::{FromColor, Lab, LinSrgb, Xyz, white_point::D65};
use tintline::photo::{Limits, Photo};

fn read(bytes: &[u8]) -> Photo {
    Photo::from_bytes(bytes, &Limits::default()).unwrap_or_else(|e| panic!("{}: {e}", e.code()))
}

fn codes(photo: &Photo, x: u32, y: u32) -> [f32; 3] {
    photo.encoded(x, y).map(|v| v * 255.0)
}

fn lab([r, g, b]: [f64; 3]) -> Lab<D65, f64> {
    Lab::from_color(Xyz::<D65, f64>::from_color(LinSrgb::new(r, g, b)))
}

fn delta(a: [f32; 3], b: [f64; 3]) -> f64 {
    lab(a.map(f64::from)).difference(lab(b))
}

/// The operation of EXIF orientation `n` undone: what must be stored so that it is seen upright as `image`.
fn stored(image: &RgbImage, n: u16) -> RgbImage {
    use image::imageops::{flip_horizontal, flip_vertical, rotate90, rotate180, rotate270};
    match n {
        2 => flip_horizontal(image),
        3 => rotate180(image),
        4 => flip_vertical(image),
        5 => flip_horizontal(&rotate90(image)),
        6 => rotate270(image),
        7 => flip_horizontal(&rotate270(image)),
        8 => rotate90(image),
        _ => image.clone(),
    }
}

/// Largest difference in code values over the whole picture.
fn worst(photo: &Photo, image: &RgbImage) -> f32 {
    assert_eq!((photo.width(), photo.height()), image.dimensions());
    let apart = |(x, y, p): (u32, u32, &Rgb<u8>)| {
        let c = codes(photo, x, y);
        (0..3).map(|i| (c[i] - f32::from(p[i])).abs()).fold(0.0, f32::max)
    };
    image.enumerate_pixels().map(apart).fold(0.0, f32::max)
}

#[test]
fn all_orientations_in_all_formats() {
    let image = scene(40, 24);
    let mut checked = 0;
    for n in 1..=8 {
        let turned_image = stored(&image, n);
        let extras = turned(n);
        for (name, bytes, bound) in [
            ("png", pictures::png(&turned_image, &extras), 1e-3),
            ("webp", pictures::webp(&turned_image, &extras), 1e-3),
            ("tiff", pictures::tiff(&turned_image, Some(n), None), 1e-3),
            // The corner's edges ring at this quality; a wrong turn is off by more than 100.
            ("jpeg", pictures::jpeg(&turned_image, &extras), 40.0),
        ] {
            let photo = read(&bytes);
            assert_eq!(photo.facts().format, name);
            let w = worst(&photo, &image);
            assert!(w <= bound, "{name}, orientation {n}: {w} code values apart");
            for factor in [1, 3] {
                assert_luma(&photo, factor, &format!("{name} {n}"));
            }
            checked += 1;
        }
    }
    assert_eq!(checked, 32);
}

/// Luma against its definition, pixel by pixel.
fn assert_luma(photo: &Photo, factor: u32, what: &str) {
    let grey = photo.luma(factor);
    assert_eq!(grey.dimensions(), (photo.width() / factor, photo.height() / factor), "{what}");
    for (x, y, p) in grey.enumerate_pixels() {
        let mut sum = 0.0;
        for j in 0..factor {
            for i in 0..factor {
                let [r, g, b] = codes(photo, x * factor + i, y * factor + j).map(f64::from);
                sum += 0.299 * r + 0.587 * g + 0.114 * b;
            }
        }
        let mean = sum / f64::from(factor * factor);
        // Rounding, and weights to 1/65536.
        assert!((f64::from(p[0]) - mean).abs() < 0.51, "{what}, factor {factor}, ({x}, {y}): {} {mean}", p[0]);
    }
}

#[cfg(feature = "heic")]
#[test]
fn heic_is_not_turned_twice_and_agrees_with_a_second_decoder() {
    let photo = read(&pictures::heic(&scene(64, 48), &turned(6)));
    assert_eq!((photo.width(), photo.height()), (64, 48));
    let photo = read(&fixture("photos/torn/still.heic"));
    let mut checked = 0;
    for line in
        include_str!("../fixtures/published/heic_libheif.csv").lines().filter(|l| l.starts_with(char::is_numeric))
    {
        let v: Vec<f64> = line.split(',').map(|c| c.parse().unwrap()).collect();
        let mut mean = [0.0; 3];
        for y in 0..16 {
            for x in 0..16 {
                let c = codes(&photo, v[0] as u32 + x, v[1] as u32 + y);
                (0..3).for_each(|i| mean[i] += f64::from(c[i]) / 256.0);
            }
        }
        // Flat areas: each decoder rounds once.
        assert!((0..3).all(|i| (mean[i] - v[2 + i]).abs() <= 1.0), "{line}: {mean:?}");
        checked += 1;
    }
    assert_eq!(checked, 6, "areas in the table");
}

#[cfg(feature = "heic")]
#[test]
fn heic_of_ten_bits_keeps_them() {
    // A ramp finer than 8 bits: 4 of 1023 are 1 of 255.
    let data = (0..64 * 64).flat_map(|i| [400 + i % 64, 500, 600 - i % 64, 1023]).collect();
    let image = heifer::Image { width: 64, height: 64, bit_depth: 10, has_alpha: false, data };
    let options = heifer::EncodeOptions { quality: 100, ..Default::default() };
    let photo = read(&heifer::encode(&image, &options).unwrap());
    assert_eq!(photo.bits(), 16);
    for x in [8, 21, 50] {
        let [r, g, b] = photo.encoded(x, 30).map(|v| v * 1023.0);
        let x = x as f32;
        // Chroma is coded at half the resolution.
        assert!((r - 400.0 - x).abs() < 3.0 && (g - 500.0).abs() < 3.0 && (b - 600.0 + x).abs() < 3.0, "{r} {g} {b}");
    }
}

#[test]
fn jpeg_agrees_with_a_second_decoder() {
    for name in ["baseline", "progressive"] {
        let bytes = fixture(&format!("photos/torn/{name}.jpg"));
        let photo = read(&bytes);
        let mut second = jpeg_decoder::Decoder::new(bytes.as_slice());
        let pixels = second.decode().unwrap();
        let (mut sum, mut most) = (0.0, 0.0f32);
        for (i, p) in pixels.chunks_exact(3).enumerate() {
            let c = codes(&photo, i as u32 % 96, i as u32 / 96);
            for k in 0..3 {
                let d = (c[k] - f32::from(p[k])).abs();
                sum += f64::from(d);
                most = most.max(d);
            }
        }
        let mean = sum / pixels.len() as f64;
        // Both enlarge chroma between samples; they differ in rounding, and at 4:2:0 in how sharp edges are filled.
        let bound = if name == "baseline" { (0.6, 8.0) } else { (0.3, 3.0) };
        assert!(mean < bound.0 && most <= bound.1, "{name}: mean {mean}, most {most}");
    }
}

#[test]
fn sixteen_bits_agree_with_eight() {
    let image = scene(32, 20);
    let wide = ImageBuffer::from_fn(32, 20, |x, y| Rgb(image.get_pixel(x, y).0.map(|v| u16::from(v) * 257)));
    let (a, b) = (read(&pictures::png(&image, &Extras::default())), read(&pictures::png16(&wide, &Extras::default())));
    assert_eq!((a.bits(), b.bits()), (8, 16));
    for (x, y, _) in image.enumerate_pixels() {
        let (p, q) = (a.linear(x, y), b.linear(x, y));
        assert!((0..3).all(|i| (p[i] - q[i]).abs() < 1e-6), "{p:?} {q:?}");
    }
    // Values that 8 bits cannot hold are kept: half a code below and above.
    let fine = ImageBuffer::from_fn(4, 4, |x, _| Rgb([30_000 + 60 * x as u16, 30_000, 30_000 - 60 * x as u16]));
    let photo = read(&pictures::png16(&fine, &Extras::default()));
    assert!((photo.encoded(1, 0)[0] * 65535.0 - 30_060.0).abs() < 0.01);
    assert!(photo.linear(1, 0)[0] > photo.linear(0, 0)[0]);
    assert_luma(&photo, 2, "16 bits");
}

#[test]
fn profiles_agree_with_a_reference_library() {
    let table = include_str!("../fixtures/published/icc_lcms2.csv");
    let mut profiles = std::collections::BTreeMap::<&str, Vec<([u8; 3], [f64; 3])>>::new();
    for line in table.lines().filter(|l| !l.starts_with('#') && !l.starts_with("profile,")) {
        let cells: Vec<&str> = line.split(',').collect();
        let code = [1, 2, 3].map(|i| cells[i].parse().unwrap());
        let want = [7, 8, 9].map(|i| cells[i].parse().unwrap());
        profiles.entry(cells[0]).or_default().push((code, want));
    }
    for (name, colours) in &profiles {
        assert_eq!(colours.len(), 26, "colours for {name}");
        let extras = Extras { icc: Some(fixture(&format!("published/icc/{name}.icc"))), exif: None };
        let pixel = |x: u32| colours[x as usize].0;
        let eight = read(&pictures::png(&RgbImage::from_fn(26, 1, |x, _| Rgb(pixel(x))), &extras));
        let wide = ImageBuffer::from_fn(26, 1, |x, _| Rgb(pixel(x).map(|v| u16::from(v) * 257)));
        let sixteen = read(&pictures::png16(&wide, &extras));
        // Curves that follow a table are met only at the grid's nodes.
        let bound = if *name == "mab-xyz" { 0.05 } else { 0.01 };
        for (x, (code, want)) in colours.iter().enumerate() {
            for photo in [&eight, &sixteen] {
                let got = photo.linear(x as u32, 0);
                let d = delta(got, *want);
                assert!(d < bound, "{name} {code:?} in {} bits: {got:?} for {want:?}, dE00 {d}", photo.bits());
            }
        }
    }
    assert_eq!(profiles.len(), 7, "profiles in the table");
}

#[test]
fn wide_gamut_follows_the_published_chain() {
    let icc = Some(fixture("published/icc/matrix-wide.icc"));
    let mut checked = 0;
    for line in include_str!("../fixtures/published/display_p3_chain.csv").lines() {
        let cells: Vec<&str> = line.split(',').collect();
        let Some(Ok(r)) = cells.get(1).map(|c| c.parse::<u8>()) else { continue };
        let pixel = Rgb([r, cells[2].parse().unwrap(), cells[3].parse().unwrap()]);
        let want: Vec<f32> = cells[10..13].iter().map(|c| c.parse().unwrap()).collect();
        let photo = read(&pictures::png(&RgbImage::from_pixel(2, 2, pixel), &Extras { icc: icc.clone(), exif: None }));
        let got = photo.linear(0, 0);
        // Profile numbers are rounded to 1/65536.
        assert!((0..3).all(|i| (got[i] - want[i]).abs() < 5e-5), "{}: {got:?}", cells[0]);
        checked += 1;
    }
    assert_eq!(checked, 23, "colours in the table");
}

/// sRGB colours coded in the wide space, by the published matrix.
fn in_wide(srgb: &RgbImage) -> ImageBuffer<Rgb<u16>, Vec<u16>> {
    let matrix =
        [[0.822461969, 0.177538031, 0.0], [0.033194199, 0.966805801, 0.0], [0.017082631, 0.072397440, 0.910519929]];
    ImageBuffer::from_fn(srgb.width(), srgb.height(), |x, y| {
        let l = palette::Srgb::from(srgb.get_pixel(x, y).0).into_linear::<f64>();
        let l = [l.red, l.green, l.blue];
        let w = [0, 1, 2].map(|i: usize| (0..3).map(|j| matrix[i][j] * l[j]).sum::<f64>());
        let c = palette::Srgb::<f64>::from_linear(LinSrgb::new(w[0], w[1], w[2])).into_format::<u16>();
        Rgb([c.red, c.green, c.blue])
    })
}

#[test]
fn the_same_picture_in_wide_gamut_and_in_srgb_gives_the_same_colours() {
    let srgb = scene(48, 32);
    let wide16 = in_wide(&srgb);
    let wide =
        RgbImage::from_fn(48, 32, |x, y| Rgb(wide16.get_pixel(x, y).0.map(|v| ((u32::from(v) + 128) / 257) as u8)));
    let extras = Extras { icc: Some(fixture("published/icc/matrix-wide.icc")), exif: None };
    let plain = read(&pictures::png(&srgb, &Extras::default()));
    let photo = read(&pictures::png16(&wide16, &extras));
    for (x, y, _) in srgb.enumerate_pixels() {
        let d = delta(photo.linear(x, y), plain.linear(x, y).map(f64::from));
        // 16-bit codes and profile numbers of 1/65536.
        assert!(d < 0.02, "({x}, {y}): {d}");
    }
    // In 8 bits a single pixel is off by the rounding of its codes; areas, as they are measured, are not.
    let area = |p: &Photo, x0: u32, y0: u32| {
        let mut sum = [0.0f64; 3];
        for (x, y) in (y0..y0 + 8).flat_map(|y| (x0..x0 + 8).map(move |x| (x, y))) {
            let l = p.linear(x, y);
            (0..3).for_each(|i| sum[i] += f64::from(l[i]) / 64.0);
        }
        sum
    };
    let tiff = pictures::tiff(&wide, None, extras.icc.as_deref());
    for bytes in [pictures::png(&wide, &extras), pictures::webp(&wide, &extras), tiff, pictures::jpeg(&wide, &extras)] {
        let photo = read(&bytes);
        assert_eq!(photo.facts().profile.as_deref(), Some("test, wide matrix"));
        // The JPEG is compared with the sRGB picture coded likewise.
        let jpeg = read(&pictures::jpeg(&srgb, &Extras::default()));
        let other = if photo.facts().format == "jpeg" { &jpeg } else { &plain };
        for (x, y) in [(0, 0), (16, 16), (24, 8), (40, 0), (40, 24), (0, 24)] {
            let d = lab(area(&photo, x, y)).difference(lab(area(other, x, y)));
            // Rounding of codes; in the JPEGs that of coefficients, too.
            let bound = if photo.facts().format == "jpeg" { 0.5 } else { 0.25 };
            assert!(d < bound, "{} ({x}, {y}): {d}", photo.facts().format);
        }
    }
}

#[test]
fn png_says_its_colours_in_chunks() {
    let image = RgbImage::from_pixel(2, 2, Rgb([255, 0, 0]));
    let plain = pictures::png(&image, &Extras::default());
    let with = |name: &[u8; 4], body: &[u8]| {
        let mut chunk = (body.len() as u32).to_be_bytes().to_vec();
        chunk.extend(name);
        chunk.extend(body);
        chunk.extend(crc32(&chunk[4..]).to_be_bytes());
        let mut out = plain.clone();
        out.splice(33..33, chunk);
        read(&out)
    };
    let p3 = with(b"cICP", &[12, 13, 0, 1]);
    assert!((p3.linear(0, 0)[0] - 1.22494).abs() < 1e-5 && p3.facts().remarks.is_empty());
    assert_eq!(with(b"sRGB", &[0]).facts().remarks.len(), 0);
    assert_eq!(with(b"gAMA", &45455u32.to_be_bytes()).linear(0, 0), [1.0, 0.0, 0.0]);
    assert!(read(&plain).facts().remarks[0].contains("read as sRGB"));
    let grey = RgbImage::from_pixel(2, 2, Rgb([128; 3]));
    let mut linear = pictures::png(&grey, &Extras::default());
    let mut chunk = b"\0\0\0\x04gAMA\0\x01\x86\xa0".to_vec();
    chunk.extend(crc32(&chunk[4..]).to_be_bytes());
    linear.splice(33..33, chunk);
    assert!((read(&linear).linear(0, 0)[1] - 128.0 / 255.0).abs() < 1e-6);
}

/// CRC-32 of PNG (annex D).
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0u32, |crc, &b| {
        (0..8).fold(crc ^ u32::from(b), |c, _| if c & 1 == 1 { c >> 1 ^ 0xedb8_8320 } else { c >> 1 })
    })
}

#[test]
fn camera_data_is_read_and_the_place_is_not() {
    let fields = [
        (Tag::Make, text("Oakfield")),
        (Tag::Model, text("Oakfield Nine")),
        (Tag::DateTimeOriginal, text("2024:03:31 02:30:00")),
        (Tag::OffsetTimeOriginal, text("+02:00")),
        (Tag::SubSecTimeOriginal, text("25")),
        (Tag::GPSLatitudeRef, text("N")),
        (Tag::ColorSpace, Value::Short(vec![1])),
    ];
    let extras = Extras { exif: Some(exif(&fields)), icc: None };
    let image = scene(16, 16);
    let files = [
        pictures::jpeg(&image, &extras),
        pictures::png(&image, &extras),
        pictures::webp(&image, &extras),
        #[cfg(feature = "heic")]
        pictures::heic(&image, &extras),
    ];
    for bytes in files {
        let photo = read(&bytes);
        let facts = photo.facts();
        assert_eq!(facts.camera.as_deref(), Some("Oakfield Nine"), "{}", facts.format);
        let taken = facts.taken.unwrap();
        assert_eq!(taken.offset.unwrap().to_timestamp(taken.local).unwrap().to_string(), "2024-03-31T00:30:00.25Z");
        assert!(facts.remarks.is_empty(), "{:?}", facts.remarks);
        assert!(!format!("{facts:?}").to_lowercase().contains("gps"));
    }
}

#[test]
fn one_offset_serves_where_both_dates_are_the_same() {
    let at = |file_date: &str| {
        let fields = [
            (Tag::DateTimeOriginal, text("2024:05:06 07:08:09")),
            (Tag::DateTime, text(file_date)),
            (Tag::OffsetTime, text("-03:00")),
        ];
        let extras = Extras { exif: Some(exif(&fields)), icc: None };
        read(&pictures::jpeg(&scene(16, 16), &extras)).facts().taken.unwrap().offset.map(|o| o.seconds())
    };
    assert_eq!(at("2024:05:06 07:08:09"), Some(-3 * 3600));
    assert_eq!(at("2024:06:01 10:00:00"), None);
}

#[test]
fn a_black_and_white_filter_is_seen() {
    let grey = RgbImage::from_fn(200, 150, |x, y| Rgb([((x + y) / 2) as u8; 3]));
    let photo = read(&pictures::png(&grey, &Extras::default()));
    assert!(photo.colourless());
    assert_eq!(photo.luma(500).dimensions(), (0, 0));
    assert!(!read(&pictures::png(&scene(200, 150), &Extras::default())).colourless());
}
