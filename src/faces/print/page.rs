//! The card on its paper: where it lies, and what stands around it.

use super::drawing::{Drawing, Ink};
use super::{PHOTO_PRINT, Paper, PrintError};
use crate::card::layout::Rect;
use crate::card::{CardNumber, Layout};
use crate::faces::lettering::{self, Weight};

/// Paper that home printers cannot reach, on every side.
const UNPRINTED: f64 = 6.0;
/// From the paper's upper edge to the card's: room for the heading and the crop marks.
const HEAD: f64 = 34.0;
/// Crop marks: distance from the card and length.
const GAP: f64 = 2.0;
const MARK: f64 = 6.0;
/// Running text: em and line distance (9 pt on 13 pt).
const EM: f64 = 3.175;
const LINE: f64 = 4.55;
/// Where numbered lines begin.
const INDENT: f64 = 5.0;
/// The line that shows the print's scale.
const RULER: f64 = 100.0;

const SCALE: &str =
    "Print at 100 % (no ‘fit to page’, no ‘shrink’). Then lay a ruler here: the line must be 100 mm long.";

const STEPS: &[&str] = &[
    "Use matte paper, as heavy as the printer takes; gloss mirrors the lamp. Print in colour, in the best quality, with \
     the printer’s own colour effects off. Let the ink dry for a day before the card is used.",
    "Cut along the marks and keep the card flat. Write the print’s number on the back if it has none.",
    "Enrol the card before the first reading: one or more photos of it, empty, in open shade outdoors. Every print is \
     a little different; enrolment is what makes the colours right, not the printer.",
    "To read a vial, lean the card upright, stand the vial before its lower edge at A, B, C or D and photograph it \
     straight on, without flash. To read a strip, lay the card flat and the strip on the white field. Read where you \
     calibrated, one vial a photo if you can.",
    "Keep the print dry and away from light: colours fade. When the program says that the patches no longer fit, print \
     and enrol a new one.",
];

const CAUTIONS: &[&str] = &[
    "Reagents can burn, stain or poison: keep them from children, animals and food, follow their labels, wash your \
     hands afterwards. Dispose of tested water as the labels and your local rules say; never pour it back into the tank.",
    "A reading is a measurement with limits, not a diagnosis. If animals look ill, act on what you see and ask a vet.",
];

/// The whole page.
pub(super) fn page(
    layout: &Layout,
    card: &Drawing,
    number: Option<CardNumber>,
    paper: Paper,
) -> Result<Drawing, PrintError> {
    let [width, height] = paper.size();
    let too_large = || PrintError::TooLarge { width: card.width, height: card.height, on: paper.name() };
    let at = [(width - card.width) / 2.0, HEAD];
    // Text takes the card's width, but a narrow card still needs the ruler's.
    let (left, column) = if card.width >= RULER { (at[0], card.width) } else { ((width - RULER) / 2.0, RULER) };
    if at[0].min(left) < UNPRINTED + GAP + MARK {
        return Err(too_large());
    }
    let mut page = Drawing::new(width, height);
    page.text([left, 17.0], 5.6, Weight::Bold, Ink::Black, "Reference card for water tests");
    let mut which = format!("Layout {}, {} × {} mm", layout.layout, layout.width, layout.height);
    which += &number.map_or(", not numbered".to_string(), |n| format!(", {n}"));
    page.text([left, 22.5], EM, Weight::Regular, Ink::Black, which);
    page.place(card, at);
    page.crop_marks(Rect { x: at[0], y: at[1], w: card.width, h: card.height }, GAP, [MARK, MARK]);

    let mut y = at[1] + card.height + GAP + MARK + 7.0;
    ruler(&mut page, left, y);
    y += 9.5;
    y = paragraph(&mut page, [left, y], column, SCALE, Weight::Bold);
    y = heading(&mut page, [left, y + 3.0], "Printing, keeping and using the card");
    for (n, step) in STEPS.iter().enumerate() {
        page.text([left, y], EM, Weight::Regular, Ink::Black, format!("{}.", n + 1));
        y = paragraph(&mut page, [left + INDENT, y], column - INDENT, step, Weight::Regular) + 0.6;
    }
    y = heading(&mut page, [left, y + 2.4], "Caution");
    for caution in CAUTIONS {
        y = paragraph(&mut page, [left, y], column, caution, Weight::Regular) + 0.6;
    }
    if y - LINE > height - UNPRINTED { Err(too_large()) } else { Ok(page) }
}

/// A photo print: the card in the middle, hairlines in the margin to cut along.
pub(super) fn photo_print(layout: &Layout, card: &Drawing) -> Result<Drawing, PrintError> {
    let [width, height] = PHOTO_PRINT;
    let at = [(width - layout.width) / 2.0, (height - layout.height) / 2.0];
    if at[0] < 0.0 || at[1] < 0.0 {
        return Err(PrintError::TooLarge { width: card.width, height: card.height, on: "a 6 × 4 inch photo print" });
    }
    let mut photo = Drawing::new(width, height);
    photo.place(card, at);
    let whole = Rect { x: at[0], y: at[1], w: card.width, h: card.height };
    photo.crop_marks(whole, 0.0, at);
    Ok(photo)
}

/// A line 100 mm long with a tick every millimetre, longer at fives and tens, numbered at tens.
pub(super) fn ruler(page: &mut Drawing, x: f64, y: f64) {
    page.rect(x, y - 0.1, RULER, 0.2, Ink::Black);
    for mm in 0..=RULER as u32 {
        let (length, line) = match mm {
            _ if mm % 10 == 0 => (3.0, 0.15),
            _ if mm % 5 == 0 => (2.0, 0.1),
            _ => (1.2, 0.1),
        };
        // The ends of the line are the outer ends of its first and last tick.
        let centre = f64::from(mm).clamp(line / 2.0, RULER - line / 2.0);
        page.rect(x + centre - line / 2.0, y, line, length, Ink::Black);
        if mm % 10 == 0 {
            let label = mm.to_string();
            // A digit of Helvetica is 0.556 em wide (its published metrics).
            let half = label.len() as f64 * 0.278 * 2.4;
            page.text([x + f64::from(mm) - half, y + 5.4], 2.4, Weight::Regular, Ink::Black, label);
        }
    }
    page.text([x + RULER + 4.0, y + 5.4], 2.4, Weight::Regular, Ink::Black, "mm");
}

fn heading(page: &mut Drawing, at: [f64; 2], text: &str) -> f64 {
    page.text(at, 3.6, Weight::Bold, Ink::Black, text);
    at[1] + 5.2
}

/// Sets text in lines no wider than `column`; returns the next line's baseline. Widths are those of the shipped font,
/// which runs a little wider than the Helvetica a PDF reader sets.
fn paragraph(page: &mut Drawing, at: [f64; 2], column: f64, text: &str, weight: Weight) -> f64 {
    let mut y = at[1];
    for line in lettering::wrap(text, EM as f32, weight, column as f32) {
        page.text([at[0], y], EM, weight, Ink::Black, line);
        y += LINE;
    }
    y
}
