//! Files that must not be measured: cut off, damaged, hostile, or no photo at all. Each gives one error with its code.

use crate::pictures::{self, Extras, fixture, scene, turned};
use image::{GrayImage, RgbImage};
use std::path::Path;
use tintline::photo::{Fault, Limits, Photo, PhotoError};

fn error(bytes: &[u8]) -> PhotoError {
    match Photo::from_bytes(bytes, &Limits::default()) {
        Err(e) => e,
        Ok(p) => panic!("{} of {} × {} was read", p.facts().format, p.width(), p.height()),
    }
}

fn id(bytes: &[u8]) -> String {
    Photo::from_bytes(bytes, &Limits::default()).unwrap().id().to_string()
}

/// Whole pictures in every format, by name.
fn whole() -> Vec<(String, Vec<u8>)> {
    let icc = Some(fixture("published/icc/matrix-wide.icc"));
    let extras = Extras { icc, ..turned(6) };
    let image = scene(64, 48);
    let mut all = vec![
        ("jpeg".into(), pictures::jpeg(&image, &extras)),
        ("png".into(), pictures::png(&image, &extras)),
        ("webp".into(), pictures::webp(&image, &extras)),
        ("tiff".into(), pictures::tiff(&image, Some(6), extras.icc.as_deref())),
    ];
    for name in ["baseline.jpg", "restarts.jpg", "progressive.jpg", "lossy.webp", "lzw.tif"] {
        all.push((name.into(), fixture(&format!("photos/torn/{name}"))));
    }
    #[cfg(feature = "heic")]
    all.extend([
        ("heic".into(), pictures::heic(&image, &extras)),
        ("heic grid".into(), pictures::heic(&scene(600, 40), &extras)),
        ("still.heic".into(), fixture("photos/torn/still.heic")),
    ]);
    all
}

#[test]
fn every_whole_picture_cut_at_forty_lengths_is_an_error() {
    let mut cuts = 0;
    for (name, bytes) in whole() {
        Photo::from_bytes(&bytes, &Limits::default()).unwrap_or_else(|e| panic!("{name} whole: {e}"));
        let n = bytes.len();
        // Evenly, and the last few bytes one by one, where decoders are lenient.
        let lengths: Vec<usize> = (0..32).map(|i| i * n / 32).chain(n - 8..n).collect();
        assert_eq!(lengths.len(), 40);
        for len in lengths {
            match Photo::from_bytes(&bytes[..len], &Limits::default()) {
                Err(e) => assert!(e.code().starts_with("photo-") && e.remedy().ends_with('.'), "{name}: {e}"),
                // TIFF's directory stands last here; only what follows it may be missing: the link to a next one.
                Ok(p) => panic!("{name} cut at {len} of {n} was read as {} × {}", p.width(), p.height()),
            }
            cuts += 1;
        }
    }
    assert_eq!(cuts, 40 * if cfg!(feature = "heic") { 12 } else { 9 });
}

#[test]
fn a_cut_jpeg_with_an_end_marker_set_behind_it_is_an_error() {
    for name in ["baseline.jpg", "restarts.jpg", "progressive.jpg"] {
        let bytes = fixture(&format!("photos/torn/{name}"));
        for percent in (10..=96).step_by(2) {
            let mut cut = bytes[..bytes.len() * percent / 100].to_vec();
            cut.extend([0xff, 0xd9]);
            // The last scan of the progressive picture brings the last bit of fine detail only: see below.
            if name != "progressive.jpg" || percent < 86 {
                assert_eq!(error(&cut).code(), "photo-torn", "{name} at {percent} %");
            }
        }
    }
}

#[test]
fn a_progressive_jpeg_cut_in_its_last_scan_keeps_its_colours() {
    let bytes = fixture("photos/torn/progressive.jpg");
    let whole = Photo::from_bytes(&bytes, &Limits::default()).unwrap();
    let mut cut = bytes[..bytes.len() * 9 / 10].to_vec();
    cut.extend([0xff, 0xd9]);
    let part = Photo::from_bytes(&cut, &Limits::default()).unwrap();
    for (x0, y0) in (0..64).step_by(8).flat_map(|y| (0..96).step_by(8).map(move |x| (x, y))) {
        let mean = |p: &Photo| {
            let pixels = (0..64).map(|i| p.encoded(x0 + i % 8, y0 + i / 8));
            pixels.fold([0.0; 3], |s, c| [0, 1, 2].map(|i| s[i] + c[i] * 255.0 / 64.0))
        };
        let (a, b) = (mean(&whole), mean(&part));
        // Rounding and clipping of single pixels only: the means of the blocks were complete long before.
        assert!((0..3).all(|i| (a[i] - b[i]).abs() < 1.0), "({x0}, {y0}): {a:?} {b:?}");
    }
}

#[test]
fn what_follows_the_end_marker_does_not_matter() {
    let bytes = fixture("photos/torn/baseline.jpg");
    let mut longer = bytes.clone();
    longer.extend([0; 100]);
    longer.extend(&fixture("photos/torn/progressive.jpg"));
    assert_eq!(id(&bytes), id(&longer));
}

#[test]
fn headers_without_pixels_or_with_too_many_are_refused_before_decoding() {
    let image = scene(64, 48);
    let plain = Extras::default();
    let patched = |mut bytes: Vec<u8>, find: &[u8], at: usize, put: &[u8]| {
        let start = bytes.windows(find.len()).position(|w| w == find).unwrap();
        bytes[start + at..start + at + put.len()].copy_from_slice(put);
        bytes
    };
    let be16 = |w: u16, h: u16| [h.to_be_bytes(), w.to_be_bytes()].concat();
    let be32 = |w: u32, h: u32| [w.to_be_bytes(), h.to_be_bytes()].concat();
    let (jpeg, png) = (pictures::jpeg(&image, &plain), pictures::png(&image, &plain));
    let tiff = pictures::tiff(&image, None, None);
    let tiff_size = |w: u32, h: u32| {
        let t = patched(tiff.clone(), &[1, 0, 0, 4, 0, 0, 0, 1], 8, &w.to_be_bytes());
        patched(t, &[1, 1, 0, 4, 0, 0, 0, 1], 8, &h.to_be_bytes())
    };
    let webp = fixture("photos/torn/lossy.webp");
    let webp_size =
        |w: u16, h: u16| patched(webp.clone(), &[0x9d, 0x01, 0x2a], 3, &[w.to_le_bytes(), h.to_le_bytes()].concat());
    // A canvas of 60 000 × 60 000 before the picture.
    let mut canvas = webp.clone();
    canvas.splice(12..12, b"VP8X\x0a\0\0\0\0\0\0\0\x5f\xea\0\x5f\xea\0".iter().copied());
    let size = canvas.len() as u32 - 8;
    canvas[4..8].copy_from_slice(&size.to_le_bytes());
    let mut cases = vec![
        ("jpeg 0", patched(jpeg.clone(), &[0xff, 0xc0], 5, &be16(0, 0)), "photo-no-pixels"),
        ("jpeg 60000", patched(jpeg, &[0xff, 0xc0], 5, &be16(60_000, 60_000)), "photo-too-many-pixels"),
        ("png 0", patched(png.clone(), b"IHDR", 4, &be32(0, 0)), "photo-no-pixels"),
        ("png 60000", patched(png.clone(), b"IHDR", 4, &be32(60_000, 60_000)), "photo-too-many-pixels"),
        ("png 4294967295", patched(png, b"IHDR", 4, &be32(u32::MAX, u32::MAX)), "photo-too-many-pixels"),
        ("tiff 0", tiff_size(0, 0), "photo-no-pixels"),
        ("tiff 60000", tiff_size(60_000, 60_000), "photo-too-many-pixels"),
        ("webp 0", webp_size(0, 0), "photo-no-pixels"),
        ("webp canvas 60000", canvas, "photo-too-many-pixels"),
    ];
    if cfg!(feature = "heic") {
        let heic = fixture("photos/torn/still.heic");
        let ispe = |w, h| patched(heic.clone(), b"ispe", 8, &be32(w, h));
        cases.push(("heic 0", ispe(0, 0), "photo-no-pixels"));
        cases.push(("heic 60000", ispe(60_000, 60_000), "photo-too-many-pixels"));
    }
    for (name, bytes, code) in cases {
        assert_eq!(error(&bytes).code(), code, "{name}");
    }
    let small = Limits { side: 50, ..Limits::default() };
    for (name, bytes) in whole() {
        let e = Photo::from_bytes(&bytes, &small).err().unwrap_or_else(|| panic!("{name} passed a side of 50"));
        assert_eq!((e.code(), e.fault()), ("photo-too-many-pixels", Fault::Program), "{name}");
    }
    let few = Limits { bytes: 100, ..Limits::default() };
    assert_eq!(Photo::from_bytes(&webp, &few).err().unwrap().code(), "photo-file-too-large");
}

#[test]
fn pictures_without_three_colours_are_refused() {
    assert_eq!(error(&fixture("photos/torn/grey.jpg")).code(), "photo-grey-only");
    assert_eq!(error(&fixture("photos/torn/inks.jpg")).code(), "photo-inks");
    assert_eq!(error(&fixture("photos/torn/frames.webp")).code(), "photo-form-unsupported");
    let mut png = std::io::Cursor::new(Vec::new());
    GrayImage::new(8, 8).write_to(&mut png, image::ImageFormat::Png).unwrap();
    assert_eq!(error(png.get_ref()).code(), "photo-grey-only");
    // Four channels of inks: photometric 5, four samples.
    let mut tiff = std::io::Cursor::new(Vec::new());
    image::Rgb32FImage::new(8, 8).write_to(&mut tiff, image::ImageFormat::Tiff).unwrap();
    assert_eq!(error(tiff.get_ref()).code(), "photo-form-unsupported");
}

#[test]
fn files_that_are_no_photos_say_so() {
    assert_eq!(error(b"").code(), "photo-empty");
    assert_eq!(error(&[0; 5000]).code(), "photo-blank");
    assert_eq!(error(b"Shopping list:\n- pure water\n").code(), "photo-text");
    assert_eq!(error(b"GIF89a\x01\0\x01\0\0\0\0;").code(), "photo-kind-unsupported");
    let dir = tempfile::tempdir().unwrap();
    let open = |p: &Path| Photo::open(p, &Limits::default()).err().unwrap();
    let folder = open(dir.path());
    assert_eq!((folder.code(), folder.fault()), ("photo-folder", Fault::Path));
    let missing = open(&dir.path().join("missing.jpg"));
    assert_eq!(missing.code(), "photo-unreadable");
    assert!(missing.to_string().contains("missing.jpg"));
    let named = dir.path().join("list.jpg");
    std::fs::write(&named, "Shopping list").unwrap();
    assert_eq!(open(&named).code(), "photo-text");
    std::fs::write(&named, "").unwrap();
    assert_eq!(open(&named).code(), "photo-empty");
    std::fs::write(&named, vec![7; 2000]).unwrap();
    let few = Limits { bytes: 1000, ..Limits::default() };
    assert_eq!(Photo::open(&named, &few).err().unwrap().code(), "photo-file-too-large");
    std::fs::write(&named, fixture("photos/torn/baseline.jpg")).unwrap();
    assert_eq!(Photo::open(&named, &Limits::default()).unwrap().width(), 96);
}

#[cfg(not(feature = "heic"))]
#[test]
fn without_heic_such_photos_say_so() {
    let e = error(&fixture("photos/torn/still.heic"));
    assert_eq!((e.code(), e.fault()), ("photo-heic-left-out", Fault::Program));
}

#[test]
fn a_raw_file_is_not_read_by_its_thumbnail() {
    // The directory's first tag made a 'reduced copy' (254) or the colour space a filter array.
    let tiff = pictures::tiff(&scene(64, 48), None, None);
    let photometric = tiff.windows(8).position(|w| w == [1, 6, 0, 3, 0, 0, 0, 1]).unwrap();
    let mut raw = tiff;
    raw[photometric + 8..photometric + 10].copy_from_slice(&32803u16.to_be_bytes());
    assert!(error(&raw).to_string().contains("raw file"));
}

#[test]
fn broken_camera_data_is_passed_over_with_a_remark() {
    for broken in [b"not a block".to_vec(), b"MM\0*\0\0\xff\xff".to_vec(), vec![0; 40]] {
        let extras = Extras { exif: Some(broken), icc: None };
        for bytes in [pictures::jpeg(&scene(32, 24), &extras), pictures::png(&scene(32, 24), &extras)] {
            let photo = Photo::from_bytes(&bytes, &Limits::default()).unwrap();
            assert_eq!((photo.width(), photo.height(), photo.facts().taken), (32, 24, None));
            assert!(photo.facts().remarks[0].contains("EXIF"), "{:?}", photo.facts().remarks);
        }
    }
}

#[test]
fn broken_and_foreign_profiles_are_errors() {
    let good = fixture("published/icc/matrix-wide.icc");
    let grey = moxcms::ColorProfile::new_gray_with_gamma(2.2).encode().unwrap();
    let image = scene(32, 24);
    let mut checked = 0;
    for (icc, code) in [
        (b"no profile".to_vec(), "photo-profile-broken"),
        (good[..200].to_vec(), "photo-profile-broken"),
        (good.iter().enumerate().map(|(i, &b)| if i > 140 { 0xff } else { b }).collect(), "photo-profile-broken"),
        (grey, "photo-profile-foreign"),
    ] {
        let extras = Extras { icc: Some(icc), exif: None };
        let files = [
            pictures::jpeg(&image, &extras),
            pictures::png(&image, &extras),
            pictures::webp(&image, &extras),
            pictures::tiff(&image, None, extras.icc.as_deref()),
            #[cfg(feature = "heic")]
            pictures::heic(&image, &extras),
        ];
        for bytes in files {
            let e = error(&bytes);
            assert_eq!(e.code(), code, "{e}");
            assert!(e.remedy().contains("sRGB"));
            checked += 1;
        }
    }
    assert_eq!(checked, 4 * if cfg!(feature = "heic") { 5 } else { 4 });
    // A PNG whose packed profile is damaged: decoders pass over it in silence.
    let mut png = pictures::png(&image, &Extras { icc: Some(good), exif: None });
    let at = png.windows(4).position(|w| w == b"iCCP").unwrap();
    png[at + 30] ^= 0xff;
    assert_eq!(error(&png).code(), "photo-profile-broken");
}

/// A JPEG without its application data and comments.
fn stripped(jpeg: &[u8]) -> Vec<u8> {
    let mut out = jpeg[..2].to_vec();
    let mut at = 2;
    while jpeg[at + 1] != 0xda {
        let end = at + 2 + usize::from(u16::from_be_bytes([jpeg[at + 2], jpeg[at + 3]]));
        if !matches!(jpeg[at + 1], 0xe0..=0xef | 0xfe) {
            out.extend(&jpeg[at..end]);
        }
        at = end;
    }
    out.extend(&jpeg[at..]);
    out
}

#[test]
fn a_copy_without_metadata_keeps_its_identity_and_another_picture_has_another() {
    let icc = Some(fixture("published/icc/matrix-wide.icc"));
    let extras = Extras { icc, ..turned(6) };
    let plain = Extras::default();
    let (image, mut other) = (scene(64, 48), scene(64, 48));
    other.put_pixel(30, 30, image::Rgb([9, 200, 9]));
    let jpeg = pictures::jpeg(&image, &extras);
    assert_eq!(id(&jpeg), id(&stripped(&jpeg)));
    assert_ne!(jpeg.len(), stripped(&jpeg).len());
    let baseline = fixture("photos/torn/baseline.jpg");
    assert_eq!(id(&baseline), id(&stripped(&baseline)));
    type Maker = fn(&RgbImage, &Extras) -> Vec<u8>;
    let makers: &[Maker] = &[
        pictures::jpeg,
        pictures::png,
        pictures::webp,
        |i, e| pictures::tiff(i, e.exif.is_some().then_some(6), e.icc.as_deref()),
        #[cfg(feature = "heic")]
        pictures::heic,
    ];
    let mut seen = std::collections::BTreeSet::new();
    for make in makers {
        let (a, b, c) = (id(&make(&image, &extras)), id(&make(&image, &plain)), id(&make(&other, &plain)));
        assert_eq!(a, b);
        assert_ne!(b, c);
        assert_eq!(a.len(), 64);
        seen.extend([a, c]);
    }
    assert_eq!(seen.len(), 2 * makers.len(), "formats do not share identities");
}
