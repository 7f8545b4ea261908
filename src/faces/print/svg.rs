//! A drawing as SVG, one user unit to the millimetre.

use super::drawing::{Drawing, Ink, Shape};
use crate::faces::lettering::Weight;
use std::fmt::Write;

/// The drawing as an SVG document whose size is given in millimetres.
pub(super) fn svg(drawing: &Drawing, title: &str) -> String {
    let (w, h) = (Mm(drawing.width), Mm(drawing.height));
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">\n\
         <title>{}</title>\n<rect width=\"{w}\" height=\"{h}\" fill=\"#ffffff\"/>\n",
        escape(title)
    );
    for shape in &drawing.shapes {
        // Writing to a String cannot fail.
        let _ = match shape {
            Shape::Rects { rects, ink } => match rects.as_slice() {
                [r] => writeln!(
                    out,
                    "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{}\"/>",
                    Mm(r.x),
                    Mm(r.y),
                    Mm(r.w),
                    Mm(r.h),
                    colour(*ink)
                ),
                rects => {
                    let mut d = String::new();
                    for r in rects {
                        let _ = write!(d, "M{} {}h{}v{}h{}z", Mm(r.x), Mm(r.y), Mm(r.w), Mm(r.h), Mm(-r.w));
                    }
                    writeln!(out, "<path d=\"{d}\" fill=\"{}\"/>", colour(*ink))
                }
            },
            Shape::Triangle { points, ink } => {
                let corners: Vec<String> = points.iter().map(|p| format!("{},{}", Mm(p[0]), Mm(p[1]))).collect();
                writeln!(out, "<polygon points=\"{}\" fill=\"{}\"/>", corners.join(" "), colour(*ink))
            }
            Shape::Text { at, em, weight, ink, text } => writeln!(
                out,
                "<text x=\"{}\" y=\"{}\" font-size=\"{}\" font-family=\"sans-serif\" font-weight=\"{}\" fill=\"{}\">{}</text>",
                Mm(at[0]),
                Mm(at[1]),
                Mm(*em),
                if *weight == Weight::Bold { "bold" } else { "normal" },
                colour(*ink),
                escape(text)
            ),
        };
    }
    out.push_str("</svg>\n");
    out
}

/// Millimetres to a tenth of a micrometre, without trailing zeros.
struct Mm(f64);

impl std::fmt::Display for Mm {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", (self.0 * 1e4).round() / 1e4)
    }
}

fn colour(ink: Ink) -> String {
    let [r, g, b] = match ink {
        Ink::Black => [0; 3],
        Ink::White => [255; 3],
        Ink::Srgb(c) => c,
    };
    format!("#{r:02x}{g:02x}{b:02x}")
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
