//! Photos of standards that are only looked at: what the keeper types, and what is measured in them.

use super::look::{Opened, open};
use super::naming::{is_sample, standards};
use super::{CardInUse, Home, IntakeError};
use crate::card::Layout;
use crate::colour::Lab;
use crate::curve::{Kit, Seen, Swatch};
use crate::finding::Finding;
use crate::photo::Limits;
use crate::reading::{self, Standard};
use std::path::PathBuf;

/// A photo and what stands in it, as typed: `STATION=TEST:VALUE`.
#[derive(Debug, Clone, PartialEq)]
pub struct Shot {
    pub photo: PathBuf,
    pub words: Vec<String>,
}

/// A photo of standards, measured.
pub(super) struct Measured {
    pub(super) opened: Opened,
    pub(super) standards: Vec<(Standard, Result<Swatch, Vec<Finding>>)>,
}

/// The kit's name, if one was typed, and the photos, each followed by what stands in it. A word is the kit's name where it comes
/// first and a kit is called so.
pub fn shots(home: &Home, words: &[String]) -> Result<(Option<String>, Vec<Shot>), IntakeError> {
    let names = home.kit_names()?;
    let named = |w: &String| names.iter().any(|n| n.to_lowercase() == w.trim().to_lowercase());
    let (kit, rest) = match words.split_first() {
        Some((first, rest)) if !is_sample(first) && named(first) => (Some(first.clone()), rest),
        _ => (None, words),
    };
    let mut out: Vec<Shot> = Vec::new();
    for word in rest {
        match (is_sample(word), out.last_mut()) {
            (true, Some(shot)) => shot.words.push(word.clone()),
            (true, None) => return Err(IntakeError::BeforePhoto { typed: word.clone() }),
            (false, _) => out.push(Shot { photo: PathBuf::from(word), words: Vec::new() }),
        }
    }
    Ok((kit, out))
}

/// Measures standards. What is typed wrongly is said before a photo is opened.
pub(super) fn measured(kit: &Kit, card: &CardInUse, shots: &[Shot]) -> Result<Vec<Measured>, IntakeError> {
    let layout = Layout::first();
    let typed: Vec<Vec<Standard>> =
        shots.iter().map(|s| standards(&s.words, kit, &layout)).collect::<Result<_, _>>()?;
    if typed.is_empty() {
        return standards(&[], kit, &layout).map(|_| Vec::new());
    }
    let one = |(shot, standards): (&Shot, Vec<Standard>)| {
        let opened = open(&shot.photo, &Limits::default())?;
        let swatches = reading::calibrate(&opened.photo, &layout, &card.reference, kit, &standards);
        Ok(Measured { opened, standards: standards.into_iter().zip(swatches).collect() })
    };
    shots.iter().zip(typed).map(one).collect()
}

/// A swatch as a colour to be read.
pub(super) fn seen(swatch: &Swatch, kit: &Kit) -> Seen {
    Seen { lab: Lab(swatch.lab), cov: swatch.cov, foreign: reading::foreign(&swatch.light, kit) }
}
