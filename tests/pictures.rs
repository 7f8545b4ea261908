//! Pictures for the tests, made here: an asymmetrical scene in every format, with metadata.

use exif::{Field, In, Tag, Value, experimental::Writer};
use image::codecs::{jpeg::JpegEncoder, png::PngEncoder, webp::WebPEncoder};
use image::{ExtendedColorType, ImageBuffer, ImageEncoder, Rgb, RgbImage};
use std::path::PathBuf;

/// A file under `fixtures/`.
pub fn fixture(path: &str) -> Vec<u8> {
    let full = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("fixtures").join(path);
    std::fs::read(&full).unwrap_or_else(|e| panic!("{}: {e}", full.display()))
}

/// Smooth colours with one corner marked, different in every direction.
pub fn scene(w: u32, h: u32) -> RgbImage {
    RgbImage::from_fn(w, h, |x, y| {
        if x < w / 4 && y < h / 3 {
            return Rgb([230, 40, 60]);
        }
        Rgb([(40 + 150 * x / w) as u8, (210 - 130 * y / h) as u8, (60 + 90 * (x + y) / (w + h)) as u8])
    })
}

/// Metadata to write into a picture.
#[derive(Default, Clone)]
pub struct Extras {
    pub exif: Option<Vec<u8>>,
    pub icc: Option<Vec<u8>>,
}

fn encode(mut encoder: impl ImageEncoder, raw: &[u8], (w, h): (u32, u32), kind: ExtendedColorType, extras: &Extras) {
    if let Some(exif) = &extras.exif {
        encoder.set_exif_metadata(exif.clone()).unwrap();
    }
    if let Some(icc) = &extras.icc {
        encoder.set_icc_profile(icc.clone()).unwrap();
    }
    encoder.write_image(raw, w, h, kind).unwrap();
}

pub fn jpeg(image: &RgbImage, extras: &Extras) -> Vec<u8> {
    let mut out = Vec::new();
    encode(JpegEncoder::new_with_quality(&mut out, 95), image, image.dimensions(), ExtendedColorType::Rgb8, extras);
    out
}

pub fn png(image: &RgbImage, extras: &Extras) -> Vec<u8> {
    let mut out = Vec::new();
    encode(PngEncoder::new(&mut out), image, image.dimensions(), ExtendedColorType::Rgb8, extras);
    out
}

pub fn png16(image: &ImageBuffer<Rgb<u16>, Vec<u16>>, extras: &Extras) -> Vec<u8> {
    let mut out = Vec::new();
    let raw: Vec<u8> = image.as_raw().iter().flat_map(|v| v.to_ne_bytes()).collect();
    encode(PngEncoder::new(&mut out), &raw, image.dimensions(), ExtendedColorType::Rgb16, extras);
    out
}

pub fn webp(image: &RgbImage, extras: &Extras) -> Vec<u8> {
    let mut out = Vec::new();
    encode(WebPEncoder::new_lossless(&mut out), image, image.dimensions(), ExtendedColorType::Rgb8, extras);
    out
}

/// A plain TIFF, big-endian, in strips of four rows, with an orientation and a profile.
pub fn tiff(image: &RgbImage, orientation: Option<u16>, icc: Option<&[u8]>) -> Vec<u8> {
    let (w, h) = image.dimensions();
    let row = w * 3;
    let strips: Vec<&[u8]> = image.as_raw().chunks((row * 4) as usize).collect();
    let mut out = b"MM\0*\0\0\0\0".to_vec();
    let mut offsets = Vec::new();
    for s in &strips {
        offsets.push(out.len() as u32);
        out.extend(*s);
    }
    let mut place = |bytes: Vec<u8>| {
        let at = out.len() as u32;
        out.extend(bytes);
        at
    };
    let longs = |v: &[u32]| v.iter().flat_map(|x| x.to_be_bytes()).collect::<Vec<u8>>();
    let sizes: Vec<u32> = strips.iter().map(|s| s.len() as u32).collect();
    let n = strips.len() as u32;
    assert!(n > 1);
    let (bits, at, counts) = (place(vec![0, 8, 0, 8, 0, 8]), place(longs(&offsets)), place(longs(&sizes)));
    let short = |v: u16| u32::from(v) << 16;
    let mut tags: Vec<(u16, u16, u32, u32)> = vec![
        (256, 4, 1, w),
        (257, 4, 1, h),
        (258, 3, 3, bits),
        (259, 3, 1, short(1)),
        (262, 3, 1, short(2)),
        (273, 4, n, at),
    ];
    tags.extend(orientation.map(|o| (274, 3, 1, short(o))));
    tags.extend([(277, 3, 1, short(3)), (278, 4, 1, 4), (279, 4, n, counts), (284, 3, 1, short(1))]);
    if let Some(icc) = icc {
        let at = place(icc.to_vec());
        tags.push((34675, 7, icc.len() as u32, at));
    }
    let start = out.len() as u32;
    out[4..8].copy_from_slice(&start.to_be_bytes());
    out.extend((tags.len() as u16).to_be_bytes());
    for (id, kind, count, value) in tags {
        out.extend(id.to_be_bytes());
        out.extend(kind.to_be_bytes());
        out.extend(count.to_be_bytes());
        out.extend(value.to_be_bytes());
    }
    out.extend([0; 4]);
    out
}

#[cfg(feature = "heic")]
pub fn heic(image: &RgbImage, extras: &Extras) -> Vec<u8> {
    let data = image.pixels().flat_map(|p| [p[0], p[1], p[2], 255].map(u16::from)).collect();
    let (width, height) = image.dimensions();
    let image = heifer::Image { width, height, bit_depth: 8, has_alpha: false, data };
    let metadata = heifer::Metadata { exif: extras.exif.clone(), icc_profile: extras.icc.clone(), xmp: None };
    let options = heifer::EncodeOptions { quality: 95, ..Default::default() };
    heifer::encode_with_metadata(&image, &metadata, &options).unwrap()
}

/// An EXIF block with these fields.
pub fn exif(fields: &[(Tag, Value)]) -> Vec<u8> {
    let fields: Vec<Field> =
        fields.iter().map(|(tag, value)| Field { tag: *tag, ifd_num: In::PRIMARY, value: value.clone() }).collect();
    let mut writer = Writer::new();
    fields.iter().for_each(|f| writer.push_field(f));
    let mut out = std::io::Cursor::new(Vec::new());
    writer.write(&mut out, false).unwrap();
    out.into_inner()
}

pub fn text(s: &str) -> Value {
    Value::Ascii(vec![s.as_bytes().to_vec()])
}

/// An EXIF block that holds an orientation only.
pub fn turned(orientation: u16) -> Extras {
    Extras { exif: Some(exif(&[(Tag::Orientation, Value::Short(vec![orientation]))])), icc: None }
}
