//! Photos of cards, checked.

use super::{Document, FindingOut, Wrong};
use crate::light::{CardCheck, LightFacts, PlaceFacts};
use serde::Serialize;
use std::io::{self, Write};

/// `card check`.
#[derive(Debug, Serialize)]
pub struct CardsChecked {
    /// The enrolled card they were checked against; null if there is none.
    pub card: Option<String>,
    /// In the order given.
    pub photos: Vec<PhotoChecked>,
}

/// A photo of a card.
#[derive(Debug, Serialize)]
pub struct PhotoChecked {
    pub file: String,
    /// Whether readings may rest on it; null if it could not be opened.
    pub good: Option<bool>,
    /// The deciding one first.
    pub findings: Vec<FindingOut>,
    /// Null where the card was not found.
    pub place: Option<PlaceOut>,
    /// Null where it could not be told.
    pub light: Option<LightOut>,
    /// Why it could not be opened.
    pub error: Option<Wrong>,
}

/// Where and how the card lies.
#[derive(Debug, Serialize)]
pub struct PlaceOut {
    /// Number seen on the print.
    pub number: Option<u32>,
    /// Corner markers not seen.
    pub hidden: Vec<u32>,
    pub px_per_mm: f64,
    /// Distance of the markers' corners from one plane (root mean square).
    pub residual_mm: f64,
    /// Edge spread across the blurriest direction (standard deviation).
    pub blur_mm: f64,
}

/// How the card is lit.
#[derive(Debug, Serialize)]
pub struct LightOut {
    /// Mean ΔE00 of patches, each predicted without itself.
    pub left_out: f64,
    /// Share of the bare paper that lies on the even light.
    pub earned: f64,
    /// Mean ΔE00 of the colour patches against the enrolment; null without one.
    pub agreement: Option<f64>,
    /// What this card's own photos stay below.
    pub agreement_allowed: Option<f64>,
}

impl PhotoChecked {
    /// A photo that could not be opened.
    pub(in crate::faces::cli) fn aside(file: String, error: Wrong) -> Self {
        Self { file, good: None, findings: Vec::new(), place: None, light: None, error: Some(error) }
    }

    pub(in crate::faces::cli) fn of(file: String, check: &CardCheck) -> Self {
        Self {
            file,
            good: Some(check.good),
            findings: FindingOut::all(&check.findings),
            place: check.place.as_ref().map(PlaceOut::of),
            light: check.light.as_ref().map(LightOut::of),
            error: None,
        }
    }
}

impl PlaceOut {
    fn of(p: &PlaceFacts) -> Self {
        let PlaceFacts { number, hidden, px_per_mm, residual_mm, blur_mm } = p.clone();
        Self { number, hidden, px_per_mm, residual_mm, blur_mm }
    }
}

impl LightOut {
    fn of(l: &LightFacts) -> Self {
        let agreement = l.agreement.as_ref();
        Self {
            left_out: l.left_out,
            earned: l.earned,
            agreement: agreement.map(|a| a.mean),
            agreement_allowed: agreement.map(|a| a.allowed),
        }
    }
}

impl Document for PhotoChecked {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        let Some(good) = self.good else { return Ok(()) };
        writeln!(out, "{}: {}", self.file, if good { "good to read by" } else { "not good to read by" })?;
        if let Some(p) = &self.place {
            let number = p.number.map_or(String::new(), |n| format!("card {n}, "));
            writeln!(out, "  {number}{:.1} pixels a millimetre, edges spread {:.2} mm", p.px_per_mm, p.blur_mm)?;
        }
        if let Some((mean, allowed)) = self.light.as_ref().and_then(|l| l.agreement.zip(l.agreement_allowed)) {
            writeln!(out, "  patches ΔE00 {mean:.2} from the enrolled ones (its own photos stay below {allowed:.2})")?;
        }
        self.findings.iter().try_for_each(|f| f.text(out, "  ", f.word()))
    }
}

impl Document for CardsChecked {
    /// The photos were shown as they were checked.
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        match &self.card {
            Some(card) => writeln!(out, "Checked against the card '{card}'."),
            None => writeln!(out, "No card is enrolled, so the print itself was not checked."),
        }
    }
}
