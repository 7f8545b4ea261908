//! What kind of file these bytes are, by their beginning and never by the file's name.

use super::PhotoError;

/// The kinds that are decoded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Jpeg,
    Png,
    Tiff,
    WebP,
    Heic,
}

/// The kind of a file, or what it is instead.
pub(super) fn kind(bytes: &[u8]) -> Result<Kind, PhotoError> {
    let starts = |s: &[u8]| bytes.starts_with(s);
    let at = |from: usize, s: &[u8]| bytes.get(from..from + s.len()) == Some(s);
    let unsupported = |kind| Err(PhotoError::KindUnsupported { kind });
    if bytes.is_empty() {
        return Err(PhotoError::Empty);
    }
    if starts(b"\xff\xd8\xff") {
        return Ok(Kind::Jpeg);
    }
    if starts(b"\x89PNG\r\n\x1a\n") {
        return Ok(Kind::Png);
    }
    if starts(b"RIFF") && at(8, b"WEBP") {
        return Ok(Kind::WebP);
    }
    if at(4, b"ftyp") {
        return boxes(bytes);
    }
    // Some camera makers put their own letters where TIFF has the number 42.
    if at(8, b"CR\x02\0") || starts(b"IIU\0") || starts(b"IIRO") || starts(b"IIRS") || starts(b"MMOR") {
        return unsupported("a raw file from a camera");
    }
    if starts(b"II*\0") || starts(b"MM\0*") {
        return Ok(Kind::Tiff);
    }
    if starts(b"II+\0") || starts(b"MM\0+") {
        return unsupported("a BigTIFF file");
    }
    if starts(b"GIF87a") || starts(b"GIF89a") {
        return unsupported("a GIF picture");
    }
    if starts(b"BM") && at(6, &[0; 4]) {
        return unsupported("a BMP picture");
    }
    if starts(b"%PDF-") {
        return unsupported("a PDF document");
    }
    if starts(b"\xff\x0a") || at(4, b"JXL \r\n") {
        return unsupported("a JPEG XL picture");
    }
    if at(4, b"jP  \r\n") || starts(b"\xff\x4f\xff\x51") {
        return unsupported("a JPEG 2000 picture");
    }
    if starts(b"RIFF") && at(8, b"AVI ") || starts(b"\x1a\x45\xdf\xa3") || at(4, b"moov") || at(4, b"mdat") {
        return unsupported("a video");
    }
    if starts(b"PK\x03\x04") {
        return unsupported("a packed archive");
    }
    if bytes.iter().all(|&b| b == 0) {
        return Err(PhotoError::Blank { bytes: bytes.len() as u64 });
    }
    if text(bytes) {
        return Err(PhotoError::Text);
    }
    let begins = bytes.iter().take(4).map(|b| format!("{b:02x}")).collect::<Vec<_>>().join(" ");
    Err(PhotoError::KindUnknown { begins })
}

/// ISO base media files (ISO/IEC 14496-12) share the box `ftyp`; its brands say what is inside. HEIC brands after
/// ISO/IEC 23008-12.
fn boxes(bytes: &[u8]) -> Result<Kind, PhotoError> {
    let size = bytes.get(..4).map_or(0, |b| u32::from_be_bytes([b[0], b[1], b[2], b[3]])) as usize;
    let end = size.clamp(12, 256).min(bytes.len());
    // The major brand, four bytes of version, then the brands that may be read as well.
    let brands = bytes.get(8..end).unwrap_or_default().chunks_exact(4);
    let has = |name: &[u8; 4]| brands.clone().enumerate().any(|(i, b)| i != 1 && b == name);
    let still = [b"heic", b"heix", b"heim", b"heis"].into_iter().any(has);
    let unsupported = |kind| Err(PhotoError::KindUnsupported { kind });
    if has(b"avif") || has(b"avis") {
        unsupported("an AVIF picture")
    } else if still {
        Ok(Kind::Heic)
    } else if has(b"hevc") || has(b"hevx") {
        unsupported("a HEIF picture sequence")
    } else if has(b"mif1") || has(b"mif2") {
        // A general brand alone: the decoder will tell which coding it is.
        Ok(Kind::Heic)
    } else if has(b"crx ") {
        unsupported("a raw file from a camera")
    } else if bytes.len() < 12 {
        Err(PhotoError::Torn { format: "heic", cause: "it ends within its first box".into() })
    } else {
        unsupported("a video")
    }
}

/// Whether the beginning reads as text. A cut in the middle of a letter is forgiven.
fn text(bytes: &[u8]) -> bool {
    let head = &bytes[..bytes.len().min(512)];
    let s = match std::str::from_utf8(head) {
        Ok(s) => s,
        Err(e) if e.error_len().is_none() => std::str::from_utf8(&head[..e.valid_up_to()]).unwrap_or_default(),
        Err(_) => return false,
    };
    !s.is_empty() && s.chars().all(|c| !c.is_control() || matches!(c, '\n' | '\r' | '\t' | '\u{c}'))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn code(bytes: &[u8]) -> &'static str {
        kind(bytes).unwrap_err().code()
    }

    #[test]
    fn kinds_by_their_first_bytes() {
        assert_eq!(kind(b"\xff\xd8\xff\xe0").unwrap(), Kind::Jpeg);
        assert_eq!(kind(b"\x89PNG\r\n\x1a\n").unwrap(), Kind::Png);
        assert_eq!(kind(b"II*\0\x08\0\0\0").unwrap(), Kind::Tiff);
        assert_eq!(kind(b"MM\0*\0\0\0\x08").unwrap(), Kind::Tiff);
        assert_eq!(kind(b"RIFF\0\0\0\0WEBPVP8 ").unwrap(), Kind::WebP);
        assert_eq!(kind(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic").unwrap(), Kind::Heic);
        assert_eq!(kind(b"\0\0\0\x18ftypmif1\0\0\0\0mif1heic").unwrap(), Kind::Heic);
    }

    #[test]
    fn others_are_named() {
        let named = |b: &[u8]| kind(b).unwrap_err().to_string();
        assert!(named(b"GIF89a....").contains("GIF"));
        assert!(named(b"\0\0\0\x18ftypmp42\0\0\0\0isommp42").contains("video"));
        assert!(named(b"\0\0\0\x18ftypqt  \0\0\0\0qt  ....").contains("video"));
        assert!(named(b"\0\0\0\x1cftypavif\0\0\0\0avifmif1miaf").contains("AVIF"));
        assert!(named(b"II*\0\x10\0\0\0CR\x02\0").contains("raw"));
        assert!(named(b"%PDF-1.7").contains("PDF"));
        assert_eq!(code(b""), "photo-empty");
        assert_eq!(code(&[0; 900]), "photo-blank");
        assert_eq!(code(b"not a photo, called photo.jpg\n"), "photo-text");
        assert_eq!(code("Ammonium 0,25 mg/L – klar".as_bytes()), "photo-text");
        assert_eq!(code(b"\x12\x34\x56\x78\x9a"), "photo-kind-unknown");
        assert_eq!(code(b"\xff\xd8"), "photo-kind-unknown");
    }

    #[test]
    fn a_version_that_looks_like_a_brand_is_not_one() {
        assert!(kind(b"\0\0\0\x14ftypisomheicisom").unwrap_err().to_string().contains("video"));
    }
}
