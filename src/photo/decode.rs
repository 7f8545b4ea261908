//! Bytes to samples (first, thin version).

use super::{Facts, Photo, PhotoError, Samples};
use std::path::Path;

/// What may be decoded.
#[derive(Debug, Clone)]
pub struct Limits {
    pub pixels: u64,
    pub bytes: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self { pixels: 120_000_000, bytes: 120_000_000 }
    }
}

pub(crate) fn read_file(path: &Path, _limits: &Limits) -> Result<Vec<u8>, PhotoError> {
    std::fs::read(path).map_err(|cause| PhotoError::Unreadable { path: path.into(), cause })
}

pub(crate) struct ToLinear {
    table: Vec<f32>,
    matrix: Option<[[f32; 3]; 3]>,
}

impl ToLinear {
    #[inline]
    pub(crate) fn eight(&self, c: [u8; 3]) -> [f32; 3] {
        let l = c.map(|v| self.table[v as usize]);
        match &self.matrix {
            None => l,
            Some(m) => [0, 1, 2].map(|i| m[i][0] * l[0] + m[i][1] * l[1] + m[i][2] * l[2]),
        }
    }
    #[inline]
    pub(crate) fn sixteen(&self, c: [u16; 3]) -> [f32; 3] {
        self.eight(c.map(|v| (v >> 8) as u8))
    }
}

pub(crate) fn decode(bytes: &[u8], _limits: &Limits) -> Result<Photo, PhotoError> {
    use image::ImageDecoder;
    let torn = |e: image::ImageError| PhotoError::Torn { format: "image", cause: e.to_string() };
    let p3;
    let orientation;
    let img;
    if bytes.len() > 12 && &bytes[4..8] == b"ftyp" {
        let d = heifer::decode_rgba8(bytes, &Default::default())
            .map_err(|e| PhotoError::Torn { format: "heic", cause: format!("{e:?}") })?;
        orientation = 1;
        p3 = true;
        img = image::DynamicImage::ImageRgba8(
            image::RgbaImage::from_raw(d.width as u32, d.height as u32, d.data.to_vec()).unwrap(),
        )
        .to_rgb8();
    } else {
        let mut d = image::ImageReader::new(std::io::Cursor::new(bytes))
            .with_guessed_format()
            .unwrap()
            .into_decoder()
            .map_err(torn)?;
        orientation = d.orientation().map_err(torn)?.to_exif();
        let icc = d.icc_profile().map_err(torn)?;
        p3 = icc.is_some_and(|b| b.windows(2).any(|w| w == b"P3") || b.windows(4).any(|w| w == b"\0P\x003"));
        img = image::DynamicImage::from_decoder(d).map_err(torn)?.to_rgb8();
    }
    let table = (0..256)
        .map(|i| {
            let v = i as f32 / 255.0;
            if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
        })
        .collect();
    let matrix =
        p3.then_some([[1.2249401, -0.2249402, 0.0], [-0.0420569, 1.0420571, 0.0], [-0.0196376, -0.0786361, 1.0982735]]);
    Ok(Photo {
        stored: img.dimensions(),
        samples: Samples::Eight(img.into_raw()),
        orientation,
        to_linear: ToLinear { table, matrix },
        facts: Facts::default(),
        id: String::new(),
    })
}

pub(crate) fn luma(photo: &Photo, factor: u32) -> image::GrayImage {
    let (w, h) = (photo.width() / factor, photo.height() / factor);
    image::GrayImage::from_fn(w, h, |x, y| {
        let mut s = 0.0;
        for j in 0..factor {
            for i in 0..factor {
                let [r, g, b] = photo.encoded(x * factor + i, y * factor + j);
                s += 0.299 * r + 0.587 * g + 0.114 * b;
            }
        }
        image::Luma([(s / (factor * factor) as f32 * 255.0 + 0.5) as u8])
    })
}
