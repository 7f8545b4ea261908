//! From a photo to the card in it.

use super::markers::{Detector, Seen};
use super::{CardNumber, Layout, Plane, sharpness};
use crate::finding::{Code, Finding};
use crate::photo::Photo;

/// The card as it lies in one photo.
#[derive(Debug, Clone)]
pub struct Card {
    /// Millimetres to upright pixels.
    pub plane: Plane,
    /// Corner markers that were not seen.
    pub hidden: Vec<u32>,
    /// All other markers of the family, such as the card's number, in upright pixels.
    pub others: Vec<Seen>,
    /// Pixels per millimetre in the middle of the card.
    pub px_per_mm: f64,
    /// Root mean square distance of the markers' corners from the plane, in millimetres.
    pub residual_mm: f64,
    /// Edge spread (standard deviation) across the blurriest direction, in millimetres.
    pub blur_mm: f64,
    /// What was noticed: notes only; what bars a reading is the refusal.
    pub findings: Vec<Finding>,
}

impl Card {
    /// Corners of the card in upright pixels, clockwise from its top left.
    pub fn corners(&self, layout: &Layout) -> [[f64; 2]; 4] {
        let (w, h) = (layout.width, layout.height);
        [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]].map(|p| self.plane.px(p))
    }

    /// Number of the print (1 to 75) where it carries a number marker.
    pub fn number(&self) -> Option<u32> {
        self.others.iter().find_map(|s| CardNumber::from_id(s.id)).map(|n| n.get())
    }
}

/// Least pixels per millimetre: below, a patch's inner part holds too few pixels.
const LEAST_PX_PER_MM: f64 = 3.2;
/// Corners farther from the plane than this (root mean square, mm) are those of a bent card.
const BENT_MM: f64 = 0.45;
/// Edges spread wider than this (mm) mix neighbouring areas.
const BLUR_MM: f64 = 0.33;

/// Finds the card, or says why the photo is refused.
pub fn find(photo: &Photo, layout: &Layout) -> Result<Card, Vec<Finding>> {
    let wanted: Vec<u32> = layout.markers.iter().map(|m| m.id).collect();
    let seen = search(photo, &wanted);
    if seen.is_empty() {
        return Err(vec![nothing_seen(photo, &wanted)]);
    }
    for id in &wanted {
        let copies = seen.iter().filter(|s| s.id == *id).count();
        if copies > 1 {
            let sentence = format!("Corner marker {id} stands {copies} times in the picture.");
            return Err(vec![Finding::doubt(Code::CardSeveral, sentence)]);
        }
    }
    let missing: Vec<u32> = wanted.iter().copied().filter(|id| !seen.iter().any(|s| s.id == *id)).collect();
    if missing.len() > 1 {
        let sentence = format!("Of the card's four corner markers, {} were not seen.", words(&missing));
        return Err(vec![Finding::doubt(Code::CardMarkersHidden, sentence)]);
    }

    let pairs = |without: Option<u32>| -> Vec<([f64; 2], [f64; 2])> {
        let corner = |m: &super::layout::Marker| {
            let (x, y, e) = (m.x, m.y, m.edge);
            [[x, y], [x + e, y], [x + e, y + e], [x, y + e]]
        };
        let used = layout.markers.iter().filter(|m| Some(m.id) != without);
        used.filter_map(|m| seen.iter().find(|s| s.id == m.id).map(|s| (corner(m), s.corners)))
            .flat_map(|(a, b)| a.into_iter().zip(b))
            .collect()
    };
    let broken = || vec![Finding::doubt(Code::CardBent, "The four corner markers do not lie in one plane.")];
    let all = pairs(None);
    let plane = Plane::fit(&all).ok_or_else(broken)?;
    let residual_mm = residual(&plane, &all);
    let centre = [layout.width / 2.0, layout.height / 2.0];
    if !plane.faces_viewer(centre) {
        return Err(vec![Finding::doubt(Code::CardMirrored, "The picture is mirrored.")]);
    }
    if residual_mm > BENT_MM {
        let sentence = format!("The markers' corners lie {residual_mm:.1} mm off one plane.");
        return Err(vec![Finding::doubt(Code::CardBent, sentence)]);
    }
    let px_per_mm = plane.scale(centre);
    let mut card = Card {
        plane,
        hidden: missing,
        others: seen.iter().filter(|s| !wanted.contains(&s.id)).cloned().collect(),
        px_per_mm,
        residual_mm,
        blur_mm: 0.0,
        findings: Vec::new(),
    };
    let (w, h) = (photo.width() as f64, photo.height() as f64);
    let margin = px_per_mm; // one millimetre of the card's white border may be lost
    if card.corners(layout).iter().any(|[x, y]| *x < -margin || *y < -margin || *x > w + margin || *y > h + margin) {
        return Err(vec![Finding::doubt(Code::CardCutOff, "Part of the card lies outside the picture.")]);
    }
    if px_per_mm < LEAST_PX_PER_MM {
        let sentence = format!("The card shows {px_per_mm:.1} pixels a millimetre; {LEAST_PX_PER_MM} are needed.");
        return Err(vec![Finding::doubt(Code::CardTooFar, sentence)]);
    }
    card.blur_mm = sharpness::edge_spread_mm(photo, layout, &card);
    if card.blur_mm > BLUR_MM {
        let sentence = format!("Edges on the card are spread over {:.1} mm.", 2.0 * card.blur_mm);
        return Err(vec![Finding::doubt(Code::PhotoBlurred, sentence)]);
    }
    if let [id] = card.hidden[..] {
        let sentence = format!("Corner marker {id} was not seen; the card was found by the other three.");
        card.findings.push(Finding::note(Code::CardMarkerHidden, sentence));
    }
    Ok(card)
}

/// Markers in upright pixels, searched on the coarsest picture that shows all wanted ones.
fn search(photo: &Photo, wanted: &[u32]) -> Vec<Seen> {
    let side = photo.width().max(photo.height());
    let mut best: Vec<Seen> = Vec::new();
    for (target, decimate) in [(1008, 2.0), (1008, 1.0), (2016, 2.0), (504, 1.0)] {
        let factor = (side as f64 / target as f64).round().max(1.0) as u32;
        let seen = upright(Detector::new(decimate).detect(&photo.luma(factor)), factor);
        let count = |s: &[Seen]| wanted.iter().filter(|id| s.iter().any(|m| m.id == **id)).count();
        if count(&seen) > count(&best) || best.is_empty() {
            best = seen;
        }
        if count(&best) == wanted.len() {
            break;
        }
    }
    best
}

/// From pixels of the picture averaged over `factor` × `factor` to upright pixels.
fn upright(seen: Vec<Seen>, factor: u32) -> Vec<Seen> {
    let f = factor as f64;
    let lift = |v: f64| (v + 0.5) * f - 0.5;
    seen.into_iter().map(|s| Seen { corners: s.corners.map(|[x, y]| [lift(x), lift(y)]), ..s }).collect()
}

/// Why no marker was seen at all.
fn nothing_seen(photo: &Photo, wanted: &[u32]) -> Finding {
    let factor = (photo.width().max(photo.height()) / 1008).max(1);
    let mirrored = image::imageops::flip_horizontal(&photo.luma(factor));
    if Detector::new(1.0).detect(&mirrored).iter().filter(|s| wanted.contains(&s.id)).count() >= 2 {
        return Finding::doubt(
            Code::CardMirrored,
            "The picture is mirrored: the card's markers read only the other way round.",
        );
    }
    Finding::doubt(Code::CardMissing, "No corner marker of the card was seen in the picture.")
}

fn residual(plane: &Plane, pairs: &[([f64; 2], [f64; 2])]) -> f64 {
    let sum: f64 = pairs
        .iter()
        .map(|(mm, px)| {
            let m = plane.mm(*px);
            (m[0] - mm[0]).powi(2) + (m[1] - mm[1]).powi(2)
        })
        .sum();
    (sum / pairs.len() as f64).sqrt()
}

fn words(ids: &[u32]) -> String {
    let text: Vec<String> = ids.iter().map(|i| format!("number {i}")).collect();
    text.join(" and ")
}
