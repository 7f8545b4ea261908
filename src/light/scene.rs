//! One photo's light, put together.

use super::correct::{Correction, Pair};
use super::field::Field;
use super::judge::{CLIPPED, judge};
use super::measure::{self, Area};
use super::solve::median;
use super::tone::{Grey, Tone};
use crate::card::layout::{Patch, Rect};
use crate::card::{Card, Layout};
use crate::colour::{LinRgb, Srgb, linear_from_srgb};
use crate::finding::{Code, Finding};
use crate::photo::Photo;
use crate::trial::{Part, without};

/// Colours of the card's patches relative to its paper, in the layout's order (linear light, sRGB primaries, D65).
#[derive(Debug, Clone, PartialEq)]
pub struct Reference {
    pub colours: Vec<[f64; 3]>,
    /// Content hash of the card file; None for nominal colours.
    pub revision: Option<String>,
}

impl Reference {
    /// The colours meant by the layout, before printing.
    pub fn nominal(layout: &Layout) -> Self {
        let linear = |c: [u8; 3]| linear_from_srgb(Srgb(c.map(|v| v as f64 / 255.0))).0;
        Self { colours: layout.patches.iter().map(|p| linear(p.srgb)).collect(), revision: None }
    }
}

/// Mean ΔE00 of left-out patches above which an enrolled card does not fit the photo; clean photos stay below 1.7.
const ODD: f64 = 2.5;

/// One photo's light: from camera light to the card's own colour space, everywhere on the card.
#[derive(Debug, Clone)]
pub struct Scene {
    /// Paper's light over the card.
    pub field: Field,
    tones: [Tone; 3],
    /// Into the card's space.
    pub correction: Correction,
    /// Patches as seen, in the layout's order.
    pub patches: Vec<Area>,
    /// Paper cells as seen.
    pub paper: Vec<Area>,
    /// Patches straightened and relative to paper, before the correction.
    pub straight: Vec<[f64; 3]>,
    /// Residual of each grey (ln units, largest channel), in the layout's order of greys.
    pub grey_residuals: Vec<f64>,
    /// What was noticed.
    pub findings: Vec<Finding>,
}

impl Scene {
    /// Measures the card in the photo and fits the light, or says why it cannot.
    pub fn fit(photo: &Photo, layout: &Layout, card: &Card, reference: &Reference) -> Result<Self, Vec<Finding>> {
        let patches = measure::patches(photo, layout, card);
        let paper = measure::paper(photo, layout, card);
        let bay = layout.bay;
        let outside = |a: &Area| {
            let [x, y] = a.at;
            y < bay.y + 8.0 || ((x < bay.x || x > bay.x + bay.w) && y < bay.y + 0.5 * bay.h)
        };
        let field = Field::fit(&paper, outside).ok_or_else(|| vec![no_paper(&paper)])?;

        let mut findings = judge(layout, &field, &patches, &paper)?;
        // A clipped patch shows the camera's end of range, not its own light.
        let trusted = |(p, area): (&Patch, &Area)| match area.clipped > CLIPPED {
            true => 0.0,
            false => evenly_lit(p.rect, &paper, &field),
        };
        let lit: Vec<f64> = layout.patches.iter().zip(&patches).map(trusted).collect();
        let greys: Vec<usize> = grey_indices(layout);
        let mut tones = [Tone::STRAIGHT; 3];
        let mut grey_residuals = vec![0.0f64; greys.len()];
        for (c, tone) in tones.iter_mut().enumerate() {
            let list: Vec<Grey> = greys
                .iter()
                .map(|i| Grey {
                    seen: patches[*i].rgb[c],
                    paper: field.at(patches[*i].at)[c],
                    truth: reference.colours[*i][c],
                    weight: lit[*i],
                })
                .collect();
            let odd = || vec![Finding::doubt(Code::LightPatchesOdd, "The grey patches do not run from light to dark.")];
            let (fit, residuals) = Tone::fit(&list).ok_or_else(odd)?;
            *tone = if without(Part::Tone) { Tone::STRAIGHT } else { fit };
            for (g, r) in grey_residuals.iter_mut().zip(residuals) {
                *g = g.max(r.abs());
            }
        }
        let straight: Vec<[f64; 3]> = patches
            .iter()
            .map(|p| {
                let q = field.at(p.at);
                [0, 1, 2].map(|c| (tones[c].ln(p.rgb[c]) - tones[c].ln(q[c])).exp())
            })
            .collect();
        let mut pairs: Vec<Pair> = straight
            .iter()
            .zip(&reference.colours)
            .map(|(seen, truth)| Pair { seen: *seen, truth: *truth, weight: 1.0 })
            .collect();
        pairs.iter_mut().zip(&lit).for_each(|(p, l)| p.weight = *l);
        for (g, i) in greys.iter().enumerate() {
            // A grey that disagrees with the tone curve is shaded or tinted.
            pairs[*i].weight = if grey_residuals[g] > 0.06 { 0.0 } else { 0.5 * lit[*i] };
        }
        let broken =
            || vec![Finding::doubt(Code::LightPatchesOdd, "The colour patches do not fit the card's colours.")];
        let correction = Correction::fit(&pairs).ok_or_else(broken)?;
        // A print's own colours are not the nominal ones: only against an enrolled card do odd patches tell of the light.
        if reference.revision.is_some() && correction.left_out > ODD {
            let sentence =
                format!("The card's patches differ from the enrolled ones by ΔE {:.1}.", correction.left_out);
            findings.push(Finding::doubt(Code::LightPatchesOdd, sentence));
        }
        Ok(Self { field, tones, correction, patches, paper, straight, grey_residuals, findings })
    }

    /// Camera light at a place of the card, straightened and relative to the paper there.
    pub fn relative(&self, rgb: [f64; 3], mm: [f64; 2]) -> [f64; 3] {
        let paper = self.field.at(mm);
        [0, 1, 2].map(|c| (self.tones[c].ln(rgb[c]) - self.tones[c].ln(paper[c])).exp())
    }

    /// By what a light is known again: the matrix into the card's space, row by row, and the paper's slopes to the right and
    /// down (ln units across the card, green).
    pub fn signature(&self) -> Vec<f64> {
        let slopes = self.field.slopes()[1];
        self.correction.matrix().into_iter().flatten().chain(slopes).collect()
    }

    /// Camera light at a place of the card as a colour relative to paper, in the card's space.
    pub fn colour(&self, rgb: [f64; 3], mm: [f64; 2]) -> LinRgb {
        self.correction.apply(self.relative(rgb, mm))
    }
}

/// Patches whose nominal colour is neutral.
pub fn grey_indices(layout: &Layout) -> Vec<usize> {
    let neutral = |c: [u8; 3]| c[0] == c[1] && c[1] == c[2];
    layout.patches.iter().enumerate().filter(|(_, p)| neutral(p.srgb)).map(|(i, _)| i).collect()
}

/// Why no even light was found.
fn no_paper(paper: &[Area]) -> Finding {
    let clipped = paper.iter().filter(|a| a.clipped > 0.5).count();
    if 3 * clipped > paper.len() {
        return Finding::doubt(Code::LightClipped, "The card's paper is overexposed.");
    }
    Finding::doubt(Code::LightUneven, "Too little evenly lit bare paper was seen on the card.")
}

/// Weight of a patch by the paper about it: 1 where that lies on the even light, falling to nearly 0 where a shadow, a
/// tint or a vial is before it.
fn evenly_lit(patch: Rect, paper: &[Area], field: &Field) -> f64 {
    const REACH: f64 = 3.0;
    let near = |a: &&Area| {
        let dx = (patch.x - a.at[0]).max(a.at[0] - patch.x - patch.w);
        let dy = (patch.y - a.at[1]).max(a.at[1] - patch.y - patch.h);
        dx < REACH && dy < REACH
    };
    let off: Vec<f64> = paper.iter().filter(near).map(|a| field.distance(a)).collect();
    // Within 3 % is paper; at 6 % the patch counts a quarter, at 12 % a sixteenth.
    (0.03 / median(&off).max(1e-6)).min(1.0).powi(2)
}
