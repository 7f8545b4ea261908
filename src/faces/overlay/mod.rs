//! The photo with what was read from it drawn in: where the card lies, which areas were used, each value with its
//! interval, each refusal with its reason.
//!
//! Takes a [`Photo`] and its [`PhotoReading`]; gives a picture. Promises: words carry the meaning and every line is
//! black on white, so no colour need be told apart; plates stand beside the photo, so nothing that was sampled is
//! covered and no two plates overlap. Never: judges; it shows what the reading holds.

mod plan;
mod scale;
mod words;

use crate::faces::lettering::{self, Weight};
use crate::faces::stroke::{Dash, stroke};
use crate::intake::{LabelSeen, Ready};
use crate::photo::Photo;
use crate::reading::PhotoReading;
use image::codecs::jpeg::JpegEncoder;
use image::imageops::{self, FilterType};
use image::{ImageFormat, Rgb, RgbImage};
use imageproc::drawing::{draw_filled_rect_mut, draw_hollow_rect_mut};
use imageproc::rect::Rect;
use plan::{Plan, Plate};
use std::path::{Path, PathBuf};

const BLACK: Rgb<u8> = Rgb([0; 3]);
const WHITE: Rgb<u8> = Rgb([255; 3]);
const GROUND: Rgb<u8> = Rgb([232; 3]);

/// How the kinds of outline are told apart, in multiples of the line's width: drawn, then left out.
const CARD: Dash = Some([9.0, 5.0]);
const LIQUID: Dash = Some([1.6, 2.4]);
const USED: Dash = None;
const LABEL: Dash = Some([4.0, 4.0]);

/// A label that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Shown {
    /// The station it lies above.
    pub station: String,
    /// What it says.
    pub words: String,
    /// Its outline in upright photo pixels.
    pub outline: [[f64; 2]; 4],
}

/// The overlay could not be written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum OverlayError {
    /// The name's ending says neither PNG nor JPEG.
    #[error("{path} ends neither in .png nor in .jpg")]
    UnknownEnding { path: PathBuf },
    /// The picture's bytes could not be made.
    #[error("the overlay could not be encoded: {cause}")]
    Encoding { cause: image::ImageError },
    /// The file could not be written.
    #[error("the overlay {path} could not be written: {cause}")]
    Unwritable { path: PathBuf, cause: std::io::Error },
}

impl OverlayError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::UnknownEnding { .. } => "overlay-unknown-ending",
            Self::Encoding { .. } => "overlay-encoding",
            Self::Unwritable { .. } => "overlay-unwritable",
        }
    }

    /// What can be done about it.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::UnknownEnding { .. } => "Name the overlay with the ending .png or .jpg.",
            Self::Encoding { .. } => "Report the message as a fault of the program.",
            Self::Unwritable { .. } => "Choose a folder that exists and may be written to.",
        }
    }
}

/// The photo, its longer side at most 1600 pixels, at the picture's top left; below it, or to its right where samples
/// lie one above the other, a plate for every sample with a line to the area it tells of.
pub fn draw(photo: &Photo, reading: &PhotoReading) -> RgbImage {
    draw_labelled(photo, reading, &[])
}

/// As [`draw`], with the labels that were read: an outline around each, its words at its station's plate.
pub fn draw_labelled(photo: &Photo, reading: &PhotoReading, labels: &[Shown]) -> RgbImage {
    let (shown, scale) = scale::shown(photo);
    let plan = Plan::new(shown.dimensions(), scale, reading, labels);
    let mut picture = RgbImage::from_pixel(plan.size.0, plan.size.1, GROUND);
    imageops::replace(&mut picture, &shown, 0, 0);

    let line = plan.em * 0.13;
    if let Some(corners) = &plan.card {
        stroke(&mut picture, corners, true, line, CARD);
    }
    for outlines in &plan.outlines {
        for (i, outline) in outlines.iter().enumerate() {
            // The reading's order: the liquid first, then what was used of it.
            stroke(&mut picture, outline, true, line, if i == 0 && outlines.len() > 1 { LIQUID } else { USED });
        }
    }
    for outline in &plan.labels {
        stroke(&mut picture, outline, true, line * 0.7, LABEL);
    }
    for plate in &plan.plates {
        if let Some(leader) = &plate.leader {
            stroke(&mut picture, leader, false, line * 0.7, None);
        }
    }
    for tag in &plan.tags {
        label(&mut picture, &tag.text, (tag.at.x, tag.at.y), plan.em);
    }
    for plate in &plan.plates {
        draw_plate(&mut picture, plate, plan.em);
    }
    legend(&mut picture, &plan);
    picture
}

/// The same of a photo that is ready to be logged.
pub fn draw_ready(ready: &Ready) -> RgbImage {
    let label = |(station, words, outline): &LabelSeen| Shown {
        station: station.clone(),
        words: words.clone(),
        outline: *outline,
    };
    let labels: Vec<Shown> = ready.showing.labels.iter().map(label).collect();
    draw_labelled(&ready.look.opened.photo, &ready.look.reading, &labels)
}

/// Writes a picture as PNG or JPEG, as the name's ending says.
pub fn write(picture: &RgbImage, path: &Path) -> Result<(), OverlayError> {
    let ending = path.extension().map(|e| e.to_string_lossy().to_ascii_lowercase());
    let format = match ending.as_deref() {
        Some("png") => ImageFormat::Png,
        Some("jpg" | "jpeg") => ImageFormat::Jpeg,
        _ => return Err(OverlayError::UnknownEnding { path: path.into() }),
    };
    let mut bytes = std::io::Cursor::new(Vec::new());
    let encoded = match format {
        // Small letters stay crisp.
        ImageFormat::Jpeg => picture.write_with_encoder(JpegEncoder::new_with_quality(&mut bytes, 92)),
        _ => picture.write_to(&mut bytes, format),
    };
    encoded.map_err(|cause| OverlayError::Encoding { cause })?;
    std::fs::write(path, bytes.into_inner()).map_err(|cause| OverlayError::Unwritable { path: path.into(), cause })
}

/// Longest side of a picture for a page.
const SIDE: u32 = 1280;
const QUALITY: u8 = 82;

/// A picture for a page: small, as JPEG.
pub fn small_jpeg(picture: &RgbImage) -> Result<Vec<u8>, OverlayError> {
    let (w, h) = picture.dimensions();
    let mut bytes = Vec::new();
    let encoder = JpegEncoder::new_with_quality(&mut bytes, QUALITY);
    let done = if w.max(h) > SIDE {
        let scale = f64::from(SIDE) / f64::from(w.max(h));
        let side = |n: u32| ((f64::from(n) * scale).round() as u32).max(1);
        imageops::resize(picture, side(w), side(h), FilterType::Triangle).write_with_encoder(encoder)
    } else {
        picture.write_with_encoder(encoder)
    };
    done.map_err(|cause| OverlayError::Encoding { cause })?;
    Ok(bytes)
}

/// White letters on a black label, framed in white so that it stands out on any ground.
fn label(picture: &mut RgbImage, text: &str, (x, y): (i32, i32), em: f32) {
    let (w, h) = plan::tag_size(text, em);
    draw_filled_rect_mut(picture, Rect::at(x, y).of_size(w, h), WHITE);
    draw_filled_rect_mut(picture, Rect::at(x + 2, y + 2).of_size(w - 4, h - 4), BLACK);
    let wide = lettering::width(text, em, Weight::Bold);
    let foot = y as f32 + h as f32 / 2.0 + em * 0.36;
    lettering::draw(picture, text, (x as f32 + (w as f32 - wide) / 2.0, foot), em, Weight::Bold, WHITE);
}

fn draw_plate(picture: &mut RgbImage, plate: &Plate, em: f32) {
    let a = plate.area;
    draw_filled_rect_mut(picture, Rect::at(a.x, a.y).of_size(a.w, a.h), WHITE);
    // A heavier frame draws the eye to what needs a look; the words say what it is.
    for inset in 0..if plate.urgent { 5 } else { 2 } {
        let (x, y) = (a.x + inset, a.y + inset);
        let size = (a.w - 2 * inset as u32, a.h - 2 * inset as u32);
        draw_hollow_rect_mut(picture, Rect::at(x, y).of_size(size.0, size.1), BLACK);
    }
    if let Some(tag) = &plate.tag {
        label(picture, tag, (a.x + plan::pad(em) as i32, a.y + plan::pad(em) as i32), em);
    }
    for line in &plate.lines {
        lettering::draw(picture, &line.text, line.at, line.em, line.weight, BLACK);
    }
}

/// What the kinds of outline mean.
fn legend(picture: &mut RgbImage, plan: &Plan) {
    for entry in &plan.legend {
        let dash = match entry.kind {
            plan::Outline::Card => CARD,
            plan::Outline::Liquid => LIQUID,
            plan::Outline::Used => USED,
            plan::Outline::Label => LABEL,
        };
        stroke(picture, &entry.line, false, plan.em * 0.13, dash);
        lettering::draw(picture, entry.text, entry.at, plan.em * 0.85, Weight::Regular, BLACK);
    }
}
