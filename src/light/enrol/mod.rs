//! A printed card's own colours, from photos of the empty card or from an instrument.
//!
//! Printers differ, so the colours meant by the layout are not those on paper. Photos of the empty card in open shade are
//! corrected towards the nominal colours, by a model too small to follow single patches; what remains is this print, and
//! from then on all photos are corrected to it. It defines the card's own colour space: white is its paper.

mod measured;
mod photos;

use jiff::civil::Date;

use super::cardfile::{self, CardFileError};
use super::cgats::CgatsError;
use super::scene::{Reference, grey_indices};
use crate::card::{CardNumber, Layout};
use crate::colour::{Lab, LinRgb, delta_e_2000, lab_from_linear};
use crate::finding::Finding;
use crate::photo::Photo;
use crate::store::{Revision, content_hash};

/// Where an enrolment's colours come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// Photos of the empty card.
    Photos,
    /// An instrument's values.
    Measured,
}

/// One patch of one print.
#[derive(Debug, Clone, PartialEq)]
pub struct PatchColour {
    /// Its name in the layout.
    pub name: String,
    /// Linear light relative to the card's paper, sRGB primaries, D65.
    pub colour: [f64; 3],
    /// Standard deviation of one photo's value about the mean of all, ΔE00; None where only one value is known.
    pub scatter: Option<f64>,
}

/// A printed card as enrolled; its file is described in `calibration/card/README.md`.
#[derive(Debug, Clone, PartialEq)]
pub struct Enrolment {
    /// Number of the layout it was printed from.
    pub layout: u32,
    /// Number of the print, where it has one.
    pub number: Option<CardNumber>,
    /// Day of the enrolment.
    pub date: Date,
    /// The keeper's remark.
    pub note: Option<String>,
    /// Photos or an instrument.
    pub origin: Origin,
    /// Identities of the photos used.
    pub photos: Vec<String>,
    /// The paper itself in CIELAB (D65), where an instrument saw it; for the record only.
    pub paper: Option<[f64; 3]>,
    /// Patches, in the layout's order.
    pub patches: Vec<PatchColour>,
}

impl Enrolment {
    /// Enrols a card from photos of it, empty, in open shade: two or more, so that their agreement can be seen. `number`
    /// is the print's number where the keeper gives it; one seen in a photo must be the same.
    ///
    /// Gives the enrolment with what is worth knowing, or the reasons why these photos will not do. Sentences name the
    /// photo by its place in the list, from 1.
    pub fn from_photos(
        photos: &[Photo],
        layout: &Layout,
        number: Option<CardNumber>,
        date: Date,
    ) -> Result<(Self, Vec<Finding>), Vec<Finding>> {
        photos::enrol(photos, layout, number, date)
    }

    /// Enrols a card from values measured with an instrument. Rows are matched to patches by their name, upper and lower
    /// case alike; several rows of one patch are averaged; a row named `paper` (or `white`, `substrate`) is the card's
    /// bare paper, to which all are then taken relative (Bradford, from the paper to D65); other rows are passed over.
    pub fn from_cgats(text: &str, layout: &Layout, date: Date) -> Result<(Self, Vec<Finding>), CgatsError> {
        measured::enrol(text, layout, date)
    }

    /// The enrolment of a card file's text. Strict: a key that the format does not have is an error, and so is a newer
    /// format.
    pub fn from_toml(text: &str) -> Result<Self, CardFileError> {
        cardfile::read(text)
    }

    /// The canonical text; [`Enrolment::from_toml`] reads it back to the same enrolment.
    pub fn to_toml(&self) -> String {
        cardfile::written(self)
    }

    /// What this enrolment is, by the content of its canonical text.
    pub fn revision(&self) -> Revision {
        content_hash(self.to_toml().as_bytes())
    }

    /// How well its photos agree: the mean over the patches of one photo's standard deviation (ΔE00). None of one photo alone, or of
    /// measured values given once.
    pub fn scatter(&self) -> Option<f64> {
        let each: Vec<f64> = self.patches.iter().filter_map(|p| p.scatter).collect();
        (!each.is_empty()).then(|| each.iter().sum::<f64>() / each.len() as f64)
    }

    /// The same with the keeper's remark.
    pub fn with_note(mut self, note: &str) -> Result<Self, CardFileError> {
        cardfile::check_note(note)?;
        self.note = Some(note.to_string());
        Ok(self)
    }

    /// The colours to correct photos of this card to, named by this revision (all 64 digits).
    pub fn reference(&self, layout: &Layout) -> Result<Reference, CardFileError> {
        if self.layout != layout.layout {
            return Err(CardFileError::Layout { found: self.layout, wanted: layout.layout });
        }
        if let Some(p) = self.patches.iter().find(|p| layout.patches.iter().all(|q| q.name != p.name)) {
            return Err(CardFileError::PatchUnknown { patch: p.name.clone() });
        }
        let mut colours = Vec::with_capacity(layout.patches.len());
        for p in &layout.patches {
            let own = self.patches.iter().find(|q| q.name == p.name);
            colours.push(own.ok_or_else(|| CardFileError::PatchMissing { patch: p.name.clone() })?.colour);
        }
        // The tone curve is fitted to their logarithms; a print's black reflects about 1 %.
        if let Some(i) = grey_indices(layout).into_iter().find(|i| colours[*i].iter().any(|v| *v < 1e-3)) {
            return Err(CardFileError::Grey { patch: layout.patches[i].name.clone() });
        }
        Ok(Reference { colours, revision: Some(self.revision().as_str().to_string()) })
    }
}

/// Five significant digits: far finer than a photo can tell, and still readable.
pub(super) fn digits(x: f64) -> f64 {
    format!("{x:.4e}").parse().unwrap_or(x)
}

/// Mean of one patch over several values, and the standard deviation of one value about it (ΔE00, to 0.01), if there are
/// two or more.
pub(super) fn mean_and_scatter(seen: &[[f64; 3]]) -> ([f64; 3], Option<f64>) {
    let n = seen.len() as f64;
    let mean = [0, 1, 2].map(|c| seen.iter().map(|s| s[c]).sum::<f64>() / n);
    if seen.len() < 2 {
        return (mean, None);
    }
    let squares: f64 = seen.iter().map(|s| delta_e_2000(lab_of(*s), lab_of(mean)).powi(2)).sum();
    (mean, Some(((squares / (n - 1.0)).sqrt() * 100.0).round() / 100.0))
}

pub(in crate::light) fn lab_of(colour: [f64; 3]) -> Lab {
    lab_from_linear(LinRgb(colour))
}
