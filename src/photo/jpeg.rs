//! JPEG (ITU-T T.81): one walk over the segments finds size, metadata, end and identity; zune-jpeg decodes the pixels.
//!
//! The walk comes first because the decoder does not miss an end marker: a file cut off near its end would be filled
//! with grey. What follows the end marker (a second picture, a video clip, padding) is never looked at. Nor may an end
//! marker set behind half a picture, as some tools 'repair' a file, make it whole: see [`pixels`].

use super::identity::Hasher;
use super::memory::Bytes;
use super::{Limits, PhotoError, PhotoId, Samples};
use zune_core::{bytestream::ZCursor, colorspace::ColorSpace, options::DecoderOptions};

const JPEG: &str = "jpeg";
/// A coefficient of which no scan has brought anything.
const TO_COME: u8 = 255;

/// What stands in the segments.
pub(super) struct Segments<'a> {
    pub(super) size: (u32, u32),
    /// EXIF block, from its TIFF header on.
    pub(super) exif: Option<&'a [u8]>,
    /// Colour profile, its parts joined.
    pub(super) icc: Option<Vec<u8>>,
    pub(super) id: PhotoId,
    /// The file up to and with its end marker.
    file: &'a [u8],
    /// Bytes the end marker takes, fill bytes included.
    end: usize,
    progressive: bool,
}

fn torn(cause: impl Into<String>) -> PhotoError {
    PhotoError::Torn { format: JPEG, cause: cause.into() }
}

/// Walks over all segments to the end marker. The limits are checked where the frame header is met.
pub(super) fn segments<'a>(bytes: &'a [u8], limits: &Limits) -> Result<Segments<'a>, PhotoError> {
    let mut frame: Option<Frame> = None;
    let mut exif = None;
    let mut profile = Vec::new();
    let mut scans = 0;
    let mut hasher = Hasher::new(JPEG);
    let mut pos = 2;
    let end = loop {
        let from = pos;
        let marker = next_marker(bytes, &mut pos)?;
        match marker {
            0xd9 => break pos - from,
            // Start, restart and TEM stand alone and do not belong between segments, but harm nothing.
            0x01 | 0xd0..=0xd8 => continue,
            _ => {}
        }
        let body = segment(bytes, &mut pos)?;
        match marker {
            // Application data and comments: metadata, no part of the identity.
            0xe1 if exif.is_none() && body.starts_with(b"Exif\0\0") => exif = Some(&body[6..]),
            0xe2 if body.len() > 14 && body.starts_with(b"ICC_PROFILE\0") => profile.push(&body[12..]),
            0xee if body.starts_with(b"Adobe") && body.get(11) == Some(&0) => {
                if let Some(f) = &mut frame {
                    f.adobe_plain = true
                } else {
                    frame = Some(Frame { adobe_plain: true, ..Frame::default() })
                }
            }
            0xe0..=0xef | 0xfe => {}
            _ => {
                if matches!(marker, 0xc0..=0xcf) && !matches!(marker, 0xc4 | 0xc8 | 0xcc) {
                    let plain = frame.take().is_some_and(|f| f.adobe_plain);
                    frame = Some(Frame::read(marker, body, plain, limits)?);
                }
                hasher.part(&[marker], body);
                if marker == 0xda {
                    frame.as_mut().ok_or_else(|| torn("it has no frame header"))?.scan(body)?;
                    scans += 1;
                    let from = pos;
                    skip_scan(bytes, &mut pos)?;
                    hasher.part(b"scan", &bytes[from..pos]);
                }
            }
        }
    };
    let frame = frame.filter(|f| f.components > 0).ok_or_else(|| torn("it has no frame header"))?;
    frame.fit()?;
    frame.complete()?;
    if scans > 1 && !frame.progressive {
        // The decoder takes the first scan's channel alone and makes up the others without a word.
        return Err(PhotoError::FormUnsupported { format: JPEG, form: "a scan for each channel".into() });
    }
    let (size, progressive) = (frame.size, frame.progressive);
    Ok(Segments { size, exif, icc: join(profile)?, id: hasher.finish(), file: &bytes[..pos], end, progressive })
}

#[derive(Default)]
struct Frame {
    size: (u32, u32),
    components: u8,
    progressive: bool,
    /// Identifiers of the components, and for each coefficient of each how many low bits are still to come.
    parts: Vec<(u8, [u8; 64])>,
    /// The Adobe segment says that the components are stored as they are, not as luma and chroma.
    adobe_plain: bool,
}

impl Frame {
    fn read(marker: u8, body: &[u8], adobe_plain: bool, limits: &Limits) -> Result<Self, PhotoError> {
        let &[precision, h1, h0, w1, w0, components, ..] = body else {
            return Err(torn("its frame header is too short"));
        };
        let be = |a, b| u64::from(u16::from_be_bytes([a, b]));
        let size = limits.size(JPEG, be(w1, w0), be(h1, h0))?;
        let form = |form: &str| Err(PhotoError::FormUnsupported { format: JPEG, form: form.into() });
        match marker {
            0xc0..=0xc2 if precision == 8 => {
                let parts = body[6..].chunks_exact(3).map(|c| (c[0], [TO_COME; 64])).collect();
                Ok(Self { size, components, adobe_plain, progressive: marker == 0xc2, parts })
            }
            0xc0..=0xc2 => form(&format!("{precision} bits a channel")),
            0xc3 | 0xc7 => form("lossless coding"),
            0xc9..=0xcf => form("arithmetic coding"),
            _ => form("hierarchical coding"),
        }
    }

    /// Notes what a scan brings (T.81, B.2.3): its components, coefficients, and the lowest bit sent.
    fn scan(&mut self, body: &[u8]) -> Result<(), PhotoError> {
        let short = || torn("a scan header is too short");
        let count = usize::from(*body.first().ok_or_else(short)?);
        let [first, last, bits] = *body.get(1 + 2 * count..4 + 2 * count).ok_or_else(short)? else {
            return Err(short());
        };
        for component in body[1..].chunks_exact(2).take(count) {
            for (_, left) in self.parts.iter_mut().filter(|(id, _)| *id == component[0]) {
                let sent =
                    left.get_mut(first.into()..=last.into()).ok_or_else(|| torn("a scan header makes no sense"))?;
                sent.fill(bits & 15);
            }
        }
        Ok(())
    }

    /// Whether the scans have brought every coefficient to its last bit.
    fn complete(&self) -> Result<(), PhotoError> {
        let whole = self.parts.iter().all(|(_, left)| left.iter().all(|&bits| bits == 0));
        if whole { Ok(()) } else { Err(torn("some of its scans are missing")) }
    }

    /// Whether the components are a colour picture in luma and chroma.
    fn fit(&self) -> Result<(), PhotoError> {
        match (self.components, self.adobe_plain) {
            (3, false) => Ok(()),
            (3, true) => Err(PhotoError::FormUnsupported {
                format: JPEG,
                form: "red, green and blue stored without the usual luma and chroma".into(),
            }),
            (1 | 2, _) => Err(PhotoError::GreyOnly { format: JPEG }),
            (4, _) => Err(PhotoError::Inks { format: JPEG }),
            (n, _) => Err(PhotoError::FormUnsupported { format: JPEG, form: format!("{n} channels") }),
        }
    }
}

/// The next marker's second byte; leaves `pos` behind it. Fill bytes before a marker are allowed.
fn next_marker(bytes: &[u8], pos: &mut usize) -> Result<u8, PhotoError> {
    if bytes.get(*pos) != Some(&0xff) {
        return Err(torn(match bytes.get(*pos) {
            None => "it ends before its end marker",
            Some(_) => "a marker is missing between its segments",
        }));
    }
    while bytes.get(*pos) == Some(&0xff) {
        *pos += 1;
    }
    let marker = *bytes.get(*pos).ok_or_else(|| torn("it ends before its end marker"))?;
    *pos += 1;
    if marker == 0 { Err(torn("a marker is missing between its segments")) } else { Ok(marker) }
}

fn segment<'a>(bytes: &'a [u8], pos: &mut usize) -> Result<&'a [u8], PhotoError> {
    let short = || torn("it ends within a segment");
    let &[a, b] = bytes.get(*pos..*pos + 2).ok_or_else(short)? else { return Err(short()) };
    let len = usize::from(u16::from_be_bytes([a, b]));
    if len < 2 {
        return Err(torn("a segment has an impossible length"));
    }
    let body = bytes.get(*pos + 2..*pos + len).ok_or_else(short)?;
    *pos += len;
    Ok(body)
}

/// Steps over entropy-coded data up to the next marker that is no restart.
fn skip_scan(bytes: &[u8], pos: &mut usize) -> Result<(), PhotoError> {
    loop {
        let rest = bytes.get(*pos..).unwrap_or_default();
        let at = memchr::memchr(0xff, rest).ok_or_else(|| torn("it ends within the picture data"))?;
        match rest.get(at + 1) {
            None => return Err(torn("it ends within the picture data")),
            Some(0 | 0xd0..=0xd7) => *pos += at + 2,
            Some(0xff) => *pos += at + 1,
            Some(_) => {
                *pos += at;
                return Ok(());
            }
        }
    }
}

/// Joins the numbered parts of a profile (ICC.1, annex B.4).
fn join(mut parts: Vec<&[u8]>) -> Result<Option<Vec<u8>>, PhotoError> {
    if parts.is_empty() {
        return Ok(None);
    }
    parts.sort_by_key(|p| p[0]);
    let complete =
        parts.iter().enumerate().all(|(i, p)| usize::from(p[0]) == i + 1 && usize::from(p[1]) == parts.len());
    if !complete {
        return Err(PhotoError::ProfileBroken { format: JPEG, cause: "one of its parts is missing or doubled".into() });
    }
    Ok(Some(parts.iter().flat_map(|p| &p[2..]).copied().collect()))
}

/// Decodes the pixels. Strict: data that ends early is an error, not a grey area.
///
/// The decoder takes an end marker in mid-picture for the end and makes up the rest in silence; the end of the file it
/// does not forgive. So a sequential picture is given without its end marker, and with a few bytes more that a whole
/// picture never reaches. A progressive one needs its marker; there a missing scan has been noticed before, and what a cut
/// in the last scan can leave out is the last bit of fine detail.
pub(super) fn pixels(segments: &Segments, limits: &Limits) -> Result<Samples, PhotoError> {
    let side = limits.side as usize;
    let options = DecoderOptions::default()
        .set_strict_mode(true)
        .set_max_width(side)
        .set_max_height(side)
        .jpeg_set_out_colorspace(ColorSpace::RGB);
    let open;
    let file = if segments.progressive {
        segments.file
    } else {
        // One copy of the coded file, a few hundredths of the decoding time.
        open = [&segments.file[..segments.file.len() - segments.end], &[0; 8]].concat();
        &open
    };
    let mut decoder = zune_jpeg::JpegDecoder::new_with_options(ZCursor::new(file), options);
    let broken = |e: zune_jpeg::errors::DecodeErrors| torn(e.to_string());
    decoder.decode_headers().map_err(broken)?;
    let (w, h) = segments.size;
    let length = w as usize * h as usize * 3;
    if decoder.output_buffer_size() != Some(length) {
        return Err(torn("the decoder gave another size than the header says"));
    }
    let mut room = Bytes::new(length);
    decoder.decode_into(room.all_mut()).map_err(broken)?;
    Ok(Samples::Eight(room))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frame(marker: u8, components: u8) -> Vec<u8> {
        let mut b = b"\xff\xd8\xff".to_vec();
        b.push(marker);
        let len = 8 + 3 * u16::from(components);
        b.extend(len.to_be_bytes());
        b.extend([8, 0, 16, 0, 16, components]);
        b.extend(std::iter::repeat_n([1, 0x11, 0], components.into()).flatten());
        b.extend(b"\xff\xd9");
        b
    }

    fn code(bytes: &[u8]) -> &'static str {
        segments(bytes, &Limits::default()).err().map_or("none", |e| e.code())
    }

    #[test]
    fn only_colour_frames_of_the_usual_coding_pass() {
        // Whole but for its scans.
        assert!(segments(&frame(0xc0, 3), &Limits::default()).err().unwrap().to_string().contains("scans are missing"));
        assert_eq!(code(&frame(0xc0, 1)), "photo-grey-only");
        assert_eq!(code(&frame(0xc0, 4)), "photo-inks");
        assert_eq!(code(&frame(0xc3, 3)), "photo-form-unsupported");
        assert_eq!(code(&frame(0xc9, 3)), "photo-form-unsupported");
        assert_eq!(code(b"\xff\xd8\xff\xd9"), "photo-torn");
    }

    #[test]
    fn coefficients_are_counted_to_their_last_bit() {
        let body = [8, 0, 16, 0, 16, 3, 1, 0x11, 0, 2, 0x11, 0, 3, 0x11, 0];
        let mut f = Frame::read(0xc2, &body, false, &Limits::default()).unwrap();
        f.scan(&[3, 1, 0, 2, 0, 3, 0, 0, 0, 1]).unwrap();
        for c in 1..=3 {
            f.scan(&[1, c, 0, 1, 63, 0]).unwrap();
        }
        assert!(f.complete().is_err(), "the last bit of the means is missing");
        f.scan(&[3, 1, 0, 2, 0, 3, 0, 0, 0, 0x10]).unwrap();
        assert!(f.complete().is_ok());
        assert!(f.scan(&[1, 1, 0, 5, 64, 0]).is_err() && f.scan(&[1, 1]).is_err());
    }

    #[test]
    fn profile_parts_are_joined_in_their_order() {
        assert_eq!(join(vec![&[2, 2, 7, 8], &[1, 2, 5, 6]]).unwrap().unwrap(), [5, 6, 7, 8]);
        assert_eq!(join(vec![&[1, 2, 5]]).unwrap_err().code(), "photo-profile-broken");
        assert_eq!(join(vec![&[1, 2, 5], &[1, 2, 6]]).unwrap_err().code(), "photo-profile-broken");
    }

    #[test]
    fn the_scan_ends_at_a_marker_that_is_no_restart() {
        let bytes = b"\x12\xff\x00\x34\xff\xd3\x56\xff\xff\xd9";
        let mut pos = 0;
        skip_scan(bytes, &mut pos).unwrap();
        assert_eq!(pos, 8);
        assert!(skip_scan(&bytes[..7], &mut 0).is_err());
    }
}
