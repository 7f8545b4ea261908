//! Photos of the drawn card with drawn vials before it: quick to make, and lifelike enough to be read.

use crate::pictures::{self, Extras, exif, text};
use exif::Tag;
use image::{Rgb, RgbImage, imageops};
use tintline::card::{CardNumber, Layout};
use tintline::colour::{decode_srgb, encode_srgb};
use tintline::faces::print::{self, Dpi};

/// Photo pixels a millimetre of the card.
const PER_MM: f64 = 6.0;
/// Where the card's top left corner lies, in pixels.
const CARD: [f64; 2] = [110.0, 80.0];
const SIZE: (u32, u32) = (1120, 780);
/// How much light falls on the paper, of what would overexpose it.
const LIGHT: f64 = 0.62;

/// Of a vial, in millimetres on the card: half its outer width, its wall, its top, the liquid's surface and foot.
const HALF: f64 = 9.5;
const WALL: f64 = 1.1;
const TOP: f64 = 52.0;
const SURFACE: f64 = 70.0;
const FOOT: f64 = 99.0;

/// What takes light out of red, green and blue for each unit of the demo reagent.
pub const DYE: [f64; 3] = [0.03, 0.30, 0.12];

/// A photo to be taken.
#[derive(Clone, Default)]
pub struct Shot {
    vials: Vec<(String, [f64; 3])>,
    strip: Option<(f64, Vec<[f64; 3]>)>,
    taken: Option<(String, Option<String>)>,
    camera: Option<String>,
    number: Option<u32>,
    roll: u32,
    bare: bool,
}

impl Shot {
    pub fn new() -> Self {
        Self::default()
    }

    /// Of a table without a card.
    pub fn bare() -> Self {
        Self { bare: true, ..Self::default() }
    }

    /// A vial at a station whose liquid takes light by so many ln units from red, green and blue.
    pub fn vial(mut self, station: &str, absorbs: [f64; 3]) -> Self {
        self.vials.push((station.to_string(), absorbs));
        self
    }

    /// A vial with `amount` of what the demo reagent colours, on the yellow of the reagent itself.
    pub fn dyed(self, station: &str, amount: f64) -> Self {
        self.vial(station, [0, 1, 2].map(|c| DYE[c] * amount + [0.02, 0.04, 0.25][c]))
    }

    /// A strip in the bay, turned by so many degrees (its handle to the right at 0): what its pads take from red, green and blue.
    pub fn strip(mut self, degrees: f64, pads: &[[f64; 3]]) -> Self {
        self.strip = Some((degrees, pads.to_vec()));
        self
    }

    /// With the camera's clock, as EXIF writes it, and the offset if it knows one.
    pub fn taken(mut self, at: &str, offset: Option<&str>) -> Self {
        self.taken = Some((at.to_string(), offset.map(str::to_string)));
        self
    }

    /// By a phone of this name.
    pub fn camera(mut self, name: &str) -> Self {
        self.camera = Some(name.to_string());
        self
    }

    /// Of a numbered print.
    pub fn number(mut self, number: u32) -> Self {
        self.number = Some(number);
        self
    }

    /// Another photo of the same things.
    pub fn retake(mut self) -> Self {
        self.roll += 1;
        self
    }

    pub fn jpeg(&self) -> Vec<u8> {
        self.jpeg_of(&self.picture())
    }

    /// With the picture changed by hand.
    pub fn jpeg_after(&self, change: impl FnOnce(RgbImage) -> RgbImage) -> Vec<u8> {
        self.jpeg_of(&change(self.picture()))
    }

    fn jpeg_of(&self, picture: &RgbImage) -> Vec<u8> {
        let mut fields = Vec::new();
        if let Some((at, offset)) = &self.taken {
            fields.push((Tag::DateTimeOriginal, text(at)));
            fields.extend(offset.as_deref().map(|o| (Tag::OffsetTimeOriginal, text(o))));
        }
        fields.extend(self.camera.as_deref().map(|c| (Tag::Model, text(c))));
        let exif = (!fields.is_empty()).then(|| exif(&fields));
        pictures::jpeg(picture, &Extras { exif, icc: None })
    }

    fn picture(&self) -> RgbImage {
        let layout = Layout::first();
        let number = self.number.and_then(CardNumber::new);
        let card = image::load_from_memory(&print::png(&layout, number, Dpi::D300).unwrap()).unwrap().to_rgb8();
        let size = [152.4, 101.6].map(|mm| (mm * PER_MM).round() as u32);
        let card = imageops::resize(&card, size[0], size[1], imageops::FilterType::Triangle);
        let mut out = RgbImage::from_pixel(SIZE.0, SIZE.1, Rgb([150, 140, 126]));
        if self.bare {
            return out;
        }
        imageops::replace(&mut out, &card, (CARD[0] - 1.2 * PER_MM) as i64, (CARD[1] - 0.8 * PER_MM) as i64);
        for (x, y, pixel) in out.enumerate_pixels_mut() {
            let mm = [(f64::from(x) - CARD[0]) / PER_MM, (f64::from(y) - CARD[1]) / PER_MM];
            let mut light = pixel.0.map(|c| decode_srgb(f64::from(c) / 255.0) * LIGHT);
            for (station, absorbs) in &self.vials {
                through(&mut light, mm, station, absorbs, &layout);
            }
            if let Some((degrees, pads)) = &self.strip {
                on_strip(&mut light, mm, *degrees, pads);
            }
            // Noise of half a code value: a sensor has some, and a covariance of nothing is no covariance.
            let grain = |c: usize| (grain(x, y, c as u32, self.roll) - 0.5) / 255.0;
            pixel.0 = [0, 1, 2].map(|c| ((encode_srgb(light[c]) + grain(c)) * 255.0).round().clamp(0.0, 255.0) as u8);
        }
        out
    }
}

/// A strip's measures, mm: length, width, pad, pitch, from the end in the water to the middle of pad 1.
pub const STRIP: [f64; 5] = [70.0, 6.0, 5.0, 7.5, 4.5];

/// What a strip, its pads and its shadow leave of the light on the paper.
fn on_strip(light: &mut [f64; 3], mm: [f64; 2], degrees: f64, pads: &[[f64; 3]]) {
    let [length, width, pad, pitch, end] = STRIP;
    let (sin, cos) = degrees.to_radians().sin_cos();
    // From the middle of pad 1, along and across; the strip's middle lies at the middle of the bay.
    let within = |[x, y]: [f64; 2]| {
        let d = [x - 75.0, y - 62.0];
        [d[0] * cos + d[1] * sin + length / 2.0 - end, d[1] * cos - d[0] * sin]
    };
    let on = |[u, v]: [f64; 2]| -end <= u && u <= length - end && v.abs() <= width / 2.0;
    let q = within(mm);
    let ink = if on(q) {
        let near = (q[0] / pitch).round();
        let inside = (q[0] - near * pitch).abs().max(q[1].abs()) < pad / 2.0;
        pads.get(near.max(0.0) as usize).filter(|_| inside && near >= 0.0).copied().unwrap_or([0.02; 3])
    } else if on(within([mm[0] - 0.7, mm[1] - 0.7])) {
        [0.2; 3]
    } else {
        return;
    };
    for c in 0..3 {
        light[c] *= (-ink[c]).exp();
    }
}

/// What a vial leaves of the light behind it.
fn through(light: &mut [f64; 3], [x, y]: [f64; 2], station: &str, absorbs: &[f64; 3], layout: &Layout) {
    let place = layout.stations.names.iter().position(|n| n == station).unwrap_or_else(|| panic!("station {station}"));
    let across = (x - layout.stations.x[place]).abs();
    if across > HALF || !(TOP..FOOT + 1.0).contains(&y) {
        return;
    }
    let glass = if across > HALF - WALL { 0.9 } else { 0.03 };
    let liquid = (SURFACE..FOOT).contains(&y) && across <= HALF - 0.5 * WALL;
    // The surface is seen as a line, the glass below the liquid as a dark one.
    let line = if (y - SURFACE).abs() < 0.4 || y > FOOT { 0.5 } else { 0.0 };
    for c in 0..3 {
        let dye = if liquid { absorbs[c] } else { 0.0 };
        light[c] *= (-(glass * if liquid { 0.5 } else { 1.0 } + line + dye)).exp();
    }
}

/// A number from 0 to 1 that looks random; the same for the same place.
fn grain(x: u32, y: u32, channel: u32, roll: u32) -> f64 {
    let mut n =
        x.wrapping_mul(0x9e37_79b1) ^ y.wrapping_mul(0x85eb_ca77) ^ (channel * 7 + roll).wrapping_mul(0xc2b2_ae3d);
    n ^= n >> 15;
    n = n.wrapping_mul(0x2c1b_3c6d);
    n ^= n >> 12;
    n = n.wrapping_mul(0x297a_2d39);
    f64::from(n ^ (n >> 15)) / f64::from(u32::MAX)
}
