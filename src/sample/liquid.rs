//! The colour of a vial's liquid: the calm upper part of the column, before bare paper.

use super::vial::Vial;
use crate::card::Card;
use crate::colour::{Lab, LinRgb, jacobian_lab_of_linear, lab_from_linear};
use crate::light::Scene;
use crate::numeric::robust::{median, quantile};
use crate::photo::Photo;
use crate::trial::{Part, without};

/// The colour of one sample, in the card's own space.
#[derive(Debug, Clone, PartialEq)]
pub struct Colour {
    /// Linear light relative to the card's paper, sRGB primaries, D65; median over the region.
    pub linear: LinRgb,
    /// The same in CIELAB.
    pub lab: Lab,
    /// Covariance of `lab` from noise and unevenness within the region (not of the correction).
    pub cov: [[f64; 3]; 3],
    /// Pixels used.
    pub pixels: usize,
    /// Share of the region's pixels left out as glare.
    pub glare: f64,
    /// Light that a reflection adds to the region's lightest column, relative to paper.
    pub stripe: f64,
    /// Share of the pixels with a channel at either end of its range.
    pub clipped: f64,
    /// Largest difference of a part of the region from its median, in CIELAB lightness and chroma together.
    pub uneven: f64,
    /// Outline of the region, mm on the card's plane.
    pub outline: Vec<[f64; 2]>,
}

/// Half the region's width in half widths of the vial: the rims refract.
const ACROSS: f64 = 0.42;
/// A column of the region lighter than its darker columns by this factor is the reflection of a lamp, and left out;
const STRIPE: f64 = 1.04;
/// but this share of the columns is kept in any case.
const KEPT: f64 = 0.5;
/// The region ends this share of the column below the surface: further down, the paper behind is lit through the liquid.
const DEPTH: f64 = 0.38;
/// What the region would be without care, to show what it buys.
const WHOLE: (f64, f64) = (0.85, 0.8);
/// The liquid's column where its foot is not seen clearly, mm.
const COLUMN: (f64, f64) = (18.0, 30.0);
/// A pixel lighter than the region's median by this factor in every channel is glare.
const GLARE: f64 = 1.22;
/// Blocks across and down, for the unevenness.
const BLOCKS: usize = 3;

/// Measures the liquid of a vial. None where no region of two millimetres is free.
pub fn measure(photo: &Photo, card: &Card, scene: &Scene, vial: &Vial) -> Option<Colour> {
    let column = (vial.foot - vial.top).clamp(COLUMN.0, COLUMN.1);
    let from = vial.calm + 0.8;
    let (depth, across) = if without(Part::Region) { WHOLE } else { (DEPTH, ACROSS) };
    let to = (vial.top + depth * column).max(from + 3.0);
    let half = across * vial.half;
    let step = (1.0 / card.px_per_mm).max(((to - from) * 2.0 * half / 1600.0).sqrt());
    let (nx, ny) = ((2.0 * half / step) as usize, ((to - from) / step) as usize);
    if nx < BLOCKS || ny < BLOCKS {
        return None;
    }
    let place = |x: f64, y: f64| {
        let y = from + y * (to - from);
        [vial.axis(y) + half * (2.0 * x - 1.0), y]
    };
    Some(gathered(photo, card, scene, [nx, ny], place, true))
}

/// The colour of a region of `nx` by `ny` places; `place` gives them in mm from shares of its width and height. With `glass`,
/// columns in the upright reflection of a lamp are left out.
pub(super) fn gathered(
    photo: &Photo,
    card: &Card,
    scene: &Scene,
    [nx, ny]: [usize; 2],
    place: impl Fn(f64, f64) -> [f64; 2],
    glass: bool,
) -> Colour {
    let (w, h) = (photo.width() as f64 - 1.0, photo.height() as f64 - 1.0);
    let mut all: Vec<(usize, [f64; 3])> = Vec::with_capacity(nx * ny);
    let mut clipped = 0;
    for j in 0..ny {
        for i in 0..nx {
            let mm = place((i as f64 + 0.5) / nx as f64, (j as f64 + 0.5) / ny as f64);
            let [px, py] = card.plane.px(mm);
            let (px, py) = (px.round().clamp(0.0, w) as u32, py.round().clamp(0.0, h) as u32);
            clipped += photo.encoded(px, py).iter().any(|c| *c >= 0.996 || *c <= 0.004) as usize;
            let rgb = photo.linear(px, py).map(f64::from);
            all.push((i * BLOCKS / nx + BLOCKS * (j * BLOCKS / ny), scene.relative(rgb, mm)));
        }
    }
    let channel = |set: &[(usize, [f64; 3])], c: usize| -> f64 {
        median(&set.iter().map(|p| p.1[c]).collect::<Vec<_>>()).unwrap_or(0.0)
    };
    let middle = [0, 1, 2].map(|c| channel(&all, c));
    let (lit, stripe) = if glass && !without(Part::Reflections) { striped(&all, nx) } else { (vec![false; nx], 0.0) };
    let used: Vec<(usize, [f64; 3])> = all
        .iter()
        .enumerate()
        .filter(|(i, (_, p))| !lit[i % nx] && !(0..3).all(|c| p[c] > GLARE * middle[c] + 0.01))
        .map(|(_, p)| *p)
        .collect();
    let seen = [0, 1, 2].map(|c| channel(&used, c));
    let linear = scene.correction.apply(seen);
    let lab = lab_from_linear(linear);

    // Blocks show how far the colour wanders over the region; a third of that stands behind the median.
    let mut cov = [[0.0; 3]; 3];
    let mut uneven: f64 = 0.0;
    let mut blocks = 0.0;
    for b in 0..BLOCKS * BLOCKS {
        let part: Vec<(usize, [f64; 3])> = used.iter().copied().filter(|p| p.0 == b).collect();
        if part.len() < 4 {
            continue;
        }
        let there = lab_from_linear(scene.correction.apply([0, 1, 2].map(|c| channel(&part, c))));
        let d = [0, 1, 2].map(|i| there.0[i] - lab.0[i]);
        uneven = uneven.max(d.iter().map(|v| v * v).sum::<f64>().sqrt());
        blocks += 1.0;
        for r in 0..3 {
            for c in 0..3 {
                cov[r][c] += d[r] * d[c];
            }
        }
    }
    cov.iter_mut().flatten().for_each(|v| *v /= f64::max(blocks * 3.0, 1.0));
    // Even a perfectly even region is known no better than a code step of the camera's file.
    let j = jacobian_lab_of_linear(linear);
    for r in 0..3 {
        for c in 0..3 {
            cov[r][c] += (0..3).map(|k| j[r][k] * j[c][k] * 1e-6).sum::<f64>();
        }
    }
    Colour {
        linear,
        lab,
        cov,
        pixels: used.len(),
        glare: 1.0 - used.len() as f64 / all.len() as f64,
        stripe,
        clipped: clipped as f64 / all.len() as f64,
        uneven,
        outline: vec![place(0.0, 0.0), place(1.0, 0.0), place(1.0, 1.0), place(0.0, 1.0)],
    }
}

/// Which columns of the region lie in the upright reflection of a lamp or window, where glass adds its light: the lighter
/// ones. Second, the light the lightest column has above the darker ones, paper being 1.
fn striped(all: &[(usize, [f64; 3])], nx: usize) -> (Vec<bool>, f64) {
    let lights: Vec<f64> = (0..nx)
        .map(|i| {
            let column: Vec<f64> = all.iter().skip(i).step_by(nx).map(|p| p.1.iter().sum()).collect();
            median(&column).unwrap_or(0.0)
        })
        .collect();
    // Smoothed over three columns, against noise.
    let smooth: Vec<f64> =
        (0..nx).map(|i| median(&lights[i.saturating_sub(1)..(i + 2).min(nx)]).unwrap_or(0.0)).collect();
    let dark = quantile(&smooth, 0.3).unwrap_or(0.0).max(1e-3);
    let cut = quantile(&smooth, KEPT).unwrap_or(0.0).max(STRIPE * dark);
    let lightest = smooth.iter().copied().fold(0.0, f64::max);
    (smooth.iter().map(|v| *v > cut).collect(), (lightest - dark) / 3.0)
}
