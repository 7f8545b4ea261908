//! Cards.

use super::{Document, FindingOut};
use crate::faces::cli::words::{columns, count, short};
use crate::finding::Finding;
use crate::intake::Kept;
use crate::light::{Enrolment, Origin};
use serde::Serialize;
use std::io::{self, Write};

/// `card print`.
#[derive(Debug, Serialize)]
pub struct CardPrinted {
    pub file: String,
    /// `pdf`, `png` or `svg`.
    pub format: &'static str,
    pub number: Option<u32>,
    #[serde(skip)]
    pub(in crate::faces::cli) how: &'static str,
}

impl Document for CardPrinted {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "{}: {}", self.file, self.how)?;
        writeln!(out, "Then enrol it: photograph the empty card in open shade, and tintline card enrol PHOTO..")
    }
}

/// An enrolled card in short.
#[derive(Debug, Serialize)]
pub struct CardLine {
    pub name: String,
    pub revision: String,
    /// Number of the print.
    pub number: Option<u32>,
    /// When it was enrolled.
    pub date: String,
    /// `photos` or `measured`.
    pub origin: &'static str,
    /// How many photos it was enrolled from.
    pub photos: usize,
}

impl CardLine {
    pub(in crate::faces::cli) fn of(card: &Kept<Enrolment>) -> Self {
        let c = &card.value;
        Self {
            name: card.name.clone(),
            revision: card.revision.as_str().to_string(),
            number: c.number.map(|n| n.get()),
            date: c.date.to_string(),
            origin: match c.origin {
                Origin::Photos => "photos",
                Origin::Measured => "measured",
            },
            photos: c.photos.len(),
        }
    }

    fn row(&self) -> Vec<String> {
        let number = self.number.map_or("no number".to_string(), |n| format!("number {n}"));
        let origin = match self.origin {
            "measured" => "measured".to_string(),
            _ => format!("from {}", count(self.photos, "photo")),
        };
        vec![self.name.clone(), number, format!("enrolled {}", self.date), origin, short(&self.revision).to_string()]
    }
}

/// `card enrol`.
#[derive(Debug, Serialize)]
pub struct CardEnrolled {
    /// Null if it was not enrolled.
    pub card: Option<CardLine>,
    /// Why not.
    pub refusal: Vec<FindingOut>,
    pub findings: Vec<FindingOut>,
}

impl CardEnrolled {
    pub(in crate::faces::cli) fn done(card: &Kept<Enrolment>, findings: &[Finding]) -> Self {
        Self { card: Some(CardLine::of(card)), refusal: Vec::new(), findings: FindingOut::all(findings) }
    }

    pub(in crate::faces::cli) fn refused(findings: &[Finding]) -> Self {
        Self { card: None, refusal: FindingOut::all(findings), findings: Vec::new() }
    }
}

impl Document for CardEnrolled {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        match &self.card {
            Some(card) => {
                writeln!(out, "Enrolled the card '{}'. Revision {}.", card.name, short(&card.revision))?;
                writeln!(
                    out,
                    "Next, a kit, or what yours still needs: tintline kit start NAME 'ammonia=mg/L NH3-N' pH"
                )?;
            }
            None => writeln!(out, "The card was not enrolled.")?,
        }
        self.refusal.iter().try_for_each(|f| f.text(out, "  ", ""))?;
        self.findings.iter().try_for_each(|f| f.text(out, "  ", f.word()))
    }
}

/// `card list`.
#[derive(Debug, Serialize)]
pub struct CardList {
    pub cards: Vec<CardLine>,
}

impl Document for CardList {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.cards.is_empty() {
            return writeln!(out, "No card enrolled yet. Print one: tintline card print");
        }
        columns(out, "", self.cards.iter().map(CardLine::row).collect())
    }
}

/// `card show`.
#[derive(Debug, Serialize)]
pub struct CardShown {
    pub card: CardLine,
    pub note: Option<String>,
    pub patches: Vec<PatchOut>,
    /// All revisions, oldest first, the present one last.
    pub revisions: Vec<String>,
}

/// A patch's colour.
#[derive(Debug, Serialize)]
pub struct PatchOut {
    pub name: String,
    /// Relative to the card's paper, linear light with sRGB primaries, D65.
    pub colour: [f64; 3],
    /// Standard deviation over the photos, ΔE00; null with one photo.
    pub scatter: Option<f64>,
}

impl CardShown {
    pub(in crate::faces::cli) fn of(card: &Kept<Enrolment>, revisions: Vec<String>) -> Self {
        let patches = card.value.patches.iter();
        let patches = patches.map(|p| PatchOut { name: p.name.clone(), colour: p.colour, scatter: p.scatter });
        Self { card: CardLine::of(card), note: card.value.note.clone(), patches: patches.collect(), revisions }
    }
}

impl Document for CardShown {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        columns(out, "", vec![self.card.row()])?;
        if let Some(note) = &self.note {
            writeln!(out, "  {note}")?;
        }
        let row = |p: &PatchOut| {
            let [r, g, b] = p.colour;
            let scatter = p.scatter.map_or(String::new(), |s| format!("± ΔE00 {s:.2}"));
            vec![p.name.clone(), format!("{r:.4} {g:.4} {b:.4}"), scatter]
        };
        columns(out, "  ", self.patches.iter().map(row).collect())
    }
}
