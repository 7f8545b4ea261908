//! The keys of format 3: what a kit remembers besides its swatches.

use super::adopted::{Adopted, Adoption, Bottle, Camera};
use super::file::{Lines, date, number, row};
use super::{Kit, KitError, Test};
use crate::curve::Extra;
use serde::Deserialize;
use toml::value::Datetime;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FileCamera {
    name: String,
    photos: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FileBottle {
    lot: Option<String>,
    opened: Option<Datetime>,
    expiry: Option<Datetime>,
    #[serde(default)]
    photos: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FileAdoption {
    date: Datetime,
    card: Option<String>,
    camera: Option<String>,
    lot: Option<String>,
    flat: f64,
    share: f64,
    way: f64,
    chi_squared: f64,
    standard: Vec<FileAdopted>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FileAdopted {
    value: f64,
    read: f64,
    lab: [f64; 3],
    #[serde(default)]
    photo: String,
    #[serde(default)]
    station: String,
}

/// Whether a test uses keys of format 3.
pub(super) fn used(kit: &Kit) -> bool {
    !kit.cameras.is_empty() || kit.tests.iter().any(|t| !t.earlier.is_empty() || !t.adopted.is_empty())
}

pub(super) fn camera(c: FileCamera) -> Camera {
    Camera { name: c.name, photos: c.photos }
}

pub(super) fn bottle(b: FileBottle, text: &str) -> Result<Bottle, KitError> {
    let (opened, expiry) = (date(b.opened, "opened", text)?, date(b.expiry, "expiry", text)?);
    Ok(Bottle { lot: b.lot, opened, expiry, photos: b.photos })
}

pub(super) fn adoption(a: FileAdoption, text: &str) -> Result<Adoption, KitError> {
    let missing = || KitError::Malformed { line: 1, message: "`date` is not a date such as 2026-03-01".to_string() };
    let standard = |s: FileAdopted| {
        let FileAdopted { value, read, lab, photo, station } = s;
        Adopted { value, read, lab, photo, station }
    };
    Ok(Adoption {
        date: date(Some(a.date), "date", text)?.ok_or_else(missing)?,
        card: a.card,
        camera: a.camera,
        lot: a.lot,
        extra: Extra { flat: a.flat, share: a.share, way: a.way },
        chi_squared: a.chi_squared,
        standards: a.standard.into_iter().map(standard).collect(),
    })
}

pub(super) fn cameras(kit: &Kit, out: &mut Lines) {
    for c in &kit.cameras {
        out.raw("\n[[camera]]");
        out.text("name", &c.name);
        out.raw(&format!("photos = {}", texts(&c.photos)));
    }
}

pub(super) fn bottles_and_adoptions(test: &Test, out: &mut Lines) {
    for b in &test.earlier {
        out.raw("\n[[test.earlier]]");
        out.some("lot", b.lot.as_deref());
        for (key, date) in [("opened", b.opened), ("expiry", b.expiry)] {
            if let Some(date) = date {
                out.raw(&format!("{key} = {date}"));
            }
        }
        if !b.photos.is_empty() {
            out.raw(&format!("photos = {}", texts(&b.photos)));
        }
    }
    for a in &test.adopted {
        out.raw("\n[[test.adopted]]");
        out.raw(&format!("date = {}", a.date));
        out.some("card", a.card.as_deref());
        out.some("camera", a.camera.as_deref());
        out.some("lot", a.lot.as_deref());
        for (key, x) in
            [("flat", a.extra.flat), ("share", a.extra.share), ("way", a.extra.way), ("chi_squared", a.chi_squared)]
        {
            out.raw(&format!("{key} = {}", number(x)));
        }
        for s in &a.standards {
            out.raw("\n[[test.adopted.standard]]");
            out.raw(&format!("value = {}", number(s.value)));
            out.raw(&format!("read = {}", number(s.read)));
            out.raw(&format!("lab = {}", row(&s.lab)));
            out.some("photo", Some(s.photo.as_str()).filter(|p| !p.is_empty()));
            out.some("station", Some(s.station.as_str()).filter(|p| !p.is_empty()));
        }
    }
}

fn texts(all: &[String]) -> String {
    toml::Value::Array(all.iter().map(|t| toml::Value::String(t.clone())).collect()).to_string()
}
