//! What the card looks like in this photo, before any correction: patches and bare paper.

use crate::card::Card;
use crate::card::labels;
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
    let mut gauge = Gauge::new(photo, card);
    layout.patches.iter().map(|p| gauge.area(inset(p.rect, CLEAR), PATCH_PIXELS)).collect()
}

/// Bare paper in cells of 1.5 mm over the whole card, one in three, printed things, labels and the number's corner left out. What
/// stands before the paper is not known here: whoever fits must do it robustly.
pub fn paper(photo: &Photo, layout: &Layout, card: &Card) -> Vec<Area> {
    const CELL: f64 = 1.5;
    let mut taken: Vec<Rect> = layout.patches.iter().map(|p| inset(p.rect, -PAPER_CLEAR)).collect();
    taken.extend(layout.markers.iter().map(|m| inset(Rect { x: m.x, y: m.y, w: m.edge, h: m.edge }, -PAPER_CLEAR)));
    taken.extend(card.others.iter().map(|s| labels::paper_of(s, card)));
    // Small print and station marks stand below the bay.
    let floor = layout.bay.y + layout.bay.h;
    let mut gauge = Gauge::new(photo, card);
    let mut out = Vec::new();
    let (nx, ny) = ((layout.width / CELL) as usize, (layout.height / CELL) as usize);
    for j in 0..ny {
        // Neighbours say the same, so slanting rows of cells with two left out between them serve as well as all.
        for i in (j % 3..nx).step_by(3) {
            let cell = Rect { x: i as f64 * CELL, y: j as f64 * CELL, w: CELL, h: CELL };
            let [x, y] = cell.centre();
            let edge = x.min(y).min(layout.width - x).min(layout.height - y);
            if edge < PAPER_CLEAR + CELL / 2.0 || cell.y + cell.h > floor || taken.iter().any(|r| overlap(r, &cell)) {
                continue;
            }
            out.push(gauge.area(inset(cell, 0.1), CELL_PIXELS));
        }
    }
    out
}

/// Robust mean of a rectangle of the card, from at most about `most` of its pixels.
pub fn area(photo: &Photo, card: &Card, rect: Rect, most: usize) -> Area {
    Gauge::new(photo, card).area(rect, most)
}

/// Measures areas of one photo, with room for the pixels of one.
struct Gauge<'a> {
    photo: &'a Photo,
    card: &'a Card,
    pixels: Vec<[f32; 3]>,
    channel: Vec<f32>,
}

impl<'a> Gauge<'a> {
    fn new(photo: &'a Photo, card: &'a Card) -> Self {
        Self { photo, card, pixels: Vec::new(), channel: Vec::new() }
    }

    fn area(&mut self, rect: Rect, most: usize) -> Area {
        let pixel = 1.0 / self.card.px_per_mm;
        let step = pixel.max((rect.w * rect.h / most as f64).sqrt());
        // Closer along the rows in memory, and fewer of them: fetching them is what takes the time.
        let (along, apart) = (pixel.max(step / 2.0), step * step / pixel.max(step / 2.0));
        let (across, down) = if self.photo.lies_on_its_side() { (apart, along) } else { (along, apart) };
        let (nx, ny) = ((rect.w / across).max(2.0) as usize, (rect.h / down).max(2.0) as usize);
        let (across, down) = (rect.w / nx as f64, rect.h / ny as f64);
        self.pixels.clear();
        let mut clipped = 0usize;
        for j in 0..ny {
            let row = self.card.plane.row([rect.x + 0.5 * across, rect.y + (j as f64 + 0.5) * down], across);
            self.photo.nearest((0..nx).map(|i| row.at(i)), |pixel| {
                clipped += usize::from(pixel.encoded.iter().any(|c| *c >= FULL));
                self.pixels.push(pixel.linear);
            });
        }
        let mut rgb = [0.0; 3];
        let mut noise = [0.0; 3];
        for c in 0..3 {
            let [low, high] = self.quartiles(c);
            rgb[c] = self.middle(c, low, high);
            noise[c] = f64::from(high - low) / 1.349 / rgb[c].abs().max(1e-4);
        }
        let split = quarters(&self.pixels, nx, ny, &rgb);
        Area { at: rect.centre(), rgb, noise, clipped: clipped as f64 / (nx * ny) as f64, split }
    }

    /// Mean of a channel's middle half, given the quartiles: neither glare nor dust in a corner moves it. Of the pixels just
    /// at a quartile, and in coarse code values they are many, those count that fall to the middle half.
    fn middle(&self, c: usize, low: f32, high: f32) -> f64 {
        if low >= high {
            return f64::from(low);
        }
        let (mut below, mut at_low, mut at_high, mut between, mut sum) = (0u32, 0u32, 0u32, 0u32, 0.0f32);
        for v in self.pixels.iter().map(|p| p[c]) {
            let inside = low < v && v < high;
            below += u32::from(v < low);
            at_low += u32::from(v == low);
            at_high += u32::from(v == high);
            between += u32::from(inside);
            sum += if inside { v } else { 0.0 };
        }
        let n = self.pixels.len() as f64;
        let [below, at_low, at_high, between] = [below, at_low, at_high, between].map(f64::from);
        let lows = (below + at_low - n / 4.0).clamp(0.0, at_low);
        let highs = (n * 0.75 - below - at_low - between).clamp(0.0, at_high);
        (f64::from(sum) + lows * f64::from(low) + highs * f64::from(high)) / (between + lows + highs).max(1e-9)
    }

    /// Lower and upper quartile of a channel, of large areas from every fourth pixel.
    fn quartiles(&mut self, c: usize) -> [f32; 2] {
        let step = if self.pixels.len() > 4 * CELL_PIXELS { 4 } else { 1 };
        let v = &mut self.channel;
        v.clear();
        v.extend(self.pixels.iter().step_by(step).map(|p| p[c]));
        let (a, b) = (v.len() / 4, (v.len() * 3).div_ceil(4));
        v.select_nth_unstable_by(a, f32::total_cmp);
        v[a..].select_nth_unstable_by(b - 1 - a, f32::total_cmp);
        [v[a], v[b - 1]]
    }
}

/// Relative difference between the lightest and darkest of the four quarters.
fn quarters(pixels: &[[f32; 3]], nx: usize, ny: usize, mean: &[f64; 3]) -> f64 {
    let mut sums = [([0.0f32; 3], 0.0f32); 4];
    for (j, row) in pixels.chunks_exact(nx).enumerate() {
        let below = 2 * usize::from(j >= ny / 2);
        for (side, half) in [&row[..nx / 2], &row[nx / 2..]].into_iter().enumerate() {
            let (sum, count) = &mut sums[below + side];
            *count += half.len() as f32;
            half.iter().for_each(|p| (0..3).for_each(|c| sum[c] += p[c]));
        }
    }
    (0..3)
        .map(|c| {
            let means = sums.iter().filter(|q| q.1 > 0.0).map(|q| f64::from(q.0[c] / q.1));
            let (lo, hi) = means.fold((f64::MAX, f64::MIN), |(a, b), v| (a.min(v), b.max(v)));
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
