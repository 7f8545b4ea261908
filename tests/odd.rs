//! Odd but valid photos: each gives the colours that a general-purpose library or the format's definition gives, or a refusal.

use crate::pictures::fixture;
use std::collections::BTreeSet;
use std::path::Path;
use tintline::intake::{Raw, photos_in};
use tintline::photo::{Limits, Photo, peek};

/// Linear light as sRGB code value (IEC 61966-2-1).
fn code(v: f32) -> f64 {
    let v = f64::from(v);
    255.0 * if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 }
}

/// Mean code values of the middle 16 × 16 pixels of area `n`, counted in reading order.
fn area(photo: &Photo, n: u32) -> [f64; 3] {
    let (x0, y0) = (32 * (n % 3) + 8, 32 * (n / 3) + 8);
    let mut mean = [0.0; 3];
    for (x, y) in (0..256).map(|i| (x0 + i % 16, y0 + i / 16)) {
        let p = photo.linear(x, y);
        (0..3).for_each(|i| mean[i] += code(p[i]) / 256.0);
    }
    mean
}

#[test]
fn each_has_the_right_colours_or_is_refused() {
    let table = include_str!("../fixtures/published/odd_photos.csv");
    let (mut read, mut refused, mut listed) = (0, 0, BTreeSet::new());
    let mut wrong = Vec::new();
    for line in table.lines().filter(|l| !l.starts_with('#')).skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let [file, outcome, w, h, _by] = cells[..5] else { panic!("{line}") };
        listed.insert(file.to_string());
        if !cfg!(feature = "heic") && file.ends_with(".heic") {
            continue;
        }
        let photo = Photo::from_bytes(&fixture(&format!("photos/odd/{file}")), &Limits::default());
        let photo = match photo {
            Err(e) if outcome == "read" => {
                wrong.push(format!("{file}: {} {e}", e.code()));
                continue;
            }
            Err(e) => {
                if e.code() != outcome {
                    wrong.push(format!("{file}: {} instead of {outcome}", e.code()));
                }
                refused += 1;
                continue;
            }
            Ok(p) => p,
        };
        if outcome != "read" || (photo.width().to_string(), photo.height().to_string()) != (w.into(), h.into()) {
            wrong.push(format!("{file}: read as {} x {}", photo.width(), photo.height()));
            continue;
        }
        for n in 0..6 {
            let want: Vec<f64> = cells[5 + 3 * n..8 + 3 * n].iter().map(|c| c.parse().unwrap()).collect();
            let got = area(&photo, n as u32);
            // Flat areas: this decoder and the other each round once; 16-bit definitions are finer than one code value.
            if (0..3).any(|i| (got[i] - want[i]).abs() > 1.01) {
                wrong.push(format!("{file}, area {n}: {got:.2?} for {want:?}"));
            }
        }
        read += 1;
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!((read, refused), if cfg!(feature = "heic") { (36, 6) } else { (30, 6) });
    let there = std::fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/photos/odd")).unwrap();
    let there: BTreeSet<String> = there.map(|e| e.unwrap().file_name().to_string_lossy().to_string()).collect();
    let there: BTreeSet<String> = there.into_iter().filter(|n| n != "README.md").collect();
    assert_eq!(there, listed, "files of the folder and rows of the table");
}

#[test]
fn a_date_that_stands_in_xmp_alone_is_found() {
    let bytes = fixture("photos/odd/date-in-xmp.jpg");
    let photo = Photo::from_bytes(&bytes, &Limits::default()).unwrap();
    let taken = photo.facts().taken.unwrap();
    assert_eq!((taken.local.to_string().as_str(), taken.offset.unwrap().seconds()), ("2026-03-01T18:30:00", 3600));
    assert_eq!(photo.facts().remarks.iter().filter(|r| r.contains("XMP")).count(), 1);
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/photos/odd/date-in-xmp.jpg");
    assert_eq!(peek(&path, &Limits::default()).taken, Some(taken), "the same when only looked at");
}

#[test]
fn what_stands_behind_a_photo_or_in_its_metadata_is_no_other_photo() {
    let id = |f: &str| {
        let raw =
            Raw::read(&Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/photos/odd").join(f), &Limits::default());
        raw.unwrap().id(&Limits::default()).unwrap().unwrap()
    };
    let plain = id("sampled-420.jpg");
    for same in ["video-behind.jpg", "zeros-behind.jpg", "gain-map.jpg", "wrong-thumbnail.jpg", "date-in-xmp.jpg"] {
        assert_eq!(id(same), plain, "{same}");
    }
    assert_ne!(id("sampled-422.jpg"), plain);
}

#[cfg(target_os = "linux")]
#[test]
fn names_that_are_no_text_and_links_are_read_and_a_ring_of_links_ends() {
    use std::os::unix::ffi::OsStrExt;
    use std::os::unix::fs::symlink;
    let dir = tempfile::tempdir().unwrap();
    let inner = dir.path().join("inner");
    std::fs::create_dir(&inner).unwrap();
    let odd = inner.join(std::ffi::OsStr::from_bytes(b"caf\xe9 \xff.jpg"));
    let bytes = fixture("photos/odd/sampled-420.jpg");
    std::fs::write(&odd, &bytes).unwrap();
    symlink(&odd, dir.path().join("link.jpg")).unwrap();
    symlink(dir.path(), inner.join("ring")).unwrap();
    symlink(dir.path().join("nowhere.jpg"), dir.path().join("dangling.jpg")).unwrap();
    let found = photos_in(dir.path(), &dir.path().join("home"));
    assert!(found.photos.contains(&odd), "{:?}", found.photos);
    let ids: BTreeSet<_> = found
        .photos
        .iter()
        .filter_map(|p| Raw::read(p, &Limits::default()).ok()?.id(&Limits::default()).ok()?)
        .collect();
    assert_eq!(ids.len(), 1, "one photo, by whatever names");
}
