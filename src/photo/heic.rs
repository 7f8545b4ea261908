//! HEIC (ISO/IEC 23008-12 with HEVC), decoded by heifer, in pure Rust.
//!
//! The decoder turns the picture itself (the boxes irot, imir, clap); EXIF orientation is not applied again. It is slower
//! than JPEG by an order of magnitude and takes about twice the memory.

use super::identity::Hasher;
use super::linear::Depth;
use super::{Limits, PhotoError, PhotoId, Samples, raster};
use heifer::heifer_isobmff::boxes::{ColorInfo, Property};
use heifer::heifer_isobmff::{HeifFile, ItemId};

const HEIC: &str = "heic";
/// Phones cut a photo into 48 tiles or so.
const MOST_TILES: usize = 4096;

/// What the container says.
pub(super) struct Container {
    pub(super) icc: Option<Vec<u8>>,
    pub(super) exif: Option<Vec<u8>>,
    /// Code points of ITU-T H.273: primaries, transfer.
    pub(super) code_points: Option<(u16, u16)>,
    pub(super) depth: Depth,
    pub(super) id: PhotoId,
}

fn torn(e: impl ToString) -> PhotoError {
    PhotoError::Torn { format: HEIC, cause: e.to_string() }
}

/// Reads the container. The limits are checked on the sizes it names.
pub(super) fn container(bytes: &[u8], limits: &Limits) -> Result<Container, PhotoError> {
    let file = HeifFile::parse(bytes).map_err(torn)?;
    let primary = file.primary_id;
    let coded = coded_items(&file, limits)?;
    let mut hasher = Hasher::new(HEIC);
    let mut depth = Depth::Eight;
    for &item in &coded {
        let config = file.hevc_config(item).map_err(torn)?.ok_or_else(|| torn("a coded picture has no parameters"))?;
        if config.chroma_format == 0 {
            return Err(PhotoError::GreyOnly { format: HEIC });
        }
        if config.bit_depth_luma.max(config.bit_depth_chroma) > 8 {
            depth = Depth::Sixteen;
        }
        hasher.pieces(b"hvcC", config.nal_units.iter().map(Vec::as_slice));
        hasher.part(b"data", &file.item_data(item).map_err(torn)?);
    }
    let code_points = [primary].iter().chain(coded.first()).find_map(|&item| nclx(&file, item));
    Ok(Container {
        icc: file.icc_profile(primary).map_err(torn)?.map(<[u8]>::to_vec),
        // A broken EXIF item is no reason to refuse the picture.
        exif: file.exif(primary).ok().flatten(),
        code_points,
        depth,
        id: hasher.finish(),
    })
}

/// The items that hold the primary picture's coded data: itself, or the tiles of a grid.
fn coded_items(file: &HeifFile, limits: &Limits) -> Result<Vec<ItemId>, PhotoError> {
    let primary = file.primary_id;
    let kind = file.item(primary).map_err(torn)?.item_type.0;
    if let Some((w, h)) = file.image_size(primary).map_err(torn)? {
        limits.size(HEIC, w.into(), h.into())?;
    }
    match &kind {
        b"hvc1" | b"hev1" => Ok(vec![primary]),
        b"grid" => {
            let grid = file.grid(primary).map_err(torn)?;
            limits.size(HEIC, grid.output_width.into(), grid.output_height.into())?;
            let tiles = file.referenced_items(primary, b"dimg").to_vec();
            if tiles.len() > MOST_TILES {
                return Err(torn("its grid has more tiles than a photo has"));
            }
            for &tile in &tiles {
                if let Some((w, h)) = file.image_size(tile).map_err(torn)? {
                    limits.size(HEIC, w.into(), h.into())?;
                }
            }
            Ok(tiles)
        }
        b"av01" => Err(PhotoError::KindUnsupported { kind: "an AVIF picture" }),
        other => Err(PhotoError::FormUnsupported {
            format: HEIC,
            form: format!("a picture item of the kind {}", other.escape_ascii()),
        }),
    }
}

fn nclx(file: &HeifFile, item: ItemId) -> Option<(u16, u16)> {
    file.item_properties(item).ok()?.find_map(|p| match p {
        Property::Color(ColorInfo::Nclx { primaries, transfer, .. }) => Some((*primaries, *transfer)),
        _ => None,
    })
}

/// A decoded, upright picture.
pub(super) struct Picture {
    pub(super) size: (u32, u32),
    pub(super) samples: Samples,
    /// Some pixels are not opaque.
    pub(super) clear: bool,
}

/// Decodes the pixels.
pub(super) fn pixels(bytes: &[u8], depth: Depth, limits: &Limits) -> Result<Picture, PhotoError> {
    let options = heifer::Options { max_pixels: limits.pixels, ..Default::default() };
    match depth {
        Depth::Eight => {
            let image = heifer::decode_rgba8(bytes, &options).map_err(error)?;
            let size = (image.width, image.height);
            let (v, clear) = raster::without_alpha(image.data, u8::MAX);
            Ok(Picture { size, samples: Samples::Eight(v.into()), clear })
        }
        Depth::Sixteen => {
            let image = heifer::decode_with_options(bytes, &options).map_err(error)?;
            let (size, top) = ((image.width, image.height), image.max_value());
            let (mut v, clear) = raster::without_alpha(image.data, top);
            // 10 or 12 bits, stretched to the whole of 16.
            let top = u32::from(top.max(1));
            v.iter_mut().for_each(|x| *x = ((u32::from(*x) * 65535 + top / 2) / top) as u16);
            Ok(Picture { size, samples: Samples::Sixteen(v), clear })
        }
    }
}

fn error(e: heifer::Error) -> PhotoError {
    match e {
        heifer::Error::Unsupported(form) => PhotoError::FormUnsupported { format: HEIC, form },
        e => torn(e),
    }
}
