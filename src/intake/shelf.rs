//! Kits and enrolled cards as they are kept: by name, in revisions.

use super::home::the_only;
use super::{Home, IntakeError};
use crate::card::Layout;
use crate::curve::Kit;
use crate::light::{Enrolment, Reference};
use crate::store::{self, Revision, Revisions};
use std::path::PathBuf;

/// Something kept, in the revision now in use.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept<T> {
    /// Its name, as it is spelled.
    pub name: String,
    /// The revision.
    pub revision: Revision,
    /// The thing.
    pub value: T,
}

/// The card whose colours a photo is corrected to.
#[derive(Debug, Clone, PartialEq)]
pub struct CardInUse {
    /// Its name; none for the nominal colours of a card that was not enrolled.
    pub name: Option<String>,
    /// Its colours.
    pub reference: Reference,
    /// Whether the kit was calibrated with another one.
    pub foreign: bool,
}

impl Home {
    /// Names of all kits.
    pub fn kit_names(&self) -> Result<Vec<String>, IntakeError> {
        Ok(store::names(&self.kits())?)
    }

    /// The kit of a name; without one, the only kit.
    pub fn kit(&self, given: Option<&str>) -> Result<Kept<Kit>, IntakeError> {
        let (name, revision, text) = current("kit", self.kits(), given)?;
        let value =
            Kit::from_toml(&text).map_err(|e| IntakeError::KitFile { name: name.clone(), source: Box::new(e) })?;
        Ok(Kept { name, revision, value })
    }

    /// Keeps a new kit. The name must be free.
    pub fn new_kit(&self, kit: Kit) -> Result<Kept<Kit>, IntakeError> {
        if self.kit_names()?.contains(&kit.name) {
            return Err(IntakeError::Taken { what: "kit", name: kit.name });
        }
        self.put_kit(None, kit)
    }

    /// Keeps a kit that was made from a kept one, unless somebody else changed that one meanwhile.
    pub fn changed_kit(&self, from: &Kept<Kit>, kit: Kit) -> Result<Kept<Kit>, IntakeError> {
        self.put_kit(Some(&from.revision), kit)
    }

    fn put_kit(&self, seen: Option<&Revision>, kit: Kit) -> Result<Kept<Kit>, IntakeError> {
        let revisions = Revisions::of(self.kits(), &kit.name)?;
        self.make()?;
        let revision = revisions.put_after(seen, &kit.to_toml())?;
        Ok(Kept { name: kit.name.clone(), revision, value: kit })
    }

    /// Short forms of a kit's revisions, oldest first.
    pub fn kit_revisions(&self, name: &str) -> Result<Vec<String>, IntakeError> {
        Ok(Revisions::of(self.kits(), name)?.list()?)
    }

    /// Names of all enrolled cards.
    pub fn card_names(&self) -> Result<Vec<String>, IntakeError> {
        Ok(store::names(&self.cards())?)
    }

    /// The enrolled card of a name; without one, the only card.
    pub fn card(&self, given: Option<&str>) -> Result<Kept<Enrolment>, IntakeError> {
        let (name, revision, text) = current("card", self.cards(), given)?;
        let value =
            Enrolment::from_toml(&text).map_err(|source| IntakeError::CardFile { name: name.clone(), source })?;
        Ok(Kept { name, revision, value })
    }

    /// Keeps an enrolled card. Under a name that is taken it becomes that card's newest revision.
    pub fn put_card(&self, name: &str, card: Enrolment) -> Result<Kept<Enrolment>, IntakeError> {
        let revisions = Revisions::of(self.cards(), name)?;
        self.make()?;
        let revision = revisions.put(&card.to_toml())?;
        Ok(Kept { name: name.to_string(), revision, value: card })
    }

    /// Short forms of a card's revisions, oldest first.
    pub fn card_revisions(&self, name: &str) -> Result<Vec<String>, IntakeError> {
        Ok(Revisions::of(self.cards(), name)?.list()?)
    }

    /// The card to correct to: the one named; else the one the kit was calibrated with, in its present revision; for a kit
    /// without swatches the only card, or the nominal colours where there is none.
    ///
    /// A kit calibrated without an enrolled card keeps the nominal colours: its own are in their space.
    pub fn card_for(&self, given: Option<&str>, kit: &Kit, layout: &Layout) -> Result<CardInUse, IntakeError> {
        let own = kit.card.as_deref().filter(|_| calibrated(kit));
        let own = own.map(|revision| self.card_of_revision(revision)).transpose()?;
        let name = match given {
            Some(name) => Some(self.card(Some(name))?.name),
            None => match (&own, calibrated(kit)) {
                (Some(Some(name)), _) => Some(name.clone()),
                // Its card is not here: whichever is, is another.
                (Some(None), _) => Some(self.card(None)?.name),
                (None, true) => None,
                (None, false) if self.card_names()?.is_empty() => None,
                (None, false) => Some(self.card(None)?.name),
            },
        };
        let foreign = calibrated(kit) && name != own.flatten();
        match name {
            None => Ok(CardInUse { name: None, reference: Reference::nominal(layout), foreign }),
            Some(name) => {
                let reference = self.card(Some(&name))?.value.reference(layout);
                let reference = reference.map_err(|source| IntakeError::CardFile { name: name.clone(), source })?;
                Ok(CardInUse { name: Some(name), reference, foreign })
            }
        }
    }

    /// The name of the card that has a revision.
    pub(super) fn card_of_revision(&self, revision: &str) -> Result<Option<String>, IntakeError> {
        for name in self.card_names()? {
            let list = self.card_revisions(&name)?;
            if list.iter().any(|short| revision.starts_with(short.as_str())) {
                return Ok(Some(name));
            }
        }
        Ok(None)
    }
}

/// Whether colours stand in it, which belong to a card.
pub(super) fn calibrated(kit: &Kit) -> bool {
    kit.tests.iter().any(|t| !t.swatches.is_empty())
}

fn current(what: &'static str, shelf: PathBuf, given: Option<&str>) -> Result<(String, Revision, String), IntakeError> {
    let known = store::names(&shelf)?;
    let i = match given.map(str::trim) {
        None => the_only(what, &known)?,
        Some(name) => match known.iter().position(|n| n.to_lowercase() == name.to_lowercase()) {
            Some(i) => i,
            None => return Err(IntakeError::Unknown { what, name: name.to_string(), known }),
        },
    };
    let (revision, text) = Revisions::of(shelf, &known[i])?.current()?;
    Ok((known[i].clone(), revision, text))
}
