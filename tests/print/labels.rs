//! Sheets of labels, read back.

use super::detect;
use super::file::read;
use hayro_syntax::Pdf;
use image::GrayImage;
use roxmltree::Document;
use tintline::card::labels::{EDGE, SIDE, SIZE, TOP};
use tintline::card::layout::Marker;
use tintline::faces::print::{self, Dpi, LabelText, Paper};

fn texts(count: u32) -> Vec<LabelText> {
    let number = |i: u32| if i.is_multiple_of(2) { 16 + i / 2 } else { 256 + i / 2 };
    (0..count).map(|i| LabelText { number: number(i), words: format!("name {i}"), kind: "tank".into() }).collect()
}

#[test]
fn a_photo_print_shows_every_marker_in_its_size_and_place() {
    let texts = texts(30);
    for (dpi, per_inch) in [(Dpi::D300, 300.0), (Dpi::D600, 600.0)] {
        let bytes = print::labels_png(&texts, dpi).unwrap();
        let picture: GrayImage = image::load_from_memory(&bytes).unwrap().to_luma8();
        let per_mm = per_inch / 25.4;
        assert_eq!(picture.width(), (6.0 * per_inch) as u32);
        // Twelve labels a row from 4 mm inside the print's corner.
        let mut markers: Vec<Marker> = texts
            .iter()
            .enumerate()
            .map(|(i, t)| {
                let [x, y] = [(i % 12) as f64 * SIZE[0] + 4.0 + SIDE, (i / 12) as f64 * SIZE[1] + 4.0 + TOP];
                Marker { id: t.number, x, y, edge: EDGE }
            })
            .collect();
        markers.sort_by_key(|m| m.id);
        // Rectangles end at a pixel's border: half a pixel at most.
        let found = detect::detect(&picture);
        assert_eq!(found.iter().map(|f| f.id).collect::<Vec<_>>(), markers.iter().map(|m| m.id).collect::<Vec<_>>());
        for (f, m) in found.iter().zip(&markers) {
            let want = [[m.x + m.edge, m.y], [m.x, m.y], [m.x, m.y + m.edge], [m.x + m.edge, m.y + m.edge]];
            for (corner, place) in f.corners.iter().zip(want) {
                let off = (0..2).map(|i| (corner[i] - place[i] * per_mm).abs()).fold(0.0, f64::max);
                assert!(off < 0.6, "{per_inch} dpi, marker {}: {corner:?} for {place:?}", m.id);
            }
        }
    }
}

#[test]
fn a_page_has_every_name_on_its_label_and_a_ruler() {
    for paper in [Paper::A4, Paper::Letter] {
        let texts = texts(40);
        let page = read(&Pdf::new(print::labels_pdf(&texts, paper).unwrap()).unwrap());
        for (i, text) in texts.iter().enumerate() {
            let named = page.lines.iter().filter(|(line, ..)| *line == text.words).count();
            let below = page.lines.iter().filter(|(line, ..)| *line == format!("tank {}", text.number)).count();
            assert_eq!((named, below), (1, 1), "label {i}");
        }
        // A word lies as far below its marker's upper edge as on every label.
        let at = |i: usize| page.lines.iter().find(|(l, ..)| *l == texts[i].words).unwrap().1;
        let columns = ((paper.size()[0] - 20.0) / SIZE[0]) as usize;
        assert!((at(columns)[1] - at(0)[1] - SIZE[1]).abs() < 1e-3 && (at(1)[1] - at(0)[1]).abs() < 1e-3);
        assert!(page.lines.iter().any(|(line, ..)| line == "100"), "the ruler's end");
        assert_eq!(print::labels_pdf(&texts, paper).unwrap(), print::labels_pdf(&texts, paper).unwrap());
    }
}

#[test]
fn the_drawing_is_in_millimetres_and_words_are_safe_in_it() {
    let odd = LabelText { number: 300, words: "<b> & \"co\"".into(), kind: "tank".into() };
    let svg = print::labels_svg(&[odd]).unwrap();
    let document = Document::parse(&svg).unwrap();
    assert_eq!(document.root_element().attribute("width"), Some("16mm"));
    let texts: Vec<_> = document.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
    assert_eq!(texts.join(" "), "<b> & \"co\" tank 300");
    assert_eq!(print::labels_pdf(&texts_of(587), Paper::A4).unwrap_err().code(), "print-no-such-marker");
    assert_eq!(print::labels_pdf(&self::texts(211), Paper::A4).unwrap_err().code(), "print-too-many");
}

fn texts_of(number: u32) -> Vec<LabelText> {
    vec![LabelText { number, words: "x".into(), kind: "tank".into() }]
}
