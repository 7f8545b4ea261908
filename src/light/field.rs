//! Even light: how bright bare paper would be at each place of the card, per channel.

use super::measure::Area;
use super::solve::{mad_scale, median, ridge_many, tukey};
use crate::trial::{Part, without};

/// ln of paper's linear light as a quadratic of the place, per channel.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    coef: [[f64; TERMS]; 3],
    /// Share of the cells that lie on the field: paper that earned the name.
    pub earned: f64,
    /// Robust standard deviation of those cells about the field (ln units, largest channel).
    pub scatter: f64,
}

const TERMS: usize = 6;

fn terms([x, y]: [f64; 2]) -> [f64; TERMS] {
    // Card coordinates scaled to about −1…1 keep the terms comparable.
    let (u, v) = ((x - 75.0) / 75.0, (y - 50.0) / 50.0);
    [1.0, u, v, u * u, u * v, v * v]
}

impl Field {
    /// Fits the field to paper cells. `frame` tells which cells lie where no vial stands before the paper: they start the
    /// fit, and the other cells join as far as they agree with it.
    pub fn fit(cells: &[Area], frame: impl Fn(&Area) -> bool) -> Option<Self> {
        let usable: Vec<&Area> = cells.iter().filter(|c| c.rgb.iter().all(|v| *v > 1e-4) && c.clipped < 0.02).collect();
        let first: Vec<&Area> = usable.iter().copied().filter(|c| frame(c)).collect();
        if first.len() < LEAST_FRAME {
            return None;
        }
        let start = robust(&first, None)?;
        let coef = robust(&usable, Some(start))?;
        let mut field = Self { coef, earned: 0.0, scatter: 0.0 };
        if without(Part::EvenLight) {
            field.coef.iter_mut().for_each(|c| c[1..].fill(0.0));
        }
        let off: Vec<f64> = usable.iter().map(|a| field.distance(a)).collect();
        let near: Vec<f64> = off.iter().copied().filter(|d| *d < 0.04).collect();
        field.earned = near.len() as f64 / cells.len().max(1) as f64;
        field.scatter = mad_scale(&near);
        Some(field)
    }

    /// Linear light of bare paper at a place of the card (mm).
    pub fn at(&self, mm: [f64; 2]) -> [f64; 3] {
        self.ln_at(mm).map(f64::exp)
    }

    /// Natural logarithm of [`Field::at`].
    pub fn ln_at(&self, mm: [f64; 2]) -> [f64; 3] {
        let t = terms(mm);
        [dot(&t, &self.coef[0]), dot(&t, &self.coef[1]), dot(&t, &self.coef[2])]
    }

    /// [`Field::ln_at`] along the line at this height of the card (mm), by the place on it (mm).
    pub fn ln_along(&self, y: f64) -> impl Fn(f64) -> [f64; 3] {
        let v = terms([0.0, y])[2];
        let line = self.coef.map(|k| [k[0] + (k[2] + k[5] * v) * v, k[1] + k[4] * v, k[3]]);
        move |x| {
            let u = terms([x, 0.0])[1];
            line.map(|[a, b, c]| a + (b + c * u) * u)
        }
    }

    /// Largest distance (ln units, any channel) of a cell from the field.
    pub fn distance(&self, cell: &Area) -> f64 {
        let paper = self.at(cell.at);
        (0..3).map(|c| (cell.rgb[c] / paper[c]).ln().abs()).fold(0.0, f64::max)
    }

    /// Slopes across the card: ln units from left to right and from top to bottom edge, per channel.
    pub fn slopes(&self) -> [[f64; 2]; 3] {
        [0, 1, 2].map(|c| [2.0 * self.coef[c][1], 2.0 * self.coef[c][2]])
    }
}

/// What a lamp or window does to paper at most places: slopes of a tenth or two, little curvature (ln units over half the
/// card). Held in proportion, so that shadows of vials are not taken for curvature where paper is hidden.
const PRIOR: [f64; TERMS] = [9.0, 0.15, 0.15, 0.04, 0.04, 0.04];

/// Cells do not err one by one but by whole shadows: they count as one in this many.
const ALIKE: f64 = 33.0;

/// Cells of the frame, and cells that must agree with a field, of the thousand or so that are measured.
const LEAST_FRAME: usize = 20;
const LEAST: usize = 13;
/// A field that moves by less than this (ln units) from one round to the next has settled.
const SETTLED: f64 = 1e-5;

fn robust(cells: &[&Area], start: Option<[[f64; TERMS]; 3]>) -> Option<[[f64; TERMS]; 3]> {
    let rows: Vec<[f64; TERMS]> = cells.iter().map(|a| terms(a.at)).collect();
    let ln: [Vec<f64>; 3] = [0, 1, 2].map(|c| cells.iter().map(|a| a.rgb[c].ln()).collect());
    let mut scale;
    let solve = |w: &[f64], scale: f64| -> Option<[[f64; TERMS]; 3]> {
        let hold = PRIOR.map(|p| ALIKE * (scale / p).powi(2));
        ridge_many(&rows, [&ln[0], &ln[1], &ln[2]], w, &[0.0; TERMS], &hold)
    };
    let mut k = start.unwrap_or_else(|| {
        let mut flat = [[0.0; TERMS]; 3];
        (0..3).for_each(|c| flat[c][0] = median(&ln[c]));
        flat
    });
    for round in 0..16 {
        // A cell tinted in one channel is no paper in the others either.
        let r: Vec<f64> = (0..rows.len())
            .map(|i| (0..3).map(|c| (ln[c][i] - dot(&rows[i], &k[c])).abs()).fold(0.0, f64::max))
            .collect();
        // From a wide cut to a narrow one, so that a bad start does not lock real paper out; never narrower than half a
        // percent: printed paper and noise alone spread that far.
        let wide = if start.is_none() { 0.1 * 0.6f64.powi(round) } else { 0.0 };
        scale = mad_scale(&r).clamp(0.005, 0.015).max(wide);
        let w: Vec<f64> = r.iter().map(|r| tukey(r / (4.0 * scale))).collect();
        if w.iter().filter(|w| **w > 0.3).count() < LEAST {
            return start.or(Some(k));
        }
        let next = solve(&w, scale)?;
        let moved = next.iter().flatten().zip(k.iter().flatten()).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        k = next;
        if moved < SETTLED && wide < 0.005 {
            break;
        }
    }
    Some(k)
}

#[inline]
fn dot(a: &[f64; TERMS], b: &[f64; TERMS]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn along_a_line_it_is_the_same_field() {
        let coef = [0.1, 0.2, -0.3, 0.05, -0.07, 0.02];
        let field = Field { coef: [coef, coef.map(|k| -2.0 * k), coef.map(|k| k + 0.4)], earned: 1.0, scatter: 0.0 };
        for y in [0.0, 37.5, 109.0] {
            let line = field.ln_along(y);
            for x in [-5.0, 12.0, 75.0, 160.0] {
                let (got, want) = (line(x), field.ln_at([x, y]));
                assert!((0..3).all(|c| (got[c] - want[c]).abs() < 1e-12), "{x} {y}: {got:?} {want:?}");
            }
        }
        // At the right edge's middle: 0.1 + 0.2 + 0.05.
        assert!((field.ln_along(50.0)(150.0)[0] - 0.35).abs() < 1e-12);
    }
}
