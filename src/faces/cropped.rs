//! A part of a photo, with what was measured outlined.

use super::lettering;
use super::stroke;
use crate::intake::Crop;
use image::Rgb;
use image::codecs::jpeg::JpegEncoder;

/// A JPEG coded anew from the pixels: it has no metadata.
pub(super) fn jpeg(crop: &Crop) -> Option<Vec<u8>> {
    let mut picture = crop.picture.clone();
    let outline: Vec<[f32; 2]> = crop.measured.iter().map(|p| p.map(|v| v as f32)).collect();
    stroke::stroke(&mut picture, &outline, true, 1.5, None);
    // A hairline frame, so that a pale picture has an end on white paper.
    let (w, h) = picture.dimensions();
    for (x, y) in (0..w).flat_map(|x| [(x, 0), (x, h - 1)]).chain((0..h).flat_map(|y| [(0, y), (w - 1, y)])) {
        lettering::blend(&mut picture, x.into(), y.into(), Rgb([90; 3]), 1.0);
    }
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, 88).encode_image(&picture).ok()?;
    Some(bytes)
}
