//! From a photo to the card in it.

use super::markers::Seen;
use super::search::{Search, label_band, pairs};
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
    let mut search = Search::new(photo, layout);
    let seen = search.all();
    if seen.is_empty() {
        return Err(vec![nothing_seen(&mut search)]);
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

    let broken = || vec![Finding::doubt(Code::CardBent, "The four corner markers do not lie in one plane.")];
    let all = pairs(layout, &seen);
    let plane = Plane::fit(&all).ok_or_else(broken)?;
    let residual_mm = plane.residual(&all);
    let centre = [layout.width / 2.0, layout.height / 2.0];
    if !plane.faces_viewer(centre) {
        return Err(vec![Finding::doubt(Code::CardMirrored, "The picture is mirrored.")]);
    }
    if residual_mm > BENT_MM {
        let sentence = format!("The markers' corners lie {residual_mm:.1} mm off one plane.");
        return Err(vec![Finding::doubt(Code::CardBent, sentence)]);
    }
    let px_per_mm = plane.scale(centre);
    let mut card =
        Card { plane, hidden: missing, others: Vec::new(), px_per_mm, residual_mm, blur_mm: 0.0, findings: Vec::new() };
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
    card.others = others(&seen, &search.labels(&card.plane), &card.plane, layout);
    if let [id] = card.hidden[..] {
        let sentence = format!("Corner marker {id} was not seen; the card was found by the other three.");
        card.findings.push(Finding::note(Code::CardMarkerHidden, sentence));
    }
    Ok(card)
}

/// Markers that are not the card's own: where labels lie the close look counts, elsewhere the wide one.
fn others(wide: &[Seen], labels: &[Seen], plane: &Plane, layout: &Layout) -> Vec<Seen> {
    let band = label_band(layout);
    let in_band = |s: &Seen| {
        let [x, y] = plane.mm(s.corners[0]);
        band.x <= x && x <= band.x + band.w && band.y <= y && y <= band.y + band.h
    };
    let all = labels.iter().chain(wide.iter().filter(|s| !in_band(s)));
    all.filter(|s| layout.markers.iter().all(|m| m.id != s.id)).cloned().collect()
}

/// Why no marker was seen at all.
fn nothing_seen(search: &mut Search) -> Finding {
    if search.mirrored() {
        return Finding::doubt(
            Code::CardMirrored,
            "The picture is mirrored: the card's markers read only the other way round.",
        );
    }
    if sharpness::blurred(&search.whole()) {
        let sentence = "Nothing in the picture is sharp, and no corner marker of the card was seen.";
        return Finding::doubt(Code::PhotoBlurred, sentence);
    }
    Finding::doubt(Code::CardMissing, "No corner marker of the card was seen in the picture.")
}

fn words(ids: &[u32]) -> String {
    let text: Vec<String> = ids.iter().map(|i| format!("number {i}")).collect();
    text.join(" and ")
}
