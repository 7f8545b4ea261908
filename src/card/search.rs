//! Where in a photo the card's markers are: one quick look, closer ones where that leaves a question.

use super::Plane;
use super::labels::free_above;
use super::layout::{Layout, Marker, Rect};
use super::markers::{Detector, Effort, Seen};
use crate::photo::Photo;
use image::GrayImage;

/// One look at the whole picture.
struct Look {
    /// Pixels along the longer side.
    side: u32,
    effort: Effort,
}

/// In decent light all four markers of a card across two fifths of the picture are seen at once, see [`Photo::glance`].
const FIRST: Look = Look { side: 672, effort: Effort { decimate: 1.5, contrast: 50 } };
/// Then for dim and tinted markers, for cards far off, and for blurred ones.
const THEN: [Look; 3] = [
    Look { side: 1008, effort: Effort { decimate: 1.5, contrast: 20 } },
    Look { side: 2016, effort: Effort { decimate: 2.0, contrast: 25 } },
    Look { side: 504, effort: Effort { decimate: 1.0, contrast: 8 } },
];

/// Side of the picture in which blur is judged where no marker is seen.
const WHOLE: u32 = 1008;

/// For the best corners, where one marker is missing and its corner is carried over from the others.
const FULL: Look = Look { side: 2016, effort: Effort { decimate: 1.0, contrast: 20 } };

/// Where the plane is known, single markers are sought close by: this far about their place (mm),
const ABOUT: f64 = 8.0;
/// so finely (pixels a millimetre),
const CLOSE: f64 = 5.0;
/// and so thoroughly.
const CLOSELY: Effort = Effort { decimate: 1.0, contrast: 10 };
/// Corners farther from one plane than this (root mean square, mm) are worth a closer look.
const ROUGH: f64 = 0.2;
/// Labels and the card's number lie in the bay's upper part, down to here (mm from its upper edge);
const BAND: f64 = 24.0;
/// labels reach this far out of it at the sides (mm);
const ASIDE: f64 = 4.0;
/// their modules are smaller than a corner marker's: one millimetre.
const FINE: f64 = 4.0;
const FINELY: Effort = Effort { decimate: 1.0, contrast: 20 };

/// A search over one photo.
pub(super) struct Search<'a> {
    photo: &'a Photo,
    layout: &'a Layout,
    detector: Detector,
}

impl<'a> Search<'a> {
    pub(super) fn new(photo: &'a Photo, layout: &'a Layout) -> Self {
        Self { photo, layout, detector: Detector::new() }
    }

    /// All markers of the family that are seen, in upright pixels.
    pub(super) fn all(&mut self) -> Vec<Seen> {
        let seen = self.seen();
        self.refined(seen)
    }

    fn seen(&mut self) -> Vec<Seen> {
        let mut best = self.glance(false);
        self.complete(&mut best);
        if self.count(&best) >= 2 {
            // What a close look does not find either is hidden.
            return best;
        }
        for look in THEN {
            let factor = self.factor(look.side);
            let picture = self.photo.luma(factor);
            let mut seen = upright(self.detector.detect(&picture, look.effort), factor);
            self.complete(&mut seen);
            if self.count(&seen) > self.count(&best) || best.is_empty() {
                best = seen;
            }
            if self.count(&best) >= 2 {
                break;
            }
        }
        best
    }

    /// Whether two of the card's markers are seen in the picture's mirror image.
    pub(super) fn mirrored(&mut self) -> bool {
        let seen = self.glance(true);
        self.count(&seen) >= 2
    }

    /// The markers in the bay's upper part, in upright pixels: labels and the card's number.
    pub(super) fn labels(&mut self, plane: &Plane) -> Vec<Seen> {
        self.closely(plane, label_band(self.layout), FINE, FINELY)
    }

    /// The whole picture in grey, about 1000 pixels along its longer side.
    pub(super) fn whole(&self) -> GrayImage {
        self.photo.luma(self.factor(WHOLE))
    }

    fn factor(&self, side: u32) -> u32 {
        let longer = self.photo.width().max(self.photo.height());
        ((longer + side / 2) / side).max(1)
    }

    fn glance(&mut self, mirrored: bool) -> Vec<Seen> {
        let factor = self.factor(FIRST.side);
        let mut picture = self.photo.glance(factor);
        if mirrored {
            picture = image::imageops::flip_horizontal(&picture);
        }
        upright(self.detector.detect(&picture, FIRST.effort), factor)
    }

    /// How many of the card's four markers are among those seen.
    fn count(&self, seen: &[Seen]) -> usize {
        self.layout.markers.iter().filter(|m| seen.iter().any(|s| s.id == m.id)).count()
    }

    /// Looks for what is still missing of the card's markers where it must be.
    fn complete(&mut self, seen: &mut Vec<Seen>) {
        let mut looked = Vec::new();
        loop {
            let missing = |m: &&Marker| !seen.iter().any(|s| s.id == m.id) && !looked.contains(&m.id);
            let (true, Some(m)) = (self.count(seen) >= 2, self.layout.markers.iter().find(missing)) else { return };
            looked.push(m.id);
            let Some(plane) = Plane::fit(&pairs(self.layout, seen)) else { return };
            let about = Rect { x: m.x - ABOUT, y: m.y - ABOUT, w: m.edge + 2.0 * ABOUT, h: m.edge + 2.0 * ABOUT };
            let found = self.closely(&plane, about, CLOSE, CLOSELY).into_iter().find(|s| s.id == m.id);
            if found.is_some() {
                // The plane is better known now.
                looked.clear();
            }
            seen.extend(found);
        }
    }

    /// The same markers, each looked at closely if their corners do not lie well in one plane: a card far off shows few
    /// pixels in the first look.
    fn refined(&mut self, seen: Vec<Seen>) -> Vec<Seen> {
        let off = |seen: &[Seen]| {
            let pairs = pairs(self.layout, seen);
            Plane::fit(&pairs).map(|plane| (plane.residual(&pairs), plane))
        };
        // Without one marker its corner is carried over from the others: they must lie well.
        if self.count(&seen) + 1 == self.layout.markers.len() {
            let factor = self.factor(FULL.side);
            let full = upright(self.detector.detect(&self.photo.luma(factor), FULL.effort), factor);
            return if self.count(&full) >= self.count(&seen) { full } else { seen };
        }
        let Some((before, plane)) = off(&seen).filter(|(residual, _)| *residual > ROUGH) else { return seen };
        let mut better = seen.clone();
        for m in &self.layout.markers {
            let close = self.close(&plane, m);
            let same = better.iter_mut().find(|s| s.id == m.id);
            if let (Some(close), Some(same)) = (close, same) {
                *same = close;
            }
        }
        if off(&better).is_some_and(|(after, _)| after < before) { better } else { seen }
    }

    /// One of the card's markers, looked at closely where it must be.
    fn close(&mut self, plane: &Plane, m: &Marker) -> Option<Seen> {
        let about = Rect { x: m.x - ABOUT, y: m.y - ABOUT, w: m.edge + 2.0 * ABOUT, h: m.edge + 2.0 * ABOUT };
        self.closely(plane, about, CLOSE, CLOSELY).into_iter().find(|s| s.id == m.id)
    }

    /// Markers in a rectangle of the card, seen straight on.
    fn closely(&mut self, plane: &Plane, rect: Rect, per_mm: f64, effort: Effort) -> Vec<Seen> {
        let (w, h) = ((rect.w * per_mm) as u32, (rect.h * per_mm) as u32);
        let (right, bottom) = (self.photo.width().saturating_sub(1), self.photo.height().saturating_sub(1));
        let mut picture = Vec::with_capacity(w as usize * h as usize);
        for j in 0..h {
            let row = plane.row([rect.x + 0.5 / per_mm, rect.y + (f64::from(j) + 0.5) / per_mm], 1.0 / per_mm);
            picture.extend((0..w as usize).map(|i| {
                let [x, y] = row.at(i);
                // A conversion to integers takes what lies before the first pixel to it.
                let green = self.photo.encoded(((x + 0.5) as u32).min(right), ((y + 0.5) as u32).min(bottom))[1];
                (green * 255.0) as u8
            }));
        }
        let Some(picture) = GrayImage::from_raw(w, h, picture) else { return Vec::new() };
        let on_card = |[x, y]: [f64; 2]| [rect.x + (x + 0.5) / per_mm, rect.y + (y + 0.5) / per_mm];
        let seen = self.detector.detect(&picture, effort);
        seen.into_iter().map(|s| Seen { corners: s.corners.map(|c| plane.px(on_card(c))), ..s }).collect()
    }
}

/// Where labels and the card's number are sought.
pub(super) fn label_band(layout: &Layout) -> Rect {
    let bay = layout.bay;
    let top = free_above(layout);
    Rect { x: bay.x - ASIDE, y: top, w: bay.w + 2.0 * ASIDE, h: bay.y + BAND.min(bay.h) - top }
}

/// Corners of the card's markers that were seen: on the card (mm), in the picture (upright pixels).
pub(super) fn pairs(layout: &Layout, seen: &[Seen]) -> Vec<([f64; 2], [f64; 2])> {
    let corners = |m: &Marker| {
        let (x, y, e) = (m.x, m.y, m.edge);
        [[x, y], [x + e, y], [x + e, y + e], [x, y + e]]
    };
    layout
        .markers
        .iter()
        .filter_map(|m| seen.iter().find(|s| s.id == m.id).map(|s| (corners(m), s.corners)))
        .flat_map(|(a, b)| a.into_iter().zip(b))
        .collect()
}

/// From pixels of the picture averaged over `factor` × `factor` to upright pixels.
fn upright(seen: Vec<Seen>, factor: u32) -> Vec<Seen> {
    let f = f64::from(factor);
    let lift = |v: f64| (v + 0.5) * f - 0.5;
    seen.into_iter().map(|s| Seen { corners: s.corners.map(|[x, y]| [lift(x), lift(y)]), ..s }).collect()
}
