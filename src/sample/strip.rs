//! Finds a strip lying in the bay: where its body and its pads are, and which way round it lies.
//!
//! Only edges count, and only their places: those of the body, which show by its shadow or its own white, and those of the
//! pads. A pad as white as the strip may hide without its neighbours going astray. How the edges must lie to one another is
//! known from the strip's measures.

use super::edges::Edges;
use super::view::View;
use crate::card::Layout;

/// A strip's measures, mm: those of the kit's file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    /// From end to end.
    pub length: f64,
    /// Across.
    pub width: f64,
    /// Side of a pad.
    pub pad: f64,
    /// From one pad's middle to the next one's.
    pub pitch: f64,
    /// From the end held into the water to the middle of pad 1.
    pub end: f64,
    /// How many pads.
    pub pads: usize,
}

/// A strip as it lies on the card's plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lie {
    /// Middle of pad 1, mm.
    pub first: [f64; 2],
    /// Unit vector from pad 1 towards the handle.
    pub along: [f64; 2],
    /// How well the edges fit.
    pub score: f64,
}

/// What was found in the bay.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Found {
    /// One strip that can lie in one way only.
    One(Lie),
    /// A strip that may lie either way round, the likelier first.
    EitherWay(Lie, Lie),
    /// A strip whose pads may be one place further along.
    Unclear,
    /// None.
    None,
}

/// Farthest a strip may lie off level, degrees; a little more is sought than is promised.
const TILT: f64 = 33.0;
/// Steps of the search, degrees and mm.
const COARSE: (f64, f64) = (1.0, 0.5);
/// Steps of the refinement.
const FINE: (f64, f64) = (0.25, 0.25);
/// Least score that makes a strip: those of clean computer-made photos score 23 to 30.
const LEAST: f64 = 14.0;
/// Another lie must score less than this share of the best one's, or the strip is not told for sure.
const RIVAL: f64 = 0.9;
/// How far the body may reach out of the bay, mm.
const OUT: f64 = 2.0;

impl Shape {
    /// Whether turning the strip round leaves its pads in the same places to within a quarter of a pad.
    fn symmetrical(&self) -> bool {
        let last = self.end + (self.pads as f64 - 1.0) * self.pitch;
        (self.length - last - self.end).abs() < 0.25 * self.pad
    }
}

impl Lie {
    /// Middle of a pad, 1 being the first.
    pub fn pad(&self, shape: &Shape, number: usize) -> [f64; 2] {
        self.point(shape.pitch * (number as f64 - 1.0), 0.0)
    }

    /// A place `u` mm from the middle of pad 1 towards the handle and `v` mm across.
    pub fn point(&self, u: f64, v: f64) -> [f64; 2] {
        let [x, y] = self.along;
        [self.first[0] + u * x - v * y, self.first[1] + u * y + v * x]
    }

    /// The same body with its pads at the other end.
    fn turned(&self, shape: &Shape) -> Self {
        let first = self.point(shape.length - 2.0 * shape.end, 0.0);
        Self { first, along: self.along.map(|x| -x), score: self.score }
    }
}

/// Finds the strip in the bay.
pub fn find(view: &View, layout: &Layout, shape: &Shape) -> Found {
    let bay = layout.bay;
    let (from, to) = ([bay.x, bay.y], [bay.x + bay.w, bay.y + bay.h]);
    let noise = Edges::new(view, from, to, 0.0, COARSE.1).noise();
    let mut best: Vec<Lie> = Vec::new();
    let turns = (TILT / COARSE.0) as i32;
    for turn in -turns..=turns {
        let edges = Edges::new(view, from, to, f64::from(turn) * COARSE.0, COARSE.1).against(noise);
        for lie in lies(&edges, shape, &|first, along| inside(first, along, shape, from, to)) {
            // One for each place and way round is enough: lies of one place differ only in angle and height.
            let near = |l: &Lie| apart(l, &lie, shape) < 1.0;
            match best.iter_mut().find(|l| near(l)) {
                Some(l) if l.score < lie.score => *l = lie,
                Some(_) => {}
                None => best.push(lie),
            }
        }
    }
    best.sort_by(|a, b| b.score.total_cmp(&a.score));
    let Some(first) = best.first().copied() else { return Found::None };
    // Once more from there: the best may lie at the border of the first refinement.
    let lie = refined(view, shape, refined(view, shape, first, from, to, noise), from, to, noise);
    if lie.score < LEAST {
        return Found::None;
    }
    let turned = refined(view, shape, lie.turned(shape), from, to, noise);
    if shape.symmetrical() || turned.score > RIVAL * lie.score {
        return if turned.score > lie.score { Found::EitherWay(turned, lie) } else { Found::EitherWay(lie, turned) };
    }
    let rival = best.iter().filter(|l| apart(l, &first, shape) > 0.5 * shape.pitch).map(|l| l.score).next();
    match rival {
        Some(score) if score > RIVAL * first.score => Found::Unclear,
        _ => Found::One(lie),
    }
}

/// The largest distance between pads of one number in two lies, mm.
fn apart(a: &Lie, b: &Lie, shape: &Shape) -> f64 {
    [1, shape.pads.max(2)]
        .map(|n| {
            let (p, q) = (a.pad(shape, n), b.pad(shape, n));
            (p[0] - q[0]).hypot(p[1] - q[1])
        })
        .into_iter()
        .fold(0.0, f64::max)
}

/// Whether both ends lie in the bay, more or less.
fn inside(first: [f64; 2], along: [f64; 2], shape: &Shape, from: [f64; 2], to: [f64; 2]) -> bool {
    let lie = Lie { first, along, score: 0.0 };
    [-shape.end, shape.length - shape.end].iter().all(|u| {
        let p = lie.point(*u, 0.0);
        (0..2).all(|k| p[k] > from[k] - OUT && p[k] < to[k] + OUT)
    })
}

/// The best lies in one picture of edges: for each place along, the best height, both ways round.
fn lies(edges: &Edges, shape: &Shape, allowed: &dyn Fn([f64; 2], [f64; 2]) -> bool) -> Vec<Lie> {
    let mut out = Vec::new();
    for way in [1.0, -1.0] {
        let along = edges.along.map(|x| way * x);
        for i in 0..edges.width {
            let mut top: Option<Lie> = None;
            for j in 0..edges.height {
                let first = edges.place(i, j);
                if !allowed(first, along) {
                    continue;
                }
                let score = score(edges, shape, edges.u(i), edges.v(j), way, top.map_or(0.0, |t| t.score));
                if top.is_none_or(|t| score > t.score) {
                    top = Some(Lie { first, along, score });
                }
            }
            out.extend(top.filter(|t| t.score > 0.5 * LEAST));
        }
    }
    out
}

/// How well the edges fit a strip whose pad 1 is at (u, v), its handle to the right (`way` 1) or left (−1). What cannot get
/// above `least` is given up early.
fn score(edges: &Edges, shape: &Shape, u: f64, v: f64, way: f64, least: f64) -> f64 {
    let at = |s: f64| u + way * s;
    let (near, far) = (at(-shape.end), at(shape.length - shape.end));
    let half = shape.width / 2.0;
    let sides = edges.run(near, far, v - half) + edges.run(near, far, v + half);
    // The rest cannot give more than this.
    if sides + 4.4 * Edges::MOST < least {
        return 0.0;
    }
    let beyond = [
        (at(-shape.end - 5.0), at(-shape.end - 1.5)),
        (at(shape.length - shape.end + 1.5), at(shape.length - shape.end + 5.0)),
    ];
    let beyond: f64 = beyond.iter().map(|(a, b)| edges.run(*a, *b, v - half) + edges.run(*a, *b, v + half)).sum();
    let ends = edges.step(near, v) + edges.step(far, v);
    let (p, n) = (shape.pad / 2.0, shape.pads as f64);
    let mut pads = 0.0;
    let mut flanks = 0.0;
    let mut plain = 0.0;
    for k in 0..shape.pads {
        let m = k as f64 * shape.pitch;
        pads += (edges.step(at(m - p), v) + edges.step(at(m + p), v)) / (2.0 * n);
        let (a, b) = (at(m - p + 0.5), at(m + p - 0.5));
        flanks += (edges.run(a, b, v - p) + edges.run(a, b, v + p)) / (2.0 * n);
        plain += edges.steps(at(m - p + 1.2), at(m + p - 1.2), v) / n;
    }
    let last = (n - 1.0) * shape.pitch + p;
    let (from, to) = (last + 1.5, shape.length - shape.end - 1.5);
    let handle = if to - from > 2.0 { edges.steps(at(from), at(to), v) } else { 0.0 };
    sides - 0.3 * beyond + 0.7 * ends + 2.0 * pads + flanks - plain - 2.0 * handle
}

/// A lie made better in small steps about it.
fn refined(view: &View, shape: &Shape, start: Lie, from: [f64; 2], to: [f64; 2], noise: [f64; 2]) -> Lie {
    let mut best = Lie { score: f64::MIN, ..start };
    let mut degrees = start.along[1].atan2(start.along[0]).to_degrees();
    let way = if start.along[0] < 0.0 { -1.0 } else { 1.0 };
    if way < 0.0 {
        degrees += if degrees > 0.0 { -180.0 } else { 180.0 };
    }
    for turn in -4..=4 {
        let angle = degrees + f64::from(turn) * FINE.0;
        let edges = Edges::new(view, from, to, angle, FINE.1).against(noise);
        let [u, v] = edges.frame(start.point(shape.length / 2.0 - shape.end, 0.0));
        let u = u - way * (shape.length / 2.0 - shape.end);
        for i in -5..=5 {
            for j in -5..=5 {
                let (u, v) = (u + f64::from(i) * FINE.1, v + f64::from(j) * FINE.1);
                let score = score(&edges, shape, u, v, way, f64::MIN);
                if score > best.score {
                    best = Lie { first: edges.back([u, v]), along: edges.along.map(|x| way * x), score };
                }
            }
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHAPE: Shape = Shape { length: 70.5, width: 6.0, pad: 5.0, pitch: 7.4, end: 4.5, pads: 5 };
    const DYES: [[f64; 3]; 5] =
        [[-0.1, -0.9, -0.2], [-0.1, -0.2, -1.4], [-0.9, -0.3, -0.4], [-0.2, -0.6, -1.0], [-0.3, -0.4, -0.1]];
    /// Pads as white as the strip, but for a faint rim.
    const PALE: [[f64; 3]; 5] = [[-0.03, -0.03, -0.05]; 5];

    /// Paper with a strip, its shadow to the lower right, 0.6 % of noise a cell and faint blotches.
    fn bay(shape: &Shape, lie: Option<&Lie>, dyes: &[[f64; 3]; 5]) -> View {
        let bay = Layout::first().bay;
        let on_body =
            |q: [f64; 2]| q[0] > -shape.end && q[0] < shape.length - shape.end && q[1].abs() < shape.width / 2.0;
        let seed = std::cell::Cell::new(7u32);
        let noise = || {
            seed.set(seed.get().wrapping_mul(1_664_525).wrapping_add(1_013_904_223));
            0.006 * 3f64.sqrt() * (f64::from(seed.get() >> 8) / f64::from(1 << 23) - 1.0)
        };
        View::drawn([bay.x, bay.y], [bay.x + bay.w, bay.y + bay.h], |p| {
            let blotch = 0.004 * ((p[0] * 0.9).sin() + (p[1] * 1.1 + p[0] * 0.3).sin());
            let mut ink = [0.0; 3];
            if let Some(lie) = lie {
                let within = |p: [f64; 2]| {
                    let d = [p[0] - lie.first[0], p[1] - lie.first[1]];
                    [d[0] * lie.along[0] + d[1] * lie.along[1], d[1] * lie.along[0] - d[0] * lie.along[1]]
                };
                let q = within(p);
                if on_body(q) {
                    ink = [-0.01; 3];
                    let near = (q[0] / shape.pitch).round();
                    let edge = (q[0] - near * shape.pitch).abs().max(q[1].abs()) - shape.pad / 2.0;
                    if near >= 0.0 && (near as usize) < shape.pads && edge < 0.0 {
                        let rim = if edge > -0.35 { -0.06 } else { 0.0 };
                        ink = dyes[near as usize].map(|d| d + rim);
                    }
                } else if on_body(within([p[0] - 0.7, p[1] - 0.7])) {
                    ink = [-0.15; 3];
                }
            }
            ink.map(|x| x + blotch + noise())
        })
    }

    fn lie(shape: &Shape, degrees: f64, way: f64) -> Lie {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let along = [way * cos, way * sin];
        // Its middle a little off the bay's.
        let to_middle = shape.length / 2.0 - shape.end;
        let first = [77.3 - to_middle * along[0], 62.1 - to_middle * along[1]];
        Lie { first, along, score: 0.0 }
    }

    /// A pad is sampled to 1.3 mm from its middle, of 2.5 mm with a rim of 0.35 mm: so much off along or across is still clear
    /// of it.
    const CLEAR: f64 = 2.5 - 1.3 - 0.35;

    #[test]
    fn every_pad_is_in_its_place_at_any_angle_and_either_way_round() {
        let layout = Layout::first();
        let mut wrong = Vec::new();
        for dyes in [&DYES, &PALE] {
            for degrees in [-30.0, -17.3, 0.0, 8.2, 30.0] {
                for way in [1.0, -1.0] {
                    let drawn = lie(&SHAPE, degrees, way);
                    let found = find(&bay(&SHAPE, Some(&drawn), dyes), &layout, &SHAPE);
                    let Found::One(seen) = found else { panic!("{degrees}° {way}: {found:?}") };
                    let off = (1..=SHAPE.pads).fold(0.0, |most: f64, n| {
                        let (p, q) = (drawn.pad(&SHAPE, n), seen.pad(&SHAPE, n));
                        let d = [q[0] - p[0], q[1] - p[1]];
                        let [x, y] = drawn.along;
                        most.max((d[0] * x + d[1] * y).abs()).max((d[1] * x - d[0] * y).abs())
                    });
                    let dyes = if dyes == &PALE { "pale" } else { "dyed" };
                    if off >= CLEAR {
                        wrong.push(format!("{degrees}° {way} {dyes}: {off:.2} mm off"));
                    }
                }
            }
        }
        assert!(wrong.is_empty(), "{wrong:?}");
    }

    #[test]
    fn a_strip_alike_from_both_ends_may_lie_either_way() {
        let shape = Shape { length: 2.0 * 4.5 + 4.0 * 7.4, ..SHAPE };
        let drawn = lie(&shape, 6.0, 1.0);
        let found = find(&bay(&shape, Some(&drawn), &DYES), &Layout::first(), &shape);
        let Found::EitherWay(a, b) = found else { panic!("{found:?}") };
        assert!(apart(&a, &drawn, &shape).min(apart(&b, &drawn, &shape)) < 0.75, "{a:?} {b:?}");
        assert!(a.along[0] * b.along[0] < 0.0, "one each way");
    }

    #[test]
    fn bare_paper_is_no_strip() {
        let layout = Layout::first();
        assert_eq!(find(&bay(&SHAPE, None, &DYES), &layout, &SHAPE), Found::None);
    }
}
