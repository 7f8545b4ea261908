//! What the card looks like in this photo, before any correction: patches and bare paper.

use crate::card::Card;
use crate::card::layout::{Layout, Rect};
use crate::photo::Photo;

/// Mean and spread of an area, in linear light of the camera.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// Where its centre lies on the card, mm.
    pub at: [f64; 2],
    /// Robust mean of each channel (linear light, full scale = 1).
    pub rgb: [f64; 3],
    /// Standard deviation of a pixel about the mean, each channel relative to the mean.
    pub noise: [f64; 3],
    /// Share of pixels with a channel at full scale.
    pub clipped: f64,
    /// Relative difference (largest channel) between the lightest and the darkest quarter of the area: an edge across it.
    pub split: f64,
}

/// Clear distance kept from printed edges, mm: wider than the blur that is still accepted.
const CLEAR: f64 = 1.2;
/// Clear distance of paper cells, mm: the strips between the patches are narrow.
const PAPER_CLEAR: f64 = 0.7;
/// Pixels read of a patch and of a paper cell: enough that noise is far below what printing scatters.
const PATCH_PIXELS: usize = 900;
const CELL_PIXELS: usize = 36;
/// A channel at or above this share of full scale counts as clipped.
pub const FULL: f32 = 0.996;

/// All patches, in the layout's order.
pub fn patches(photo: &Photo, layout: &Layout, card: &Card) -> Vec<Area> {
    layout.patches.iter().map(|p| area(photo, card, inset(p.rect, CLEAR), PATCH_PIXELS)).collect()
}

/// Bare paper in cells of 1.5 mm over the whole card, printed things and the number's corner left out. What stands before
/// the paper is not known here: whoever fits must do it robustly.
pub fn paper(photo: &Photo, layout: &Layout, card: &Card) -> Vec<Area> {
    const CELL: f64 = 1.5;
    let mut taken: Vec<Rect> = layout.patches.iter().map(|p| inset(p.rect, -PAPER_CLEAR)).collect();
    taken.extend(layout.markers.iter().map(|m| inset(Rect { x: m.x, y: m.y, w: m.edge, h: m.edge }, -PAPER_CLEAR)));
    taken.extend(card.others.iter().map(|s| around(card, &s.corners)));
    // Small print and station marks stand below the bay.
    let floor = layout.bay.y + layout.bay.h;
    let mut out = Vec::new();
    let (nx, ny) = ((layout.width / CELL) as usize, (layout.height / CELL) as usize);
    for j in 0..ny {
        for i in 0..nx {
            let cell = Rect { x: i as f64 * CELL, y: j as f64 * CELL, w: CELL, h: CELL };
            let [x, y] = cell.centre();
            let edge = x.min(y).min(layout.width - x).min(layout.height - y);
            if edge < PAPER_CLEAR + CELL / 2.0 || cell.y + cell.h > floor || taken.iter().any(|r| overlap(r, &cell)) {
                continue;
            }
            out.push(area(photo, card, inset(cell, 0.1), CELL_PIXELS));
        }
    }
    out
}

/// Robust mean of a rectangle of the card, from at most about `most` of its pixels.
pub fn area(photo: &Photo, card: &Card, rect: Rect, most: usize) -> Area {
    let step = (1.0 / card.px_per_mm).max((rect.w * rect.h / most as f64).sqrt());
    let (nx, ny) = ((rect.w / step).max(2.0) as usize, (rect.h / step).max(2.0) as usize);
    let (w, h) = (photo.width() as f64 - 1.0, photo.height() as f64 - 1.0);
    let mut pixels: Vec<[f32; 3]> = Vec::with_capacity(nx * ny);
    let mut clipped = 0usize;
    for j in 0..ny {
        for i in 0..nx {
            let mm = [rect.x + (i as f64 + 0.5) * rect.w / nx as f64, rect.y + (j as f64 + 0.5) * rect.h / ny as f64];
            let [x, y] = card.plane.px(mm);
            let (x, y) = (x.round().clamp(0.0, w) as u32, y.round().clamp(0.0, h) as u32);
            clipped += photo.encoded(x, y).iter().any(|c| *c >= FULL) as usize;
            pixels.push(photo.linear(x, y));
        }
    }
    let n = pixels.len() as f64;
    let mut rgb = [0.0; 3];
    let mut noise = [0.0; 3];
    for c in 0..3 {
        let mut v: Vec<f32> = pixels.iter().map(|p| p[c]).collect();
        // The middle half: neither glare nor dust in a corner moves it.
        let (a, b) = (v.len() / 4, (v.len() * 3).div_ceil(4));
        v.select_nth_unstable_by(a, f32::total_cmp);
        v[a..].select_nth_unstable_by(b - 1 - a, f32::total_cmp);
        rgb[c] = v[a..b].iter().map(|x| *x as f64).sum::<f64>() / (b - a) as f64;
        noise[c] = ((v[b - 1] - v[a]) as f64 / 1.349) / rgb[c].abs().max(1e-4);
    }
    let split = quarters(&pixels, nx, ny, &rgb);
    Area { at: rect.centre(), rgb, noise, clipped: clipped as f64 / n, split }
}

/// Relative difference between the lightest and darkest of the four quarters.
fn quarters(pixels: &[[f32; 3]], nx: usize, ny: usize, mean: &[f64; 3]) -> f64 {
    let mut sums = [[0.0f64; 3]; 4];
    let mut counts = [0.0f64; 4];
    for (k, p) in pixels.iter().enumerate() {
        let q = usize::from(k % nx >= nx / 2) + 2 * usize::from(k / nx >= ny / 2);
        counts[q] += 1.0;
        (0..3).for_each(|c| sums[q][c] += p[c] as f64);
    }
    (0..3)
        .map(|c| {
            let m: Vec<f64> = (0..4).filter(|q| counts[*q] > 0.0).map(|q| sums[q][c] / counts[q]).collect();
            let (lo, hi) = m.iter().fold((f64::MAX, f64::MIN), |(a, b), v| (a.min(*v), b.max(*v)));
            (hi - lo) / mean[c].abs().max(0.01)
        })
        .fold(0.0, f64::max)
}

fn inset(r: Rect, by: f64) -> Rect {
    Rect { x: r.x + by, y: r.y + by, w: r.w - 2.0 * by, h: r.h - 2.0 * by }
}

fn overlap(a: &Rect, b: &Rect) -> bool {
    a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h
}

/// Bounds on the card of a marker seen at these pixels, with its white border.
fn around(card: &Card, corners: &[[f64; 2]; 4]) -> Rect {
    let mm = corners.map(|p| card.plane.mm(p));
    let (x0, x1) = mm.iter().fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p[0]), b.max(p[0])));
    let (y0, y1) = mm.iter().fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p[1]), b.max(p[1])));
    // A cut-out label has paper of its own around the marker.
    inset(Rect { x: x0, y: y0, w: x1 - x0, h: y1 - y0 }, -3.0)
}
