//! What was measured, cut out of kept originals: pixels alone, so that no place or name goes along.

use super::{Home, IntakeError, open};
use crate::card::Layout;
use crate::log::Reading;
use crate::photo::{Limits, Photo};
use crate::reading::{self, Ask, Job};
use image::{Rgb, RgbImage};
use palette::{LinSrgb, Srgb};
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::path::PathBuf;

/// The part of a photo about a vial or pad.
#[derive(Debug, Clone, PartialEq)]
pub struct Crop {
    /// In sRGB, at most [`SIDE`] pixels high and wide.
    pub picture: RgbImage,
    /// The measured area's outline, in pixels of the picture.
    pub measured: Vec<[f64; 2]>,
}

/// Longest side of a crop, in pixels.
pub const SIDE: u32 = 240;
/// What is shown about a sample, in shares of its own size.
const ABOUT: f64 = 0.3;

/// Cuts samples of readings out of their kept originals, the first `most` of them, each with its reading's place in the list. Left out
/// are those whose photo was not kept or whose kit is not here any more, and what is not found in its photo. A photo is opened and
/// read once for all its stations.
pub fn crops(
    home: &Home,
    readings: &[Reading],
    layout: &Layout,
    most: usize,
) -> Result<Vec<(usize, Crop)>, IntakeError> {
    let kept = home.kept_photos()?;
    let mut seen: BTreeMap<(&str, &str), BTreeMap<String, Crop>> = BTreeMap::new();
    let mut out = Vec::new();
    for (i, reading) in readings.iter().enumerate() {
        let Some((hash, kit, station)) = shown(reading) else { continue };
        if out.len() == most {
            break;
        }
        let cut = match seen.entry((hash, kit)) {
            Entry::Occupied(old) => old.into_mut(),
            Entry::Vacant(new) => {
                let of = readings.iter().filter(|r| shown(r).is_some_and(|s| (s.0, s.1) == (hash, kit)));
                new.insert(all_of(home, &kept, hash, kit, of, layout)?)
            }
        };
        out.extend(cut.get(station).map(|crop| (i, crop.clone())));
    }
    Ok(out)
}

/// Whether there may be a crop of a reading: its original is kept. Nothing is decoded.
pub fn may_crop(home: &Home, reading: &Reading) -> Result<bool, IntakeError> {
    let Some((hash, ..)) = shown(reading) else { return Ok(false) };
    Ok(original(&home.kept_photos()?, hash).is_some())
}

fn original<'k>(kept: &'k [PathBuf], hash: &str) -> Option<&'k PathBuf> {
    kept.iter().find(|p| p.file_stem().is_some_and(|s| s.to_string_lossy() == hash))
}

/// A reading's photo, kit and station.
fn shown(reading: &Reading) -> Option<(&str, &str, &str)> {
    Some((reading.photo.as_deref()?, reading.test.kit.as_deref()?, reading.station.as_deref()?))
}

/// What is asked about a kept photo, by station. Only the crops stay: a decoded photo takes tens of megabytes.
fn all_of<'r>(
    home: &Home,
    kept: &[PathBuf],
    hash: &str,
    kit: &str,
    of: impl Iterator<Item = &'r Reading>,
    layout: &Layout,
) -> Result<BTreeMap<String, Crop>, IntakeError> {
    let none = BTreeMap::new;
    let Some(path) = original(kept, hash) else { return Ok(none()) };
    let Ok(kit) = home.kit(Some(kit)) else { return Ok(none()) };
    let Ok(card) = home.card_for(None, &kit.value, layout) else { return Ok(none()) };
    let photo = open(path, &Limits::default())?.photo;
    let ask = |r: &Reading| Some(Ask { station: r.station.clone()?, test: r.test.name.clone(), dilution: None });
    let asks: Vec<Ask> = of.filter_map(ask).collect();
    let job = Job { photo: &photo, layout, reference: &card.reference, kit: &kit.value, asks: &asks, clear: None };
    let said = reading::read(&job);
    Ok(said.samples.iter().filter_map(|s| Some((s.station.clone(), cut(&photo, &s.outlines)?))).collect())
}

/// About the first outline, with the last one in it.
fn cut(photo: &Photo, outlines: &[Vec<[f64; 2]>]) -> Option<Crop> {
    let (whole, measured) = (outlines.first()?, outlines.last()?);
    let ends = |axis: usize, most: u32| {
        let (low, high) = whole.iter().fold((f64::MAX, f64::MIN), |(l, h), p| (l.min(p[axis]), h.max(p[axis])));
        let room = ABOUT * (high - low);
        ((low - room).max(0.0), (high + room).min(f64::from(most) - 1.0))
    };
    let ((left, right), (top, foot)) = (ends(0, photo.width()), ends(1, photo.height()));
    let (wide, high) = (right - left, foot - top);
    // Also false where a number is none.
    if !(wide >= 4.0 && high >= 4.0) {
        return None;
    }
    let step = (wide.max(high) / f64::from(SIDE)).max(1.0);
    let size = [wide, high].map(|n| ((n / step) as u32).max(1));
    let picture = RgbImage::from_fn(size[0], size[1], |x, y| {
        let from = [left + f64::from(x) * step, top + f64::from(y) * step];
        mean(photo, from, step)
    });
    let place = |p: &[f64; 2]| [(p[0] - left) / step, (p[1] - top) / step];
    Some(Crop { picture, measured: measured.iter().map(place).collect() })
}

/// The mean light of a square of the photo, as a code value.
fn mean(photo: &Photo, [left, top]: [f64; 2], side: f64) -> Rgb<u8> {
    let n = side.ceil() as u32;
    let mut sum = [0.0f32; 3];
    for j in 0..n {
        for i in 0..n {
            let at = |from: f64, k: u32, most: u32| {
                ((from + (f64::from(k) + 0.5) * side / f64::from(n)).max(0.0) as u32).min(most - 1)
            };
            let light = photo.linear(at(left, i, photo.width()), at(top, j, photo.height()));
            (0..3).for_each(|c| sum[c] += light[c]);
        }
    }
    let [r, g, b] = sum.map(|s| s / (n * n) as f32);
    let code = Srgb::<u8>::from_linear(LinSrgb::new(r, g, b));
    Rgb([code.red, code.green, code.blue])
}
