//! What a kit remembers besides its swatches: phones, bottles, and what its curves were carried over to.

use super::check::line;
use super::{Kit, KitError, Test};
use crate::curve::Extra;
use jiff::civil::Date;

/// A phone and the photos of swatches it took.
#[derive(Debug, Clone, PartialEq)]
pub struct Camera {
    /// Maker and model, as the photos say.
    pub name: String,
    /// Their identities.
    pub photos: Vec<String>,
}

/// A bottle of reagent used before the present one.
#[derive(Debug, Clone, PartialEq)]
pub struct Bottle {
    /// Its lot, if it was noted.
    pub lot: Option<String>,
    /// When it was opened.
    pub opened: Option<Date>,
    /// Until when it was good.
    pub expiry: Option<Date>,
    /// Identities of the photos of standards made with it.
    pub photos: Vec<String>,
}

/// A curve carried over to another card, phone or bottle: with which standards, and with how much more uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Adoption {
    /// The day.
    pub date: Date,
    /// Revision of the card.
    pub card: Option<String>,
    /// The phone; none where the photos do not say.
    pub camera: Option<String>,
    /// Lot of the bottle.
    pub lot: Option<String>,
    /// What readings are widened by.
    pub extra: Extra,
    /// χ² of the standards' differences to the curve, three degrees of freedom for each.
    pub chi_squared: f64,
    /// The standards.
    pub standards: Vec<Adopted>,
}

/// One standard it was tried on.
#[derive(Debug, Clone, PartialEq)]
pub struct Adopted {
    /// Concentration as said, in the test's unit.
    pub value: f64,
    /// What the curve reads it as.
    pub read: f64,
    /// CIELAB as measured.
    pub lab: [f64; 3],
    /// The photo's identity.
    pub photo: String,
    /// Where it stood.
    pub station: String,
}

impl Kit {
    /// Notes which phone took a photo of swatches.
    pub fn note_camera(&mut self, name: &str, photo: &str) {
        // As it can stand in the file: one line.
        let name: String = name.chars().filter(|c| !c.is_control()).take(MOST).collect();
        if name.trim().is_empty() || photo.is_empty() {
            return;
        }
        let camera = match self.cameras.iter().position(|c| c.name == name) {
            Some(i) => &mut self.cameras[i],
            None => {
                self.cameras.push(Camera { name, photos: Vec::new() });
                let last = self.cameras.len() - 1;
                &mut self.cameras[last]
            }
        };
        if !camera.photos.iter().any(|p| p == photo) {
            camera.photos.push(photo.to_string());
        }
    }

    /// A new bottle of a test's reagent: the one before goes to the earlier ones, with the photos of standards made with it.
    pub fn new_bottle(
        &mut self,
        test: &str,
        lot: Option<String>,
        opened: Option<Date>,
        expiry: Option<Date>,
    ) -> Result<(), KitError> {
        let i = self.position(test)?;
        self.changed(|kit| {
            let t = &mut kit.tests[i];
            let old = |photo: &String| t.earlier.iter().any(|b| b.photos.contains(photo));
            let mut photos: Vec<String> = t.own().map(|s| s.photo.clone()).filter(|p| !old(p)).collect();
            photos.sort();
            photos.dedup();
            t.earlier.push(Bottle { lot: t.lot.take(), opened: t.opened, expiry: t.expiry, photos });
            (t.lot, t.opened, t.expiry) = (lot, opened, expiry);
            Ok(())
        })
    }

    /// Says more of the bottle in use; what is not given stays.
    pub fn same_bottle(&mut self, test: &str, opened: Option<Date>, expiry: Option<Date>) -> Result<(), KitError> {
        let i = self.position(test)?;
        let t = &mut self.tests[i];
        (t.opened, t.expiry) = (opened.or(t.opened), expiry.or(t.expiry));
        Ok(())
    }

    /// Carries a test's curve over.
    pub fn adopt(&mut self, test: &str, adoption: Adoption) -> Result<(), KitError> {
        let i = self.position(test)?;
        self.changed(|kit| {
            kit.tests[i].adopted.push(adoption);
            Ok(())
        })
    }
}

impl Test {
    /// Swatches of standards of one's own.
    pub fn own(&self) -> impl Iterator<Item = &super::Swatch> {
        self.swatches.iter().filter(|s| s.source == super::Source::Standard)
    }
}

/// Characters of a phone's name.
pub(super) const MOST: usize = 128;

/// Whether what a test remembers is sound.
pub(super) fn remembered(test: &Test) -> Result<(), KitError> {
    let place = || format!("test '{}'", test.name);
    for b in &test.earlier {
        line(b.lot.as_deref(), 64, "lot", place)?;
        photos(&b.photos, place)?;
    }
    for a in &test.adopted {
        line(a.card.as_deref(), 80, "card", place)?;
        line(a.camera.as_deref(), MOST, "camera", place)?;
        line(a.lot.as_deref(), 64, "lot", place)?;
        let sizes = [a.extra.flat, a.extra.share, a.extra.way, a.chi_squared];
        let odd = || KitError::Adopted { test: test.name.clone(), date: a.date };
        if !sizes.iter().all(|x| x.is_finite() && *x >= 0.0) || a.standards.is_empty() {
            return Err(odd());
        }
        for s in &a.standards {
            if ![s.value, s.read, s.lab[0], s.lab[1], s.lab[2]].iter().all(|x| x.is_finite()) {
                return Err(odd());
            }
            photos(&[s.photo.clone(), s.station.clone()], place)?;
        }
    }
    Ok(())
}

/// Whether photos' identities can stand in the file; an empty one is none.
pub(super) fn photos(ids: &[String], place: impl Fn() -> String) -> Result<(), KitError> {
    ids.iter().try_for_each(|id| line(Some(id.as_str()).filter(|p| !p.is_empty()), 128, "photo", &place))
}
