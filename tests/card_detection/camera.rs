//! Pictures of a drawn card as a pinhole camera sees it, in linear light; every place in them is known.

use image::imageops::flip_horizontal;
use image::{Rgb, Rgb32FImage, RgbImage};
use nalgebra::{Matrix3, Rotation3, Vector3};
use tintline::card::{CardNumber, Layout};
use tintline::colour::{decode_srgb, encode_srgb};
use tintline::faces::print::{self, Dpi, PHOTO_PRINT};
use tintline::photo::{Limits, Photo};

use crate::pictures::{Extras, jpeg};

/// A printed card.
#[derive(Clone)]
pub(crate) struct Print {
    coded: RgbImage,
    /// Linear light of a code value.
    light: Vec<f32>,
    /// Millimetres of the print left and above of the card.
    margin: [f64; 2],
    per_mm: f64,
}

impl Print {
    pub(crate) fn new(layout: &Layout, number: Option<CardNumber>) -> Self {
        let drawn = print::png(layout, number, Dpi::D600).unwrap();
        let coded = image::load_from_memory(&drawn).unwrap().to_rgb8();
        let margin = [(PHOTO_PRINT[0] - layout.width) / 2.0, (PHOTO_PRINT[1] - layout.height) / 2.0];
        let per_mm = f64::from(coded.width()) / PHOTO_PRINT[0];
        // White paper returns four fifths of the light.
        let light = (0..=255).map(|v| 0.8 * decode_srgb(f64::from(v) / 255.0) as f32).collect();
        Self { coded, light, margin, per_mm }
    }

    /// With something dark laid on it, over a square of these millimetres.
    pub(crate) fn covered(mut self, x: f64, y: f64, edge: f64) -> Self {
        let at = |v: f64, axis: usize| ((v + self.margin[axis]) * self.per_mm).round() as u32;
        let (x0, y0, x1, y1) = (at(x, 0), at(y, 1), at(x + edge, 0), at(y + edge, 1));
        for y in y0..y1 {
            (x0..x1).for_each(|x| self.coded.put_pixel(x, y, Rgb([90, 80, 70])));
        }
        self
    }

    /// Light of a place, millimetres of the card; None beside the print.
    fn at(&self, mm: [f64; 2]) -> Option<[f32; 3]> {
        let [x, y] = [0, 1].map(|axis| (mm[axis] + self.margin[axis]) * self.per_mm);
        let inside = 0.0 <= x && x < f64::from(self.coded.width()) && 0.0 <= y && y < f64::from(self.coded.height());
        inside.then(|| self.coded.get_pixel(x as u32, y as u32).0.map(|v| self.light[usize::from(v)]))
    }
}

/// How the card stands before the camera.
#[derive(Clone, Copy)]
pub(crate) struct Pose {
    /// Turned about the upright, the level and the viewing axis, degrees.
    pub yaw: f64,
    pub pitch: f64,
    pub roll: f64,
    /// Pixels per millimetre in the card's middle, seen straight on.
    pub scale: f64,
    /// Where the card's middle lies in the picture, in parts of its size.
    pub middle: [f64; 2],
}

impl Pose {
    pub(crate) const STRAIGHT: Pose = Pose { yaw: 0.0, pitch: 0.0, roll: 0.0, scale: 5.0, middle: [0.5, 0.5] };
}

/// Width and height of all pictures.
const SIZE: [u32; 2] = [1008, 756];
/// Focal length in pixels: a phone's main camera, about 65° across.
pub(crate) const FOCAL: f64 = 790.0;

/// Pixels of places on a card.
pub(crate) struct View(Matrix3<f64>);

impl View {
    pub(crate) fn new(layout: &Layout, pose: Pose) -> Self {
        let turn = Rotation3::from_euler_angles(pose.pitch.to_radians(), pose.yaw.to_radians(), 0.0);
        let turn = Rotation3::from_axis_angle(&Vector3::z_axis(), pose.roll.to_radians()) * turn;
        let away = FOCAL / pose.scale;
        let (a, b) = (turn * Vector3::x(), turn * Vector3::y());
        let middle = Vector3::new(0.0, 0.0, away) - (a * layout.width + b * layout.height) / 2.0;
        let [cx, cy] = [0, 1].map(|i| pose.middle[i] * f64::from(SIZE[i]) - 0.5);
        let camera = Matrix3::new(FOCAL, 0.0, cx, 0.0, FOCAL, cy, 0.0, 0.0, 1.0);
        Self(camera * Matrix3::from_columns(&[a, b, middle]))
    }

    /// The pixel of a place, the centre of the first pixel being (0, 0).
    pub(crate) fn px(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let v = self.0 * Vector3::new(x, y, 1.0);
        [v.x / v.z, v.y / v.z]
    }
}

/// A picture before it is coded: linear light.
pub(crate) struct Picture(pub Rgb32FImage);

impl Picture {
    /// An empty table.
    pub(crate) fn table() -> Self {
        Self(Rgb32FImage::from_fn(SIZE[0], SIZE[1], |x, y| {
            // Boards, so that it is not quite plain.
            let v = 0.10 + 0.03 * ((x as f32 / 90.0 + y as f32 / 700.0).sin());
            Rgb([v, v * 0.8, v * 0.6])
        }))
    }

    /// Adds a card. `flatten` tells which place of the print is seen at a place of the plane it would lie in, were it flat.
    pub(crate) fn add(mut self, print: &Print, view: &View, flatten: impl Fn([f64; 2]) -> [f64; 2]) -> Self {
        let h = view.0.try_inverse().unwrap();
        let rows = [0, 1, 2].map(|r| [h[(r, 0)], h[(r, 1)], h[(r, 2)]]);
        // 3 × 3 samples a pixel.
        const FINE: u32 = 3;
        for (x, y, pixel) in self.0.enumerate_pixels_mut() {
            let at = |dx: f64, dy: f64| {
                let [u, v, w] = rows.map(|r| r[0] * (f64::from(x) + dx) + r[1] * (f64::from(y) + dy) + r[2]);
                flatten([u / w, v / w])
            };
            let [u, v] = at(0.0, 0.0);
            if !(-5.0..=155.0).contains(&u) || !(-5.0..=105.0).contains(&v) {
                continue;
            }
            let mut sum = [0.0f32; 3];
            for i in 0..FINE * FINE {
                let part = |n: u32| (f64::from(n) + 0.5) / f64::from(FINE) - 0.5;
                let colour = print.at(at(part(i % FINE), part(i / FINE))).unwrap_or(pixel.0);
                (0..3).for_each(|c| sum[c] += colour[c]);
            }
            pixel.0 = sum.map(|s| s / (FINE * FINE) as f32);
        }
        self
    }

    /// Each pixel's light changed, by its place in parts of the picture's size.
    pub(crate) fn lit(mut self, change: impl Fn([f32; 3], [f32; 2]) -> [f32; 3]) -> Self {
        let (w, h) = (self.0.width() as f32, self.0.height() as f32);
        self.0.enumerate_pixels_mut().for_each(|(x, y, p)| p.0 = change(p.0, [x as f32 / w, y as f32 / h]));
        self
    }

    /// Spreads edges by a Gaussian of this standard deviation, pixels.
    pub(crate) fn blurred(self, sigma: f64) -> Self {
        // imageproc cuts its kernel at two standard deviations, which would take an eighth off the width asked for.
        let reach = (4.0 * sigma).ceil() as i32;
        let weight: Vec<f64> = (-reach..=reach).map(|i| (-0.5 * (f64::from(i) / sigma).powi(2)).exp()).collect();
        let total: f64 = weight.iter().sum();
        let kernel: Vec<f32> = weight.iter().map(|w| (w / total) as f32).collect();
        Self(imageproc::filter::separable_filter_equal(&self.0, &kernel))
    }

    /// The picture as a camera codes it, with a little noise.
    pub(crate) fn coded(&self) -> RgbImage {
        let mut seed = 1u32;
        RgbImage::from_fn(self.0.width(), self.0.height(), |x, y| {
            Rgb(self.0.get_pixel(x, y).0.map(|v| {
                // Sum of two even deviates from a linear congruential generator: one code value of noise.
                let mut even = || {
                    seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    f64::from(seed >> 8) / f64::from(1 << 24) - 0.5
                };
                let noise = 2.4 * (even() + even());
                (255.0 * encode_srgb(f64::from(v)) + noise).round().clamp(0.0, 255.0) as u8
            }))
        })
    }

    /// As a photo, through JPEG.
    pub(crate) fn photo(&self) -> Photo {
        Photo::from_bytes(&jpeg(&self.coded(), &Extras::default()), &Limits::default()).unwrap()
    }

    /// As a photo turned into its mirror image.
    pub(crate) fn mirrored(&self) -> Photo {
        let coded = flip_horizontal(&self.coded());
        Photo::from_bytes(&jpeg(&coded, &Extras::default()), &Limits::default()).unwrap()
    }
}

/// Which place of a card bent back about its upright middle line, its left and right edges `sagitta` millimetres behind
/// the middle, is seen at a place of the plane through that line, from this many millimetres away.
pub(crate) fn unrolled(seen: [f64; 2], sagitta: f64, away: f64) -> [f64; 2] {
    let (half, middle) = (75.0, [75.0, 50.0]);
    let radius = half * half / (2.0 * sagitta);
    let (u, v) = (seen[0] - middle[0], seen[1] - middle[1]);
    // Farther places look smaller: by how much depends on the place itself.
    let mut larger = 1.0;
    let mut along = u;
    for _ in 0..20 {
        along = radius * (u * larger / radius).clamp(-1.0, 1.0).asin();
        larger = 1.0 + radius * (1.0 - (along / radius).cos()) / away;
    }
    [middle[0] + along, middle[1] + v * larger]
}
