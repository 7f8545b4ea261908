//! Swatches of the shades that a kit's maker printed.

use super::read::light;
use crate::card::{self, Layout};
use crate::colour::Lab;
use crate::curve::density::density;
use crate::curve::{Scale, Source, Swatch, Test, order};
use crate::finding::{Code, Finding};
use crate::light::Reference;
use crate::photo::Photo;
use crate::sample::{self, Palest, Shade};

/// A row that gets paler by more than this (mean optical density) from its lowest concentration to its highest was named the
/// wrong way round. Printed shades of one test span 0.15 and more.
const PALER: f64 = 0.1;

/// Makes a swatch of each printed shade lying in the bay; `values` are their concentrations, left to right as they lie. The
/// shades must be as many, and run one way.
pub fn shades(
    photo: &Photo,
    layout: &Layout,
    reference: &Reference,
    test: &Test,
    values: &[f64],
) -> Result<Vec<Swatch>, Vec<Finding>> {
    let (card, scene) = light(photo, layout, reference, card::find(photo, layout)).map_err(|unseen| unseen.findings)?;
    one_way(test, values)?;
    let rising = values.first() <= values.last();
    let palest = match (test.scale, rising) {
        (Scale::Bounded, _) => Palest::Nowhere,
        (Scale::FromZero, true) => Palest::First,
        (Scale::FromZero, false) => Palest::Last,
    };
    let found = sample::shades(photo, layout, &card, &scene, values.len(), palest)?;
    let correction = &scene.correction.residual;
    let swatch = |(i, (shade, value)): (usize, (&Shade, &f64))| Swatch {
        value: *value,
        value_sd: None,
        source: Source::Print,
        lab: shade.lab.0,
        cov: [0, 1, 2].map(|r| [0, 1, 2].map(|c| shade.cov[r][c] + correction[r][c])),
        photo: photo.id().to_string(),
        station: format!("shade-{}", i + 1),
        // Paper shows its colour under any light; where it was photographed is not where vials are read.
        light: Vec::new(),
        taken: None,
        clear: None,
    };
    let swatches: Vec<Swatch> = found.iter().zip(values).enumerate().map(swatch).collect();
    running(test, &swatches)?;
    Ok(swatches)
}

/// Whether the concentrations rise or fall throughout.
fn one_way(test: &Test, values: &[f64]) -> Result<(), Vec<Finding>> {
    let rising = values.windows(2).all(|w| w[0] < w[1]);
    let falling = values.windows(2).all(|w| w[0] > w[1]);
    if rising || falling {
        return Ok(());
    }
    let sentence = format!("The concentrations named for {} neither rise nor fall from left to right.", test.name);
    Err(vec![Finding::doubt(Code::ShadesOrder, sentence)])
}

/// Whether the colours run as the concentrations do: without turning back, and on a scale from none from pale to deep.
fn running(test: &Test, swatches: &[Swatch]) -> Result<(), Vec<Finding>> {
    let alone = Test { swatches: swatches.to_vec(), ..test.clone() };
    if let Some(finding) = order(&alone) {
        return Err(vec![Finding { code: Code::ShadesOrder, ..finding }]);
    }
    let depth = |s: &Swatch| density(Lab(s.lab)).mean();
    let lowest = swatches.iter().min_by(|a, b| a.value.total_cmp(&b.value));
    let highest = swatches.iter().max_by(|a, b| a.value.total_cmp(&b.value));
    match (test.scale, lowest, highest) {
        (Scale::FromZero, Some(low), Some(high)) if depth(low) > depth(high) + PALER => {
            let (name, low, high) = (&test.name, low.value, high.value);
            let sentence = format!("The shade named {low} of {name} is deeper than the one named {high}.");
            Err(vec![Finding::doubt(Code::ShadesOrder, sentence)])
        }
        _ => Ok(()),
    }
}
