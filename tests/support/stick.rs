//! Labels stuck on the card in a photo: the program's own prints seen through the photo's own perspective, in its own light.

use crate::pictures::{self, Extras, text};
use exif::Tag;
use image::{ImageDecoder, ImageReader, Rgb, RgbImage, imageops};
use std::io::Cursor;
use tintline::card::{self, Layout, Plane};
use tintline::colour::{decode_srgb, encode_srgb};
use tintline::faces::print::{LabelText, label_picture};
use tintline::photo::{Limits, Photo};

/// A photo taken apart, to be changed and coded again.
pub struct Scene {
    pub picture: RgbImage,
    icc: Option<Vec<u8>>,
}

/// A label and how it lies.
#[derive(Clone, Copy)]
pub struct Stuck {
    pub number: u32,
    /// The middle of its marker, mm on the card.
    pub at: [f64; 2],
    /// Turned clockwise, degrees.
    pub turned: f64,
    /// Share of its width, from the right, that something grey lies on.
    pub covered: f64,
}

/// The middle of the marker of a label laid as it ought to be: a test's at the left of its station, a target's at the right.
pub fn place(station: &str, number: u32) -> [f64; 2] {
    let layout = Layout::first();
    let i = layout.stations.names.iter().position(|n| n == station).unwrap();
    [layout.stations.x[i] + if number < 256 { -6.2 } else { 6.2 }, 32.7]
}

/// A label laid as it ought to be.
pub fn straight(station: &str, number: u32) -> Stuck {
    Stuck { number, at: place(station, number), turned: 0.0, covered: 0.0 }
}

impl Scene {
    /// Of a photo, turned upright; of its metadata only the profile stays.
    pub fn of(bytes: &[u8]) -> Self {
        let mut decoder = ImageReader::new(Cursor::new(bytes)).with_guessed_format().unwrap().into_decoder().unwrap();
        let (icc, orientation) = (decoder.icc_profile().unwrap(), decoder.orientation().unwrap());
        let mut picture = image::DynamicImage::from_decoder(decoder).unwrap();
        picture.apply_orientation(orientation);
        Self { picture: picture.to_rgb8(), icc }
    }

    /// Smaller by a factor.
    pub fn scaled(mut self, factor: f64) -> Self {
        let [w, h] = [self.picture.width(), self.picture.height()].map(|n| (f64::from(n) * factor).round() as u32);
        self.picture = imageops::resize(&self.picture, w, h, imageops::FilterType::Triangle);
        self
    }

    /// The photo's bytes.
    pub fn jpeg(&self) -> Vec<u8> {
        let taken = [(Tag::DateTimeOriginal, "2026:03:01 18:30:00"), (Tag::OffsetTimeOriginal, "+01:00")];
        let exif = pictures::exif(&taken.map(|(tag, at)| (tag, text(at))));
        pictures::jpeg(&self.picture, &Extras { exif: Some(exif), icc: self.icc.clone() })
    }

    /// With other metadata, or none.
    pub fn jpeg_with(&self, exif: Option<Vec<u8>>) -> Vec<u8> {
        pictures::jpeg(&self.picture, &Extras { exif, icc: self.icc.clone() })
    }

    pub fn photo(&self) -> Photo {
        Photo::from_bytes(&self.jpeg(), &Limits::default()).unwrap()
    }

    /// Where the card lies.
    pub fn plane(&self) -> Plane {
        card::find(&self.photo(), &Layout::first()).unwrap().plane
    }

    /// With labels on the card. What is not bare paper in the photo stands before them: caps.
    pub fn stick(mut self, labels: &[Stuck]) -> Self {
        let plane = self.plane();
        for label in labels {
            self.one(&plane, label);
        }
        self
    }

    fn one(&mut self, plane: &Plane, label: &Stuck) {
        const PRINT: f64 = 20.0;
        let text = LabelText { number: label.number, words: "in plain words".into(), kind: "test".into() };
        let print = label_picture(&text, PRINT).unwrap();
        let [wide, high] = card::labels::SIZE;
        let (sin, cos) = label.turned.to_radians().sin_cos();
        let near = plane.px(label.at);
        let reach = (14.0 * plane.scale(label.at)) as i64;
        for y in near[1] as i64 - reach..near[1] as i64 + reach {
            for x in near[0] as i64 - reach..near[0] as i64 + reach {
                let Some(pixel) = self.picture.get_pixel_mut_checked(x as u32, y as u32) else { continue };
                let light = pixel.0.map(|c| decode_srgb(f64::from(c) / 255.0));
                // Nine samples a pixel, of the label's reflectance or of none where it does not reach.
                let mut sum = [0.0; 3];
                for k in 0..9 {
                    let part = |n: i64| (n as f64 + 0.5) / 3.0 - 0.5;
                    let [u, v] = plane.mm([x as f64 + part(k % 3), y as f64 + part(k / 3)]);
                    let (dx, dy) = (u - label.at[0], v - label.at[1]);
                    let on = [
                        cos * dx + sin * dy + wide / 2.0,
                        cos * dy - sin * dx + card::labels::TOP + card::labels::EDGE / 2.0,
                    ];
                    let inside = (0.0..wide).contains(&on[0]) && (0.0..high).contains(&on[1]);
                    let over = match inside {
                        false => [1.0; 3],
                        true if on[0] > wide * (1.0 - label.covered) => [0.35; 3],
                        // Paper a little lighter and bluer than the card's, ink that reflects a twentieth.
                        true => {
                            let p = print.get_pixel((on[0] * PRINT) as u32, (on[1] * PRINT) as u32).0[0];
                            [1.02, 1.03, 1.05].map(|white| white * (0.05 + 0.95 * decode_srgb(f64::from(p) / 255.0)))
                        }
                    };
                    (0..3).for_each(|c| sum[c] += over[c] / 9.0);
                }
                let (low, high) = light.iter().fold((1.0f64, 0.0f64), |(l, h), v| (l.min(*v), h.max(*v)));
                if low < 0.12 || high > 2.2 * low {
                    continue;
                }
                *pixel =
                    Rgb([0, 1, 2].map(|c| (encode_srgb(light[c] * sum[c]) * 255.0).round().clamp(0.0, 255.0) as u8));
            }
        }
    }
}

/// Four vials with caps, 7.7 pixels a millimetre.
pub fn friday() -> Scene {
    Scene::of(&pictures::fixture("photos/demo/friday.jpg"))
}
