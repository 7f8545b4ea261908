//! EXIF (CIPA DC-008): date, camera, orientation. Never the place: GPS fields are not looked at.
//!
//! Missing EXIF is fine. A broken block is passed over with a remark; what can still be read of it is used.

use crate::moment::CameraTime;
use exif::{Error, Field, In, Reader, Tag, Value};
use jiff::{civil, tz::Offset};

/// What the block says.
#[derive(Debug, Default)]
pub(super) struct Exif {
    /// 1 to 8; 1 where missing or out of range.
    pub(super) orientation: Option<u8>,
    pub(super) taken: Option<CameraTime>,
    pub(super) camera: Option<String>,
    pub(super) colour: Declared,
    pub(super) remarks: Vec<String>,
}

/// What the tags ColorSpace and InteroperabilityIndex say of the colours.
#[derive(Debug, Default, Clone, Copy, PartialEq, Eq)]
pub(super) enum Declared {
    #[default]
    Nothing,
    Srgb,
    /// Not sRGB, and nothing more.
    Other,
    /// The optional wide space of DCF 2.0.
    DcfOption,
}

/// Reads a block that begins with its TIFF header.
pub(super) fn read(block: &[u8]) -> Exif {
    let mut out = Exif::default();
    let parsed = Reader::new().continue_on_error(true).read_raw(block.to_vec());
    let parsed = parsed.or_else(|e| {
        e.distill_partial_result(|errors| {
            // Writers that leave a link behind the camera's own directory are common; nothing is lost by it.
            let mut errors = errors.iter().map(ToString::to_string).filter(|e| !e.contains("Unexpected next IFD"));
            if let Some(first) = errors.next() {
                out.remarks.push(format!("The camera data (EXIF) is partly broken, read as far as possible: {first}."));
            }
        })
    });
    let parsed = match parsed {
        Ok(parsed) => parsed,
        Err(e) => {
            out.remarks.push(format!("The camera data (EXIF) is broken and was passed over: {e}."));
            return out;
        }
    };
    let field = |tag| parsed.get_field(tag, In::PRIMARY);
    let text = |tag| field(tag).and_then(ascii);
    if let Some(n) = field(Tag::Orientation).and_then(|f| f.value.get_uint(0)) {
        match n {
            1..=8 => out.orientation = Some(n as u8),
            // Many programs write 0 for 'unknown'.
            0 => {}
            n => out.remarks.push(format!("The orientation {n} in the camera data does not exist; taken as upright.")),
        }
    }
    let mut time = |date, offset, part| {
        let date = text(date)?;
        let known = camera_time(&date, &text(offset).unwrap_or_default(), &text(part).unwrap_or_default());
        known.unwrap_or_else(|why| {
            out.remarks.push(why);
            None
        })
    };
    out.taken = time(Tag::DateTimeOriginal, Tag::OffsetTimeOriginal, Tag::SubSecTimeOriginal)
        .or_else(|| time(Tag::DateTimeDigitized, Tag::OffsetTimeDigitized, Tag::SubSecTimeDigitized));
    if out.taken.is_none() {
        out.taken = time(Tag::DateTime, Tag::OffsetTime, Tag::SubSecTime);
        if out.taken.is_some() {
            out.remarks.push("The date is that of the file's last change; the camera wrote none of the shot.".into());
        }
    } else if let Some(taken) = out.taken.as_mut().filter(|t| t.offset.is_none()) {
        // Some phones write one offset only, that of the file date. It holds where both dates are the same.
        let file = text(Tag::DateTime).and_then(|d| camera_time(&d, &text(Tag::OffsetTime)?, "").ok().flatten());
        let second = |d: civil::DateTime| d.with().subsec_nanosecond(0).build().ok();
        taken.offset = file.filter(|f| second(f.local) == second(taken.local)).and_then(|f| f.offset);
    }
    out.camera = camera(text(Tag::Make), text(Tag::Model));
    out.colour = match field(Tag::ColorSpace).and_then(|f| f.value.get_uint(0)) {
        Some(1) => Declared::Srgb,
        // 2 is outside the standard, but some cameras write it for the optional space.
        Some(2) => Declared::DcfOption,
        Some(0xffff) if text(Tag::InteroperabilityIndex).is_some_and(|i| i.starts_with("R03")) => Declared::DcfOption,
        Some(0xffff) => Declared::Other,
        _ => Declared::Nothing,
    };
    out
}

/// The text of a field, without what pads it. Trailing blanks matter in dates, so only NUL is cut here.
fn ascii(field: &Field) -> Option<String> {
    let Value::Ascii(lines) = &field.value else { return None };
    Some(String::from_utf8_lossy(lines.first()?).trim_end_matches('\0').to_string())
}

/// Maker and model, the maker not said twice.
fn camera(make: Option<String>, model: Option<String>) -> Option<String> {
    let clean = |s: Option<String>| {
        let s: String = s.unwrap_or_default().chars().filter(|c| !c.is_control()).take(64).collect();
        s.trim().to_string()
    };
    let (make, model) = (clean(make), clean(model));
    let both = if model.to_lowercase().starts_with(&make.to_lowercase()) { model } else { format!("{make} {model}") };
    Some(both.trim().to_string()).filter(|s| !s.is_empty())
}

/// Date, offset and part of a second as EXIF writes them. `Ok(None)`: the camera says that it does not know.
/// `Err`: a remark, because what stands there is no date.
fn camera_time(date: &str, offset: &str, part: &str) -> Result<Option<CameraTime>, String> {
    let no_date = || format!("The date in the camera data, '{}', does not exist.", date.escape_default());
    let mut t = match exif::DateTime::from_ascii(date.as_bytes()) {
        Ok(t) => t,
        Err(Error::BlankValue(_)) => return Ok(None),
        Err(_) if date.trim().is_empty() => return Ok(None),
        Err(_) => return Err(no_date()),
    };
    if (t.year, t.month, t.day) == (0, 0, 0) {
        return Ok(None);
    }
    // A bad offset or part of a second does not spoil the date.
    let _ = t.parse_offset(offset.as_bytes());
    let _ = t.parse_subsec(part.as_bytes());
    let small = |v: u8| i8::try_from(v).map_err(|_| no_date());
    let nano = t.nanosecond.and_then(|n| i32::try_from(n).ok()).unwrap_or(0);
    let year = i16::try_from(t.year).map_err(|_| no_date())?;
    let local = civil::DateTime::new(
        year,
        small(t.month)?,
        small(t.day)?,
        small(t.hour)?,
        small(t.minute)?,
        small(t.second)?,
        nano,
    )
    .map_err(|_| no_date())?;
    // No place on Earth is further from UTC than 14 hours.
    let minutes = t.offset.filter(|m| m.abs() <= 14 * 60);
    let offset = minutes.and_then(|m| Offset::from_seconds(i32::from(m) * 60).ok());
    Ok(Some(CameraTime { local, offset }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_dates() {
        let text = include_str!("../../fixtures/published/exif_datetime.toml");
        let doc: toml::Table = text.parse().unwrap();
        let cases = doc["parse"].as_array().unwrap();
        for case in cases {
            let s = |k: &str| case.get(k).and_then(|v| v.as_str());
            let got = camera_time(s("dto").unwrap(), s("offset").unwrap(), "");
            if let Some(utc) = s("utc") {
                let t = got.unwrap().unwrap();
                let instant = t.offset.unwrap().to_timestamp(t.local).unwrap();
                assert_eq!(instant.to_string(), utc);
            } else if let Some(local) = s("local") {
                let t = got.unwrap().unwrap();
                assert_eq!((t.local.to_string().as_str(), t.offset), (local, None));
            } else if case.get("unknown").is_some() {
                assert_eq!(got.unwrap(), None);
            } else {
                assert!(case.get("invalid").is_some() && got.is_err());
            }
        }
        assert_eq!(cases.len(), 8, "parse checks in the table");
    }

    #[test]
    fn parts_of_a_second_and_impossible_offsets() {
        let t = camera_time("2024:05:06 07:08:09", "+99:00", "25 ").unwrap().unwrap();
        assert_eq!((t.local.subsec_nanosecond(), t.offset), (250_000_000, None));
        assert!(camera_time("2024-05-06 07:08:09", "", "").unwrap_err().contains("2024-05-06"));
        assert!(camera_time("2024:05:06 07:08:61", "", "").is_err());
    }

    #[test]
    fn a_camera_is_named_once() {
        let name = |a: &str, b: &str| camera(Some(a.into()), Some(b.into()));
        assert_eq!(name("Oak", "Oak 5").as_deref(), Some("Oak 5"));
        assert_eq!(name("Oak\0 ", "Five\n").as_deref(), Some("Oak Five"));
        assert_eq!(camera(None, None), None);
    }

    #[test]
    fn a_broken_block_gives_remarks_not_errors() {
        for bad in [&b""[..], b"II*\0", b"garbage that is no TIFF at all", b"MM\0*\xff\xff\xff\xff"] {
            let e = read(bad);
            assert_eq!((e.orientation, e.remarks.len()), (None, 1), "{bad:?}");
        }
    }
}
