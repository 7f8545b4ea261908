//! Text as pixels, for cards and overlays. The font is Noto Sans (SIL Open Font License 1.1), compiled in.

use ab_glyph::{Font, FontRef, GlyphId, ScaleFont, point};
use image::{Rgb, RgbImage};
use std::sync::OnceLock;

/// The two cuts in use.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Weight {
    Regular,
    Bold,
}

fn font(weight: Weight) -> &'static FontRef<'static> {
    static REGULAR: OnceLock<FontRef<'static>> = OnceLock::new();
    static BOLD: OnceLock<FontRef<'static>> = OnceLock::new();
    let (cell, bytes) = match weight {
        Weight::Regular => (&REGULAR, notosans::REGULAR_TTF),
        Weight::Bold => (&BOLD, notosans::BOLD_TTF),
    };
    // The bytes are compiled in and read by every test here.
    cell.get_or_init(|| FontRef::try_from_slice(bytes).expect("the shipped font is well-formed"))
}

/// Calls `each` with every glyph and its pen position; returns where the pen stops. Lengths in units of `em`.
fn set(text: &str, em: f32, weight: Weight, mut each: impl FnMut(GlyphId, f32)) -> f32 {
    let font = font(weight);
    let scale = scale(font, em);
    let scaled = font.as_scaled(scale);
    let (mut pen, mut before) = (0.0, None);
    for c in text.chars() {
        let glyph = match scaled.glyph_id(c) {
            GlyphId(0) => scaled.glyph_id(instead(c)),
            glyph => glyph,
        };
        if let Some(b) = before {
            pen += scaled.kern(b, glyph);
        }
        each(glyph, pen);
        pen += scaled.h_advance(glyph);
        before = Some(glyph);
    }
    pen
}

/// The font crate counts a size from descender to ascender; this is the one that makes the em square `em` high.
fn scale(font: &FontRef, em: f32) -> f32 {
    em * font.height_unscaled() / font.units_per_em().unwrap_or(1000.0)
}

/// What is drawn for a sign the font lacks: units may come with small figures.
fn instead(c: char) -> char {
    match c {
        '₀'..='₉' => char::from(b'0' + (u32::from(c) - u32::from('₀')) as u8),
        '⁰' | '⁴'..='⁹' => char::from(b'0' + (u32::from(c) - u32::from('⁰')) as u8),
        '⁺' | '₊' => '+',
        '⁻' | '₋' => '–',
        '\u{a0}' | '\u{2009}' | '\u{202f}' => ' ',
        _ => '?',
    }
}

/// Width of a line, in the unit of `em`.
pub(super) fn width(text: &str, em: f32, weight: Weight) -> f32 {
    set(text, em, weight, |_, _| ())
}

/// Draws a line: `x` is its left end, `baseline` its foot, in pixels from the picture's top left corner.
pub(super) fn draw(
    picture: &mut RgbImage,
    text: &str,
    (x, baseline): (f32, f32),
    em: f32,
    weight: Weight,
    colour: Rgb<u8>,
) {
    let font = font(weight);
    let size = scale(font, em);
    let mut outlines = Vec::new();
    set(text, em, weight, |glyph, pen| {
        outlines.extend(font.outline_glyph(glyph.with_scale_and_position(size, point(x + pen, baseline))));
    });
    for outline in outlines {
        let corner = outline.px_bounds().min;
        outline.draw(|dx, dy, cover| {
            let (px, py) = (corner.x as i64 + i64::from(dx), corner.y as i64 + i64::from(dy));
            blend(picture, px, py, colour, cover);
        });
    }
}

/// Lays `colour` over a pixel with the given cover, 0 to 1; outside the picture nothing happens.
pub(super) fn blend(picture: &mut RgbImage, x: i64, y: i64, colour: Rgb<u8>, cover: f32) {
    if x < 0 || y < 0 || x >= i64::from(picture.width()) || y >= i64::from(picture.height()) {
        return;
    }
    let cover = cover.clamp(0.0, 1.0);
    let pixel = picture.get_pixel_mut(x as u32, y as u32);
    for (under, over) in pixel.0.iter_mut().zip(colour.0) {
        *under = (f32::from(*under) + (f32::from(over) - f32::from(*under)) * cover).round() as u8;
    }
}

/// Breaks text at its spaces into lines no wider than `widest`, in the unit of `em`. A word longer than that is broken.
pub(super) fn wrap(text: &str, em: f32, weight: Weight, widest: f32) -> Vec<String> {
    let fits = |line: &str| width(line, em, weight) <= widest;
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if fits(&format!("{line} {word}")) => {
                line.push(' ');
                line.push_str(word);
            }
            _ => {
                let mut piece = String::new();
                for c in word.chars() {
                    if !piece.is_empty() && !fits(&format!("{piece}{c}")) {
                        lines.push(std::mem::take(&mut piece));
                    }
                    piece.push(c);
                }
                lines.push(piece);
            }
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_em_is_an_em() {
        // Noto Sans Regular: 1000 units to the em, the letter H is 741 wide and 714 high, as its tables say.
        assert!((width("H", 1000.0, Weight::Regular) - 741.0).abs() < 0.5);
        let mut p = RgbImage::from_pixel(200, 200, Rgb([255; 3]));
        draw(&mut p, "H", (20.0, 150.0), 100.0, Weight::Regular, Rgb([0; 3]));
        let dark: Vec<u32> = p.enumerate_pixels().filter(|(_, _, c)| c.0[0] < 128).map(|(_, y, _)| y).collect();
        let (top, foot) = (dark.iter().min().unwrap(), dark.iter().max().unwrap());
        assert_eq!((150 - top, *foot), (71, 149));
    }

    #[test]
    fn lines_keep_their_width_and_words() {
        let text = "Lean the card upright against something stiff and stand the vials before its lower edge.";
        let lines = wrap(text, 3.0, Weight::Regular, 40.0);
        assert_eq!(lines.len(), 4, "{lines:?}");
        assert!(lines.iter().all(|l| width(l, 3.0, Weight::Regular) <= 40.0));
        assert_eq!(lines.join(" "), text);
    }

    #[test]
    fn a_long_word_is_broken() {
        let lines = wrap("a phosphomolybdenum-blue test", 10.0, Weight::Bold, 60.0);
        assert!(lines.len() >= 4 && lines.iter().all(|l| width(l, 10.0, Weight::Bold) <= 60.0), "{lines:?}");
        assert_eq!(lines.concat().replace(' ', ""), "aphosphomolybdenum-bluetest");
    }

    #[test]
    fn signs_in_use_have_a_glyph_or_another_sign() {
        for weight in [Weight::Regular, Weight::Bold] {
            let lacking = |c: char| font(weight).glyph_id(c).0 == 0;
            for c in "AZaz09 .,:;()+-–−×±≤≥<>°%/·‘’“”…µäöüßéèñ?".chars() {
                assert!(!lacking(c), "no glyph for {c}");
            }
            for (c, other) in "₀₃₄₉⁰⁴⁹⁺⁻".chars().zip("03490 49+–".replace(' ', "").chars()) {
                assert!(!lacking(c) || instead(c) == other, "{c} is drawn as {}", instead(c));
            }
        }
        assert_eq!(width("NO₃⁻", 10.0, Weight::Regular), width("NO3–", 10.0, Weight::Regular));
    }
}
