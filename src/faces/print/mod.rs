//! The card and its labels on paper: PDF for a home printer, PNG for a photo print, SVG for anything else.
//!
//! Takes a [`Layout`] and, if the print is numbered, its [`CardNumber`]; gives a file's bytes. Promises: every place
//! comes from the layout and 1 mm of it is 1 mm of paper; colours are the layout's nominal sRGB, said to be so in the
//! file; the same input gives the same bytes. Never: colours a keeper should trust before enrolment, since printers differ.

mod card;
mod drawing;
mod label;
mod page;
mod pdf;
mod png;
mod shades;
mod svg;

use crate::card::{CardNumber, Layout};
use image::RgbImage;

pub use label::LabelText;
pub use shades::Series;

/// A sheet for [`pdf`], upright.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    A4,
    /// 8.5 × 11 in.
    Letter,
}

impl Paper {
    /// Width and height in millimetres.
    pub fn size(self) -> [f64; 2] {
        match self {
            Self::A4 => [210.0, 297.0],
            Self::Letter => [8.5 * 25.4, 11.0 * 25.4],
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4 paper",
            Self::Letter => "US Letter paper",
        }
    }
}

/// Pixels of a photo print.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dpi {
    /// 300 dots per inch: edges within 0.043 mm of their place.
    D300,
    /// 600 dots per inch: edges within 0.022 mm.
    D600,
}

impl Dpi {
    /// Dots per inch.
    pub fn per_inch(self) -> u32 {
        match self {
            Self::D300 => 300,
            Self::D600 => 600,
        }
    }
}

/// A photo print lying on its side, in millimetres: 6 × 4 in.
pub const PHOTO_PRINT: [f64; 2] = [6.0 * 25.4, 4.0 * 25.4];

/// The card could not be drawn.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PrintError {
    /// The layout asks for a marker the family does not have.
    #[error("the layout names the marker {id}, but the family tag36h11 ends at 586")]
    NoSuchMarker { id: u32 },
    /// The layout does not fit the paper.
    #[error("the card is {width} × {height} mm and does not fit {on}")]
    TooLarge { width: f64, height: f64, on: &'static str },
    /// More labels than the sheet holds.
    #[error("a sheet holds {most} labels, and there are {count}")]
    TooMany { count: usize, most: usize },
    /// The file's bytes could not be made.
    #[error("the file could not be written: {cause}")]
    Encoding { cause: String },
}

impl PrintError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::NoSuchMarker { .. } => "print-no-such-marker",
            Self::TooLarge { .. } => "print-too-large",
            Self::TooMany { .. } => "print-too-many",
            Self::Encoding { .. } => "print-encoding",
        }
    }

    /// What can be done about it.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::NoSuchMarker { .. } => "Give the layout's markers ids from 0 to 586, or use the shipped layout.",
            Self::TooLarge { .. } => "Print this layout as SVG on larger paper, or use the shipped layout.",
            Self::TooMany { .. } => "Print them in several sheets, naming a part of them each time.",
            Self::Encoding { .. } => "Try another format, and report the message as a fault of the program.",
        }
    }
}

/// The shades of tests as each kind of eye sees them, as a PNG at 200 dpi.
pub fn shades_png(series: &[Series]) -> Result<Vec<u8>, PrintError> {
    png::encode(&png::pixels(&shades::drawing(series), 200.0 / 25.4), 200)
}

/// The same as an SVG.
pub fn shades_svg(series: &[Series]) -> String {
    svg::svg(&shades::drawing(series), "Shades as they are seen")
}

/// One page with the card at its true size, marks to cut along, a line to check the print scale, and how to print,
/// keep and use it. PDF 1.7; patches are in sRGB through an embedded ICC profile, markers are black alone.
pub fn pdf(layout: &Layout, number: Option<CardNumber>, paper: Paper) -> Result<Vec<u8>, PrintError> {
    let page = page::page(layout, &card::card(layout, number)?, number, paper)?;
    pdf::pdf(&page, &title(number))
}

/// A 6 × 4 inch photo print with the card at its true size in the middle, if the lab prints the picture without
/// enlarging it. At 300 dpi 1800 × 1200 pixels; pixels per metre and sRGB are stated in the file.
pub fn png(layout: &Layout, number: Option<CardNumber>, dpi: Dpi) -> Result<Vec<u8>, PrintError> {
    let photo = page::photo_print(layout, &card::card(layout, number)?)?;
    png::encode(&png::pixels(&photo, f64::from(dpi.per_inch()) / 25.4), dpi.per_inch())
}

/// The card alone, sized in millimetres.
pub fn svg(layout: &Layout, number: Option<CardNumber>) -> Result<String, PrintError> {
    Ok(svg::svg(&card::card(layout, number)?, &title(number)))
}

/// A page of labels in their true size, with lines to cut along and a line to check the print scale; black and grey alone.
pub fn labels_pdf(labels: &[LabelText], paper: Paper) -> Result<Vec<u8>, PrintError> {
    pdf::pdf(&label::page(labels, paper)?, LABELS)
}

/// Whether [`labels_pdf`] lacks letters of a text: a PDF's built-in fonts hold those of western Europe.
pub fn pdf_lacks(text: &str) -> bool {
    pdf::lacks(text)
}

/// A 6 × 4 inch photo print of labels in their true size, if the lab prints the picture without enlarging it.
pub fn labels_png(labels: &[LabelText], dpi: Dpi) -> Result<Vec<u8>, PrintError> {
    let photo = label::photo_print(labels)?;
    png::encode(&png::pixels(&photo, f64::from(dpi.per_inch()) / 25.4), dpi.per_inch())
}

/// The labels alone, sized in millimetres.
pub fn labels_svg(labels: &[LabelText]) -> Result<String, PrintError> {
    Ok(svg::svg(&label::alone(labels)?, LABELS))
}

/// One label as pixels, `per_mm` of them to the millimetre.
pub fn label_picture(text: &LabelText, per_mm: f64) -> Result<RgbImage, PrintError> {
    Ok(png::pixels(&label::label(text)?, per_mm))
}

const LABELS: &str = "Labels for water tests";

fn title(number: Option<CardNumber>) -> String {
    match number {
        Some(n) => format!("Reference card for water tests, {n}"),
        None => "Reference card for water tests".to_string(),
    }
}
