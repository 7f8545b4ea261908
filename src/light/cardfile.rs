//! The enrolled card's file, format 1 (described in `calibration/card/README.md`): TOML read strictly, written in one
//! canonical way.

use std::collections::BTreeSet;
use std::fmt::Write;
use std::ops::Range;

use jiff::civil::Date;
use serde::Deserialize;
use toml::Spanned;
use toml::value::Datetime;

use super::enrol::{Enrolment, Origin, PatchColour};
use crate::card::CardNumber;

/// The newest format this version reads, and the one it writes.
const FORMAT: i64 = 1;

const HEADING: &str = "\
# An enrolled reference card: the colours of one print relative to its paper, in linear light with sRGB primaries (D65).
# A revision is known by the hash of this text: do not edit a kept one, enrol the card anew.
";

/// What is wrong with a card file, and where.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CardFileError {
    /// Not TOML, or not the keys and values of the format.
    #[error("line {line}: {message}")]
    Malformed { line: usize, message: String },
    /// The first thing in the file must be its format.
    #[error("the file does not say `format = 1`, so it is not a card file of this program")]
    NoFormat,
    /// Written by a newer version.
    #[error("the card file has format {found}, this version reads up to {known}")]
    Newer { found: i64, known: i64 },
    /// Enrolled from a card of another layout.
    #[error("the card file was made from a card of layout {found}, this card has layout {wanted}")]
    Layout { found: u32, wanted: u32 },
    /// The layout has a patch that the file does not name.
    #[error("the card file has no colour for the patch '{patch}'")]
    PatchMissing { patch: String },
    /// The file names a patch that the layout does not have.
    #[error("the card file gives a colour for '{patch}', which this layout does not have")]
    PatchUnknown { patch: String },
    /// A grey without light cannot straighten a tone curve.
    #[error("the grey patch '{patch}' has a channel without light")]
    Grey { patch: String },
    /// A note that does not fit one line.
    #[error("a note is one plain line of at most {most} characters")]
    Note { most: usize },
}

impl CardFileError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Malformed { .. } => "card-file-malformed",
            Self::NoFormat => "card-file-no-format",
            Self::Newer { .. } => "card-file-newer",
            Self::Layout { .. } => "card-file-layout",
            Self::PatchMissing { .. } => "card-file-patch-missing",
            Self::PatchUnknown { .. } => "card-file-patch-unknown",
            Self::Grey { .. } => "card-file-grey",
            Self::Note { .. } => "card-file-note",
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::Malformed { .. } => "Mend that line, or take the file back from an earlier revision.",
            Self::NoFormat => "Check that this is the right file; a card file begins with `format = 1`.",
            Self::Newer { .. } => "Use the newer version of the program; the file was left as it is.",
            Self::Layout { .. } => "Use a card of that layout, or enrol this card.",
            Self::PatchMissing { .. } | Self::PatchUnknown { .. } | Self::Grey { .. } => {
                "Take the file back from an earlier revision, or enrol the card anew."
            }
            Self::Note { .. } => "Shorten it to one plain line, or leave it out.",
        }
    }
}

/// Longest note.
const NOTE: usize = 400;

/// A note that one line of the file can hold.
pub(super) fn check_note(note: &str) -> Result<(), CardFileError> {
    let fits = !note.trim().is_empty() && note.chars().count() <= NOTE && !note.chars().any(char::is_control);
    if fits { Ok(()) } else { Err(CardFileError::Note { most: NOTE }) }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FileCard {
    #[serde(rename = "format")]
    _format: i64,
    layout: u32,
    number: Option<Spanned<u32>>,
    date: Spanned<Datetime>,
    note: Option<Spanned<String>>,
    origin: FileOrigin,
    #[serde(default)]
    photos: Vec<Spanned<String>>,
    paper_lab: Option<Spanned<[f64; 3]>>,
    #[serde(rename = "patch")]
    patches: Vec<FilePatch>,
}

#[derive(Deserialize, Clone, Copy, PartialEq)]
#[serde(rename_all = "kebab-case")]
enum FileOrigin {
    Photos,
    Measured,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FilePatch {
    name: Spanned<String>,
    colour: Spanned<[f64; 3]>,
    scatter: Option<Spanned<f64>>,
}

/// The enrolment of a text.
pub(super) fn read(text: &str) -> Result<Enrolment, CardFileError> {
    let line = |at: usize| 1 + text.get(..at).unwrap_or(text).matches('\n').count();
    let malformed = |e: toml::de::Error| CardFileError::Malformed {
        line: line(e.span().map_or(0, |span| span.start)),
        message: e.message().to_string(),
    };
    // The format first: a newer file may hold anything.
    let loose: toml::Table = toml::from_str(text).map_err(malformed)?;
    match loose.get("format").and_then(toml::Value::as_integer) {
        Some(FORMAT) => {}
        Some(found) if found > FORMAT => return Err(CardFileError::Newer { found, known: FORMAT }),
        _ => return Err(CardFileError::NoFormat),
    }
    let file: FileCard = toml::from_str(text).map_err(malformed)?;
    checked(file).map_err(|(span, message)| CardFileError::Malformed { line: line(span.start), message })
}

type Wrong = (Range<usize>, String);

fn checked(file: FileCard) -> Result<Enrolment, Wrong> {
    let number = file.number.map(|n| {
        CardNumber::new(*n.get_ref()).ok_or((n.span(), format!("a card's number is 1 to {}", CardNumber::MAX)))
    });
    let day = file.date.get_ref();
    let date = match day.to_string().parse::<Date>() {
        Ok(date) if day.time.is_none() && day.offset.is_none() => date,
        _ => return Err((file.date.span(), "`date` is not a date such as 2026-03-01".to_string())),
    };
    if let Some(note) = &file.note {
        check_note(note.get_ref()).map_err(|e| (note.span(), e.to_string()))?;
    }
    let mut seen = BTreeSet::new();
    for photo in &file.photos {
        let id = photo.get_ref();
        if id.is_empty() || id.len() > 128 || !id.chars().all(|c| c.is_ascii_alphanumeric()) {
            return Err((photo.span(), "a photo is named by its identity, letters and digits only".to_string()));
        }
        if !seen.insert(id.clone()) {
            return Err((photo.span(), "this photo is named twice".to_string()));
        }
    }
    if let Some(paper) = &file.paper_lab {
        let [l, a, b] = *paper.get_ref();
        if !((20.0..=110.0).contains(&l) && a.abs() <= 60.0 && b.abs() <= 60.0) {
            return Err((paper.span(), "`paper_lab` is not the colour of paper".to_string()));
        }
    }
    let mut names = BTreeSet::new();
    let mut patches = Vec::with_capacity(file.patches.len());
    for p in file.patches {
        let (name, colour) = (p.name.get_ref().clone(), *p.colour.get_ref());
        if name.is_empty() || name.len() > 32 || name.chars().any(char::is_control) {
            return Err((p.name.span(), "a patch has a short name".to_string()));
        }
        if !names.insert(name.clone()) {
            return Err((p.name.span(), format!("the patch '{name}' stands twice")));
        }
        // Printed colours leave the sRGB gamut a little; far outside they are a slip of the pen.
        if !colour.iter().all(|v| (-0.5..=2.0).contains(v)) {
            return Err((
                p.colour.span(),
                format!("the patch '{name}' has no colour relative to paper (about 0 to 1)"),
            ));
        }
        if let Some(s) = &p.scatter
            && !(0.0..=100.0).contains(s.get_ref())
        {
            return Err((s.span(), format!("the patch '{name}' has no scatter in ΔE00 (0 to 100)")));
        }
        patches.push(PatchColour { name, colour, scatter: p.scatter.map(Spanned::into_inner) });
    }
    Ok(Enrolment {
        layout: file.layout,
        number: number.transpose()?,
        date,
        note: file.note.map(Spanned::into_inner),
        origin: if file.origin == FileOrigin::Photos { Origin::Photos } else { Origin::Measured },
        photos: file.photos.into_iter().map(Spanned::into_inner).collect(),
        paper: file.paper_lab.map(Spanned::into_inner),
        patches,
    })
}

/// The canonical text.
pub(super) fn written(card: &Enrolment) -> String {
    let mut out = format!("format = {FORMAT}\n{HEADING}layout = {}\n", card.layout);
    // Writing to a String cannot fail.
    if let Some(number) = card.number {
        let _ = writeln!(out, "number = {}", number.get());
    }
    let _ = writeln!(out, "date = {}", card.date);
    if let Some(note) = &card.note {
        // The library knows how to quote.
        let _ = writeln!(out, "note = {}", toml::Value::String(note.clone()));
    }
    let _ = writeln!(out, "origin = \"{}\"", if card.origin == Origin::Photos { "photos" } else { "measured" });
    if !card.photos.is_empty() {
        out.push_str("photos = [\n");
        card.photos.iter().for_each(|p| out.push_str(&format!("    {},\n", toml::Value::String(p.clone()))));
        out.push_str("]\n");
    }
    if let Some(paper) = card.paper {
        let _ = writeln!(out, "paper_lab = {}", row(&paper));
    }
    for p in &card.patches {
        let _ = writeln!(out, "\n[[patch]]\nname = {}", toml::Value::String(p.name.clone()));
        let _ = writeln!(out, "colour = {}", row(&p.colour));
        if let Some(scatter) = p.scatter {
            let _ = writeln!(out, "scatter = {}", number(scatter));
        }
    }
    out
}

/// The shortest form that reads back to the same number.
fn number(x: f64) -> String {
    toml::Value::Float(x).to_string()
}

fn row(xs: &[f64]) -> String {
    format!("[{}]", xs.iter().map(|x| number(*x)).collect::<Vec<_>>().join(", "))
}
