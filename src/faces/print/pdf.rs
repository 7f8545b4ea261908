//! A drawing as a one-page PDF: millimetres become points in one transform, nothing is compressed.

use super::PrintError;
use super::drawing::{Drawing, Ink, Shape};
use crate::faces::lettering::Weight;
use pdf_writer::types::RenderingIntent;
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, Str, TextStr};

/// Points to the millimetre.
const POINTS: f64 = 72.0 / 25.4;
const SRGB: Name = Name(b"Srgb");
const REGULAR: Name = Name(b"Regular");
const BOLD: Name = Name(b"Bold");

/// The drawing as a PDF page of its own size.
pub(super) fn pdf(drawing: &Drawing, title: &str) -> Result<Vec<u8>, PrintError> {
    let [catalog, tree, page, content, profile, regular, bold, info] = std::array::from_fn(|i| Ref::new(i as i32 + 1));
    let mut pdf = Pdf::new();
    pdf.set_version(1, 7);
    let mut root = pdf.catalog(catalog);
    root.pages(tree).lang(TextStr("en"));
    // Asks the reader's print dialogue for 100 % (ISO 32000-1, table 150).
    root.viewer_preferences().pair(Name(b"PrintScaling"), Name(b"None"));
    root.finish();
    pdf.pages(tree).kids([page]).count(1);
    pdf.document_info(info).title(TextStr(title));

    let mut sheet = pdf.page(page);
    sheet.parent(tree).contents(content);
    sheet.media_box(Rect::new(0.0, 0.0, (drawing.width * POINTS) as f32, (drawing.height * POINTS) as f32));
    let mut resources = sheet.resources();
    resources.color_spaces().insert(SRGB).start::<pdf_writer::writers::ColorSpace>().icc_based(profile);
    resources.fonts().pair(REGULAR, regular).pair(BOLD, bold);
    resources.finish();
    sheet.finish();
    for (id, base) in [(regular, Name(b"Helvetica")), (bold, Name(b"Helvetica-Bold"))] {
        pdf.type1_font(id).base_font(base).encoding_predefined(Name(b"WinAnsiEncoding"));
    }
    let icc = srgb_profile()?;
    pdf.icc_profile(profile, &icc).n(3).alternate_name(Name(b"DeviceRGB"));
    pdf.stream(content, &contents(drawing));
    Ok(pdf.finish())
}

fn contents(drawing: &Drawing) -> Vec<u8> {
    let mut out = Content::new();
    out.save_state().transform([POINTS as f32, 0.0, 0.0, POINTS as f32, 0.0, 0.0]);
    out.set_rendering_intent(RenderingIntent::RelativeColorimetric);
    // PDF counts upwards from the lower edge.
    let up = |y: f64| (drawing.height - y) as f32;
    for shape in &drawing.shapes {
        match shape {
            Shape::Rects { rects, ink } => {
                fill(&mut out, *ink);
                for r in rects {
                    out.rect(r.x as f32, up(r.y + r.h), r.w as f32, r.h as f32);
                }
                out.fill_nonzero();
            }
            Shape::Triangle { points: [a, b, c], ink } => {
                fill(&mut out, *ink);
                out.move_to(a[0] as f32, up(a[1])).line_to(b[0] as f32, up(b[1])).line_to(c[0] as f32, up(c[1]));
                out.close_path().fill_nonzero();
            }
            Shape::Text { at, em, weight, ink, text } => {
                fill(&mut out, *ink);
                let font = if *weight == Weight::Bold { BOLD } else { REGULAR };
                out.begin_text().set_font(font, *em as f32).next_line(at[0] as f32, up(at[1]));
                out.show(Str(&win_ansi(text))).end_text();
            }
        }
    }
    out.restore_state();
    out.finish().into_vec()
}

fn fill(out: &mut Content, ink: Ink) {
    match ink {
        Ink::Black => out.set_fill_gray(0.0),
        Ink::White => out.set_fill_gray(1.0),
        Ink::Srgb(c) => out.set_fill_color_space(SRGB).set_fill_color(c.map(|v| f32::from(v) / 255.0)),
    };
}

/// Text in the encoding of the built-in fonts (ISO 32000-1, annex D.2); a sign it lacks becomes a question mark.
fn win_ansi(text: &str) -> Vec<u8> {
    text.chars()
        .map(|c| match c {
            ' '..='~' | '\u{a0}'..='\u{ff}' => c as u8,
            '‘' => 0x91,
            '’' => 0x92,
            '“' => 0x93,
            '”' => 0x94,
            '–' => 0x96,
            '…' => 0x85,
            _ => b'?',
        })
        .collect()
}

/// Whether a text has signs that become question marks.
pub(super) fn lacks(text: &str) -> bool {
    text.chars().zip(win_ansi(text)).any(|(c, byte)| byte == b'?' && c != '?')
}

/// An sRGB profile (IEC 61966-2-1, ICC version 4).
fn srgb_profile() -> Result<Vec<u8>, PrintError> {
    let mut profile = moxcms::ColorProfile::new_srgb();
    let xyz = |x: f64, y: f64, z: f64| moxcms::Xyzd { x, y, z };
    // The primaries adapted to D50 by the Bradford matrix (B. Lindbloom, 'RGB/XYZ Matrices').
    profile.red_colorant = xyz(0.4360747, 0.2225045, 0.0139322);
    profile.green_colorant = xyz(0.3850649, 0.7168786, 0.0971045);
    profile.blue_colorant = xyz(0.1430804, 0.0606169, 0.7141733);
    // Version 4 wants the white of these numbers here, D50, not the screen's.
    profile.media_white_point = Some(xyz(0.9642, 1.0, 0.8249));
    profile.cicp = None;
    let mut bytes = profile.encode().map_err(|e| PrintError::Encoding { cause: e.to_string() })?;
    // Bytes 24 to 35 are the date it was made, by default this very second: the first day of the standard instead.
    let date: [u16; 6] = [1999, 10, 18, 0, 0, 0];
    for (i, number) in date.iter().enumerate() {
        bytes[24 + 2 * i..26 + 2 * i].copy_from_slice(&number.to_be_bytes());
    }
    Ok(bytes)
}
