//! The colours of a strip's pads.

use super::liquid::gathered;
use super::samples::{CLIPPED_MOST, Sample, Samples};
use super::strip::{self, Found, Lie, Shape};
use super::view::View;
use crate::card::{Card, Layout};
use crate::finding::{Code, Finding};
use crate::light::Scene;
use crate::photo::Photo;

/// Share of a pad's side that is sampled: colours bleed at its edges, and it may be found half a millimetre off.
const INNER: f64 = 0.52;
/// More than this share of glaring pixels: what is left is lit by the reflection too.
const GLARE_MOST: f64 = 0.25;
/// The pad's parts differ by more than this (CIELAB): it is not one colour.
const UNEVEN_MOST: f64 = 10.0;

impl Samples {
    /// Finds a strip in the bay and measures its pads, at the stations `pad-1`, `pad-2` and so on. Two answers, where by its edges
    /// it may lie either way round.
    pub fn strip(photo: &Photo, layout: &Layout, card: &Card, scene: &Scene, shape: &Shape) -> Vec<Self> {
        let bay = layout.bay;
        let view = View::new(photo, card, scene, [bay.x, bay.y], [bay.x + bay.w, bay.y + bay.h]);
        let none = |code: Code, sentence: &str| vec![Self::lacking(shape, Finding::doubt(code, sentence))];
        let measured = |lie: Lie| {
            let found =
                (1..=shape.pads).map(|n| pad(photo, card, scene, shape, &lie, n).map_err(|f| (name(n), vec![f])));
            Self::of(names(shape), found.collect())
        };
        match strip::find(&view, layout, shape) {
            Found::One(lie) => vec![measured(lie)],
            Found::EitherWay(a, b) => vec![measured(a), measured(b)],
            Found::Unclear => {
                none(Code::StripUnclear, "The strip's pads may lie one place farther along; its edges do not tell.")
            }
            Found::None => none(Code::StripMissing, "No strip of this kit's measures was seen in the bay."),
        }
    }

    fn lacking(shape: &Shape, why: Finding) -> Self {
        let found = (1..=shape.pads).map(|n| Err((name(n), vec![why.clone()])));
        Self::of(names(shape), found.collect())
    }
}

fn name(number: usize) -> String {
    format!("pad-{number}")
}

fn names(shape: &Shape) -> Vec<String> {
    (1..=shape.pads).map(name).collect()
}

fn pad(photo: &Photo, card: &Card, scene: &Scene, shape: &Shape, lie: &Lie, number: usize) -> Result<Sample, Finding> {
    let middle = shape.pitch * (number as f64 - 1.0);
    let place = |side: f64| move |x: f64, y: f64| lie.point(middle + side * (x - 0.5), side * (y - 0.5));
    let side = INNER * shape.pad;
    let cells = ((side * card.px_per_mm) as usize).clamp(6, 40);
    let colour = gathered(photo, card, scene, [cells, cells], place(side), false);
    let station = name(number);
    let percent = |share: f64| (100.0 * share).round();
    if colour.clipped > CLIPPED_MOST {
        let sentence = format!("{} % of {station} is beyond the camera's range.", percent(colour.clipped));
        return Err(Finding::doubt(Code::SampleClipped, sentence));
    }
    if colour.glare > GLARE_MOST {
        let sentence = format!("A reflection lies on {} % of {station}.", percent(colour.glare));
        return Err(Finding::doubt(Code::SampleGlare, sentence));
    }
    if colour.uneven > UNEVEN_MOST {
        return Err(Finding::doubt(Code::SampleUneven, format!("The pad {station} is not of one colour.")));
    }
    let whole = place(shape.pad);
    let outline = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(|(x, y)| whole(x, y)).to_vec();
    Ok(Sample { station, colour, outline, beside: [[0.0; 3]; 2], findings: Vec::new() })
}
