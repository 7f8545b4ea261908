//! A photo file becomes an upright picture whose pixels can be asked for in linear light.
//!
//! Takes a file or bytes; gives a [`Photo`]: size as seen upright, pixels in linear light with sRGB primaries and the
//! D65 white (f32, not clipped: a wide-gamut colour may leave 0 to 1), encoded code values for clipping checks, the
//! camera's time and name, and an identity. Promises: limits are checked on the header, before pixels; a torn file is
//! an error with its cause, never a grey area; the embedded colour profile is honoured or the photo is refused. Never:
//! looks for a card, corrects colour, keeps the place the photo was taken.
//!
//! Pixels stay as decoded (8 or 16 bit, three channels, as stored); turning upright and linearising happen at the pixel,
//! so no full-frame float image exists.
//!
//! One way through: `limits` and `sniff` look at the file, `jpeg`, `png`, `tiff`, `webp` or `heic` walk over its parts and
//! decode, `exif` reads the camera's data, `icc` and `spaces` find the way to linear light, which `linear` then goes at
//! each pixel.

mod curve;
mod decode;
mod error;
mod exif;
#[cfg(feature = "heic")]
mod heic;
mod icc;
mod identity;
mod jpeg;
mod limits;
mod linear;
mod luma;
mod lut;
mod memory;
mod peek;
mod png;
mod raster;
mod reduce;
mod sniff;
mod spaces;
mod tiff;
mod turn;
mod webp;
mod xmp;

pub use error::{Fault, PhotoError};
pub use limits::{Limits, read_file};
pub use peek::{Peek, identify, peek};

use crate::moment::CameraTime;
use std::path::Path;

/// SHA-256 of the coded image data without metadata, as lower-case hex: the same photo renamed, copied or stripped of
/// its metadata keeps it.
pub type PhotoId = String;

/// Decoded samples, three channels interleaved, row by row, as stored in the file (not yet upright).
enum Samples {
    Eight(memory::Bytes),
    Sixteen(Vec<u16>),
}

/// What the camera wrote beside the pixels.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Facts {
    /// Date and time as written.
    pub taken: Option<CameraTime>,
    /// Maker and model as written.
    pub camera: Option<String>,
    /// File kind: `jpeg`, `png`, `tiff`, `webp`, `heic`.
    pub format: &'static str,
    /// Name of the embedded colour profile, if there was one.
    pub profile: Option<String>,
    /// Things a keeper may want to know about this file, such as a broken metadata block that was passed over.
    pub remarks: Vec<String>,
}

/// A decoded photo. Coordinates are upright pixels, origin top left, x right, y down; the centre of the first pixel is (0, 0).
pub struct Photo {
    samples: Samples,
    turn: turn::Turn,
    to_linear: linear::ToLinear,
    facts: Facts,
    id: PhotoId,
}

/// One pixel: linear light as [`Photo::linear`] gives it, code values as [`Photo::encoded`] does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pixel {
    pub linear: [f32; 3],
    pub encoded: [f32; 3],
}

impl Photo {
    /// Opens and decodes a file.
    pub fn open(path: &Path, limits: &Limits) -> Result<Self, PhotoError> {
        let bytes = limits::read_file(path, limits)?;
        Self::from_bytes(&bytes, limits)
    }

    /// Decodes a file's bytes.
    pub fn from_bytes(bytes: &[u8], limits: &Limits) -> Result<Self, PhotoError> {
        decode::decode(bytes, limits)
    }

    /// Upright width in pixels.
    #[inline]
    pub fn width(&self) -> u32 {
        self.turn.upright().0
    }

    /// Upright height in pixels.
    #[inline]
    pub fn height(&self) -> u32 {
        self.turn.upright().1
    }

    /// What the camera wrote.
    pub fn facts(&self) -> &Facts {
        &self.facts
    }

    /// The photo's identity.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// Bits a channel, as kept: 8 or 16.
    pub fn bits(&self) -> u32 {
        match &self.samples {
            Samples::Eight(_) => 8,
            Samples::Sixteen(_) => 16,
        }
    }

    /// Code values of the upright pixel (x, y) as fractions of full scale, before any profile: for clipping and tone
    /// checks. Panics outside the picture, as indexing does.
    #[inline]
    pub fn encoded(&self, x: u32, y: u32) -> [f32; 3] {
        self.encoded_at(self.turn.index(x, y))
    }

    #[inline]
    fn encoded_at(&self, pixel: usize) -> [f32; 3] {
        match &self.samples {
            Samples::Eight(v) => three(v, pixel * 3).map(|c| f32::from(c) / 255.0),
            Samples::Sixteen(v) => three(v, pixel * 3).map(|c| f32::from(c) / 65535.0),
        }
    }

    /// The upright pixel (x, y) in linear light, sRGB primaries, D65 white, not clipped. Panics outside the picture, as
    /// indexing does.
    #[inline]
    pub fn linear(&self, x: u32, y: u32) -> [f32; 3] {
        self.linear_at(self.turn.index(x, y))
    }

    #[inline]
    fn linear_at(&self, pixel: usize) -> [f32; 3] {
        let [r, g, b] = match &self.samples {
            Samples::Eight(v) => three(v, pixel * 3).map(usize::from),
            Samples::Sixteen(v) => three(v, pixel * 3).map(usize::from),
        };
        self.to_linear.at(r, g, b)
    }

    /// Whether neighbours in memory are neighbours downwards, not to the right: whoever picks pixels here and there reads
    /// fastest along that way.
    #[inline]
    pub fn lies_on_its_side(&self) -> bool {
        self.turn.on_its_side()
    }

    /// Reads the pixels nearest to places given in upright pixels, in their order; beyond the picture, those of its border.
    /// As [`Photo::linear`] and [`Photo::encoded`], several times faster.
    #[inline]
    pub fn nearest(&self, places: impl Iterator<Item = [f64; 2]>, mut each: impl FnMut(Pixel)) {
        match (&self.samples, &self.to_linear) {
            // What nearly every photo is: its own loop, with nothing to decide at the pixel.
            (Samples::Eight(v), linear::ToLinear { curves: [r, g, b], then: linear::Then::Done }) => {
                let v: &[u8] = v;
                for place in places {
                    let p = three(v, self.turn.nearest(place) * 3);
                    let linear = [r[usize::from(p[0])], g[usize::from(p[1])], b[usize::from(p[2])]];
                    let code = |c: u8| f32::from(c) * (1.0 / 255.0);
                    each(Pixel { linear, encoded: [code(p[0]), code(p[1]), code(p[2])] });
                }
            }
            _ => {
                for place in places {
                    let i = self.turn.nearest(place);
                    each(Pixel { linear: self.linear_at(i), encoded: self.encoded_at(i) });
                }
            }
        }
    }

    /// The whole upright picture as 8-bit luma, each pixel the mean over `factor` × `factor` pixels: for finding markers.
    /// Rows and columns that do not fill a block are left out. Pixel (0, 0) covers the upright pixels 0 to `factor` − 1.
    pub fn luma(&self, factor: u32) -> image::GrayImage {
        luma::luma(self, factor)
    }

    /// A quick look at the whole upright picture in grey: as [`Photo::luma`], but of each block only the green of four pixels
    /// is read. Enough for markers in decent light, in a fifth of the time.
    pub fn glance(&self, factor: u32) -> image::GrayImage {
        luma::glance(self, factor)
    }

    /// The same photo with pixels averaged over `factor` × `factor`, code values as they are: as decoding it smaller would give
    /// it, for measuring what that would cost in accuracy. The program reads photos at full size.
    pub fn reduced(self, factor: u32) -> Self {
        reduce::reduced(self, factor)
    }

    /// Whether the picture has no colour anywhere, as a camera's black-and-white filter leaves it: on a grid of about
    /// ten thousand pixels red, green and blue are never more than 1 % of full scale apart.
    pub fn colourless(&self) -> bool {
        let step = |n: u32| n.div_ceil(100) as usize;
        let (w, h) = (self.width(), self.height());
        let apart = |[r, g, b]: [f32; 3]| r.max(g).max(b) - r.min(g).min(b);
        (0..h).step_by(step(h)).all(|y| (0..w).step_by(step(w)).all(|x| apart(self.encoded(x, y)) <= 0.01))
    }
}

#[inline]
fn three<T: Copy>(v: &[T], i: usize) -> [T; 3] {
    let p = &v[i..i + 3];
    [p[0], p[1], p[2]]
}
