//! All samples of a photo.

use super::liquid::{Colour, measure};
use super::vial::{self, Vial};
use super::view::View;
use crate::card::{Card, Layout};
use crate::finding::{Code, Finding};
use crate::light::Scene;
use crate::numeric::robust::median;
use crate::photo::Photo;

/// One vial with the colour of its liquid, or one pad of a strip.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    /// Where: a station's name, or `pad-1` and so on.
    pub station: String,
    pub colour: Colour,
    /// Outline of the liquid or the pad, mm on the card's plane.
    pub outline: Vec<[f64; 2]>,
    /// ln(light / even light) of the paper close to the left and the right wall, three channels: shadows and
    /// tints. Zero for a pad.
    pub beside: [[f64; 3]; 2],
    /// What was noticed about this sample.
    pub findings: Vec<Finding>,
}

/// What stands before the bay or lies in it, by station.
#[derive(Debug, Clone, PartialEq)]
pub struct Samples {
    stations: Vec<String>,
    /// Of vials only those seen; of a strip every pad.
    found: Vec<Result<Sample, (String, Vec<Finding>)>>,
}

/// A reflection that adds this much light (paper being 1) is a lamp's or the flash's and spreads over all of the liquid.
const GLARE_MOST: f64 = 0.30;
/// More than this share of pixels at the end of their range: the colour is not known.
pub(super) const CLIPPED_MOST: f64 = 0.30;
/// The region's parts differ by more than this (CIELAB): it is not one colour.
const UNEVEN_MOST: f64 = 14.0;

impl Samples {
    /// Finds and measures all vials.
    pub fn find(photo: &Photo, layout: &Layout, card: &Card, scene: &Scene) -> Self {
        // From the caps down past the card's edge, where vials stand; a little to either side of the bay.
        let (bay, floor) = (layout.bay, layout.height + 9.0);
        let view = View::new(photo, card, scene, [bay.x - 13.0, bay.y + 8.0], [bay.x + bay.w + 13.0, floor]);
        let found = vial::find(&view, layout)
            .into_iter()
            .map(|v| {
                let station = v.station.clone();
                sample(photo, card, scene, &view, v).map_err(|f| (station, f))
            })
            .collect();
        Self { stations: layout.stations.names.clone(), found }
    }

    /// Samples at their stations, or why one was not measured.
    pub(crate) fn of(stations: Vec<String>, found: Vec<Result<Sample, (String, Vec<Finding>)>>) -> Self {
        Self { stations, found }
    }

    /// The sample at a station, or why there is none.
    pub fn at(&self, station: &str) -> Result<&Sample, Vec<Finding>> {
        let missing = |sentence: String| vec![Finding::doubt(Code::SampleMissing, sentence)];
        if !self.stations.iter().any(|s| s == station) {
            return Err(missing(format!("There is no station {station} here, but {}.", self.stations.join(", "))));
        }
        let here = self.found.iter().find(|s| match s {
            Ok(s) => s.station == station,
            Err((name, _)) => name == station,
        });
        match here {
            Some(Ok(sample)) => Ok(sample),
            Some(Err((_, findings))) => Err(findings.clone()),
            None => Err(missing(format!("No vial was seen at station {station}."))),
        }
    }

    /// The sample at the next station to the left or right, if there is one.
    pub fn next_to(&self, station: &str, right: bool) -> Option<&Sample> {
        let here = self.stations.iter().position(|s| s == station)?;
        let there = if right { here + 1 } else { here.checked_sub(1)? };
        let name = self.stations.get(there)?;
        self.all().find(|s| s.station == *name)
    }

    /// The doubt that falls on a sample when another in the photo is covered by a lamp's reflection: the lamp lights this one
    /// too.
    pub fn glare_beside(&self, station: &str) -> Option<Finding> {
        let glaring = self.found.iter().filter_map(|s| s.as_ref().err());
        let (place, _) =
            glaring.filter(|(_, f)| f.iter().any(|f| f.code == Code::SampleGlare)).find(|(s, _)| s != station)?;
        let sentence = format!("The lamp or flash reflected at {place} lights {station} too.");
        Some(Finding::doubt(Code::LightGlare, sentence))
    }

    /// All samples that could be measured.
    pub fn all(&self) -> impl Iterator<Item = &Sample> {
        self.found.iter().filter_map(|s| s.as_ref().ok())
    }
}

fn sample(photo: &Photo, card: &Card, scene: &Scene, view: &View, vial: Vial) -> Result<Sample, Vec<Finding>> {
    let place = vial.station.clone();
    let refuse = |code: Code, sentence: String| vec![Finding::doubt(code, sentence)];
    let colour = measure(photo, card, scene, &vial).ok_or_else(|| {
        refuse(Code::SampleOutside, format!("Too little of the liquid at {place} stands before bare paper."))
    })?;
    if colour.stripe > GLARE_MOST {
        let share = 100.0 * colour.stripe;
        let sentence = format!("A reflection adds {share:.0} % of the paper's light to the liquid at {place}.");
        return Err(refuse(Code::SampleGlare, sentence));
    }
    if colour.clipped > CLIPPED_MOST {
        let share = 100.0 * colour.clipped;
        return Err(refuse(
            Code::SampleClipped,
            format!("{share:.0} % of the liquid at {place} is beyond the camera's range."),
        ));
    }
    if colour.uneven > UNEVEN_MOST {
        return Err(refuse(Code::SampleUneven, format!("The liquid at {place} is not of one colour.")));
    }
    let outline = [(-1.0, 1.0), (1.0, 1.0), (1.0, 0.0), (-1.0, 0.0)].map(|(x, up)| vial.point(x, up)).to_vec();
    let beside = [-1.0, 1.0].map(|side| beside(view, &vial, side));
    Ok(Sample { station: place, colour, outline, beside, findings: Vec::new() })
}

/// Median over the paper from 1 to 4 mm beside a wall, level with the region that is sampled.
fn beside(view: &View, vial: &Vial, side: f64) -> [f64; 3] {
    let places = (0..16).flat_map(|j| (0..6).map(move |i| (0.5 * j as f64, 1.0 + 0.6 * i as f64)));
    let seen: Vec<[f32; 3]> = places
        .map(|(down, out)| {
            let y = vial.calm + down;
            view.at([vial.axis(y) + side * (vial.half + out), y])
        })
        .collect();
    [0, 1, 2].map(|c| median(&seen.iter().map(|v| v[c] as f64).collect::<Vec<_>>()).unwrap_or(0.0))
}
