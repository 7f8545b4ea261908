//! TIFF 6.0: a look at the first directory tells photos from raw files, then the `image` crate decodes.

use super::identity::Hasher;
use super::{Limits, PhotoError, PhotoId, Samples, raster};
use image::ImageDecoder;
use image::codecs::tiff::TiffDecoder;
use std::io::Cursor;

const TIFF: &str = "tiff";

/// What the first directory says.
pub(super) struct Directory<'a> {
    pub(super) size: (u32, u32),
    /// The embedded profile. (The `image` crate does not give it where it is of the type 'undefined', as it should be.)
    pub(super) profile: Option<&'a [u8]>,
}

/// Tags of the first directory that matter before decoding.
mod tag {
    pub(super) const NEW_SUBFILE_TYPE: u16 = 254;
    pub(super) const WIDTH: u16 = 256;
    pub(super) const HEIGHT: u16 = 257;
    pub(super) const PHOTOMETRIC: u16 = 262;
    pub(super) const ICC: u16 = 34675;
    /// Only raw files in the DNG form have it.
    pub(super) const DNG_VERSION: u16 = 50706;
}

/// Looks through the first directory (TIFF 6.0, section 2). The limits are checked here.
pub(super) fn directory<'a>(bytes: &'a [u8], limits: &Limits) -> Result<Directory<'a>, PhotoError> {
    let big = bytes.starts_with(b"MM");
    let torn = || PhotoError::Torn { format: TIFF, cause: "its directory lies outside the file".into() };
    let u16_at = |at: usize| {
        let b = bytes.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if big { u16::from_be_bytes(b) } else { u16::from_le_bytes(b) })
    };
    let u32_at = |at: usize| {
        let b = bytes.get(at..at.checked_add(4)?)?.try_into().ok()?;
        Some(if big { u32::from_be_bytes(b) } else { u32::from_le_bytes(b) })
    };
    let start = u32_at(4).ok_or_else(torn)? as usize;
    let count = u16_at(start).ok_or_else(torn)?;
    let (mut width, mut height, mut profile, mut raw) = (0, 0, None, false);
    for i in 0..usize::from(count) {
        let at = start + 2 + 12 * i;
        let (id, kind) = (u16_at(at).ok_or_else(torn)?, u16_at(at + 2).ok_or_else(torn)?);
        let value = match kind {
            3 => u16_at(at + 8).map(u32::from),
            _ => u32_at(at + 8),
        }
        .ok_or_else(torn)?;
        match id {
            tag::WIDTH => width = value,
            tag::HEIGHT => height = value,
            tag::ICC => {
                let (len, from) =
                    (u32_at(at + 4).ok_or_else(torn)? as usize, u32_at(at + 8).ok_or_else(torn)? as usize);
                let end = from.checked_add(len).ok_or_else(torn)?;
                profile = Some(bytes.get(from..end).ok_or_else(torn)?);
            }
            tag::DNG_VERSION => raw = true,
            // A reduced copy in the first directory, or a colour filter array: the photo proper lies elsewhere.
            tag::NEW_SUBFILE_TYPE => raw |= value & 1 != 0,
            tag::PHOTOMETRIC => raw |= matches!(value, 32803 | 34892),
            _ => {}
        }
    }
    if raw {
        return Err(PhotoError::KindUnsupported { kind: "a raw file from a camera" });
    }
    Ok(Directory { size: limits.size(TIFF, width.into(), height.into())?, profile })
}

/// The decoder, which has read the first directory only.
pub(super) fn decoder<'a>(bytes: &'a [u8], limits: &Limits) -> Result<TiffDecoder<Cursor<&'a [u8]>>, PhotoError> {
    let mut decoder = TiffDecoder::new(Cursor::new(bytes)).map_err(|e| raster::error(TIFF, e))?;
    raster::check(TIFF, &decoder)?;
    decoder.set_limits(raster::limits(limits)).map_err(|e| raster::error(TIFF, e))?;
    Ok(decoder)
}

/// Identity by the decoded samples, little-endian.
pub(super) fn id(samples: &Samples, (w, h): (u32, u32)) -> PhotoId {
    let mut hasher = Hasher::new(TIFF);
    hasher.part(b"size", format!("{w} {h}").as_bytes());
    match samples {
        Samples::Eight(v) => hasher.part(b"8", v),
        Samples::Sixteen(v) => {
            // In pieces of a few rows' length, so that no second picture is held.
            let chunks = v.chunks(1 << 16).map(|c| c.iter().flat_map(|x| x.to_le_bytes()).collect::<Vec<u8>>());
            for c in chunks {
                hasher.part(b"16", &c);
            }
        }
    }
    hasher.finish()
}
