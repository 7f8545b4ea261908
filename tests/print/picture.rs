//! The photo print as pixels.

use super::detect;
use super::{cases, markers};
use tintline::faces::print::{self, Dpi};

/// Chunks of a PNG file: name and data (ISO/IEC 15948).
fn chunks(bytes: &[u8]) -> Vec<(String, &[u8])> {
    let (mut at, mut out) = (8, Vec::new());
    while at < bytes.len() {
        let size = u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap()) as usize;
        let name = String::from_utf8(bytes[at + 4..at + 8].to_vec()).unwrap();
        out.push((name, &bytes[at + 8..at + 8 + size]));
        at += 12 + size;
    }
    out
}

#[test]
fn the_file_states_its_scale_and_colour_space() {
    let layout = tintline::card::Layout::first();
    for (dpi, size, per_metre) in [(Dpi::D300, [1800u32, 1200], 11811u32), (Dpi::D600, [3600, 2400], 23622)] {
        let bytes = print::png(&layout, None, dpi).unwrap();
        let chunks = chunks(&bytes);
        let data = |name: &str| chunks.iter().find(|c| c.0 == name).unwrap_or_else(|| panic!("no {name}")).1;
        let head: Vec<u8> = size.iter().flat_map(|n| n.to_be_bytes()).chain([8, 2, 0, 0, 0]).collect();
        assert_eq!(data("IHDR"), head, "8 bit, three channels");
        let scale: Vec<u8> = [per_metre, per_metre].iter().flat_map(|n| n.to_be_bytes()).chain([1]).collect();
        assert_eq!(data("pHYs"), scale);
        assert_eq!(data("sRGB"), [1], "relative colorimetric");
        assert_eq!(bytes, print::png(&layout, None, dpi).unwrap());
    }
}

#[test]
fn patches_fill_exactly_their_pixels() {
    let mut checked = 0;
    for (layout, number) in cases() {
        for (dpi, per_inch) in [(Dpi::D300, 300.0), (Dpi::D600, 600.0)] {
            let picture = image::load_from_memory(&print::png(&layout, number, dpi).unwrap()).unwrap().to_rgb8();
            let x_of = |mm: f64| (((152.4 - layout.width) / 2.0 + mm) * per_inch / 25.4).round() as u32;
            let y_of = |mm: f64| (((101.6 - layout.height) / 2.0 + mm) * per_inch / 25.4).round() as u32;
            for patch in &layout.patches {
                let r = patch.rect;
                let (left, right, top, foot) = (x_of(r.x), x_of(r.x + r.w), y_of(r.y), y_of(r.y + r.h));
                for y in top - 1..=foot {
                    for x in left - 1..=right {
                        let inside = (left..right).contains(&x) && (top..foot).contains(&y);
                        let expected = if inside { patch.srgb } else { [255; 3] };
                        assert_eq!(picture.get_pixel(x, y).0, expected, "{} at {x}, {y}", patch.name);
                    }
                }
                checked += 1;
            }
        }
    }
    assert_eq!(checked, 5 * 2 * 28);
}

#[test]
fn markers_are_detected_where_they_belong() {
    for (layout, number) in cases() {
        for (dpi, per_inch) in [(Dpi::D300, 300.0), (Dpi::D600, 600.0)] {
            let picture = image::load_from_memory(&print::png(&layout, number, dpi).unwrap()).unwrap().to_luma8();
            let margin = [(152.4 - layout.width) / 2.0, (101.6 - layout.height) / 2.0];
            let place = |x: f64, y: f64| {
                let exact = [margin[0] + x, margin[1] + y].map(|mm| mm * per_inch / 25.4);
                // Edges go to the nearest pixel border: at most half a pixel, 0.043 or 0.022 mm, off.
                exact.map(f64::round)
            };
            detect::demand(&picture, &markers(&layout, number), place, &format!("{number:?} at {per_inch} dpi"));
        }
    }
}

#[test]
fn the_bay_is_bare_but_for_the_number() {
    let mut bare = 0;
    for (layout, number) in cases() {
        let picture = image::load_from_memory(&print::png(&layout, number, Dpi::D300).unwrap()).unwrap().to_rgb8();
        let px = |mm: f64, margin: f64| ((margin + mm) * 300.0 / 25.4).round() as u32;
        let (mx, my) = ((152.4 - layout.width) / 2.0, (101.6 - layout.height) / 2.0);
        let bay = layout.bay;
        let dark = |x: u32, y: u32| picture.get_pixel(x, y).0 != [255; 3];
        let mut inked = 0u32;
        for y in px(bay.y, my)..px(bay.y + bay.h, my) {
            for x in px(bay.x, mx)..px(bay.x + bay.w, mx) {
                if dark(x, y) {
                    inked += 1;
                    let corner = [px(bay.x + 9.0, mx), px(bay.y + 9.0, my)];
                    assert!(x < corner[0] && y < corner[1], "ink in the bay at {x}, {y}");
                }
            }
        }
        assert_eq!(inked > 0, number.is_some());
        bare += u32::from(inked == 0);
        // Each station's triangle: its tip below the bay's edge, under the station's centre.
        for &x in &layout.stations.x {
            let column = px(x, mx);
            let tip = (px(bay.y + bay.h, my)..picture.height()).find(|&y| dark(column, y)).expect("a tip");
            let below_bay = f64::from(tip) * 25.4 / 300.0 - my - bay.y - bay.h;
            assert!((0.5..2.4).contains(&below_bay), "tip {below_bay} mm below the bay");
            let wide = |y: u32| (column - 18..column + 18).filter(|&x| dark(x, y)).count();
            // 2.4 mm wide at its foot, 2.4 mm below the tip: 28 pixels.
            let foot = wide(tip + 27);
            assert!((26..=29).contains(&foot) && wide(tip) <= 3, "foot {foot} pixels wide");
        }
    }
    assert_eq!(bare, 1);
}
