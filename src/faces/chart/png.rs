//! A scene as PNG.

use super::ChartError;
use super::scene::{Anchor, Pen, Scene, Shape, Tone};
use crate::faces::lettering::{self, Weight};
use crate::faces::stroke;
use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder, Rgb, RgbImage};

/// Samples along each side of a pixel at edges.
const FINE: u32 = 4;
/// Corners of a disc.
const ROUND: u32 = 40;

pub(super) fn png(scene: &Scene, width: u32) -> Result<Vec<u8>, ChartError> {
    let picture = pixels(scene, width);
    let mut bytes = Vec::new();
    PngEncoder::new(&mut bytes)
        .write_image(picture.as_raw(), picture.width(), picture.height(), ExtendedColorType::Rgb8)
        .map_err(|e| ChartError::Encoding { cause: e.to_string() })?;
    Ok(bytes)
}

fn pixels(scene: &Scene, width: u32) -> RgbImage {
    let scale = f64::from(width) / scene.width;
    let mut picture = RgbImage::from_pixel(width, (scene.height * scale).ceil() as u32, colour(Tone::Ground));
    let place = |p: &[f64; 2]| p.map(|v| v * scale);
    let line = |picture: &mut RgbImage, points: &[[f64; 2]], closed: bool, pen: &Pen| {
        // Pixels' middles lie at whole numbers there.
        let points: Vec<[f32; 2]> = points.iter().map(|p| place(p).map(|v| (v - 0.5) as f32)).collect();
        let dash = pen.dash.map(|d| d.map(|v| (v * scale) as f32));
        stroke::lay(picture, &points, closed, (pen.width * scale) as f32, dash, colour(pen.tone));
    };
    for shape in &scene.shapes {
        match shape {
            Shape::Line { points, pen } => line(&mut picture, points, false, pen),
            Shape::Area { points, fill, pen } => {
                let corners: Vec<[f64; 2]> = points.iter().map(place).collect();
                area(&mut picture, &corners, colour(*fill));
                pen.iter().for_each(|pen| line(&mut picture, points, true, pen));
            }
            Shape::Disc { at, radius, fill, pen } => {
                let corner = |i: u32| {
                    let (sin, cos) = (f64::from(i) * std::f64::consts::TAU / f64::from(ROUND)).sin_cos();
                    [at[0] + radius * cos, at[1] + radius * sin]
                };
                let corners: Vec<[f64; 2]> = (0..ROUND).map(corner).collect();
                area(&mut picture, &corners.iter().map(place).collect::<Vec<_>>(), colour(*fill));
                line(&mut picture, &corners, true, pen);
            }
            Shape::Text { at, em, bold, tone, anchor, text } => {
                let weight = if *bold { Weight::Bold } else { Weight::Regular };
                let ([x, y], em) = (place(at).map(|v| v as f32), (em * scale) as f32);
                let wide = lettering::width(text, em, weight);
                let x = match anchor {
                    Anchor::Start => x,
                    Anchor::Middle => x - wide / 2.0,
                    Anchor::End => x - wide,
                };
                lettering::draw(&mut picture, text, (x, y), em, weight, colour(*tone));
            }
            Shape::Begin { .. } | Shape::End => {}
        }
    }
    picture
}

/// A filled area with its edge pixels covered in part.
fn area(picture: &mut RgbImage, points: &[[f64; 2]], ink: Rgb<u8>) {
    let bound = |axis: usize| points.iter().fold((f64::MAX, f64::MIN), |(l, h), p| (l.min(p[axis]), h.max(p[axis])));
    let ((left, right), (top, foot)) = (bound(0), bound(1));
    let inside = |x: f64, y: f64| {
        let mut odd = false;
        for (i, a) in points.iter().enumerate() {
            let b = points[(i + 1) % points.len()];
            if (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]) {
                odd = !odd;
            }
        }
        odd
    };
    for y in top.floor() as i64..foot.ceil() as i64 {
        for x in left.floor() as i64..right.ceil() as i64 {
            let at = |i: u32| (f64::from(i) + 0.5) / f64::from(FINE);
            let hits = (0..FINE * FINE).filter(|i| inside(x as f64 + at(i % FINE), y as f64 + at(i / FINE))).count();
            lettering::blend(picture, x, y, ink, hits as f32 / (FINE * FINE) as f32);
        }
    }
}

fn colour(tone: Tone) -> Rgb<u8> {
    match tone {
        Tone::Ink => Rgb([0; 3]),
        Tone::Soft => Rgb([119; 3]),
        Tone::Ground => Rgb([255; 3]),
    }
}
