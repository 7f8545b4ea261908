//! A scene as SVG.

use super::Skin;
use super::scene::{Anchor, Pen, Scene, Shape, Tone};
use crate::faces::markup::escape;
use std::fmt::Write;

pub(super) fn svg(scene: &Scene, skin: Skin) -> String {
    let (w, h) = (Unit(scene.width), Unit(scene.height));
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"{w}\" height=\"{h}\" viewBox=\"0 0 {w} {h}\" \
         font-family=\"system-ui, sans-serif\"{}>\n<title>{}</title>\n",
        if skin != Skin::Paper { " class=\"chart\"" } else { "" },
        escape(&scene.title)
    );
    if skin == Skin::Paper {
        let _ = writeln!(out, "<rect width=\"{w}\" height=\"{h}\" fill=\"#fff\"/>");
    }
    for shape in &scene.shapes {
        // Writing to a String cannot fail.
        let _ = match shape {
            Shape::Line { points, pen } => {
                writeln!(out, "<polyline points=\"{}\" fill=\"none\"{}/>", joined(points), stroke(pen, skin))
            }
            Shape::Area { points, fill, pen } => {
                let pen = pen.map_or(String::new(), |p| stroke(&p, skin));
                writeln!(out, "<polygon points=\"{}\" fill=\"{}\"{pen}/>", joined(points), colour(*fill, skin))
            }
            Shape::Disc { at: [x, y], radius, fill, pen } => writeln!(
                out,
                "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{}\"{}/>",
                Unit(*x),
                Unit(*y),
                Unit(*radius),
                colour(*fill, skin),
                stroke(pen, skin)
            ),
            Shape::Text { at: [x, y], em, bold, tone, anchor, text } => {
                let anchor = match anchor {
                    Anchor::Start => "",
                    Anchor::Middle => " text-anchor=\"middle\"",
                    Anchor::End => " text-anchor=\"end\"",
                };
                let bold = if *bold { " font-weight=\"bold\"" } else { "" };
                writeln!(
                    out,
                    "<text x=\"{}\" y=\"{}\" font-size=\"{}\" fill=\"{}\"{anchor}{bold}>{}</text>",
                    Unit(*x),
                    Unit(*y),
                    Unit(*em),
                    colour(*tone, skin),
                    escape(text)
                )
            }
            Shape::Begin { class, entry, words } => {
                let entry = if entry.is_empty() { String::new() } else { format!(" data-entry=\"{}\"", escape(entry)) };
                writeln!(out, "<g class=\"{class}\"{entry}><title>{}</title>", escape(words))
            }
            Shape::End => writeln!(out, "</g>"),
        };
    }
    out.push_str("</svg>\n");
    out
}

/// A length to a hundredth, without trailing zeros.
struct Unit(f64);

impl std::fmt::Display for Unit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", (self.0 * 100.0).round() / 100.0)
    }
}

fn joined(points: &[[f64; 2]]) -> String {
    points.iter().map(|[x, y]| format!("{},{}", Unit(*x), Unit(*y))).collect::<Vec<_>>().join(" ")
}

fn stroke(pen: &Pen, skin: Skin) -> String {
    let dash = pen.dash.map_or(String::new(), |[on, off]| format!(" stroke-dasharray=\"{} {}\"", Unit(on), Unit(off)));
    format!(" stroke=\"{}\" stroke-width=\"{}\"{dash}", colour(pen.tone, skin), Unit(pen.width))
}

fn colour(tone: Tone, skin: Skin) -> &'static str {
    match (skin, tone) {
        (Skin::Paper, Tone::Ink) => "#000",
        (Skin::Paper, Tone::Soft) => "#777",
        (Skin::Paper, Tone::Ground) => "#fff",
        (_, Tone::Ink) => "currentColor",
        (_, Tone::Soft) => "var(--soft, #777)",
        (_, Tone::Ground) => "var(--ground, #fff)",
    }
}
