//! The card itself: a layout and a number as shapes.

use super::PrintError;
use super::drawing::{Drawing, Ink, Shape};
use crate::card::CardNumber;
use crate::card::family::{self, MODULES};
use crate::card::layout::{Layout, Marker, Rect};
use crate::faces::lettering::Weight;

/// Station marks and lettering are grey, so that nothing takes them for a marker.
const GREY: Ink = Ink::Srgb([150; 3]);
/// Lettering along the lower edge, in millimetres to the em.
const EM: f64 = 2.0;
/// A station's triangle: half its width, its height, and the letter's distance.
const HALF: f64 = 1.2;
const HEIGHT: f64 = 2.4;
const GAP: f64 = 0.6;

/// The card as shapes, its own size.
pub(super) fn card(layout: &Layout, number: Option<CardNumber>) -> Result<Drawing, PrintError> {
    let mut drawing = Drawing::new(layout.width, layout.height);
    for patch in &layout.patches {
        drawing.shapes.push(Shape::Rects { rects: vec![patch.rect], ink: Ink::Srgb(patch.srgb) });
    }
    for marker in layout.markers.iter().copied().chain(number.map(|n| n.marker(layout))) {
        fiducial(&mut drawing, marker)?;
    }
    stations(&mut drawing, layout);
    lettering(&mut drawing, layout, number);
    Ok(drawing)
}

/// A marker: its black square, then its white modules as one area, row by row in runs.
pub(super) fn fiducial(drawing: &mut Drawing, marker: Marker) -> Result<(), PrintError> {
    let pattern = family::pattern(marker.id).ok_or(PrintError::NoSuchMarker { id: marker.id })?;
    drawing.rect(marker.x, marker.y, marker.edge, marker.edge, Ink::Black);
    let module = marker.edge / MODULES as f64;
    let mut rects = Vec::new();
    for (row, modules) in pattern.iter().enumerate() {
        let mut column = 0;
        for run in modules.chunk_by(|a, b| a == b) {
            if run[0] {
                rects.push(Rect {
                    x: marker.x + column as f64 * module,
                    y: marker.y + row as f64 * module,
                    w: run.len() as f64 * module,
                    h: module,
                });
            }
            column += run.len();
        }
    }
    drawing.shapes.push(Shape::Rects { rects, ink: Ink::White });
    Ok(())
}

/// The strip of paper below the bay.
fn strip(layout: &Layout) -> Rect {
    let top = layout.bay.y + layout.bay.h;
    Rect { x: 0.0, y: top, w: layout.width, h: layout.height - top }
}

/// A triangle under each station pointing at its place, and the station's name beside it.
fn stations(drawing: &mut Drawing, layout: &Layout) {
    let strip = strip(layout);
    // A little nearer the card's edge than the bay, where vials stand.
    let apex = strip.y + (strip.h - HEIGHT) * 0.615;
    let foot = apex + HEIGHT;
    for (&x, name) in layout.stations.x.iter().zip(&layout.stations.names) {
        let points = [[x, apex], [x + HALF, foot], [x - HALF, foot]];
        drawing.shapes.push(Shape::Triangle { points, ink: GREY });
        drawing.text([x + HALF + GAP, baseline(layout)], EM, Weight::Bold, GREY, name);
    }
}

/// Foot of all lettering in the strip: as far above the card's edge as makes capitals sit beside the triangles.
fn baseline(layout: &Layout) -> f64 {
    let strip = strip(layout);
    strip.y + strip.h * 0.76
}

/// The layout's and the card's number under the left markers, the card's size under the right ones, so that any
/// print can be checked with a ruler.
fn lettering(drawing: &mut Drawing, layout: &Layout, number: Option<CardNumber>) {
    let columns = layout.markers.iter().map(|m| m.x);
    let (left, right) = columns.fold((f64::MAX, f64::MIN), |(l, r), x| (l.min(x), r.max(x)));
    let foot = baseline(layout);
    let mut text = format!("layout {}", layout.layout);
    if let Some(n) = number {
        text += &format!(" · {n}");
    }
    drawing.text([left, foot], EM, Weight::Regular, GREY, text);
    let size = format!("{} × {} mm", layout.width, layout.height);
    drawing.text([right, foot], EM, Weight::Regular, GREY, size);
}
