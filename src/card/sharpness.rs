//! How far edges on the card are spread, by defocus or motion.

use super::{Card, Layout};
use crate::photo::Photo;

/// Edge spread (standard deviation of the line spread, mm) across the blurriest of the two directions, from the outer
/// edges of the corner markers that were seen: black square, white border of an eighth of its edge.
pub fn edge_spread_mm(photo: &Photo, layout: &Layout, card: &Card) -> f64 {
    let mut spread = [Vec::new(), Vec::new()];
    for m in layout.markers.iter().filter(|m| !card.hidden.contains(&m.id)) {
        let reach = m.edge / 8.0 * 0.95; // the outermost module is all black, the border all white
        let (x0, y0, e) = (m.x, m.y, m.edge);
        // Each side as its start, its direction along and its direction outwards.
        let sides = [
            ([x0, y0], [1.0, 0.0], [0.0, -1.0], 1),
            ([x0, y0 + e], [1.0, 0.0], [0.0, 1.0], 1),
            ([x0, y0], [0.0, 1.0], [-1.0, 0.0], 0),
            ([x0 + e, y0], [0.0, 1.0], [1.0, 0.0], 0),
        ];
        for (start, along, out, axis) in sides {
            if let Some(s) = side(photo, card, start, along, out, e, reach) {
                spread[axis].push(s);
            }
        }
    }
    let of = |mut v: Vec<f64>| {
        v.sort_by(f64::total_cmp);
        v.get(v.len() / 2).copied().unwrap_or(0.0)
    };
    let [a, b] = spread;
    of(a).max(of(b))
}

/// Line spread across one side, averaged along it.
fn side(
    photo: &Photo,
    card: &Card,
    start: [f64; 2],
    along: [f64; 2],
    out: [f64; 2],
    edge: f64,
    reach: f64,
) -> Option<f64> {
    const N: usize = 48;
    let mut profile = [0.0f64; N + 1];
    let rows = 24;
    for r in 0..rows {
        let t = edge * (0.12 + 0.76 * r as f64 / (rows - 1) as f64);
        for (i, p) in profile.iter_mut().enumerate() {
            let d = reach * (2.0 * i as f64 / N as f64 - 1.0);
            let mm = [start[0] + along[0] * t + out[0] * d, start[1] + along[1] * t + out[1] * d];
            let [x, y] = card.plane.px(mm);
            *p += bilinear(photo, x, y)?;
        }
    }
    // Moments of the derivative; the small pedestal of noise and shading is cut away first.
    let (lo, hi) = (profile[0], profile[N]);
    if hi <= lo {
        return None;
    }
    let weight: Vec<f64> = profile.windows(2).map(|w| ((w[1] - w[0]) / (hi - lo) - 0.004).max(0.0)).collect();
    let total: f64 = weight.iter().sum();
    let at = |i: usize| reach * (2.0 * (i as f64 + 0.5) / N as f64 - 1.0);
    let mean = weight.iter().enumerate().map(|(i, w)| w * at(i)).sum::<f64>() / total;
    let var = weight.iter().enumerate().map(|(i, w)| w * (at(i) - mean).powi(2)).sum::<f64>() / total;
    Some(var.sqrt())
}

/// Encoded green at a fractional pixel; None outside the picture.
fn bilinear(photo: &Photo, x: f64, y: f64) -> Option<f64> {
    let (x0, y0) = (x.floor(), y.floor());
    if x0 < 0.0 || y0 < 0.0 || x0 + 1.0 >= photo.width() as f64 || y0 + 1.0 >= photo.height() as f64 {
        return None;
    }
    let (fx, fy) = (x - x0, y - y0);
    let g = |dx: u32, dy: u32| photo.encoded(x0 as u32 + dx, y0 as u32 + dy)[1] as f64;
    Some((g(0, 0) * (1.0 - fx) + g(1, 0) * fx) * (1.0 - fy) + (g(0, 1) * (1.0 - fx) + g(1, 1) * fx) * fy)
}

/// An edge counts if the grey over so many pixels differs by this (code values of 0 to 255).
const SPAN: usize = 12;
const CLEAR: f32 = 30.0;
/// So many places on edges show how sharp a picture is;
const ENOUGH: usize = 200;
/// the sharpest of them (this quantile) have in one pixel this share of the step, in a picture of about 1000 pixels along the longer side.
/// Sharp photos of cards have more than 0.9, those too blurred for any marker less than 0.25.
const SHARPEST: f64 = 0.95;
const SHARE: f64 = 0.5;
/// Where there are no edges at all, this much difference between light and dark parts tells a blurred picture from an empty one.
const CONTRAST: f64 = 60.0;

/// Whether nothing in a picture is sharp, seen as one of about 1000 pixels along the longer side: out of focus, or moved along either direction.
pub fn blurred(grey: &image::GrayImage) -> bool {
    let (w, h) = (grey.width() as usize, grey.height() as usize);
    if w <= SPAN || h <= SPAN {
        return false;
    }
    let at = |x: usize, y: usize| f32::from(grey.as_raw()[y * w + x]);
    // Three pixels along the edge together, against noise.
    let across = [
        edges(w, h, |i, j| (at(i, j - 1) + at(i, j) + at(i, j + 1)) / 3.0),
        edges(h, w, |i, j| (at(j - 1, i) + at(j, i) + at(j + 1, i)) / 3.0),
    ];
    let known: Vec<f64> = across
        .iter()
        .filter(|e| e.len() >= ENOUGH)
        .filter_map(|e| crate::numeric::robust::quantile(e, SHARPEST))
        .collect();
    if known.is_empty() {
        let all: Vec<f64> = grey.as_raw().iter().step_by(7).map(|v| f64::from(*v)).collect();
        let of = |p: f64| crate::numeric::robust::quantile(&all, p).unwrap_or(0.0);
        return of(0.9) - of(0.1) > CONTRAST;
    }
    known.iter().any(|s| *s < SHARE)
}

/// For every clear edge along lines of `n` places: the share of its step that lies between two neighbouring places.
fn edges(n: usize, lines: usize, at: impl Fn(usize, usize) -> f32) -> Vec<f64> {
    let mut shares = Vec::new();
    for j in 1..lines - 1 {
        let line: Vec<f32> = (0..n).map(|i| at(i, j)).collect();
        for part in line.windows(SPAN + 1) {
            let step = (part[SPAN] - part[0]).abs();
            if step > CLEAR {
                let middle = &part[SPAN / 3..=2 * SPAN / 3];
                let most = middle.windows(2).map(|p| (p[1] - p[0]).abs()).fold(0.0, f32::max);
                shares.push(f64::from(most / step));
            }
        }
    }
    shares
}
