//! From photos of standards to swatches in a kit.

use super::clear::{agreed, clear_at};
use super::look::{Opened, open};
use super::naming::standards;
use super::shelf::calibrated;
use super::{CardInUse, Home, IntakeError, Keep, Kept, Told};
use crate::card::Layout;
use crate::curve::{Kit, Swatch};
use crate::finding::Finding;
use crate::photo::Limits;
use crate::reading::{self, Standard};
use std::path::{Path, PathBuf};

/// What one photo of standards gave.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoStandards {
    /// The photo.
    pub path: PathBuf,
    /// Each standard with its swatch, or why there is none.
    pub standards: Vec<(Standard, Result<Swatch, Vec<Finding>>)>,
}

/// What came of adding standards.
#[derive(Debug, Clone, PartialEq)]
pub struct Added {
    /// The kit as it is now: a new revision if there was anything to add.
    pub kit: Kept<Kit>,
    /// Photo by photo, in the order given.
    pub photos: Vec<PhotoStandards>,
}

/// Adds the standards that photos show, as one new revision: at the same stations in every photo, `words` being
/// `STATION=TEST:VALUE`, or without words as the labels in each photo say. What cannot be used of a photo is left out with its
/// reasons; a photo that cannot be opened, or whose labels contradict the words, stops all of it. `clear` is the station of a clear
/// vial, if the photos hold one: the standards' water without reagent.
pub fn add_standards(
    home: &Home,
    kit: &Kept<Kit>,
    card: &CardInUse,
    photos: &[PathBuf],
    words: &[String],
    clear: Option<&str>,
    keep: Keep,
) -> Result<Added, IntakeError> {
    let layout = Layout::first();
    let typed = match words {
        [] => None,
        words => Some(standards(words, &kit.value, &layout)?),
    };
    let known = home.log_if_any()?.map(|log| log.labels()).transpose()?.unwrap_or_default();
    if calibrated(&kit.value) && card.foreign {
        return Err(other_card(home, kit, card));
    }
    if renewed(&kit.value, card) {
        return Err(IntakeError::CardRenewed { kit: kit.name.clone() });
    }
    let mut next = kit.value.clone();
    next.card.clone_from(&card.reference.revision);
    let mut out = Vec::new();
    for path in photos {
        let mut opened = open(path, &Limits::default())?;
        let told = opened.told_by(&known, &layout)?;
        let label = told.as_ref().map(Told::clear).transpose().map_err(|e| opened.of_labels(e))?.flatten();
        let label = label.map(str::to_string);
        let standards = shown(&opened, told, typed.as_deref(), &kit.value)?;
        let taken_up: Vec<_> = standards.iter().map(|s| (s.station.clone(), s.test.clone())).collect();
        let at = |station: &str| clear_at(station, &taken_up, &kit.value, &layout);
        let clear = agreed(clear.map(at).transpose()?, label.as_deref().map(at).transpose()?)?;
        let (photo, reference) = (&opened.photo, &card.reference);
        let swatches = reading::calibrate_zeroed(photo, &layout, reference, &kit.value, &standards, clear.as_deref());
        let mut found = Vec::new();
        for (standard, swatch) in standards.iter().zip(swatches) {
            let swatch = swatch.map(|s| Swatch { taken: s.taken.clone().or_else(|| taken(&opened)), ..s });
            if let Ok(swatch) = &swatch {
                next.add_swatches(&standard.test, vec![swatch.clone()])?;
                noted(&mut next, &opened);
            }
            found.push((standard.clone(), swatch));
        }
        home.keep_photo(&opened, keep)?;
        out.push(PhotoStandards { path: path.clone(), standards: found });
    }
    let changed = out.iter().any(|p| p.standards.iter().any(|(_, s)| s.is_ok()));
    let kit = if changed { home.changed_kit(kit, next)? } else { kit.clone() };
    Ok(Added { kit, photos: out })
}

/// The standards in a photo: those typed, unless labels contradict them, else those the labels name.
fn shown(
    opened: &Opened,
    told: Option<Told>,
    typed: Option<&[Standard]>,
    kit: &Kit,
) -> Result<Vec<Standard>, IntakeError> {
    let wrong = |e| opened.with_labels(e);
    match (typed, told) {
        (Some(typed), None) => Ok(typed.to_vec()),
        (Some(typed), Some(told)) => {
            told.agrees(typed, kit).map_err(wrong)?;
            Ok(typed.to_vec())
        }
        (None, None) => Err(opened.unseen().unwrap_or(IntakeError::NoSamples { known: Vec::new() })),
        (None, Some(told)) => {
            let standards = told.standards(kit).map_err(wrong)?;
            if standards.is_empty() { super::naming::standards(&[], kit, &Layout::first()) } else { Ok(standards) }
        }
    }
}

/// The kit whose test a photo's labels name, where it has some.
pub fn kit_by_labels(home: &Home, path: &Path, given: Option<&str>) -> Result<Option<String>, IntakeError> {
    let mut opened = open(path, &Limits::default())?;
    let known = home.log_if_any()?.map(|log| log.labels()).transpose()?.unwrap_or_default();
    let Some(told) = opened.told_by(&known, &Layout::first())? else { return Ok(given.map(str::to_string)) };
    Ok(told.kit(given).map_err(|e| opened.of_labels(e))?.map(str::to_string))
}

/// Whether colours stand in the kit that belong to an earlier enrolment of its card.
pub(super) fn renewed(kit: &Kit, card: &CardInUse) -> bool {
    calibrated(kit) && kit.card.is_some() && kit.card != card.reference.revision
}

/// Notes in the kit which phone took a photo, where the photo says it.
pub(super) fn noted(kit: &mut Kit, opened: &Opened) {
    if let Some(camera) = &opened.photo.facts().camera {
        kit.note_camera(camera, opened.photo.id());
    }
}

/// The camera's time, where it knew the offset: a kit has no time zone.
pub(super) fn taken(opened: &Opened) -> Option<String> {
    let taken = opened.photo.facts().taken?;
    let offset = taken.offset?;
    Some(offset.to_timestamp(taken.local).ok()?.display_with_offset(offset).to_string())
}

pub(super) fn other_card(home: &Home, kit: &Kept<Kit>, card: &CardInUse) -> IntakeError {
    let named = |name: Option<String>| match name {
        Some(name) => format!("the card '{name}'"),
        None => "a card that was not enrolled".to_string(),
    };
    let own = match &kit.value.card {
        None => named(None),
        Some(revision) => match home.card_of_revision(revision).ok().flatten() {
            Some(name) => named(Some(name)),
            None => "a card that is not here".to_string(),
        },
    };
    IntakeError::KitCard { kit: kit.name.clone(), own, given: named(card.name.clone()) }
}
