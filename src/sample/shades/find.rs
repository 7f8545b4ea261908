//! Even rectangles of one colour among the bay's paper, and those that lie in a row.

use crate::sample::view::{PER_MM, View};

/// A rectangle of one colour, mm on the card's plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Piece {
    centre: [f64; 2],
    /// Half sides along and across `turn`.
    half: [f64; 2],
    /// Radians from the card's lower edge, clockwise, −π/4 to π/4.
    turn: f64,
    /// Share of the rectangle that is of one colour.
    fill: f64,
}

/// Pieces in a row, left to right.
pub(super) struct Row {
    pub(super) pieces: Vec<Piece>,
}

impl Piece {
    /// A point of it, −1 to 1 from side to side.
    pub(super) fn point(&self, x: f64, y: f64) -> [f64; 2] {
        let (s, c) = self.turn.sin_cos();
        let (x, y) = (x * self.half[0], y * self.half[1]);
        [self.centre[0] + x * c - y * s, self.centre[1] + x * s + y * c]
    }

    /// One more of its kind, as far from it as `next` is, on the other side.
    pub(super) fn beside(&self, next: &Piece) -> Piece {
        let centre = [0, 1].map(|i| 2.0 * self.centre[i] - next.centre[i]);
        Piece { centre, ..*self }
    }

    fn alike(&self, other: &Piece) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() <= ALIKE * a.max(b);
        near(self.half[0], other.half[0]) && near(self.half[1], other.half[1]) && (self.turn - other.turn).abs() < 0.12
    }

    fn holds(&self, mm: [f64; 2]) -> bool {
        let (s, c) = self.turn.sin_cos();
        let d = [mm[0] - self.centre[0], mm[1] - self.centre[1]];
        (d[0] * c + d[1] * s).abs() < self.half[0] && (d[1] * c - d[0] * s).abs() < self.half[1]
    }
}

/// Sides of one row's shades differ by no more than this share.
const ALIKE: f64 = 0.22;
/// Least and most half side of a shade, mm: smaller is print, larger is the slip.
const HALF: (f64, f64) = (1.5, 22.0);
/// Share of its rectangle that a shade fills; its corners are rounded by blur.
const FILL: f64 = 0.84;
/// Next in a row lies within this share of the spacing from where it is expected.
const ASTRAY: f64 = 0.2;
/// How far a change of the encoded light over two thirds of a millimetre may go within one colour. Several, from faint edges to
/// strong ones: noise breaks shades up at the first, pale neighbours run together at the last.
const CALM: [f64; 6] = [0.012, 0.018, 0.027, 0.04, 0.06, 0.1];

/// All rectangles of one colour, mm; `origin` is the view's corner.
pub(super) fn rows(view: &View, origin: [f64; 2]) -> Vec<Piece> {
    let change = changes(view, origin);
    let (w, h) = (view.width, view.height);
    let mut out: Vec<Piece> = Vec::new();
    for calm in CALM {
        let mut seen: Vec<bool> = change.iter().map(|c| *c >= calm).collect();
        for start in 0..w * h {
            if seen[start] {
                continue;
            }
            let (mut cells, mut todo) = (Vec::new(), vec![start]);
            seen[start] = true;
            while let Some(k) = todo.pop() {
                cells.push(k);
                let (i, j) = (k % w, k / w);
                let beside =
                    [(i > 0, k.wrapping_sub(1)), (i + 1 < w, k + 1), (j > 0, k.wrapping_sub(w)), (j + 1 < h, k + w)];
                for (inside, n) in beside {
                    if inside && !seen[n] {
                        seen[n] = true;
                        todo.push(n);
                    }
                }
            }
            let Some(piece) = rectangle(&cells, w, origin) else { continue };
            match out.iter_mut().find(|p| p.holds(piece.centre) && p.alike(&piece)) {
                Some(known) if known.fill < piece.fill => *known = piece,
                Some(_) => {}
                None => out.push(piece),
            }
        }
    }
    out
}

/// Largest change of the encoded light about each cell, of the three channels together.
fn changes(view: &View, origin: [f64; 2]) -> Vec<f64> {
    let (w, h) = (view.width, view.height);
    // About as an eye and a camera's code see it: in dark colours the logarithm is all noise.
    let cell = |i: usize, j: usize| {
        let v = view.at([origin[0] + (i as f64 + 0.5) / PER_MM, origin[1] + (j as f64 + 0.5) / PER_MM]);
        v.map(|c| (f64::from(c) / 2.2).exp())
    };
    let raw: Vec<[f64; 3]> = (0..w * h).map(|k| cell(k % w, k / w)).collect();
    let at = |i: i64, j: i64| raw[j.clamp(0, h as i64 - 1) as usize * w + i.clamp(0, w as i64 - 1) as usize];
    let mean = |i: i64, j: i64| {
        let mut sum = [0.0; 3];
        (-1..=1).for_each(|b| (-1..=1).for_each(|a| (0..3).for_each(|c| sum[c] += at(i + a, j + b)[c] / 9.0)));
        sum
    };
    let smooth: Vec<[f64; 3]> = (0..w * h).map(|k| mean((k % w) as i64, (k / w) as i64)).collect();
    let at = |i: i64, j: i64| smooth[j.clamp(0, h as i64 - 1) as usize * w + i.clamp(0, w as i64 - 1) as usize];
    let change = |k: usize| {
        let (i, j) = ((k % w) as i64, (k / w) as i64);
        let (l, r, u, d) = (at(i - 1, j), at(i + 1, j), at(i, j - 1), at(i, j + 1));
        (0..3).map(|c| (r[c] - l[c]).powi(2) + (d[c] - u[c]).powi(2)).sum::<f64>().sqrt()
    };
    (0..w * h).map(change).collect()
}

/// The smallest rectangle about cells, if they fill it and it has a shade's size.
fn rectangle(cells: &[usize], width: usize, origin: [f64; 2]) -> Option<Piece> {
    let least = (2.0 * HALF.0 * PER_MM).powi(2) * 0.5;
    let most = (2.0 * HALF.1 * PER_MM).powi(2);
    if (cells.len() as f64) < least || cells.len() as f64 > most {
        return None;
    }
    // Ends of each row of cells are enough for the bounds.
    let mut ends: std::collections::BTreeMap<usize, (usize, usize)> = std::collections::BTreeMap::new();
    for k in cells {
        let (i, j) = (k % width, k / width);
        let e = ends.entry(j).or_insert((i, i));
        *e = (e.0.min(i), e.1.max(i));
    }
    let points: Vec<[f64; 2]> = ends
        .iter()
        .flat_map(|(j, (a, b))| [[*a as f64 + 0.5, *j as f64 + 0.5], [*b as f64 + 0.5, *j as f64 + 0.5]])
        .collect();
    let turned = |degrees: i32| {
        let turn = f64::from(degrees).to_radians();
        let (s, c) = turn.sin_cos();
        let mut bounds = [f64::MAX, f64::MIN, f64::MAX, f64::MIN];
        for p in &points {
            let (x, y) = (p[0] * c + p[1] * s, p[1] * c - p[0] * s);
            bounds = [bounds[0].min(x), bounds[1].max(x), bounds[2].min(y), bounds[3].max(y)];
        }
        // Cells have a width of one.
        let (w, h) = (bounds[1] - bounds[0] + 1.0, bounds[3] - bounds[2] + 1.0);
        let (x, y) = ((bounds[0] + bounds[1]) / 2.0, (bounds[2] + bounds[3]) / 2.0);
        (w * h, turn, [w / 2.0, h / 2.0], [x * c - y * s, x * s + y * c])
    };
    let (area, turn, half, centre) = (-44..=45).map(turned).min_by(|a, b| a.0.total_cmp(&b.0))?;
    let half = half.map(|v| v / PER_MM);
    let fill = cells.len() as f64 / area;
    let sized = half.iter().all(|v| (HALF.0..=HALF.1).contains(v));
    let centre = [0, 1].map(|i| origin[i] + centre[i] / PER_MM);
    (sized && fill >= FILL).then_some(Piece { centre, half, turn, fill })
}

/// The longest even row of pieces alike, left to right; of an upright row from the top.
pub(super) fn longest(all: &[Piece]) -> Row {
    let mut best: Vec<Piece> = Vec::new();
    let mut best_area = 0.0;
    for a in all {
        for b in all.iter().filter(|b| *b != a && a.alike(b)) {
            let step = [b.centre[0] - a.centre[0], b.centre[1] - a.centre[1]];
            // Along the row, and no farther apart than two of them.
            let (along, half) = {
                let (s, c) = a.turn.sin_cos();
                let (x, y) = (step[0] * c + step[1] * s, step[1] * c - step[0] * s);
                if x.abs() > y.abs() { (x.abs(), a.half[0]) } else { (y.abs(), a.half[1]) }
            };
            let length = step[0].hypot(step[1]);
            let forward = if step[0].abs() >= step[1].abs() { step[0] > 0.0 } else { step[1] > 0.0 };
            if !forward || along < 1.7 * half || along > 4.5 * half || along < 0.97 * length {
                continue;
            }
            let mut row = vec![*a, *b];
            extend(&mut row, all);
            row.reverse();
            extend(&mut row, all);
            row.reverse();
            let area: f64 = row.iter().map(|p| p.half[0] * p.half[1]).sum();
            if row.len() > best.len() || (row.len() == best.len() && area > best_area) {
                (best, best_area) = (row, area);
            }
        }
    }
    Row { pieces: best }
}

/// Goes on at the row's end as long as the next one lies where the last two say.
fn extend(row: &mut Vec<Piece>, all: &[Piece]) {
    while let [.., before, last] = row[..] {
        let expected = last.beside(&before).centre;
        let spacing = (last.centre[0] - before.centre[0]).hypot(last.centre[1] - before.centre[1]);
        let far = |p: &Piece| (p.centre[0] - expected[0]).hypot(p.centre[1] - expected[1]);
        let next = all.iter().filter(|p| p.alike(&last) && far(p) < ASTRAY * spacing);
        match next.min_by(|a, b| far(a).total_cmp(&far(b))) {
            Some(p) if row.len() < 40 => row.push(*p),
            _ => return,
        }
    }
}

/// The largest piece that does not hold others, for one shade alone.
pub(super) fn single(all: &[Piece]) -> Row {
    let area = |p: &&Piece| p.half[0] * p.half[1];
    let whole = |p: &&Piece| !all.iter().any(|o| o != *p && p.holds(o.centre) && area(&o) < 0.9 * area(p));
    let best = all.iter().filter(whole).max_by(|a, b| area(a).total_cmp(&area(b)));
    Row { pieces: best.into_iter().copied().collect() }
}
