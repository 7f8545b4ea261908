//! Code values to linear light with sRGB primaries: a table a channel, then a matrix or a grid where a profile needs it.

use super::spaces;
use palette::encoding::{IntoLinear, Srgb};

/// How many code values a channel has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Depth {
    Eight,
    Sixteen,
}

impl Depth {
    /// The largest code value.
    pub(super) fn top(self) -> usize {
        match self {
            Self::Eight => 255,
            Self::Sixteen => 65535,
        }
    }

    /// A table with the curve's value at every code value; the curve takes 0 to 1.
    pub(super) fn table(self, curve: impl Fn(f64) -> f64) -> Vec<f32> {
        (0..=self.top()).map(|i| curve(i as f64 / self.top() as f64) as f32).collect()
    }
}

/// The way from code values to linear light with sRGB primaries and the D65 white, not clipped.
pub(super) struct ToLinear {
    /// Code value to linear light of the picture's own primaries, or to a place on the grid's axis.
    pub(super) curves: [Vec<f32>; 3],
    pub(super) then: Then,
}

/// What follows after the curves.
pub(super) enum Then {
    /// Nothing: the primaries are those of sRGB.
    Done,
    /// A matrix from the picture's primaries.
    Matrix([[f32; 3]; 3]),
    /// A profile made of tables.
    Grid(Grid),
}

/// The sRGB curve (IEC 61966-2-1), code fraction to linear light.
pub(super) fn srgb_curve(v: f64) -> f64 {
    <Srgb as IntoLinear<f64, f64>>::into_linear(v)
}

impl ToLinear {
    /// sRGB, the assumption where a file says nothing.
    pub(super) fn srgb(depth: Depth) -> Self {
        let curve = depth.table(srgb_curve);
        Self { curves: [curve.clone(), curve.clone(), curve], then: Then::Done }
    }

    #[inline]
    pub(super) fn at(&self, r: usize, g: usize, b: usize) -> [f32; 3] {
        let l = [self.curves[0][r], self.curves[1][g], self.curves[2][b]];
        match &self.then {
            Then::Done => l,
            Then::Matrix(m) => times(m, l),
            Then::Grid(grid) => grid.at(l),
        }
    }
}

#[inline]
fn times(m: &[[f32; 3]; 3], v: [f32; 3]) -> [f32; 3] {
    [0, 1, 2].map(|i| m[i][0] * v[0] + m[i][1] * v[1] + m[i][2] * v[2])
}

/// Values on a cubic grid over the three channels, interpolated in tetrahedra (exact on the greys' diagonal).
pub(super) struct Grid {
    /// Nodes along an axis, at least 2.
    side: usize,
    /// Third channel fastest.
    nodes: Vec<[f32; 3]>,
    /// Nodes are CIELAB D50 (else linear light with sRGB primaries).
    lab: bool,
    /// XYZ over the D50 white to linear sRGB.
    from_white: [[f32; 3]; 3],
}

impl Grid {
    /// A grid of CIELAB D50 nodes, or of nodes already in linear light.
    pub(super) fn new(side: usize, nodes: Vec<[f32; 3]>, lab: bool) -> Self {
        debug_assert_eq!(nodes.len(), side.pow(3));
        Self { side, nodes, lab, from_white: spaces::white_scaled_to_srgb() }
    }

    /// The value at a place given in nodes, 0 to `side` − 1 on each axis.
    fn at(&self, place: [f32; 3]) -> [f32; 3] {
        let last = self.side - 1;
        let low = place.map(|p| (p as usize).min(last - 1));
        let frac = [0, 1, 2].map(|i| (place[i] - low[i] as f32).clamp(0.0, 1.0));
        let step = [self.side * self.side, self.side, 1];
        // From the lowest corner along the axes in falling order of their fractions.
        let mut order = [0, 1, 2];
        order.sort_unstable_by(|&a, &b| frac[b].total_cmp(&frac[a]));
        let mut at = low[0] * step[0] + low[1] * step[1] + low[2];
        let mut v = self.nodes[at];
        for axis in order {
            let here = self.nodes[at];
            at += step[axis];
            let next = self.nodes[at];
            for i in 0..3 {
                v[i] += frac[axis] * (next[i] - here[i]);
            }
        }
        if self.lab { times(&self.from_white, lab_over_white(v)) } else { v }
    }
}

/// CIELAB to XYZ as fractions of its white (CIE 15).
fn lab_over_white([l, a, b]: [f32; 3]) -> [f32; 3] {
    let y = (l + 16.0) / 116.0;
    [y + a / 500.0, y, y - b / 200.0]
        .map(|t| if t > 6.0 / 29.0 { t * t * t } else { (t - 4.0 / 29.0) * (108.0 / 841.0) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_srgb_table_ends_where_it_should() {
        let t = ToLinear::srgb(Depth::Eight);
        assert_eq!(t.at(0, 255, 0), [0.0, 1.0, 0.0]);
        // Code 119: 0.184475 (IEC 61966-2-1, computed with colour-science 0.4.7).
        assert!((t.at(119, 119, 119)[1] - 0.184_475).abs() < 1e-7);
        let s = ToLinear::srgb(Depth::Sixteen);
        assert!((s.at(119 * 257, 0, 0)[0] - 0.184_475).abs() < 1e-7);
    }

    #[test]
    fn a_grid_gives_back_its_nodes_and_a_linear_function_between_them() {
        let side = 4;
        let f = |r: f32, g: f32, b: f32| [0.5 * r - g, g + 0.25 * b, r + g + b];
        let mut nodes = Vec::new();
        for r in 0..side {
            for g in 0..side {
                for b in 0..side {
                    nodes.push(f(r as f32, g as f32, b as f32));
                }
            }
        }
        let grid = Grid::new(side, nodes, false);
        for p in [[0.0, 0.0, 0.0], [3.0, 3.0, 3.0], [1.0, 2.0, 0.0], [0.3, 2.9, 1.5], [2.2, 0.1, 2.7], [1.4, 1.6, 1.5]]
        {
            let want = f(p[0], p[1], p[2]);
            let got = grid.at(p);
            assert!((0..3).all(|i| (got[i] - want[i]).abs() < 1e-5), "{p:?}: {got:?} {want:?}");
        }
    }

    #[test]
    fn lab_white_and_a_dark_grey() {
        let grid = Grid::new(2, vec![[100.0, 0.0, 0.0]; 8], true);
        assert!(grid.at([0.5; 3]).iter().all(|v| (v - 1.0).abs() < 2e-6));
        // L* 8 is where the cube meets the straight part: Y = 8 / 903.2963.
        let y = lab_over_white([8.0, 0.0, 0.0])[1];
        assert!((y - 0.008_856_45).abs() < 1e-7, "{y}");
    }
}
