//! A drawing as a PNG with its pixels per metre and the statement that it is sRGB.

use super::PrintError;
use super::drawing::{Drawing, Ink, Shape};
use crate::faces::lettering;
use image::{Rgb, RgbImage};

/// Samples along each side of a pixel for edges that are not axis-parallel.
const FINE: u32 = 8;

/// The drawing as pixels. Rectangles end at the pixel border nearest to their place (never more than half a pixel off,
/// errors do not add up) and are filled whole, so every patch and module is one exact colour.
pub(super) fn pixels(drawing: &Drawing, per_mm: f64) -> RgbImage {
    let mut picture = RgbImage::from_pixel(border(drawing.width, per_mm), border(drawing.height, per_mm), WHITE);
    for shape in &drawing.shapes {
        match shape {
            Shape::Rects { rects, ink } => {
                for r in rects {
                    let (left, top) = (border(r.x, per_mm), border(r.y, per_mm));
                    // A hairline keeps at least one pixel.
                    let right = border(r.x + r.w, per_mm).max(left + 1).min(picture.width());
                    let foot = border(r.y + r.h, per_mm).max(top + 1).min(picture.height());
                    for y in top..foot {
                        (left..right).for_each(|x| picture.put_pixel(x, y, rgb(*ink)));
                    }
                }
            }
            Shape::Triangle { points, ink } => triangle(&mut picture, points.map(|p| p.map(|v| v * per_mm)), rgb(*ink)),
            Shape::Text { at, em, weight, ink, text } => {
                let (at, em) = (at.map(|v| (v * per_mm) as f32), (em * per_mm) as f32);
                lettering::draw(&mut picture, text, (at[0], at[1]), em, *weight, rgb(*ink));
            }
        }
    }
    picture
}

/// The picture as a PNG file's bytes.
pub(super) fn encode(picture: &RgbImage, dots_per_inch: u32) -> Result<Vec<u8>, PrintError> {
    let written = |e: png::EncodingError| PrintError::Encoding { cause: e.to_string() };
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, picture.width(), picture.height());
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_source_srgb(png::SrgbRenderingIntent::RelativeColorimetric);
    let per_metre = (f64::from(dots_per_inch) / 0.0254).round() as u32;
    let unit = png::Unit::Meter;
    encoder.set_pixel_dims(Some(png::PixelDimensions { xppu: per_metre, yppu: per_metre, unit }));
    let mut writer = encoder.write_header().map_err(written)?;
    writer.write_image_data(picture).map_err(written)?;
    writer.finish().map_err(written)?;
    Ok(bytes)
}

const WHITE: Rgb<u8> = Rgb([255; 3]);

/// The pixel border nearest to a place; the millionth keeps equal places equal when they were summed in another order.
fn border(mm: f64, per_mm: f64) -> u32 {
    (mm * per_mm + 1e-6).round().max(0.0) as u32
}

fn rgb(ink: Ink) -> Rgb<u8> {
    match ink {
        Ink::Black => Rgb([0; 3]),
        Ink::White => WHITE,
        Ink::Srgb(c) => Rgb(c),
    }
}

/// A triangle with its edge pixels covered in part. Points run clockwise on the screen.
fn triangle(picture: &mut RgbImage, points: [[f64; 2]; 3], colour: Rgb<u8>) {
    let inside = |x: f64, y: f64| {
        (0..3).all(|i| {
            let ([ax, ay], [bx, by]) = (points[i], points[(i + 1) % 3]);
            (bx - ax) * (y - ay) - (by - ay) * (x - ax) >= 0.0
        })
    };
    let bound = |axis: usize| points.iter().fold((f64::MAX, f64::MIN), |(l, h), p| (l.min(p[axis]), h.max(p[axis])));
    let ((left, right), (top, foot)) = (bound(0), bound(1));
    for y in top.floor() as i64..foot.ceil() as i64 {
        for x in left.floor() as i64..right.ceil() as i64 {
            let at = |i: u32| (f64::from(i) + 0.5) / f64::from(FINE);
            let hits = (0..FINE * FINE).filter(|i| inside(x as f64 + at(i % FINE), y as f64 + at(i / FINE))).count();
            lettering::blend(picture, x, y, colour, hits as f32 / (FINE * FINE) as f32);
        }
    }
}
