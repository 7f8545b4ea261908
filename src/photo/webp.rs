//! WebP (RFC 9649): one walk over the RIFF chunks finds size and identity, then the `image` crate decodes.

use super::identity::Hasher;
use super::{Limits, PhotoError, PhotoId, raster};
use image::ImageDecoder;
use image::codecs::webp::WebPDecoder;
use std::io::Cursor;

const WEBP: &str = "webp";

pub(super) struct Chunks {
    pub(super) size: (u32, u32),
    pub(super) id: PhotoId,
    /// Whether a profile chunk stands in the file.
    pub(super) profile: bool,
}

fn torn(cause: impl Into<String>) -> PhotoError {
    PhotoError::Torn { format: WEBP, cause: cause.into() }
}

/// Walks over all chunks to the end the RIFF header names. The limits are checked where the coded picture begins.
pub(super) fn chunks(bytes: &[u8], limits: &Limits) -> Result<Chunks, PhotoError> {
    let le = |b: &[u8]| u32::from_le_bytes([b[0], b[1], b[2], b[3]]) as usize;
    let end = 8 + bytes.get(4..8).map_or(0, le);
    let mut rest = bytes.get(12..end).ok_or_else(|| torn("it is shorter than it says"))?;
    let mut hasher = Hasher::new(WEBP);
    let (mut size, mut profile) = (None, false);
    while let Some(head) = rest.get(..8) {
        let len = le(&head[4..]);
        let body = rest.get(8..8 + len).ok_or_else(|| torn("a chunk is longer than the file"))?;
        match &head[..4] {
            b"VP8 " | b"VP8L" => {
                let (w, h) = frame(&head[..4], body).ok_or_else(|| torn("its picture has no header"))?;
                size = Some(limits.size(WEBP, w, h)?);
                hasher.part(&head[..4], body);
            }
            b"VP8X" if body.len() >= 10 => {
                let three = |i: usize| u64::from(u32::from_le_bytes([body[i], body[i + 1], body[i + 2], 0])) + 1;
                limits.size(WEBP, three(4), three(7))?;
                if body[0] & 2 != 0 {
                    return Err(PhotoError::FormUnsupported {
                        format: WEBP,
                        form: "several frames (an animation)".into(),
                    });
                }
            }
            b"ALPH" => hasher.part(b"ALPH", body),
            b"ICCP" => profile = true,
            _ => {}
        }
        // Chunks are padded to an even length; the last pad may be missing.
        rest = rest.get(8 + len + len % 2..).unwrap_or_default();
    }
    let size = size.ok_or_else(|| torn("it holds no picture"))?;
    Ok(Chunks { size, id: hasher.finish(), profile })
}

/// Width and height in the coded picture's own header (RFC 9649 section 3.4; RFC 6386 section 9.1).
fn frame(name: &[u8], body: &[u8]) -> Option<(u64, u64)> {
    if name == b"VP8L" {
        let b = body.get(..5).filter(|b| b[0] == 0x2f)?;
        let bits = u64::from(u32::from_le_bytes([b[1], b[2], b[3], b[4]]));
        return Some(((bits & 0x3fff) + 1, (bits >> 14 & 0x3fff) + 1));
    }
    let b = body.get(..10).filter(|b| b[3..6] == [0x9d, 0x01, 0x2a])?;
    let side = |i: usize| u64::from(u16::from_le_bytes([b[i], b[i + 1]]) & 0x3fff);
    Some((side(6), side(8)))
}

/// The decoder, which has read the headers only.
pub(super) fn decoder<'a>(bytes: &'a [u8], limits: &Limits) -> Result<WebPDecoder<Cursor<&'a [u8]>>, PhotoError> {
    let mut decoder = WebPDecoder::new(Cursor::new(bytes)).map_err(|e| raster::error(WEBP, e))?;
    decoder.set_limits(raster::limits(limits)).map_err(|e| raster::error(WEBP, e))?;
    raster::check(WEBP, &decoder)?;
    Ok(decoder)
}
