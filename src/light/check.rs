//! Is this photo good enough to read by, and is the card in it still the one enrolled?
//!
//! The second question is answered by the pattern of the colour patches. After the correction has made the photo fit the
//! enrolment as well as its few terms can, what remains on the print's own card is the light's doing; another print, or
//! one that has faded, leaves more. What this cannot see: a fade that takes all inks and the greys alike, for it looks
//! like a phone of higher contrast; and a print from the same printer, as far as it is the same.

use super::cardfile::CardFileError;
use super::correct::Model;
use super::enrol::{Enrolment, lab_of};
use super::measure::Area;
use super::scene::{Reference, Scene, grey_indices};
use crate::card::{self, Card, CardNumber, Layout};
use crate::colour::{LinRgb, delta_e_2000, jacobian_lab_of_linear, lab_from_linear};
use crate::finding::{Code, Finding, Severity};
use crate::photo::Photo;

/// What a photo says about its card.
#[derive(Debug, Clone, PartialEq)]
pub struct CardCheck {
    /// Whether readings may rest on this photo: nothing but notes was found.
    pub good: bool,
    /// All that was noticed, the deciding first.
    pub findings: Vec<Finding>,
    /// Where and how the card lies; None where it was not found.
    pub place: Option<PlaceFacts>,
    /// How it is lit; None where that could not be told.
    pub light: Option<LightFacts>,
}

/// The card in the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceFacts {
    /// Number seen on the print.
    pub number: Option<u32>,
    /// Corner markers not seen.
    pub hidden: Vec<u32>,
    /// Pixels per millimetre in the card's middle.
    pub px_per_mm: f64,
    /// Distance of the markers' corners from one plane, mm (root mean square).
    pub residual_mm: f64,
    /// Edge spread across the blurriest direction, mm (standard deviation).
    pub blur_mm: f64,
}

/// The light on the card.
#[derive(Debug, Clone, PartialEq)]
pub struct LightFacts {
    /// Terms of the correction.
    pub model: Model,
    /// Mean ΔE00 of patches, each predicted without itself.
    pub left_out: f64,
    /// How the light changes over the card, ln units: red, green, blue; from left to right, from top to bottom.
    pub slopes: [[f64; 2]; 3],
    /// Share of the bare paper that lies on the even light.
    pub earned: f64,
    /// How the patches agree with the enrolment; None without one.
    pub agreement: Option<Agreement>,
}

/// Patches of a photo against those enrolled.
#[derive(Debug, Clone, PartialEq)]
pub struct Agreement {
    /// Mean ΔE00 of the colour patches, the worst left out: a stain must not make another card.
    pub mean: f64,
    /// What this card's own photos stay below.
    pub allowed: f64,
    /// The colour patch farthest off and its ΔE00.
    pub worst: Option<(String, f64)>,
    /// Whether that patch is lighter and paler than enrolled: a reflection adds white light.
    pub washed_out: bool,
    /// ΔE00 of every patch in the layout's order; greys beside a vial are shaded by it and may lie far off.
    pub patches: Vec<(String, f64)>,
}

/// What light of all kinds leaves on the colour patches of the print's own card, mean ΔE00 (metamerism, tinted shade, the
/// camera). Of 220 clean photos of 12 prints in trials, 1 % pass it and none passes it 1.25 times; set against the 11 other
/// prints' enrolments, 92 % pass it 1.25 times and 0.5 % stay below.
const LIGHTS: f64 = 0.73;
/// Up to this many times what is allowed it may still be an odd light.
const SURE: f64 = 1.25;
/// A single colour patch this far off (ΔE00) where the others agree is dirty, scratched or hidden; clean ones stay below
/// 3.
const DIRTY: f64 = 5.0;

/// Checks a photo of a card, against its enrolment if there is one. An error is a card file that does not fit the layout.
pub fn check_card(photo: &Photo, layout: &Layout, enrolment: Option<&Enrolment>) -> Result<CardCheck, CardFileError> {
    let reference = enrolment.map_or_else(|| Ok(Reference::nominal(layout)), |e| e.reference(layout))?;
    let mut out = CardCheck { good: false, findings: Vec::new(), place: None, light: None };
    let card = match card::find(photo, layout) {
        Ok(card) => card,
        Err(why) => return Ok(CardCheck { findings: why, ..out }),
    };
    out.place = Some(PlaceFacts {
        number: card.number(),
        hidden: card.hidden.clone(),
        px_per_mm: card.px_per_mm,
        residual_mm: card.residual_mm,
        blur_mm: card.blur_mm,
    });
    out.findings.extend(other_number(&card, enrolment));
    match Scene::fit(photo, layout, &card, &reference) {
        Err(why) => out.findings.extend(why),
        Ok(scene) => {
            out.findings.extend(scene.findings.iter().cloned());
            let agreement = enrolment.map(|_| Agreement::of(&scene, layout, &card, &reference));
            // What the light spoils says nothing about the print.
            let light = scene.findings.iter().any(|f| f.severity == Severity::Doubt && f.code != Code::LightPatchesOdd);
            let verdict = agreement.as_ref().filter(|_| !light).and_then(Agreement::finding);
            if verdict.as_ref().is_some_and(|f| f.code == Code::CardOther) {
                // One reason is enough.
                out.findings.retain(|f| f.code != Code::LightPatchesOdd);
            }
            out.findings.extend(verdict);
            out.light = Some(LightFacts {
                model: scene.correction.model(),
                left_out: scene.correction.left_out,
                slopes: scene.field.slopes(),
                earned: scene.field.earned,
                agreement,
            });
        }
    }
    if enrolment.is_none() {
        let sentence = "The card is not enrolled, so whether it is still the same print cannot be told.";
        out.findings.push(Finding::note(Code::CardNotEnrolled, sentence));
    }
    out.findings.extend(card.findings);
    out.findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
    out.good = out.findings.iter().all(|f| f.severity == Severity::Note);
    Ok(out)
}

fn other_number(card: &Card, enrolment: Option<&Enrolment>) -> Option<Finding> {
    let (seen, own) = (card.number()?, enrolment?.number.map(CardNumber::get)?);
    let sentence = format!("The photo shows card {seen}, the enrolment is of card {own}.");
    (seen != own).then(|| Finding::doubt(Code::CardOther, sentence))
}

impl Agreement {
    /// How the patches of a photo, corrected to a card's own colours, agree with them.
    pub fn of(scene: &Scene, layout: &Layout, card: &Card, reference: &Reference) -> Self {
        let greys = grey_indices(layout);
        let off: Vec<f64> = scene
            .straight
            .iter()
            .zip(&reference.colours)
            .map(|(seen, own)| delta_e_2000(lab_from_linear(scene.correction.apply(*seen)), lab_of(*own)))
            .collect();
        let coloured: Vec<usize> = (0..off.len()).filter(|i| !greys.contains(i)).collect();
        let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len().max(1) as f64;
        let mut sorted: Vec<f64> = coloured.iter().map(|i| off[*i]).collect();
        sorted.sort_by(f64::total_cmp);
        let best = &sorted[..sorted.len().saturating_sub(1)];
        let noise: Vec<f64> = coloured
            .iter()
            .map(|i| {
                let r = layout.patches[*i].rect;
                noise(&scene.patches[*i], reference.colours[*i], r.w * r.h * card.px_per_mm.powi(2))
            })
            .collect();
        let worst = coloured.iter().max_by(|a, b| off[**a].total_cmp(&off[**b]));
        let washed_out = worst.is_some_and(|i| {
            let seen = lab_from_linear(scene.correction.apply(scene.straight[*i]));
            let own = lab_of(reference.colours[*i]);
            seen.lightness() > own.lightness() && seen.chroma() < own.chroma()
        });
        Self {
            mean: mean(best),
            allowed: LIGHTS.hypot(mean(&noise)),
            worst: worst.map(|i| (layout.patches[*i].name.clone(), off[*i])),
            washed_out,
            patches: layout.patches.iter().zip(&off).map(|(p, d)| (p.name.clone(), *d)).collect(),
        }
    }

    /// What the patches say about the print, if it is worth saying. Only for photos whose light is in order.
    pub fn finding(&self) -> Option<Finding> {
        let said = format!(
            "The colour patches lie ΔE00 {:.1} on average from those enrolled; {:.1} is usual",
            self.mean, self.allowed
        );
        if self.mean > SURE * self.allowed {
            return Some(Finding::doubt(
                Code::CardOther,
                format!("{said}: another print, a faded one, or a very odd light such as a flash."),
            ));
        }
        if self.mean > self.allowed {
            return Some(Finding::note(Code::LightPatchesOdd, format!("{said}: an unusual light, or another print.")));
        }
        let (name, worst) = self.worst.as_ref()?;
        let said = format!("The patch {name} lies ΔE00 {worst:.1} off while the others agree");
        (*worst > DIRTY).then(|| match self.washed_out {
            true => Finding::doubt(Code::LightGlare, format!("{said}, and is paler: a reflection lies on the card.")),
            false => Finding::note(Code::LightPatchesOdd, format!("{said}: dirt, a scratch or a shadow.")),
        })
    }
}

/// Standard deviation of the mean of a patch of so many pixels by their noise, in CIELAB.
fn noise(patch: &Area, colour: [f64; 3], pixels: f64) -> f64 {
    // Neighbours share their noise: cameras interpolate and smooth colour, JPEG keeps little of it within 16 × 16 pixels.
    // One in sixteen counts; a cautious guess.
    const ALIKE: f64 = 16.0;
    let slope = jacobian_lab_of_linear(LinRgb(colour));
    let variance: f64 =
        slope.iter().map(|row| (0..3).map(|c| (row[c] * colour[c] * patch.noise[c]).powi(2)).sum::<f64>()).sum();
    (variance * ALIKE / pixels.max(1.0)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one_off(worst: f64, washed_out: bool) -> Option<Finding> {
        let worst = Some(("c15".to_string(), worst));
        Agreement { mean: 0.4, allowed: 0.8, worst, washed_out, patches: Vec::new() }.finding()
    }

    #[test]
    fn a_paler_patch_is_glare_and_a_darker_one_dirt() {
        let glare = one_off(9.0, true).expect("a finding");
        assert_eq!((glare.code, glare.severity), (Code::LightGlare, Severity::Doubt));
        let dirt = one_off(9.0, false).expect("a finding");
        assert_eq!((dirt.code, dirt.severity), (Code::LightPatchesOdd, Severity::Note));
        assert!(one_off(4.0, true).is_none());
    }
}
