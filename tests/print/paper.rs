//! The PDF page against the layout.

use super::file::{self, Fill};
use super::{cases, detect, markers};
use hayro_syntax::Pdf;
use hayro_syntax::object::{Array, Dict, Name, Stream};
use image::{GrayImage, Luma};
use tintline::card::{CardNumber, Layout};
use tintline::faces::print::{self, Paper};

/// Half a micrometre: what is left of a millimetre after 32-bit floats in the writer.
const MM: f64 = 0.0005;
/// From the paper's upper edge to the card's.
const HEAD: f64 = 34.0;

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= MM
}

#[test]
fn patches_lie_at_true_size_in_srgb() {
    let mut checked = 0;
    for (layout, number) in cases() {
        for (paper, points, wide) in [(Paper::A4, [595.276, 841.890], 210.0), (Paper::Letter, [612.0, 792.0], 215.9)] {
            let pdf = Pdf::new(print::pdf(&layout, number, paper).unwrap()).unwrap();
            assert_eq!(pdf.pages().len(), 1);
            let page = file::read(&pdf);
            assert!((0..2).all(|i| (page.media[i] - points[i]).abs() < 0.001), "{:?}", page.media);
            let left = (wide - layout.width) / 2.0;
            for patch in &layout.patches {
                let r = patch.rect;
                let expected = [left + r.x, HEAD + r.y, r.w, r.h];
                let at = |b: &file::Box4| (0..4).all(|i| near(b[i], expected[i]));
                let found: Vec<_> = page.areas.iter().filter(|a| a.1.len() == 1 && at(&a.1[0])).collect();
                assert_eq!(found.len(), 1, "{} of {paper:?}", patch.name);
                let Fill::Named(space, colour) = &found[0].0 else { panic!("{} is grey", patch.name) };
                assert_eq!(space, "Srgb");
                assert!((0..3).all(|i| (colour[i] * 255.0 - f64::from(patch.srgb[i])).abs() < 0.001), "{colour:?}");
                checked += 1;
            }
        }
    }
    assert_eq!(checked, 5 * 2 * 28);
}

/// The page's areas painted one after the other, 10 pixels to the millimetre, every colour but black as paper.
fn painted(page: &file::Page) -> GrayImage {
    let size = page.media.map(|p| (p * 25.4 / 72.0 * 10.0).round() as u32);
    let mut picture = GrayImage::from_pixel(size[0], size[1], Luma([255]));
    for (fill, boxes) in &page.areas {
        let ink = if *fill == Fill::Grey(0.0) { 0 } else { 255 };
        for b in boxes {
            let [left, top, right, foot] = [b[0], b[1], b[0] + b[2], b[1] + b[3]].map(|v| (v * 10.0).round() as u32);
            for y in top..foot {
                (left..right).for_each(|x| picture.put_pixel(x, y, Luma([ink])));
            }
        }
    }
    picture
}

#[test]
fn markers_are_black_and_where_they_belong() {
    for (layout, number) in cases() {
        let page = file::read(&Pdf::new(print::pdf(&layout, number, Paper::A4).unwrap()).unwrap());
        let place = |x: f64, y: f64| [(210.0 - layout.width) / 2.0 + x, HEAD + y].map(|v| (v * 10.0).round());
        detect::demand(&painted(&page), &markers(&layout, number), place, &format!("{number:?}"));
    }
}

#[test]
fn the_ruler_is_100_mm_and_the_marks_frame_the_card() {
    let page = file::read(&Pdf::new(print::pdf(&Layout::first(), None, Paper::A4).unwrap()).unwrap());
    let black: Vec<_> = page.areas.iter().filter(|a| a.0 == Fill::Grey(0.0)).flat_map(|a| &a.1).collect();
    let lines: Vec<_> = black.iter().filter(|b| near(b[2], 100.0)).collect();
    let &[line] = &lines[..] else { panic!("one line of 100 mm: {lines:?}") };
    let ticks: Vec<_> = black.iter().filter(|b| near(b[1], line[1] + 0.1) && b[3] < 3.5).collect();
    assert_eq!(ticks.len(), 101);
    for (mm, tick) in ticks.iter().enumerate() {
        let centre = tick[0] + tick[2] / 2.0 - line[0];
        // The outermost ticks end with the line.
        let expected = (mm as f64).clamp(tick[2] / 2.0, 100.0 - tick[2] / 2.0);
        assert!(near(centre, expected), "tick {mm} at {centre}");
        let length = if mm % 10 == 0 {
            3.0
        } else if mm % 5 == 0 {
            2.0
        } else {
            1.2
        };
        assert!(near(tick[3], length));
    }
    let numbered: Vec<_> = (0..=10).map(|n| (n * 10).to_string()).collect();
    for text in numbered {
        let (_, at, _) = page.lines.iter().find(|l| l.0 == text).unwrap_or_else(|| panic!("no label {text}"));
        let tick = line[0] + text.parse::<f64>().unwrap();
        assert!(at[0] < tick && tick - at[0] < 2.5, "label {text} under its tick");
    }

    // Eight hairlines, two at each corner, outside the card, on the lines of its edges.
    let marks: Vec<_> = black.iter().filter(|b| near(b[2].max(b[3]), 6.0) && near(b[2].min(b[3]), 0.1)).collect();
    assert_eq!(marks.len(), 8);
    for b in marks {
        let (x, y) = (b[0] + b[2] / 2.0, b[1] + b[3] / 2.0);
        let (on, beyond) =
            if b[3] > b[2] { ((x, 30.0, 180.0), (y, 34.0, 134.0)) } else { ((y, 34.0, 134.0), (x, 30.0, 180.0)) };
        assert!(near(on.0, on.1) || near(on.0, on.2), "{b:?}");
        assert!(near(beyond.0, beyond.1 - 5.0) || near(beyond.0, beyond.2 + 5.0), "{b:?}");
    }
}

/// Widths of Helvetica-Bold in thousandths of an em (its published metrics, from memory): regular is never wider.
fn bold_width(c: char) -> f64 {
    match c {
        'f' | 't' => 333.0,
        'i' | 'j' | 'l' | ' ' | '.' | ',' | '\'' => 278.0,
        'r' => 389.0,
        'm' | '%' => 889.0,
        'w' => 778.0,
        'a' | 'c' | 'e' | 'k' | 's' | 'v' | 'x' | 'y' | '0'..='9' => 556.0,
        'z' => 500.0,
        'b'..='u' | '-' | ':' | ';' => 611.0,
        'W' => 944.0,
        _ => 778.0,
    }
}

#[test]
fn the_words_are_there_and_on_the_paper() {
    for (paper, wide, high) in [(Paper::A4, 210.0, 297.0), (Paper::Letter, 215.9, 279.4)] {
        let page = file::read(&Pdf::new(print::pdf(&Layout::first(), CardNumber::new(12), paper).unwrap()).unwrap());
        let all = page.lines.iter().map(|l| l.0.as_str()).collect::<Vec<_>>().join(" ");
        for words in [
            "Print at 100 %",
            "must be 100 mm long",
            "matte paper",
            "away from light",
            "Enrol",
            "Caution",
            "vet",
            "card 12",
        ] {
            assert!(all.contains(words), "{words}");
        }
        assert!(!all.contains('?'), "a sign the page's fonts lack");
        for (text, [x, y], points) in &page.lines {
            let end = x + text.chars().map(bold_width).sum::<f64>() / 1000.0 * points * 25.4 / 72.0;
            assert!(
                (14.0..wide).contains(x) && end < wide - 14.0 && (10.0..high - 10.0).contains(y),
                "{text} ends at {end}"
            );
        }
        assert_eq!(page.outlines.len(), 4, "a triangle a station");
    }
}

#[test]
fn the_file_asks_for_true_size_and_carries_srgb() {
    let bytes = print::pdf(&Layout::first(), None, Paper::A4).unwrap();
    assert_eq!(bytes, print::pdf(&Layout::first(), None, Paper::A4).unwrap());
    let pdf = Pdf::new(bytes).unwrap();
    let root: Dict = pdf.xref().get(pdf.xref().root_id()).unwrap();
    let wishes: Dict = root.get("ViewerPreferences").unwrap();
    assert_eq!(wishes.get::<Name>("PrintScaling").unwrap().as_str(), "None");

    let page = &pdf.pages()[0];
    let space: Array = page.resources().color_spaces.get("Srgb").unwrap();
    let mut parts = space.flex_iter();
    assert_eq!(parts.next::<Name>().unwrap().as_str(), "ICCBased");
    let stream: Stream = parts.next().unwrap();
    let icc = stream.decoded().unwrap();
    assert_eq!(icc[24..36], [1999u16, 10, 18, 0, 0, 0].map(u16::to_be_bytes).concat(), "no moment of making inside");
    assert_eq!(u32::from_be_bytes(icc[..4].try_into().unwrap()) as usize, icc.len());
    // Tags read by hand: count at byte 128, then name, place and size of each (ICC.1:2010, 7.3).
    let tag = |name: &[u8; 4]| {
        let count = u32::from_be_bytes(icc[128..132].try_into().unwrap()) as usize;
        let entry = icc[132..132 + 12 * count].chunks(12).find(|e| &e[..4] == name).unwrap();
        &icc[u32::from_be_bytes(entry[4..8].try_into().unwrap()) as usize..]
    };
    let fixed = |b: &[u8]| f64::from(i32::from_be_bytes(b[..4].try_into().unwrap())) / 65536.0;
    // sRGB primaries adapted to D50 by the Bradford matrix (published by B. Lindbloom, 'RGB/XYZ Matrices').
    let published = [
        (b"rXYZ", [0.4360747, 0.2225045, 0.0139322]),
        (b"gXYZ", [0.3850649, 0.7168786, 0.0971045]),
        (b"bXYZ", [0.1430804, 0.0606169, 0.7141733]),
    ];
    for (name, xyz) in published {
        let data = tag(name);
        for (i, v) in xyz.iter().enumerate() {
            let found = fixed(&data[8 + 4 * i..]);
            // Numbers in the file come in steps of 1/65536.
            assert!((found - v).abs() <= 0.5 / 65536.0 + 1e-7, "{}: {found}, not {v}", String::from_utf8_lossy(name));
        }
    }
    // The curve of IEC 61966-2-1 as a parametric curve of type 3: g, a, b, c, d.
    for name in [b"rTRC", b"gTRC", b"bTRC"] {
        let data = tag(name);
        assert_eq!((&data[..4], data[9]), (&b"para"[..], 3));
        for (i, v) in [2.4, 1.0 / 1.055, 0.055 / 1.055, 1.0 / 12.92, 0.04045].iter().enumerate() {
            assert!((fixed(&data[12 + 4 * i..]) - v).abs() < 1e-5);
        }
    }
}
