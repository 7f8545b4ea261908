//! The photo in screen colours at the overlay's size.

use crate::photo::Photo;
use image::{Rgb, RgbImage};
use palette::{LinSrgb, Srgb};

/// Longest side of the photo in the overlay, in pixels.
const LONGEST: f64 = 1600.0;
/// A photo smaller than this is enlarged by a whole factor, so that the writing does not dwarf it.
const SHORTEST: f64 = 700.0;

/// The photo in sRGB, each pixel the mean light of the pixels it stands for, and overlay pixels per photo pixel.
pub(super) fn shown(photo: &Photo) -> (RgbImage, f64) {
    let (w, h) = (photo.width(), photo.height());
    let longest = f64::from(w.max(h));
    let scale = if longest > LONGEST { LONGEST / longest } else { (SHORTEST / longest).ceil().max(1.0) };
    let size = [w, h].map(|n| ((f64::from(n) * scale).round() as u32).max(1));
    let from = |i: u32, of: u32| ((f64::from(i) / scale) as u32).min(of - 1);
    let picture = RgbImage::from_fn(size[0], size[1], |x, y| {
        let (left, top) = (from(x, w), from(y, h));
        let (right, foot) = (from(x + 1, w).max(left + 1), from(y + 1, h).max(top + 1));
        let mut sum = [0.0f32; 3];
        for sy in top..foot {
            for sx in left..right {
                let light = photo.linear(sx, sy);
                (0..3).for_each(|c| sum[c] += light[c]);
            }
        }
        let count = ((right - left) * (foot - top)) as f32;
        let [r, g, b] = sum.map(|s| s / count);
        let code = Srgb::<u8>::from_linear(LinSrgb::new(r, g, b));
        Rgb([code.red, code.green, code.blue])
    });
    (picture, scale)
}
