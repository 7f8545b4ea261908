//! Cut-out labels: a marker with its words, and sheets of them.

use super::card::fiducial;
use super::drawing::{Drawing, Ink};
use super::page::ruler;
use super::{PHOTO_PRINT, Paper, PrintError};
use crate::card::labels::{EDGE, SIDE, SIZE, TOP};
use crate::card::layout::Marker;
use crate::faces::lettering::{self, Weight};
use crate::log::{Label, Names};

/// What is printed on a label.
#[derive(Debug, Clone, PartialEq)]
pub struct LabelText {
    /// The number of its marker.
    pub number: u32,
    /// Its name in plain words.
    pub words: String,
    /// What kind of thing it is, such as `tank`.
    pub kind: String,
}

impl From<&Label> for LabelText {
    fn from(l: &Label) -> Self {
        let kind = match &l.names {
            Names::Test(_) => "test",
            Names::Tank(_) => "tank",
            _ => "water",
        };
        Self { number: l.number, words: l.words.clone(), kind: kind.to_string() }
    }
}

/// Words: the largest em, the smallest, and that of the line below, mm.
const EM: f64 = 2.0;
const LEAST: f64 = 1.3;
const SMALL: f64 = 1.35;
/// Between the words and the label's edge, mm.
const PAD: f64 = 0.6;
/// Room for the words: two lines of the largest em.
const ROOM: f64 = 2.0 * EM * 1.05;
/// The line to cut along is grey, so that a bad cut leaves no black beside a marker.
const CUT: Ink = Ink::Srgb([170; 3]);
const LINE: f64 = 0.1;
/// Paper that home printers cannot reach, on every side, mm.
const UNPRINTED: f64 = 10.0;
/// Of a sheet that is no photo print: heading and ruler.
const HEAD: f64 = 40.0;

const HOW: &str = "Print at 100 % (no ‘fit to page’) and check the ruler line: it must be 100 mm long. Cut along the grey \
     lines. Lay or stick a test’s and a target’s label side by side above their station, right below the colour patches, so \
     that no cap covers a marker; the words may be hidden.";

/// One label, its own size.
pub(super) fn label(text: &LabelText) -> Result<Drawing, PrintError> {
    let mut drawing = Drawing::new(SIZE[0], SIZE[1]);
    fiducial(&mut drawing, Marker { id: text.number, x: SIDE, y: TOP, edge: EDGE })?;
    let widest = SIZE[0] - 2.0 * PAD;
    let (em, lines) = set(&text.words, widest);
    let mut foot = TOP + EDGE + 0.3;
    for line in lines {
        foot += em * 1.05;
        centred(&mut drawing, &line, foot, em, Weight::Bold);
    }
    let below = format!("{} {}", text.kind, text.number);
    centred(&mut drawing, &below, SIZE[1] - PAD, SMALL, Weight::Regular);
    Ok(drawing)
}

/// The largest em at which the words take no more than their room, and the lines. What is too long ends in an ellipsis.
fn set(words: &str, widest: f64) -> (f64, Vec<String>) {
    let mut em = EM;
    loop {
        let mut lines = lettering::wrap(words, em as f32, Weight::Bold, widest as f32);
        let most = (ROOM / (em * 1.05)) as usize;
        if lines.len() <= most.min(2) {
            return (em, lines);
        }
        if em <= LEAST {
            lines.truncate(most.max(1));
            if let Some(last) = lines.last_mut() {
                while lettering::width(&format!("{last}…"), em as f32, Weight::Bold) > widest as f32
                    && last.pop().is_some()
                {}
                last.push('…');
            }
            return (em, lines);
        }
        em = (em - 0.1).max(LEAST);
    }
}

fn centred(drawing: &mut Drawing, line: &str, foot: f64, em: f64, weight: Weight) {
    let wide = f64::from(lettering::width(line, em as f32, weight));
    drawing.text([(SIZE[0] - wide) / 2.0, foot], em, weight, Ink::Black, line);
}

/// A page of labels with a line to check the print's scale.
pub(super) fn page(texts: &[LabelText], paper: Paper) -> Result<Drawing, PrintError> {
    let [width, height] = paper.size();
    let mut page = Drawing::new(width, height);
    page.text([UNPRINTED, 17.0], 5.6, Weight::Bold, Ink::Black, "Labels for water tests");
    let mut y = 23.0;
    for line in lettering::wrap(HOW, 2.8, Weight::Regular, (width - 2.0 * UNPRINTED) as f32) {
        page.text([UNPRINTED, y], 2.8, Weight::Regular, Ink::Black, line);
        y += 3.9;
    }
    ruler(&mut page, UNPRINTED, HEAD);
    let area = [UNPRINTED, HEAD + 10.0, width - 2.0 * UNPRINTED, height - HEAD - 10.0 - UNPRINTED];
    grid(&mut page, texts, area)?;
    Ok(page)
}

/// A photo print full of labels.
pub(super) fn photo_print(texts: &[LabelText]) -> Result<Drawing, PrintError> {
    let [width, height] = PHOTO_PRINT;
    let mut photo = Drawing::new(width, height);
    grid(&mut photo, texts, [4.0, 4.0, width - 8.0, height - 8.0])?;
    Ok(photo)
}

/// The labels alone, on as little paper as they take.
pub(super) fn alone(texts: &[LabelText]) -> Result<Drawing, PrintError> {
    let columns = texts.len().clamp(1, 14);
    let rows = texts.len().div_ceil(columns).max(1);
    let [width, height] = [columns as f64 * SIZE[0] + 4.0, rows as f64 * SIZE[1] + 4.0];
    let mut sheet = Drawing::new(width, height);
    grid(&mut sheet, texts, [2.0, 2.0, width - 4.0, height - 4.0])?;
    Ok(sheet)
}

/// Labels edge to edge, with lines to cut along, in an area (left, top, width, height).
fn grid(sheet: &mut Drawing, texts: &[LabelText], [left, top, width, height]: [f64; 4]) -> Result<(), PrintError> {
    // The thousandth keeps a width that is a whole number of labels.
    let [columns, rows] = [(width + 1e-3) / SIZE[0], (height + 1e-3) / SIZE[1]].map(|n| n as usize);
    if texts.len() > columns * rows {
        return Err(PrintError::TooMany { count: texts.len(), most: columns * rows });
    }
    let places =
        (0..texts.len()).map(|i| [left + (i % columns) as f64 * SIZE[0], top + (i / columns) as f64 * SIZE[1]]);
    for (text, at) in texts.iter().zip(places.clone()) {
        sheet.place(&label(text)?, at);
    }
    for [x, y] in places {
        for dx in [0.0, SIZE[0]] {
            sheet.rect(x + dx - LINE / 2.0, y, LINE, SIZE[1], CUT);
        }
        for dy in [0.0, SIZE[1]] {
            sheet.rect(x, y + dy - LINE / 2.0, SIZE[0], LINE, CUT);
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_stay_on_their_label_below_the_marker() {
        let widest = SIZE[0] - 2.0 * PAD;
        for words in [
            "pH",
            "new water",
            "zero standard",
            "nitrate 5 mg/L NO3-",
            "ammonia",
            "shelf 60 by the window",
            "phosphomolybdenum-blue-method",
            "a b c d e f g h i j k l m n o p q r s t u v w x y z",
        ] {
            let (em, lines) = set(words, widest);
            assert!((LEAST..=EM).contains(&em) && (1..=3).contains(&lines.len()), "{words}: {em} {lines:?}");
            assert!(
                lines.iter().all(|l| f64::from(lettering::width(l, em as f32, Weight::Bold)) <= widest),
                "{lines:?}"
            );
            // The last line's foot stays above the small line's head.
            let foot = TOP + EDGE + 0.3 + lines.len() as f64 * em * 1.05;
            assert!(foot + 0.2 * em < SIZE[1] - PAD - 0.7 * SMALL, "{words}: {foot}");
        }
        assert_eq!(set("pH", widest), (EM, vec!["pH".to_string()]));
        assert!(set(&"long ".repeat(30), widest).1.last().unwrap().ends_with('…'));
    }

    #[test]
    fn sheets_hold_what_they_say() {
        let text = LabelText { number: 256, words: "shelf".into(), kind: "tank".into() };
        let sheet = |n: usize| vec![text.clone(); n];
        // A4 less its edges: 15 columns, 14 rows.
        assert!(page(&sheet(15 * 14), Paper::A4).is_ok());
        assert!(matches!(page(&sheet(15 * 14 + 1), Paper::A4), Err(PrintError::TooMany { count: 211, most: 210 })));
        assert!(photo_print(&sheet(12 * 5)).is_ok());
        assert!(photo_print(&sheet(12 * 5 + 1)).is_err());
        for n in [1, 13, 14, 15, 240] {
            assert!(alone(&sheet(n)).is_ok(), "{n}");
        }
    }
}
