//! A photo file becomes an upright picture whose pixels can be asked for in linear light.
//!
//! Takes a file or bytes; gives a [`Photo`]: size as seen upright, pixels in linear light with sRGB primaries and the
//! D65 white (f32, not clipped: a wide-gamut colour may leave 0 to 1), encoded code values for clipping checks, the
//! camera's time and name, and an identity. Promises: limits are checked on the header, before pixels; a torn file is
//! an error with its cause. Never: looks for a card, corrects colour, keeps the place the photo was taken.
//!
//! Pixels stay as decoded (8 or 16 bit, three channels, as stored); turning upright and linearising happen at the pixel,
//! so no full-frame float image exists.

mod decode;
mod error;

pub use decode::Limits;
pub use error::PhotoError;

use crate::moment::CameraTime;
use std::path::Path;

/// SHA-256 of the coded image data without metadata, as lower-case hex: the same photo renamed, copied or stripped of
/// its metadata keeps it.
pub type PhotoId = String;

/// Decoded samples, three channels interleaved, row by row, as stored in the file (not yet upright).
pub(crate) enum Samples {
    Eight(Vec<u8>),
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
    pub(crate) samples: Samples,
    pub(crate) stored: (u32, u32),
    /// EXIF orientation 1 to 8, as still to be applied.
    pub(crate) orientation: u8,
    pub(crate) to_linear: decode::ToLinear,
    facts: Facts,
    id: PhotoId,
}

impl Photo {
    /// Opens and decodes a file.
    pub fn open(path: &Path, limits: &Limits) -> Result<Self, PhotoError> {
        let bytes = decode::read_file(path, limits)?;
        Self::from_bytes(&bytes, limits)
    }

    /// Decodes a file's bytes.
    pub fn from_bytes(bytes: &[u8], limits: &Limits) -> Result<Self, PhotoError> {
        decode::decode(bytes, limits)
    }

    /// Upright width in pixels.
    pub fn width(&self) -> u32 {
        if self.orientation >= 5 { self.stored.1 } else { self.stored.0 }
    }

    /// Upright height in pixels.
    pub fn height(&self) -> u32 {
        if self.orientation >= 5 { self.stored.0 } else { self.stored.1 }
    }

    /// What the camera wrote.
    pub fn facts(&self) -> &Facts {
        &self.facts
    }

    /// The photo's identity.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// Index of the first channel of the upright pixel (x, y). Panics outside the picture, as indexing does.
    #[inline]
    fn index(&self, x: u32, y: u32) -> usize {
        let (w, h) = self.stored;
        let (sx, sy) = match self.orientation {
            2 => (w - 1 - x, y),
            3 => (w - 1 - x, h - 1 - y),
            4 => (x, h - 1 - y),
            5 => (y, x),
            6 => (y, h - 1 - x),
            7 => (w - 1 - y, h - 1 - x),
            8 => (w - 1 - y, x),
            _ => (x, y),
        };
        (sy as usize * w as usize + sx as usize) * 3
    }

    /// Code values of the upright pixel (x, y) as fractions of full scale, before any profile: for clipping and tone checks.
    #[inline]
    pub fn encoded(&self, x: u32, y: u32) -> [f32; 3] {
        let i = self.index(x, y);
        match &self.samples {
            Samples::Eight(v) => [v[i], v[i + 1], v[i + 2]].map(|c| c as f32 / 255.0),
            Samples::Sixteen(v) => [v[i], v[i + 1], v[i + 2]].map(|c| c as f32 / 65535.0),
        }
    }

    /// The upright pixel (x, y) in linear light, sRGB primaries, D65 white, not clipped.
    #[inline]
    pub fn linear(&self, x: u32, y: u32) -> [f32; 3] {
        let i = self.index(x, y);
        match &self.samples {
            Samples::Eight(v) => self.to_linear.eight([v[i], v[i + 1], v[i + 2]]),
            Samples::Sixteen(v) => self.to_linear.sixteen([v[i], v[i + 1], v[i + 2]]),
        }
    }

    /// The whole upright picture as 8-bit luma, each pixel the mean over `factor` × `factor` pixels: for finding markers.
    /// Rows and columns that do not fill a block are left out. Pixel (0, 0) covers the upright pixels 0 to `factor` − 1.
    pub fn luma(&self, factor: u32) -> image::GrayImage {
        decode::luma(self, factor.max(1))
    }
}
