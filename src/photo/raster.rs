//! Decoded pictures of the `image` crate become three channels of 8 or 16 bits; alpha is left out.

use super::{PhotoError, Samples};
use image::{ColorType, DynamicImage, ExtendedColorType, ImageDecoder, ImageError};
use std::io::ErrorKind;

/// Refuses pictures without colour, with printing inks, or with numbers that are no code values, before pixels.
pub(super) fn check(format: &'static str, decoder: &impl ImageDecoder) -> Result<(), PhotoError> {
    use ColorType::{L8, L16, La8, La16, Rgb8, Rgb16, Rgba8, Rgba16};
    if matches!(decoder.original_color_type(), ExtendedColorType::Cmyk8 | ExtendedColorType::Cmyk16) {
        return Err(PhotoError::Inks { format });
    }
    match decoder.color_type() {
        Rgb8 | Rgb16 | Rgba8 | Rgba16 => Ok(()),
        L8 | L16 | La8 | La16 => Err(PhotoError::GreyOnly { format }),
        other => Err(PhotoError::FormUnsupported { format, form: format!("samples of the form {other:?}") }),
    }
}

/// Decodes and keeps three channels.
///
/// Alpha is left out, not laid over white: a photo has none, and paper that is not in the picture must not be made up.
/// The second value says whether a pixel was not fully opaque.
pub(super) fn decode(format: &'static str, decoder: impl ImageDecoder) -> Result<(Samples, bool), PhotoError> {
    Ok(match DynamicImage::from_decoder(decoder).map_err(|e| error(format, e))? {
        DynamicImage::ImageRgb8(i) => (Samples::Eight(i.into_raw().into()), false),
        DynamicImage::ImageRgb16(i) => (Samples::Sixteen(i.into_raw()), false),
        DynamicImage::ImageRgba8(i) => {
            let (v, clear) = without_alpha(i.into_raw(), u8::MAX);
            (Samples::Eight(v.into()), clear)
        }
        DynamicImage::ImageRgba16(i) => {
            let (v, clear) = without_alpha(i.into_raw(), u16::MAX);
            (Samples::Sixteen(v), clear)
        }
        _ => return Err(PhotoError::GreyOnly { format }),
    })
}

/// Four channels to three, in place. Says whether any alpha was below `full`.
pub(super) fn without_alpha<T: Copy + PartialEq>(mut v: Vec<T>, full: T) -> (Vec<T>, bool) {
    let pixels = v.len() / 4;
    let mut clear = false;
    for i in 0..pixels {
        clear |= v[i * 4 + 3] != full;
        v.copy_within(i * 4..i * 4 + 3, i * 3);
    }
    v.truncate(pixels * 3);
    v.shrink_to_fit();
    (v, clear)
}

/// Profile and EXIF block, where the file has them.
pub(super) fn extras(decoder: &mut impl ImageDecoder) -> (Option<Vec<u8>>, Option<Vec<u8>>) {
    (decoder.icc_profile().ok().flatten(), decoder.exif_metadata().ok().flatten())
}

/// The `image` crate's errors as ours.
pub(super) fn error(format: &'static str, e: ImageError) -> PhotoError {
    match e {
        ImageError::Unsupported(e) => {
            PhotoError::FormUnsupported { format, form: format!("a form unknown here ({e})") }
        }
        ImageError::Limits(e) => PhotoError::FormUnsupported { format, form: format!("too much to hold ({e})") },
        ImageError::IoError(e) if e.kind() == ErrorKind::UnexpectedEof => {
            PhotoError::Torn { format, cause: "it ends before the picture does".into() }
        }
        e => PhotoError::Torn { format, cause: e.to_string() },
    }
}

/// The `image` crate's own limits, a second fence behind ours.
pub(super) fn limits(ours: &super::Limits) -> image::Limits {
    let mut l = image::Limits::default();
    l.max_image_width = Some(ours.side);
    l.max_image_height = Some(ours.side);
    // Four channels of 16 bits, and once more for a decoder's own buffers.
    l.max_alloc = Some(ours.pixels.saturating_mul(16));
    l
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn alpha_is_left_out_in_place() {
        let (v, clear) = without_alpha(vec![1u8, 2, 3, 255, 4, 5, 6, 255], 255);
        assert_eq!((v, clear), (vec![1, 2, 3, 4, 5, 6], false));
        assert!(without_alpha(vec![1u16, 2, 3, 9], u16::MAX).1);
    }
}
