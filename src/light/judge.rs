//! Whether the light on the card allows a reading at all.

use super::field::Field;
use super::measure::Area;
use crate::card::Layout;
use crate::finding::{Code, Finding};

/// Paper this much lighter than the even light (ln units) is lit by something the field does not know. Shadows of vials
/// only darken.
const LIGHTER: f64 = 0.12;
/// Share of such paper that makes the light uneven by more than vials can. Clean photos stay below 0.03, photos with a
/// shadow's edge, a second lamp or the sun on the card above 0.1.
const LIGHTER_MOST: f64 = 0.07;
/// Paper above the bay, where no vial's shadow falls, this far off the even light.
const APART: f64 = 0.15;
/// Share of such paper: clean photos stay below 0.02.
const APART_MOST: f64 = 0.20;
/// Where red and blue of the odd paper differ by this (ln units), the lights differ in colour.
const COLOURED: f64 = 0.10;
/// Difference of the red and the blue slope (ln units over the card) of two lights; clean photos stay below 0.17.
const TWO: f64 = 0.18;
/// A patch counts as clipped above this share of its pixels, and the light is then fitted without it.
pub(super) const CLIPPED: f64 = 0.05;
/// So many clipped patches leave nothing to correct by.
const CLIPPED_PATCHES: usize = 3;
/// Paper darker than this (linear light) drowns in noise.
const DARK: f64 = 0.03;

/// What bars a reading, the deciding reason first; and what is only worth knowing.
pub(super) fn judge(
    layout: &Layout,
    field: &Field,
    patches: &[Area],
    paper: &[Area],
) -> Result<Vec<Finding>, Vec<Finding>> {
    // Red and blue that fall off differently over the card come from lamps of different colour.
    let [red, _, blue] = field.slopes();
    let two = (red[0] - blue[0]).abs().max((red[1] - blue[1]).abs()) > TWO;
    let two_lights = || Finding::doubt(Code::LightTwo, "Two lights of different colour fall on the card.");
    let clipped = patches.iter().filter(|p| p.clipped > CLIPPED).count();
    if clipped >= CLIPPED_PATCHES {
        let sentence = format!("{clipped} of the card's patches are overexposed.");
        let overexposed = Finding::doubt(Code::LightClipped, sentence);
        return Err(if two { vec![two_lights(), overexposed] } else { vec![overexposed] });
    }
    let off = |a: &Area| {
        let there = field.at(a.at);
        [0, 1, 2].map(|c| (a.rgb[c].max(1e-4) / there[c]).ln())
    };
    let share = |count: usize, of: usize| count as f64 / of.max(1) as f64;
    let lighter = paper.iter().filter(|a| off(a).iter().all(|d| *d > LIGHTER)).count();
    let above: Vec<&Area> = paper.iter().filter(|a| a.at[1] < layout.bay.y).collect();
    let apart = above.iter().filter(|a| field.distance(a) > APART).count();
    if share(lighter, paper.len()) > LIGHTER_MOST || share(apart, above.len()) > APART_MOST {
        // Which it is shows in the colour of the odd paper.
        let odd = paper.iter().map(off).filter(|d| d.iter().any(|v| v.abs() > LIGHTER));
        let tints: Vec<f64> = odd.map(|d| d[0] - d[2]).collect();
        let spread = crate::numeric::robust::mad_sigma(&tints).unwrap_or(0.0);
        let finding = match two || spread > COLOURED {
            true => two_lights(),
            false => Finding::doubt(Code::LightShadow, "The edge of a shadow lies across the card."),
        };
        return Err(vec![finding]);
    }
    let mut findings = Vec::new();
    if clipped > 0 {
        let sentence = format!("{clipped} of the card's patches are overexposed and left out.");
        findings.push(Finding::note(Code::LightClipped, sentence));
    }
    let middle = field.at([layout.width / 2.0, layout.height / 2.0]);
    if middle.iter().any(|v| *v < DARK) {
        findings.push(Finding::doubt(Code::LightDark, "The photo is very dark."));
    }
    Ok(findings)
}
