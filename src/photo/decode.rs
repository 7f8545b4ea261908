//! From bytes to a photo: each format's parts, put together.

use super::exif::{Declared, Exif};
use super::linear::{Depth, ToLinear};
use super::png::Colour;
use super::sniff::Kind;
use super::turn::Turn;
use super::{Facts, Limits, Photo, PhotoError, PhotoId, Samples};
use super::{exif, icc, jpeg, png, raster, sniff, spaces, tiff, webp, xmp};
use image::ImageDecoder;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// A format's way from bytes to a photo.
type Way = fn(&[u8], &Limits) -> Result<Photo, PhotoError>;

/// Decodes a file's bytes.
pub(super) fn decode(bytes: &[u8], limits: &Limits) -> Result<Photo, PhotoError> {
    limits.file(bytes.len() as u64)?;
    let (format, from): (_, Way) = match sniff::kind(bytes)? {
        Kind::Jpeg => ("jpeg", from_jpeg),
        Kind::Png => ("png", from_png),
        Kind::Tiff => ("tiff", from_tiff),
        Kind::WebP => ("webp", from_webp),
        Kind::Heic => ("heic", from_heic),
    };
    // Photos come from anywhere and decoders are large; a panic inside one must not take the program with it.
    let photo = catch_unwind(AssertUnwindSafe(|| from(bytes, limits)));
    let mut photo = photo.unwrap_or(Err(PhotoError::DecoderFailed { format }))?;
    let facts = &mut photo.facts;
    if facts.taken.is_none() {
        facts.taken = xmp::taken(bytes);
        if facts.taken.is_some() {
            facts.remarks.push("The date is from XMP; the camera data (EXIF) has none.".into());
        }
    }
    Ok(photo)
}

fn from_jpeg(bytes: &[u8], limits: &Limits) -> Result<Photo, PhotoError> {
    let segments = jpeg::segments(bytes, limits)?;
    let exif = segments.exif.map(exif::read).unwrap_or_default();
    let colour = way("jpeg", segments.icc.as_deref(), None, &exif, Depth::Eight)?;
    let samples = jpeg::pixels(&segments, limits)?;
    let picture = Picture { samples, stored: segments.size, clear: false, turned: false };
    photo("jpeg", picture, exif, colour, segments.id)
}

fn from_png(bytes: &[u8], limits: &Limits) -> Result<Photo, PhotoError> {
    let chunks = png::chunks(bytes, limits)?;
    let mut decoder = png::decoder(bytes, limits)?;
    let depth = depth(&decoder);
    let (profile, block) = raster::extras(&mut decoder);
    let exif = block.map(|b| exif::read(&b)).unwrap_or_default();
    let (profile, said) = match chunks.colour {
        Colour::CodePoints(p, t) => (None, Some(spaces::signalled("png", p, t, depth)?)),
        Colour::Profile => (Some(profile.ok_or_else(|| unreadable("png"))?), None),
        Colour::Srgb => (None, Some((ToLinear::srgb(depth), None))),
        Colour::Power(power, primaries) => {
            let space = spaces::with_curve(primaries, depth, |v| v.powf(1.0 / power));
            (None, Some((space.ok_or_else(|| unreadable("png"))?, None)))
        }
        Colour::Unsaid => (None, None),
    };
    let colour = way("png", profile.as_deref(), said, &exif, depth)?;
    let (samples, clear) = raster::decode("png", decoder)?;
    photo("png", Picture { samples, stored: chunks.size, clear, turned: false }, exif, colour, chunks.id)
}

fn from_webp(bytes: &[u8], limits: &Limits) -> Result<Photo, PhotoError> {
    let chunks = webp::chunks(bytes, limits)?;
    let mut decoder = webp::decoder(bytes, limits)?;
    let (profile, block) = raster::extras(&mut decoder);
    if chunks.profile && profile.is_none() {
        return Err(unreadable("webp"));
    }
    let exif = block.map(|b| exif::read(b.strip_prefix(b"Exif\0\0").unwrap_or(&b))).unwrap_or_default();
    let colour = way("webp", profile.as_deref(), None, &exif, Depth::Eight)?;
    let (samples, clear) = raster::decode("webp", decoder)?;
    photo("webp", Picture { samples, stored: chunks.size, clear, turned: false }, exif, colour, chunks.id)
}

fn from_tiff(bytes: &[u8], limits: &Limits) -> Result<Photo, PhotoError> {
    let directory = tiff::directory(bytes, limits)?;
    let decoder = tiff::decoder(bytes, limits)?;
    let exif = exif::read(bytes);
    let colour = way("tiff", directory.profile, None, &exif, depth(&decoder))?;
    let (samples, clear) = raster::decode("tiff", decoder)?;
    let id = tiff::id(&samples, directory.size);
    photo("tiff", Picture { samples, stored: directory.size, clear, turned: false }, exif, colour, id)
}

#[cfg(feature = "heic")]
fn from_heic(bytes: &[u8], limits: &Limits) -> Result<Photo, PhotoError> {
    use super::heic;
    let container = heic::container(bytes, limits)?;
    let exif = container.exif.as_deref().map(exif::read).unwrap_or_default();
    let said = match container.code_points {
        Some((p, t)) if container.icc.is_none() => Some(spaces::signalled("heic", p, t, container.depth)?),
        _ => None,
    };
    let colour = way("heic", container.icc.as_deref(), said, &exif, container.depth)?;
    let heic::Picture { size, samples, clear } = heic::pixels(bytes, container.depth, limits)?;
    photo("heic", Picture { samples, stored: size, clear, turned: true }, exif, colour, container.id)
}

#[cfg(not(feature = "heic"))]
fn from_heic(_: &[u8], _: &Limits) -> Result<Photo, PhotoError> {
    Err(PhotoError::HeicLeftOut)
}

fn unreadable(format: &'static str) -> PhotoError {
    PhotoError::ProfileBroken { format, cause: "it cannot be unpacked".into() }
}

fn depth(decoder: &impl ImageDecoder) -> Depth {
    let colour = decoder.color_type();
    if colour.bytes_per_pixel() > colour.channel_count() { Depth::Sixteen } else { Depth::Eight }
}

/// The way to linear light, the profile's name, and what there is to remark on it.
type ToLight = (ToLinear, Option<String>, Option<String>);

/// The way to linear light: the profile, else what the file says otherwise, else what the camera data says, else sRGB.
fn way(
    format: &'static str,
    profile: Option<&[u8]>,
    said: Option<(ToLinear, Option<String>)>,
    exif: &Exif,
    depth: Depth,
) -> Result<ToLight, PhotoError> {
    if let Some(bytes) = profile {
        let profile = icc::read(format, bytes, depth)?;
        return Ok((profile.to_linear, Some(profile.name.unwrap_or_else(|| "unnamed".into())), None));
    }
    if let Some((to_linear, remark)) = said {
        return Ok((to_linear, None, remark));
    }
    let dcf = || spaces::with_curve(spaces::DCF_OPTION, depth, |v| v.powf(spaces::DCF_OPTION_GAMMA));
    let remark = match exif.colour {
        Declared::Srgb => None,
        Declared::DcfOption => match dcf() {
            Some(space) => return Ok((space, None, Some("The colours are in the wide optional space of DCF.".into()))),
            None => None,
        },
        Declared::Other => Some("The camera says that the colours are not sRGB and gives no profile; read as sRGB."),
        Declared::Nothing => Some("The file does not say what its colours mean; read as sRGB."),
    };
    Ok((ToLinear::srgb(depth), None, remark.map(Into::into)))
}

struct Picture {
    samples: Samples,
    stored: (u32, u32),
    /// Some pixels are not opaque.
    clear: bool,
    /// The decoder has turned it upright.
    turned: bool,
}

fn photo(
    format: &'static str,
    picture: Picture,
    exif: Exif,
    (to_linear, profile, remark): ToLight,
    id: PhotoId,
) -> Result<Photo, PhotoError> {
    let mut remarks = exif.remarks;
    remarks.extend(remark);
    if picture.clear {
        remarks.push("Parts of the picture are transparent; their colours are taken as stored.".into());
    }
    let (w, h) = picture.stored;
    let samples = match &picture.samples {
        Samples::Eight(v) => v.len(),
        Samples::Sixteen(v) => v.len(),
    };
    if samples != w as usize * h as usize * 3 {
        return Err(PhotoError::Torn { format, cause: "the decoder gave another size than the header says".into() });
    }
    let orientation = if picture.turned { 1 } else { exif.orientation.unwrap_or(1) };
    let facts = Facts { taken: exif.taken, camera: exif.camera, format, profile, remarks };
    Ok(Photo { samples: picture.samples, turn: Turn::new(picture.stored, orientation), to_linear, facts, id })
}
