//! The date in an XMP packet (ISO 16684-1), for photos whose EXIF has none: some programs keep no other when they save anew.
//!
//! A packet is plain text wherever it stands, and made to be found without knowing the file's format (ISO 16684-1, 7.3.2).
//! Only dates are looked at.

use crate::moment::CameraTime;
use jiff::civil;
use jiff::fmt::temporal::Pieces;
use memchr::memmem;
use roxmltree::{Document, Node};

/// A packet longer than this is not read: dates and words take a few kilobytes.
const MOST: usize = 1 << 20;
const OPENS: &[u8] = b"<x:xmpmeta";
const CLOSES: &[u8] = b"</x:xmpmeta>";

/// Names of the time of the shot, the surest first: namespace and name.
const DATES: [(&str, &str); 4] = [
    ("http://ns.adobe.com/exif/1.0/", "DateTimeOriginal"),
    ("http://ns.adobe.com/photoshop/1.0/", "DateCreated"),
    ("http://ns.adobe.com/exif/1.0/", "DateTimeDigitized"),
    ("http://ns.adobe.com/xap/1.0/", "CreateDate"),
];

/// The time of the shot as the first packet among these bytes has it.
pub(super) fn taken(bytes: &[u8]) -> Option<CameraTime> {
    let from = memmem::find(bytes, OPENS)?;
    let packet = &bytes[from..(from + MOST).min(bytes.len())];
    let packet = &packet[..memmem::find(packet, CLOSES)? + CLOSES.len()];
    let parsed = Document::parse(std::str::from_utf8(packet).ok()?).ok()?;
    DATES.iter().find_map(|&(space, name)| {
        // A property stands as an attribute or as an element of its own (ISO 16684-1, 7.9).
        let text = parsed.descendants().filter(Node::is_element).find_map(|n| {
            let own = n.has_tag_name((space, name)).then(|| n.text()).flatten();
            own.or_else(|| n.attribute((space, name)))
        });
        time(text?.trim())
    })
}

/// A date with its time of day, ISO 8601 as XMP uses it: seconds and offset may be missing, a time of day may not.
fn time(text: &str) -> Option<CameraTime> {
    let pieces = Pieces::parse(text).ok()?;
    let local = civil::DateTime::from_parts(pieces.date(), pieces.time()?);
    Some(CameraTime { local, offset: pieces.to_numeric_offset() })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn packet(inside: &str) -> Vec<u8> {
        let head =
            r#"\xff<x:xmpmeta xmlns:x="adobe:ns:meta/"><r:RDF xmlns:r="http://www.w3.org/1999/02/22-rdf-syntax-ns#">"#;
        format!("{head}{inside}</r:RDF></x:xmpmeta>rest").into_bytes()
    }

    #[test]
    fn dates_as_attributes_and_as_elements() {
        let attribute = packet(
            r#"<r:Description xmlns:e="http://ns.adobe.com/exif/1.0/" e:DateTimeOriginal="2026-03-01T18:30:05.25+01:00"/>"#,
        );
        let t = taken(&attribute).unwrap();
        assert_eq!((t.local.to_string().as_str(), t.offset.unwrap().seconds()), ("2026-03-01T18:30:05.25", 3600));
        let element = packet(
            r#"<r:Description xmlns:p="http://ns.adobe.com/photoshop/1.0/"><p:DateCreated>2026-03-01T18:30</p:DateCreated></r:Description>"#,
        );
        let t = taken(&element).unwrap();
        assert_eq!((t.local.to_string().as_str(), t.offset), ("2026-03-01T18:30:00", None));
    }

    #[test]
    fn the_surest_date_counts_and_a_bare_day_is_none() {
        let both = packet(
            r#"<r:Description xmlns:x="http://ns.adobe.com/xap/1.0/" x:CreateDate="2026-05-01T08:00:00Z" xmlns:e="http://ns.adobe.com/exif/1.0/" e:DateTimeOriginal="2026-03-01T18:30:00Z"/>"#,
        );
        assert_eq!(taken(&both).unwrap().local.to_string(), "2026-03-01T18:30:00");
        let day = packet(r#"<r:Description xmlns:x="http://ns.adobe.com/xap/1.0/" x:CreateDate="2026-05-01"/>"#);
        assert_eq!(taken(&day), None);
        let changed =
            packet(r#"<r:Description xmlns:x="http://ns.adobe.com/xap/1.0/" x:ModifyDate="2026-05-01T08:00:00Z"/>"#);
        assert_eq!(taken(&changed), None);
    }

    #[test]
    fn what_is_no_packet_says_nothing() {
        for bad in
            [&b""[..], b"<x:xmpmeta", b"<x:xmpmeta></x:xmpmeta>", b"<x:xmpmeta xmlns:x='a'><open></x:xmpmeta>", b"<<<x"]
        {
            assert_eq!(taken(bad), None);
        }
    }
}
