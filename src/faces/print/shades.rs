//! A test's shades as they are seen by the usual eye and with each kind of colour vision deficiency, numbered and named.

use super::drawing::{Drawing, Ink};
use crate::colour::{Deficiency, Lab, Srgb, linear_from_lab, srgb_from_linear};
use crate::curve::vision::{ALIKE, Pair, Shade, as_seen};
use crate::faces::lettering::{self, Weight};

/// A test to be drawn.
pub struct Series {
    /// Its name and unit.
    pub title: String,
    pub shades: Vec<Shade>,
    pub pairs: Vec<Pair>,
}

/// Millimetres: margin, the column of names, a shade's width and height, from row to row.
const MARGIN: f64 = 6.0;
const NAMES: f64 = 22.0;
const SHADE: [f64; 2] = [20.0, 11.0];
const ROW: f64 = 14.5;
const TEXT: f64 = 2.6;

const EYES: [(&str, Option<Deficiency>); 4] = [
    ("usual", None),
    ("protan", Some(Deficiency::Protan)),
    ("deutan", Some(Deficiency::Deutan)),
    ("tritan", Some(Deficiency::Tritan)),
];

/// All tests, one below the other.
pub(super) fn drawing(all: &[Series]) -> Drawing {
    let most = all.iter().map(|s| s.shades.len()).max().unwrap_or(0);
    let width = (2.0 * MARGIN + NAMES + most as f64 * SHADE[0]).max(120.0);
    let blocks: Vec<Drawing> = all.iter().map(|s| block(s, width)).collect();
    let mut out = Drawing::new(width, MARGIN + 6.0 + blocks.iter().map(|b| b.height).sum::<f64>());
    let mut y = MARGIN;
    for b in &blocks {
        out.place(b, [0.0, y]);
        y += b.height;
    }
    let note = format!("A bar joins neighbours that such eyes cannot tell apart (less than {ALIKE} in \u{394}E00).");
    out.text([MARGIN, y + 2.0], TEXT, Weight::Regular, Ink::Black, note);
    out
}

fn block(series: &Series, width: f64) -> Drawing {
    let words: Vec<Vec<String>> = series.shades.iter().map(|s| lines(&s.words)).collect();
    let foot = words.iter().map(Vec::len).max().unwrap_or(0) as f64 * (TEXT + 0.6);
    let mut out = Drawing::new(width, 9.0 + EYES.len() as f64 * ROW + foot + 6.0);
    out.text([MARGIN, 4.0], 3.6, Weight::Bold, Ink::Black, series.title.as_str());
    let left = |i: usize| MARGIN + NAMES + i as f64 * SHADE[0];
    for (row, (name, kind)) in EYES.iter().enumerate() {
        let y = 8.0 + row as f64 * ROW;
        out.text([MARGIN, y + 6.5], 3.0, Weight::Regular, Ink::Black, *name);
        for (i, shade) in series.shades.iter().enumerate() {
            let lab = kind.map_or(shade.lab, |k| as_seen(k, shade.lab));
            out.rect(left(i), y, SHADE[0] - 1.0, SHADE[1], Ink::Srgb(code(lab)));
            let ink = if lab.0[0] > 55.0 { Ink::Black } else { Ink::White };
            out.text([left(i) + 1.2, y + 4.2], 3.2, Weight::Bold, ink, shade.value.to_string());
        }
        for (i, pair) in series.pairs.iter().filter(|p| p.neighbours).enumerate() {
            if pair.alike(*kind) {
                out.rect(left(i) + SHADE[0] / 2.0, y + SHADE[1] + 0.6, SHADE[0], 1.0, Ink::Black);
            }
        }
    }
    let y = 8.0 + EYES.len() as f64 * ROW + TEXT;
    for (i, words) in words.iter().enumerate() {
        for (n, line) in words.iter().enumerate() {
            let at = [left(i), y + n as f64 * (TEXT + 0.6)];
            out.text(at, TEXT, Weight::Regular, Ink::Black, line.as_str());
        }
    }
    out
}

/// Words broken into lines that fit below a shade.
fn lines(words: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for word in words.split(' ') {
        let longer = out.last().map(|l| format!("{l} {word}"));
        let fits = |l: &String| f64::from(lettering::width(l, TEXT as f32, Weight::Regular)) < SHADE[0] - 1.0;
        match longer.filter(fits) {
            Some(longer) => {
                out.pop();
                out.push(longer);
            }
            None => out.push(word.to_string()),
        }
    }
    out
}

fn code(lab: Lab) -> [u8; 3] {
    let Srgb(code) = srgb_from_linear(linear_from_lab(lab));
    code.map(|c| (c.clamp(0.0, 1.0) * 255.0).round() as u8)
}
