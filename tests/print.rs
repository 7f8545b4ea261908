//! The printed card, read back: places, colours and markers in PDF, PNG and SVG.

mod detect;
mod file;
mod labels;
mod paper;
mod picture;
mod vector;

use tintline::card::layout::{Marker, Rect};
use tintline::card::{CardNumber, Layout};
use tintline::faces::print::{self, Dpi, Paper, PrintError};

/// Another layout than the shipped one, so that a place written into the program would show.
fn odd_layout() -> Layout {
    let mut l = Layout::first();
    l.layout = 7;
    (l.width, l.height) = (141.0, 95.5);
    l.markers.iter_mut().zip([4, 9, 77, 200]).for_each(|(m, id)| {
        (m.id, m.edge) = (id, 11.0);
        (m.x, m.y) = (m.x * 0.94 + 0.32, m.y * 0.95 + 0.02);
    });
    for p in &mut l.patches {
        p.rect = Rect { x: p.rect.x * 0.94, y: p.rect.y * 0.95, w: p.rect.w * 0.93, h: p.rect.h * 0.9 };
        p.srgb = [p.srgb[2], p.srgb[0], 255 - p.srgb[1]];
    }
    l.bay = Rect { x: 22.0, y: 30.0, w: 100.0, h: 60.0 };
    l.stations.x = vec![40.0, 71.25, 110.0];
    l.stations.names = ["P", "Q", "R"].map(String::from).to_vec();
    l
}

/// Every marker a card must show: those of the layout and, on a numbered print, the number's.
fn markers(layout: &Layout, number: Option<CardNumber>) -> Vec<Marker> {
    let mut all = layout.markers.clone();
    // The number's place by the layout's words: the bay's upper left corner, 8 mm, one module (1 mm) of white around.
    let bay = layout.bay;
    all.extend(number.map(|n| Marker { id: 511 + n.get(), x: bay.x + 1.0, y: bay.y + 1.0, edge: 8.0 }));
    all.sort_by_key(|m| m.id);
    all
}

fn cases() -> Vec<(Layout, Option<CardNumber>)> {
    let numbers = [None, CardNumber::new(1), CardNumber::new(12), CardNumber::new(75)];
    let mut cases: Vec<_> = numbers.into_iter().map(|n| (Layout::first(), n)).collect();
    cases.push((odd_layout(), CardNumber::new(40)));
    cases
}

#[test]
fn what_cannot_be_drawn_is_said() {
    let mut unknown = Layout::first();
    unknown.markers[2].id = 587;
    let mut wide = Layout::first();
    wide.width = 200.0;
    let mut long = Layout::first();
    long.height = 190.0;
    let errors: [(Result<(), PrintError>, &str); 6] = [
        (print::svg(&unknown, None).map(drop), "print-no-such-marker"),
        (print::pdf(&unknown, None, Paper::A4).map(drop), "print-no-such-marker"),
        (print::pdf(&wide, None, Paper::A4).map(drop), "print-too-large"),
        (print::pdf(&wide, None, Paper::Letter).map(drop), "print-too-large"),
        (print::pdf(&long, None, Paper::Letter).map(drop), "print-too-large"),
        (print::png(&wide, None, Dpi::D300).map(drop), "print-too-large"),
    ];
    for (result, code) in errors {
        let error = result.unwrap_err();
        assert_eq!(error.code(), code, "{error}");
        assert!(error.remedy().ends_with('.') && !error.to_string().ends_with('.'));
    }
    assert!(print::svg(&wide, None).is_ok(), "SVG has no paper to be too large for");
}
