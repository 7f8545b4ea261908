//! A keeper's strips measured, as the keeper would with a ruler: on the calibration photos, by where their pads are known to lie.

use std::path::Path;

use anyhow::Context;
use tintline::card::{Layout, Plane};
use tintline::curve::Strip;
use tintline::photo::{Limits, Photo};

use super::truth::{self, Keeper, Truth};

/// The outlines in `truth.json` hold this share of a pad's side.
const INNER: f64 = 0.8;
/// Where ends and sides are sought, mm: the end from the middle of pad 1, the handle's from there on, half the width.
const END: (f64, f64) = (3.0, 9.0);
const HANDLE: (f64, f64) = (20.0, 85.0);
const HALF: (f64, f64) = (2.2, 4.5);
/// Step of the ruler, mm.
const STEP: f64 = 0.1;

/// The measures of a keeper's strips: those that the set states, or measured on its calibration photos.
pub fn measures(set: &Path, truth: &Truth, keeper: &Keeper, layout: &Layout) -> anyhow::Result<Strip> {
    if let Some(s) = keeper.kit.strip {
        return Ok(Strip { length_mm: s.length, width_mm: s.width, pad_mm: s.pad, pitch_mm: s.pitch, end_mm: s.end });
    }
    let photos = truth.photos.iter().filter(|p| p.keeper == keeper.keeper && p.role == "calibrate");
    let ruled: Vec<Ruled> = photos.map(|p| Ruled::new(set, p, layout)).collect::<Result<_, _>>()?;
    let count = ruled.len() as f64;
    let pad = ruled.iter().map(|r| r.side).sum::<f64>() / count / INNER;
    let pitch = ruled.iter().map(|r| r.pitch).sum::<f64>() / count;
    let last = ruled.iter().map(|r| r.last).fold(0.0, f64::max) + pad / 2.0 + 3.0;
    let across = |u: f64| ruled.iter().map(|r| r.step([u - 0.4, 0.0], [u + 0.4, 0.0], [0.0, 0.3])).sum::<f64>();
    let along = |v: f64| {
        let side = |r: &Ruled, v: f64, out: f64| r.step([last, v], [last, v + out], [0.3, 0.0]);
        ruled.iter().map(|r| side(r, v - 0.3, 0.6) + side(r, -v - 0.3, 0.6)).sum::<f64>()
    };
    let end = strongest(END, |e| across(-e)).context("no end was seen")?;
    let handle = strongest((HANDLE.0.max(last), HANDLE.1), across).context("no handle was seen")?;
    let half = strongest(HALF, along).context("no side was seen")?;
    let rounded = |x: f64| (10.0 * x).round() / 10.0;
    Ok(Strip {
        length_mm: rounded(end + handle),
        width_mm: rounded(2.0 * half),
        pad_mm: rounded(pad),
        pitch_mm: (100.0 * pitch).round() / 100.0,
        end_mm: rounded(end),
    })
}

fn strongest((from, to): (f64, f64), strength: impl Fn(f64) -> f64) -> Option<f64> {
    let places = (0..=((to - from) / STEP) as usize).map(|i| from + i as f64 * STEP);
    places.map(|p| (strength(p), p)).max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, p)| p)
}

/// A photo with a ruler laid along its strip, zero at the middle of pad 1.
struct Ruled {
    photo: Photo,
    plane: Plane,
    zero: [f64; 2],
    along: [f64; 2],
    side: f64,
    pitch: f64,
    last: f64,
}

impl Ruled {
    fn new(set: &Path, p: &truth::Photo, layout: &Layout) -> anyhow::Result<Self> {
        let (w, h) = (layout.width, layout.height);
        let corners = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]];
        let pairs: Vec<_> = corners.into_iter().zip(p.geometry.card.iter().copied()).collect();
        let plane = Plane::fit(&pairs).with_context(|| format!("{}: no card", p.file))?;
        let pads: Vec<Vec<[f64; 2]>> =
            p.geometry.samples.values().map(|s| s.pad.iter().map(|q| plane.mm(*q)).collect()).collect();
        let middles: Vec<[f64; 2]> =
            pads.iter().map(|q| [0, 1].map(|k| q.iter().map(|c| c[k]).sum::<f64>() / q.len().max(1) as f64)).collect();
        let between = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
        let [first, .., end] = middles[..] else { anyhow::bail!("{}: fewer than two pads", p.file) };
        let last = between(first, end);
        let sides: Vec<f64> = pads.iter().flat_map(|q| q.windows(2).map(|c| between(c[0], c[1]))).collect();
        Ok(Self {
            photo: Photo::open(&set.join(&p.file), &Limits::default())?,
            plane,
            zero: first,
            along: [(end[0] - first[0]) / last, (end[1] - first[1]) / last],
            side: sides.iter().sum::<f64>() / sides.len() as f64,
            pitch: last / (middles.len() - 1) as f64,
            last,
        })
    }

    /// The step in ln light from one place to another, both averaged over 13 places about them, `apart` (mm) from one to the
    /// next.
    fn step(&self, a: [f64; 2], b: [f64; 2], apart: [f64; 2]) -> f64 {
        let mean = |[u, v]: [f64; 2]| -> f64 {
            let places = (-6..=6).map(|k| {
                // Along the handle from its beginning on, across the strip to both sides.
                let k = if apart[0] > 0.0 { f64::from(k + 6) * 4.0 } else { f64::from(k) };
                let (u, v) = (u + k * apart[0], v + k * apart[1]);
                let [x, y] = self.along;
                let px = self.plane.px([self.zero[0] + u * x - v * y, self.zero[1] + u * y + v * x]);
                let (w, h) = (self.photo.width() - 1, self.photo.height() - 1);
                let at = |x: f64, most: u32| x.round().clamp(0.0, f64::from(most)) as u32;
                self.photo.linear(at(px[0], w), at(px[1], h)).iter().map(|c| f64::from(c.max(1e-3)).ln()).sum::<f64>()
            });
            places.sum::<f64>() / 13.0
        };
        (mean(a) - mean(b)).abs().min(0.3)
    }
}
