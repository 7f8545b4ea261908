//! What a file says without its pixels: when it was taken, and which photo it is.

use super::sniff::{self, Kind};
use super::{Limits, PhotoError, PhotoId};
use super::{exif, jpeg, png, tiff, webp, xmp};
use crate::moment::CameraTime;
use ::exif::Reader;
use std::fs::File;
use std::io::{BufReader, Read, Seek, SeekFrom};
use std::path::Path;

/// How far into a file without a date in EXIF one is looked for in XMP, which stands before the pixels or is a small part.
const BEGINNING: u64 = 1 << 18;

/// What a file's beginning says. Nothing here is sure: the file may be torn further down.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Peek {
    /// The camera's time.
    pub taken: Option<CameraTime>,
    /// Whether its decoder needs many times the memory and time of the others.
    pub heavy: bool,
}

/// Looks at a file's metadata alone, reading no more of it than that needs. What cannot be read says nothing.
pub fn peek(path: &Path, limits: &Limits) -> Peek {
    let look = || {
        // Opening a pipe would wait for its writer, and could be done but once; a huge file is refused later.
        if !std::fs::metadata(path).is_ok_and(|m| m.is_file() && m.len() <= limits.bytes) {
            return None;
        }
        let mut file = File::open(path).ok()?;
        let mut head = [0; 64];
        let n = file.read(&mut head).ok()?;
        let heavy = matches!(sniff::kind(&head[..n]), Ok(Kind::Heic));
        file.seek(SeekFrom::Start(0)).ok()?;
        let mut reader = Reader::new();
        let mut file = BufReader::new(file);
        let found = reader.continue_on_error(true).read_from_container(&mut file);
        let found = found.or_else(|e| e.distill_partial_result(|_| {}));
        let taken = found.ok().and_then(|e| exif::read(e.buf()).taken);
        let taken = taken.or_else(|| {
            let mut beginning = Vec::new();
            file.seek(SeekFrom::Start(0)).ok()?;
            file.take(BEGINNING).read_to_end(&mut beginning).ok()?;
            xmp::taken(&beginning)
        });
        Some(Peek { taken, heavy })
    };
    look().unwrap_or_default()
}

/// The identity of a photo, found without decoding a pixel; an error where the file is not whole. None for TIFF, whose
/// identity is that of its pixels.
pub fn identify(bytes: &[u8], limits: &Limits) -> Result<Option<PhotoId>, PhotoError> {
    limits.file(bytes.len() as u64)?;
    Ok(match sniff::kind(bytes)? {
        Kind::Jpeg => Some(jpeg::segments(bytes, limits)?.id),
        Kind::Png => Some(png::chunks(bytes, limits)?.id),
        Kind::WebP => Some(webp::chunks(bytes, limits)?.id),
        Kind::Tiff => tiff::directory(bytes, limits).map(|_| None)?,
        #[cfg(feature = "heic")]
        Kind::Heic => Some(super::heic::container(bytes, limits)?.id),
        #[cfg(not(feature = "heic"))]
        Kind::Heic => return Err(PhotoError::HeicLeftOut),
    })
}
