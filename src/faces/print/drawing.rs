//! What is drawn, in millimetres from the top left corner: the same shapes go to PDF, PNG and SVG.

use crate::card::layout::Rect;
use crate::faces::lettering::Weight;

/// What a shape is filled with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ink {
    /// Black ink alone, where the format can say so.
    Black,
    /// Bare paper.
    White,
    /// A nominal 8-bit sRGB colour.
    Srgb([u8; 3]),
}

/// One thing drawn, over those before it.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Shape {
    /// Rectangles filled as one area, so that neighbours leave no seam.
    Rects { rects: Vec<Rect>, ink: Ink },
    /// A filled triangle.
    Triangle { points: [[f64; 2]; 3], ink: Ink },
    /// A line of text from its left end on the baseline; `em` is the font's size.
    Text { at: [f64; 2], em: f64, weight: Weight, ink: Ink, text: String },
}

/// Shapes on an area of bare paper.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Drawing {
    pub width: f64,
    pub height: f64,
    pub shapes: Vec<Shape>,
}

impl Drawing {
    pub fn new(width: f64, height: f64) -> Self {
        Self { width, height, shapes: Vec::new() }
    }

    /// One filled rectangle.
    pub fn rect(&mut self, x: f64, y: f64, w: f64, h: f64, ink: Ink) {
        self.shapes.push(Shape::Rects { rects: vec![Rect { x, y, w, h }], ink });
    }

    /// One line of text.
    pub fn text(&mut self, at: [f64; 2], em: f64, weight: Weight, ink: Ink, text: impl Into<String>) {
        self.shapes.push(Shape::Text { at, em, weight, ink, text: text.into() });
    }

    /// Puts another drawing's shapes on this one, its top left corner at `at`.
    pub fn place(&mut self, other: &Drawing, at: [f64; 2]) {
        let [dx, dy] = at;
        self.shapes.extend(other.shapes.iter().cloned().map(|mut shape| {
            match &mut shape {
                Shape::Rects { rects, .. } => rects.iter_mut().for_each(|r| (r.x, r.y) = (r.x + dx, r.y + dy)),
                Shape::Triangle { points, .. } => points.iter_mut().for_each(|p| *p = [p[0] + dx, p[1] + dy]),
                Shape::Text { at, .. } => *at = [at[0] + dx, at[1] + dy],
            }
            shape
        }));
    }

    /// Hairlines that show where to cut out `card`: from `gap` outside each corner, `length` long.
    pub fn crop_marks(&mut self, card: Rect, gap: f64, length: [f64; 2]) {
        const LINE: f64 = 0.1;
        for x in [card.x, card.x + card.w] {
            for y in [card.y - gap - length[1], card.y + card.h + gap] {
                self.rect(x - LINE / 2.0, y, LINE, length[1], Ink::Black);
            }
        }
        for y in [card.y, card.y + card.h] {
            for x in [card.x - gap - length[0], card.x + card.w + gap] {
                self.rect(x, y - LINE / 2.0, length[0], LINE, Ink::Black);
            }
        }
    }
}
