//! Enrolling a printed card from photo files.

use super::{Home, IntakeError, Keep, Kept, Opened, open};
use crate::card::{CardNumber, Layout};
use crate::finding::Finding;
use crate::light::Enrolment;
use crate::photo::Limits;
use crate::store;
use jiff::civil::Date;
use std::path::PathBuf;

/// What is asked of an enrolment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EnrolAsked {
    /// The card's name. One that is taken gets a new revision.
    pub name: String,
    /// Number of the print, where it has none on it.
    pub number: Option<CardNumber>,
    /// Anything worth knowing.
    pub note: Option<String>,
}

/// A card as photos show it, with what is worth knowing; or why they will not do.
pub type EnrolSeen<T> = Result<(T, Vec<Finding>), Vec<Finding>>;

/// Enrols a card from photos of it, empty. `today` is its day where no photo knows its own.
pub fn enrol(
    home: &Home,
    photos: &[PathBuf],
    asked: &EnrolAsked,
    today: Date,
    keep: Keep,
) -> Result<EnrolSeen<Kept<Enrolment>>, IntakeError> {
    match seen(photos, asked, today, |opened| home.keep_photo(opened, keep).map(|_| ()))? {
        Ok((card, findings)) => Ok(Ok((home.put_card(&asked.name, card)?, findings))),
        Err(why) => Ok(Err(why)),
    }
}

/// What [`enrol`] would enrol. Writes nothing.
pub fn try_enrol(photos: &[PathBuf], asked: &EnrolAsked, today: Date) -> Result<EnrolSeen<Enrolment>, IntakeError> {
    seen(photos, asked, today, |_| Ok(()))
}

fn seen(
    photos: &[PathBuf],
    asked: &EnrolAsked,
    today: Date,
    mut opened: impl FnMut(&Opened) -> Result<(), IntakeError>,
) -> Result<EnrolSeen<Enrolment>, IntakeError> {
    store::check_name(&asked.name)?;
    let (mut all, mut taken) = (Vec::new(), None);
    for path in photos {
        let one = open(path, &Limits::default())?;
        opened(&one)?;
        taken = taken.max(one.photo.facts().taken.map(|t| t.local.date()));
        all.push(one.photo);
    }
    // Its colours are those of the day of the photos; prints fade.
    let date = taken.unwrap_or(today).min(today);
    let (card, findings) = match Enrolment::from_photos(&all, &Layout::first(), asked.number, date) {
        Ok(seen) => seen,
        Err(why) => return Ok(Err(why)),
    };
    let wrong = |source| IntakeError::CardFile { name: asked.name.clone(), source };
    let card = match &asked.note {
        Some(note) => card.with_note(note).map_err(wrong)?,
        None => card,
    };
    Ok(Ok((card, findings)))
}
