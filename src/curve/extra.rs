//! Whether a calibration holds for the card, the phone and the bottle at hand, and what is not known of them costs.
//!
//! A curve is true for the card × phone × bottle it was made with. With another of them nothing tells how its colours lie before
//! standards have been photographed: readings are said with a finding and a wider interval, until the kit is carried over
//! ([`tried`](super::tried)) or calibrated with it.

use jiff::civil::Date;
use nalgebra::Matrix3;

use super::density::Density;
use super::kit::{Adoption, Kit, Source, Swatch, Test};
use crate::finding::{Code, Finding};

/// What else separates a photo from a curve, as standard deviations.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Extra {
    /// Of each band's density.
    pub flat: f64,
    /// Of each band's density, relative to it.
    pub share: f64,
    /// Of the factor that multiplies all bands alike.
    pub way: f64,
}

impl Extra {
    /// Another phone: its sensor sees dyes against the card's inks as another light would. As much as a light that is just not a
    /// usual one any more (foreignness 0.072: 1.4 in CIELAB, about 0.04 in density, and 3 % of it).
    pub const PHONE: Self = Self { flat: 0.04, share: 0.03, way: 0.0 };
    /// Another print, or one enrolled anew: two enrolments of one print agree to about ΔE 1, two prints' own spaces differ as the
    /// photos they were enrolled from do. An estimate, larger than that of a phone.
    pub const CARD: Self = Self { flat: 0.05, share: 0.05, way: 0.0 };
    /// Another bottle: the reagent's strength and its own colour. An estimate: bottles of a series hardly differ by more than a
    /// tenth or two (common practice: check each one).
    pub const BOTTLE: Self = Self { flat: 0.04, share: 0.03, way: 0.15 };

    /// Both together, independent of one another.
    pub fn and(self, other: Self) -> Self {
        let Self { flat, share, way } = self;
        Self { flat: flat.hypot(other.flat), share: share.hypot(other.share), way: way.hypot(other.way) }
    }

    /// So many times as large.
    pub fn times(self, scale: f64) -> Self {
        Self { flat: self.flat * scale, share: self.share * scale, way: self.way * scale }
    }

    /// Covariance of a density about `d`.
    pub fn covariance(&self, d: &Density) -> Matrix3<f64> {
        let bands = d.map(|v| self.flat.powi(2) + (self.share * v).powi(2));
        Matrix3::from_diagonal(&bands) + d * d.transpose() * self.way.powi(2)
    }
}

/// With what a photo was taken.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Taken<'a> {
    /// Revision of the card that its colours were corrected to.
    pub card: Option<&'a str>,
    /// The phone, as the photo says.
    pub camera: Option<&'a str>,
    /// The day, as the camera says.
    pub on: Option<Date>,
}

/// What of a photo's circumstances the curve of a test was not made with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct New {
    pub card: bool,
    pub camera: bool,
    pub lot: bool,
}

impl New {
    /// What is new to a test in a photo, whatever was carried over.
    pub fn of(kit: &Kit, test: &Test, taken: &Taken) -> Self {
        if test.swatches.is_empty() {
            return Self::default();
        }
        Self {
            // A kit without an enrolled card is the intake's question.
            card: kit.card.is_some() && kit.card.as_deref() != taken.card,
            camera: strange_camera(kit, test, taken.camera),
            lot: test.new_lot(taken.on),
        }
    }

    pub fn any(self) -> bool {
        self.card || self.camera || self.lot
    }

    /// What is not known because of it.
    pub fn extra(self) -> Extra {
        let of = |is: bool, extra: Extra| if is { extra } else { Extra::default() };
        of(self.card, Extra::CARD).and(of(self.camera, Extra::PHONE)).and(of(self.lot, Extra::BOTTLE))
    }
}

/// How a test's curve holds for a photo.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Held {
    /// What is new and was not carried over.
    pub new: New,
    /// What the interval is to be widened by.
    pub extra: Extra,
    /// The same in words.
    pub findings: Vec<Finding>,
}

/// Whether a test's curve holds for a photo, with what its keeper has carried it over to.
pub fn held(kit: &Kit, test: &Test, taken: &Taken) -> Held {
    let mut new = New::of(kit, test, taken);
    let mut counted: Vec<&Adoption> = Vec::new();
    let mut carried = |new: &mut bool, fits: &dyn Fn(&&Adoption) -> bool| {
        let by = if *new { test.adopted.iter().rev().find(fits) } else { None };
        if let Some(by) = by {
            *new = false;
            if !counted.contains(&by) {
                counted.push(by);
            }
        }
    };
    carried(&mut new.card, &|a| a.card.as_deref() == taken.card);
    carried(&mut new.camera, &|a| a.camera.as_deref() == taken.camera);
    carried(&mut new.lot, &|a| a.lot == test.lot);
    let extra = counted.iter().fold(new.extra(), |sum, a| sum.and(a.extra));
    Held { new, extra, findings: said(new, test, taken) }
}

fn said(new: New, test: &Test, taken: &Taken) -> Vec<Finding> {
    let name = &test.name;
    let mut out = Vec::new();
    if new.card {
        let sentence =
            format!("The card was enrolled anew since '{name}' was calibrated; the interval is wider for it.");
        out.push(Finding::note(Code::CardNew, sentence));
    }
    if new.camera {
        let sentence = match taken.camera {
            Some(camera) => {
                format!("'{name}' was not calibrated with this phone ({camera}); the interval is wider for it.")
            }
            None => format!(
                "The photo does not say which phone took it, and '{name}' is calibrated with one; the interval is wider for it."
            ),
        };
        out.push(Finding::note(Code::PhoneUnknown, sentence));
    }
    if new.lot {
        let lot = test.lot.as_ref().map_or("a new bottle".to_string(), |lot| format!("the new bottle, lot {lot},"));
        let sentence = format!("'{name}' was not calibrated with {lot} yet; the interval is wider for it.");
        out.push(Finding::note(Code::LotNew, sentence));
    }
    out
}

/// Concentrations that must have been photographed with a phone, or made with a bottle, before it counts as known.
const KNOWN: usize = 2;

/// Whether a phone is strange to a test. Where the photos of its swatches name no phone, nothing can be said.
fn strange_camera(kit: &Kit, test: &Test, camera: Option<&str>) -> bool {
    let by = |s: &Swatch| kit.cameras.iter().find(|c| c.photos.contains(&s.photo)).map(|c| c.name.as_str());
    if !test.swatches.iter().any(|s| by(s).is_some()) {
        return false;
    }
    camera.is_none() || concentrations(test, |s| by(s) == camera) < KNOWN
}

fn concentrations(test: &Test, which: impl Fn(&Swatch) -> bool) -> usize {
    let mut values: Vec<f64> = test.swatches.iter().filter(|s| which(s)).map(|s| s.value).collect();
    values.sort_by(f64::total_cmp);
    values.dedup();
    values.len()
}

impl Test {
    /// Whether the bottle in use is one that its standards were not made with, as of a day: before it was opened, the one before
    /// was in use. Printed shades belong to no bottle.
    pub fn new_lot(&self, on: Option<Date>) -> bool {
        if let (Some(on), Some(opened)) = (on, self.opened)
            && on < opened
        {
            return false;
        }
        let old = |s: &Swatch| self.earlier.iter().any(|b| b.photos.contains(&s.photo));
        let own = |s: &Swatch| s.source == Source::Standard;
        self.swatches.iter().any(|s| own(s) && old(s)) && concentrations(self, |s| own(s) && !old(s)) < KNOWN
    }

    /// The doubt on a bottle used after its date.
    pub fn expired(&self, on: Date) -> Option<Finding> {
        let expiry = self.expiry.filter(|expiry| on > *expiry && self.opened.is_none_or(|opened| on >= opened))?;
        let sentence = format!("The reagent of '{}' was good until {expiry}.", self.name);
        Some(Finding::doubt(Code::ReagentExpired, sentence))
    }
}
