//! One strong sample, diluted again and again, into a kit.

use super::calibrate::{other_card, taken};
use super::look::open;
use super::naming::{standard_of, test};
use super::shelf::calibrated;
use super::{Added, CardInUse, Home, IntakeError, Keep, Kept, PhotoStandards};
use crate::card::Layout;
use crate::curve::{Kind, Kit, Level, Nuisance, Series, SeriesError, Swatch};
use crate::photo::Limits;
use crate::reading::{self, Standard};
use crate::water::Dilution;
use std::path::PathBuf;

/// What was typed about a series.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SeriesAsked {
    /// The test.
    pub test: String,
    /// `STATION=1+0,1+1,1+3`: one dilution a photo, in the photos' order.
    pub words: Vec<String>,
    /// Level of the undiluted sample, `40±2`, where it is known; else a known standard of the test tells it.
    pub known: Option<String>,
    /// Expanded uncertainty of a dilution, per cent.
    pub within: f64,
}

/// Adds a series to a kit, all with the level that a known standard tells, as one new revision; or nothing. A photo or vial that cannot
/// be used is left out with its reasons.
pub fn add_series(
    home: &Home,
    kit: &Kept<Kit>,
    card: &CardInUse,
    photos: &[PathBuf],
    asked: &SeriesAsked,
    keep: Keep,
) -> Result<(Added, Level), IntakeError> {
    let test = test(&kit.value, &asked.test)?.clone();
    let layout = Layout::first();
    let shares = shares(asked, &kit.value, photos.len(), &layout)?;
    if calibrated(&kit.value) && card.foreign {
        return Err(other_card(home, kit, card));
    }
    let (mut found, mut opened) = (Vec::new(), Vec::new());
    for (k, path) in photos.iter().enumerate() {
        let photo = open(path, &Limits::default())?;
        let standard = |(station, of): &(String, Vec<f64>)| Standard {
            station: station.clone(),
            test: test.name.clone(),
            value: of[k],
            value_sd: None,
        };
        let standards: Vec<Standard> = shares.iter().map(standard).collect();
        let swatches = reading::calibrate(&photo.photo, &layout, &card.reference, &kit.value, &standards);
        let at = taken(&photo);
        let one = |s: Swatch| Swatch { taken: s.taken.clone().or_else(|| at.clone()), ..s };
        let swatches = swatches.into_iter().map(|s| s.map(one));
        found.push((path.clone(), standards.into_iter().zip(swatches).collect::<Vec<_>>()));
        opened.push(photo);
    }
    let swatches = found.iter().flat_map(|(_, f)| f.iter().filter_map(|(_, s)| s.clone().ok())).collect();
    let series = Series { swatches, dilution_sd: asked.within / 100.0 / crate::water::COVERAGE };
    let level = match &asked.known {
        Some(typed) => known(typed, &test.unit, &series)?,
        None => series.level(&test, Nuisance::of(kit.value.kind))?,
    };
    let mut standards = series.standards(&level).into_iter();
    let mut next = kit.value.clone();
    next.card.clone_from(&card.reference.revision);
    let mut out = Vec::new();
    for (path, of) in found {
        let one = |(s, swatch): (Standard, Result<Swatch, Vec<_>>)| match swatch {
            Err(why) => (Standard { value: s.value * level.value, ..s }, Err(why)),
            // As many as there are swatches, in their order.
            Ok(swatch) => {
                let swatch = standards.next().unwrap_or(swatch);
                (Standard { value: swatch.value, value_sd: swatch.value_sd, ..s }, Ok(swatch))
            }
        };
        let standards: Vec<_> = of.into_iter().map(one).collect();
        next.add_swatches(&test.name, standards.iter().filter_map(|(_, s)| s.clone().ok()).collect())?;
        out.push(PhotoStandards { path, standards });
    }
    let kit = home.changed_kit(kit, next)?;
    opened.iter().try_for_each(|o| home.keep_photo(o, keep).map(|_| ()))?;
    Ok((Added { kit, photos: out }, level))
}

/// The level as typed.
fn known(typed: &str, unit: &crate::water::Unit, series: &Series) -> Result<Level, IntakeError> {
    let wrong = |e| IntakeError::Value { typed: typed.to_string(), source: Box::new(e) };
    let (value, sd) = standard_of(typed, unit).map_err(wrong)?;
    if value <= 0.0 {
        return Err(SeriesError::Value { value }.into());
    }
    let mut shares: Vec<f64> = series.swatches.iter().map(|s| s.value).collect();
    shares.sort_by(f64::total_cmp);
    shares.dedup();
    match shares.len() {
        0..3 => Err(SeriesError::TooFew { count: shares.len() }.into()),
        _ => Ok(Level { value, sd: sd.unwrap_or(0.0), anchors: 0 }),
    }
}

/// The shares at every station, one a photo.
fn shares(
    asked: &SeriesAsked,
    kit: &Kit,
    photos: usize,
    layout: &Layout,
) -> Result<Vec<(String, Vec<f64>)>, IntakeError> {
    let form = "STATION=DILUTIONS, one a photo, such as B=1+0,1+1,1+3 for three photos";
    let mut out: Vec<(String, Vec<f64>)> = Vec::new();
    for word in &asked.words {
        let malformed = || IntakeError::Sample { typed: word.clone(), form };
        let (station, of) = word.split_once('=').ok_or_else(malformed)?;
        let known = layout.stations.names.clone();
        let station = known.iter().find(|n| n.eq_ignore_ascii_case(station.trim())).cloned();
        let station = station.filter(|_| kit.kind == Kind::Vial).ok_or_else(malformed)?;
        if out.iter().any(|(s, _)| *s == station) {
            return Err(IntakeError::StationTwice { station });
        }
        let of: Vec<f64> = of.split(',').map(|d| share(word, d)).collect::<Result<_, _>>()?;
        if of.len() != photos {
            return Err(malformed());
        }
        out.push((station, of));
    }
    if out.is_empty() {
        return Err(IntakeError::Sample { typed: asked.words.join(" "), form });
    }
    Ok(out)
}

/// `1+0` is the sample itself.
fn share(word: &str, typed: &str) -> Result<f64, IntakeError> {
    if matches!(typed.trim(), "1+0" | "1 + 0") {
        return Ok(1.0);
    }
    let wrong = |source| IntakeError::Dilution { typed: word.to_string(), source };
    Dilution::parse(typed).map(|d| 1.0 / d.factor()).map_err(wrong)
}
