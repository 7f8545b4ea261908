//! Edges along and across a direction, as the strip's finder asks for them.

use super::view::View;
use crate::numeric::robust::median;

/// The bay turned by an angle, with how strong the edges along it and across it are at each place.
///
/// An edge's strength is the step in ln light, summed over the channels after averaging along the edge, so that noise
/// averages out and a faint long edge counts.
pub struct Edges {
    /// Unit vector along, on the card's plane.
    pub along: [f64; 2],
    pub width: usize,
    pub height: usize,
    middle: [f64; 2],
    half: [f64; 2],
    step: f64,
    /// Row by row, summed from the left: edges that run along, edges that run across.
    rows: [Vec<f64>; 2],
    single: Vec<f64>,
}

/// Half the length over which an edge is averaged, mm: along, and across (within a pad).
const AVERAGE: (f64, f64) = (2.0, 1.5);
/// Half the distance of the places between which an edge's step is taken, mm.
const REACH: f64 = 0.5;
/// A step in one channel counts up to this, ln light: colourful pads are no surer than grey ones.
const CAP: f64 = 0.35;

impl Edges {
    /// The most that one edge counts, in units of the noise.
    pub const MOST: f64 = 6.0;
    /// What of an edge is noise, in units of its median on paper.
    const FLOOR: f64 = 1.6;

    /// The window turned by `degrees`, `step` mm a cell.
    pub fn new(view: &View, from: [f64; 2], to: [f64; 2], degrees: f64, step: f64) -> Self {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let size = [to[0] - from[0], to[1] - from[1]];
        let middle = [0, 1].map(|k| (from[k] + to[k]) / 2.0);
        let half = [(size[0] * cos + size[1] * sin.abs()) / 2.0, (size[1] * cos + size[0] * sin.abs()) / 2.0];
        let (w, h) = ((2.0 * half[0] / step) as usize, (2.0 * half[1] / step) as usize);
        let place = |i: f64, j: f64| {
            let (u, v) = ((i + 0.5) * step - half[0], (j + 0.5) * step - half[1]);
            [
                (middle[0] + u * cos - v * sin).clamp(from[0], to[0]),
                (middle[1] + u * sin + v * cos).clamp(from[1], to[1]),
            ]
        };
        let mut cells = Vec::with_capacity(w * h);
        for j in 0..h {
            cells.extend((0..w).map(|i| view.at(place(i as f64, j as f64))));
        }
        // Averaged along u and along v by running sums, then the step to either side.
        let smooth_u = averaged(&cells, w, h, (AVERAGE.0 / step) as usize, true);
        let smooth_v = averaged(&cells, w, h, (AVERAGE.1 / step) as usize, false);
        let reach = (REACH / step).round().max(1.0) as usize;
        let mut rows = [vec![0.0; (w + 1) * h], vec![0.0; (w + 1) * h]];
        let mut single = vec![0.0; w * h];
        for j in 0..h {
            for i in 0..w {
                let (up, down) = (j.saturating_sub(reach), (j + reach - 1).min(h - 1));
                let (left, right) = (i.saturating_sub(reach), (i + reach - 1).min(w - 1));
                let strength =
                    |a: [f32; 3], b: [f32; 3]| (0..3).map(|c| f64::from((a[c] - b[c]).abs()).min(CAP)).sum::<f64>();
                rows[0][j * (w + 1) + i + 1] = strength(smooth_u[down * w + i], smooth_u[up * w + i]);
                single[j * w + i] = strength(smooth_v[j * w + right], smooth_v[j * w + left]);
            }
        }
        Self { along: [cos, sin], width: w, height: h, middle, half, step, rows, single }
    }

    /// Medians of both kinds of strength over the window, most of which is paper.
    pub fn noise(&self) -> [f64; 2] {
        let along: Vec<f64> = (0..self.height)
            .flat_map(|j| self.rows[0][j * (self.width + 1) + 1..(j + 1) * (self.width + 1)].iter().copied())
            .collect();
        [&along, &self.single].map(|s| median(s).unwrap_or(0.0).max(0.008))
    }

    /// Strengths in units of the noise, without what is noise, and no more than `MOST`; ready to be asked.
    pub fn against(mut self, noise: [f64; 2]) -> Self {
        let w = self.width;
        let units = |x: f64, noise: f64| (x / noise - Self::FLOOR).clamp(0.0, Self::MOST);
        self.single.iter_mut().for_each(|x| *x = units(*x, noise[1]));
        for j in 0..self.height {
            let (mut along, mut across) = (0.0, 0.0);
            for i in 0..w {
                let k = j * (w + 1) + i + 1;
                along += units(self.rows[0][k], noise[0]);
                across += self.single[j * w + i];
                self.rows[0][k] = along;
                self.rows[1][k] = across;
            }
        }
        self
    }

    /// Place of a cell's middle, mm on the card's plane.
    pub fn place(&self, i: usize, j: usize) -> [f64; 2] {
        self.back([self.u(i), self.v(j)])
    }

    pub fn u(&self, i: usize) -> f64 {
        (i as f64 + 0.5) * self.step - self.half[0]
    }

    pub fn v(&self, j: usize) -> f64 {
        (j as f64 + 0.5) * self.step - self.half[1]
    }

    /// From along and across to the card's plane.
    pub fn back(&self, [u, v]: [f64; 2]) -> [f64; 2] {
        let [cos, sin] = self.along;
        [self.middle[0] + u * cos - v * sin, self.middle[1] + u * sin + v * cos]
    }

    /// From the card's plane to along and across.
    pub fn frame(&self, mm: [f64; 2]) -> [f64; 2] {
        let ([cos, sin], x, y) = (self.along, mm[0] - self.middle[0], mm[1] - self.middle[1]);
        [x * cos + y * sin, y * cos - x * sin]
    }

    /// Mean strength of edges that run along, from one place to another at the height `v`.
    pub fn run(&self, a: f64, b: f64, v: f64) -> f64 {
        self.mean(0, a, b, v)
    }

    /// Mean strength of edges that run across, from one place to another at the height `v`.
    pub fn steps(&self, a: f64, b: f64, v: f64) -> f64 {
        self.mean(1, a, b, v)
    }

    /// Strength of an edge that runs across at one place.
    pub fn step(&self, u: f64, v: f64) -> f64 {
        let i = ((u + self.half[0]) / self.step).round();
        let j = (v + self.half[1]) / self.step;
        if i < 0.0 || j < 0.0 || i as usize >= self.width || j as usize >= self.height {
            return 0.0;
        }
        self.single[j as usize * self.width + i as usize]
    }

    fn mean(&self, kind: usize, a: f64, b: f64, v: f64) -> f64 {
        let j = if kind == 0 { ((v + self.half[1]) / self.step).round() } else { (v + self.half[1]) / self.step };
        if j < 0.0 || j as usize >= self.height {
            return 0.0;
        }
        let row = &self.rows[kind][j as usize * (self.width + 1)..];
        let cell = |u: f64| ((u + self.half[0]) / self.step).round().clamp(0.0, self.width as f64) as usize;
        let (i, k) = (cell(a.min(b)), cell(a.max(b)));
        // Outside the window there is no edge.
        (row[k] - row[i]) / ((a - b).abs() / self.step).max(1.0)
    }
}

/// Means over 2·`half` + 1 cells along rows or columns; fewer at the border.
fn averaged(cells: &[[f32; 3]], w: usize, h: usize, half: usize, along: bool) -> Vec<[f32; 3]> {
    let (lines, n, stride, next) = if along { (h, w, 1, w) } else { (w, h, w, 1) };
    let mut out = vec![[0.0; 3]; cells.len()];
    let mut sums = vec![[0.0f64; 3]; n + 1];
    for line in 0..lines {
        for i in 0..n {
            let cell = cells[line * next + i * stride];
            sums[i + 1] = [0, 1, 2].map(|c| sums[i][c] + f64::from(cell[c]));
        }
        for i in 0..n {
            let (a, b) = (i.saturating_sub(half), (i + half + 1).min(n));
            out[line * next + i * stride] = [0, 1, 2].map(|c| ((sums[b][c] - sums[a][c]) / (b - a) as f64) as f32);
        }
    }
    out
}
