//! The bay seen straight on: how light or dark each place is against the paper that ought to be there.

use crate::card::Card;
use crate::light::Scene;
use crate::photo::Photo;

/// Cells a millimetre.
pub const PER_MM: f64 = 3.0;

/// A rectified window of the card's plane; each cell holds ln(light / paper) of the three channels.
pub struct View {
    /// Left and top edge, mm.
    origin: [f64; 2],
    pub width: usize,
    pub height: usize,
    cells: Vec<[f32; 3]>,
}

impl View {
    /// The window from (x0, y0) to (x1, y1), mm of the card's plane. It may reach past the card's lower edge, where vials
    /// stand; what lies outside the picture repeats its border.
    pub fn new(photo: &Photo, card: &Card, scene: &Scene, from: [f64; 2], to: [f64; 2]) -> Self {
        let width = ((to[0] - from[0]) * PER_MM) as usize;
        let height = ((to[1] - from[1]) * PER_MM) as usize;
        // Enough taps that noise averages out where the photo is finer than the view.
        let taps = (card.px_per_mm / PER_MM / 1.5).round().clamp(1.0, 2.0) as usize;
        let mut cells = Vec::with_capacity(width * height);
        let mut sums = vec![[0.0f32; 3]; width];
        let share = 1.0 / (taps * taps) as f32;
        for j in 0..height {
            sums.fill([0.0; 3]);
            for b in 0..taps {
                let y = from[1] + (j as f64 + (b as f64 + 0.5) / taps as f64) / PER_MM;
                let across = 1.0 / PER_MM / taps as f64;
                let row = card.plane.row([from[0] + 0.5 * across, y], across);
                let mut tap = 0;
                photo.nearest((0..width * taps).map(|i| row.at(i)), |p| {
                    let sum = &mut sums[tap / taps];
                    (0..3).for_each(|c| sum[c] += p.linear[c]);
                    tap += 1;
                });
            }
            let paper = scene.field.ln_along(from[1] + (j as f64 + 0.5) / PER_MM);
            cells.extend(sums.iter().enumerate().map(|(i, sum)| {
                let paper = paper(from[0] + (i as f64 + 0.5) / PER_MM);
                [0, 1, 2].map(|c| (sum[c] * share).max(2e-4).ln() - paper[c] as f32)
            }));
        }
        Self { origin: from, width, height, cells }
    }

    /// ln(light / paper) at a place (mm), nearest cell; the border is repeated outside.
    pub fn at(&self, mm: [f64; 2]) -> [f32; 3] {
        let i = ((mm[0] - self.origin[0]) * PER_MM).clamp(0.0, self.width as f64 - 1.0) as usize;
        let j = ((mm[1] - self.origin[1]) * PER_MM).clamp(0.0, self.height as f64 - 1.0) as usize;
        self.cells[j * self.width + i]
    }

    /// The cells at a height (mm), for places along it.
    pub fn line(&self, y: f64) -> Line<'_> {
        let j = ((y - self.origin[1]) * PER_MM).clamp(0.0, self.height as f64 - 1.0) as usize;
        Line { from: self.origin[0], cells: &self.cells[j * self.width..(j + 1) * self.width] }
    }

    /// Mean over a short horizontal run of half width `half` (mm) about a place.
    pub fn run(&self, mm: [f64; 2], half: f64) -> [f64; 3] {
        let n = ((2.0 * half * PER_MM) as usize).max(1);
        let mut sum = [0.0f64; 3];
        for k in 0..n {
            let v = self.at([mm[0] - half + (k as f64 + 0.5) * 2.0 * half / n as f64, mm[1]]);
            (0..3).for_each(|c| sum[c] += v[c] as f64);
        }
        sum.map(|s| s / n as f64)
    }
}

/// A row of cells.
pub struct Line<'a> {
    from: f64,
    cells: &'a [[f32; 3]],
}

impl Line<'_> {
    /// As [`View::at`], at a place along the row (mm).
    #[inline]
    pub fn at(&self, x: f64) -> [f32; 3] {
        // A conversion to integers takes what lies before the first cell to it.
        self.cells[(((x - self.from) * PER_MM) as usize).min(self.cells.len() - 1)]
    }
}

#[cfg(test)]
impl View {
    /// A window whose cells are drawn: ln(light / paper) by place, mm.
    pub fn drawn(from: [f64; 2], to: [f64; 2], ink: impl Fn([f64; 2]) -> [f64; 3]) -> Self {
        let [width, height] = [0, 1].map(|k| ((to[k] - from[k]) * PER_MM) as usize);
        let places = (0..height).flat_map(|j| (0..width).map(move |i| [i, j]));
        let place = |[i, j]: [usize; 2]| [from[0] + (i as f64 + 0.5) / PER_MM, from[1] + (j as f64 + 0.5) / PER_MM];
        Self { origin: from, width, height, cells: places.map(|p| ink(place(p)).map(|x| x as f32)).collect() }
    }
}
