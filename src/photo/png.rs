//! PNG (W3C Portable Network Graphics, third edition): one walk over the chunks finds size, colour and identity, then
//! the `image` crate decodes.

use super::identity::Hasher;
use super::spaces::{self, Primaries};
use super::{Limits, PhotoError, PhotoId, raster};
use image::codecs::png::PngDecoder;
use std::io::Cursor;

const PNG: &str = "png";

/// How the file says its numbers are to be read, best first (PNG, 4.3).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Colour {
    /// Code points of ITU-T H.273: primaries, transfer.
    CodePoints(u16, u16),
    /// A profile is embedded.
    Profile,
    /// Said to be sRGB.
    Srgb,
    /// A power and primaries.
    Power(f64, Primaries),
    /// Nothing is said.
    Unsaid,
}

pub(super) struct Chunks {
    pub(super) size: (u32, u32),
    pub(super) colour: Colour,
    pub(super) id: PhotoId,
}

fn torn(cause: impl Into<String>) -> PhotoError {
    PhotoError::Torn { format: PNG, cause: cause.into() }
}

/// Walks over all chunks to IEND. The limits are checked at the header.
pub(super) fn chunks(bytes: &[u8], limits: &Limits) -> Result<Chunks, PhotoError> {
    let mut rest = &bytes[8..];
    let mut size = None;
    let mut data = Vec::new();
    let mut hasher = Hasher::new(PNG);
    let (mut code_points, mut profile, mut srgb, mut gamma, mut chroma) = (None, false, false, None, None);
    loop {
        let [a, b, c, d, n0, n1, n2, n3, ..] = *rest else { return Err(torn("it ends before its last chunk")) };
        let len = u32::from_be_bytes([a, b, c, d]) as usize;
        let body = rest.get(8..8 + len).ok_or_else(|| torn("it ends within a chunk"))?;
        rest = rest.get(12 + len..).ok_or_else(|| torn("it ends within a chunk"))?;
        let be = |i: usize| body.get(i..i + 4).map_or(0, |b| u32::from_be_bytes([b[0], b[1], b[2], b[3]]));
        match (&[n0, n1, n2, n3], size) {
            (b"IHDR", None) if len == 13 => {
                size = Some(limits.size(PNG, be(0).into(), be(4).into())?);
                hasher.part(b"IHDR", body);
            }
            (_, None) => return Err(torn("it has no header")),
            (b"PLTE" | b"tRNS", _) => hasher.part(&[n0, n1, n2, n3], body),
            (b"IDAT", _) => data.push(body),
            (b"cICP", _) if len == 4 => code_points = Some((body[0].into(), body[1].into())),
            (b"iCCP", _) => profile = true,
            (b"sRGB", _) => srgb = true,
            (b"gAMA", _) if len == 4 => gamma = Some(f64::from(be(0)) / 1e5),
            (b"cHRM", _) if len == 32 => {
                let xy = |i: usize| [f64::from(be(i)) / 1e5, f64::from(be(i + 4)) / 1e5];
                chroma = Some(Primaries { white: xy(0), rgb: [xy(8), xy(16), xy(24)] });
            }
            (b"IEND", _) => break,
            _ => {}
        }
    }
    if data.is_empty() {
        return Err(torn("it has no picture data"));
    }
    hasher.pieces(b"IDAT", data.iter().copied());
    let colour = match code_points {
        Some((p, t)) => Colour::CodePoints(p, t),
        None if profile => Colour::Profile,
        None if srgb => Colour::Srgb,
        None => power(gamma, chroma),
    };
    let size = size.ok_or_else(|| torn("it has no header"))?;
    Ok(Chunks { size, colour, id: hasher.finish() })
}

/// The older chunks gAMA and cHRM. The power 1/2.2 with no or sRGB primaries is how old programs say sRGB.
fn power(gamma: Option<f64>, chroma: Option<Primaries>) -> Colour {
    let near = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).abs() < 2e-3 && (a[1] - b[1]).abs() < 2e-3;
    let ordinary = chroma.is_none_or(|c| {
        near(c.white, spaces::SRGB.white) && c.rgb.iter().zip(spaces::SRGB.rgb).all(|(a, b)| near(*a, b))
    });
    match gamma {
        None => Colour::Unsaid,
        Some(g) if ordinary && (g - 1.0 / 2.2).abs() < 1e-3 => Colour::Srgb,
        Some(g) => Colour::Power(g, chroma.unwrap_or(spaces::SRGB)),
    }
}

/// The decoder, which has read up to the picture data.
pub(super) fn decoder<'a>(bytes: &'a [u8], limits: &Limits) -> Result<PngDecoder<Cursor<&'a [u8]>>, PhotoError> {
    let decoder =
        PngDecoder::with_limits(Cursor::new(bytes), raster::limits(limits)).map_err(|e| raster::error(PNG, e))?;
    raster::check(PNG, &decoder)?;
    Ok(decoder)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn old_gamma_chunks() {
        assert_eq!(power(None, None), Colour::Unsaid);
        assert_eq!(power(Some(0.45455), None), Colour::Srgb);
        assert_eq!(power(Some(0.45455), Some(spaces::SRGB)), Colour::Srgb);
        assert_eq!(power(Some(1.0), None), Colour::Power(1.0, spaces::SRGB));
        assert_eq!(power(Some(0.45455), Some(spaces::P3)), Colour::Power(0.45455, spaces::P3));
    }
}
