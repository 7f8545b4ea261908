//! Shades that a kit's maker printed, lying in the bay: a row of even rectangles on a slip, or a single one.

mod find;

use find::{Piece, Row};

use super::view::View;
use crate::card::{Card, Layout};
use crate::colour::{Lab, jacobian_lab_of_linear, lab_from_linear};
use crate::finding::{Code, Finding};
use crate::light::Scene;
use crate::numeric::robust::median;
use crate::photo::Photo;

/// One printed shade, in the card's own space.
#[derive(Debug, Clone, PartialEq)]
pub struct Shade {
    /// CIELAB (D65), median over the inner part.
    pub lab: Lab,
    /// Covariance of `lab` from noise and unevenness (not of the correction).
    pub cov: [[f64; 3]; 3],
    /// Outline of the part used, mm on the card's plane.
    pub outline: [[f64; 2]; 4],
    /// Its place was told from its neighbours' even spacing: it cannot be told from the paper it is printed on.
    pub inferred: bool,
}

/// At which end of a row the palest shade is said to lie, where one is expected to look like bare paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Palest {
    /// To the left.
    First,
    /// To the right.
    Last,
    /// None is expected to.
    Nowhere,
}

/// This share of a shade's sides is used, about its middle: edges are blurred, and print bleeds.
const INNER: f64 = 0.7;
/// Places along each side that are looked at.
const GRID: usize = 24;
/// Blocks along each side, for the unevenness.
const BLOCKS: usize = 3;
/// Parts of one shade that differ by more than this (CIELAB) are not one colour.
const UNEVEN_MOST: f64 = 8.0;
/// More than this share of pixels at the end of their range: the colour is not known.
const CLIPPED_MOST: f64 = 0.3;
/// Standard deviation of linear light, paper being 1, in a channel that is at its lower end.
const BELOW: f64 = 0.02;
/// What is taken for a shade as pale as the slip differs from the card's paper by no more than this (CIELAB).
const PALE: f64 = 14.0;

/// Finds `count` printed shades, left to right as they lie on the card, and measures them. The bay must hold nothing else.
pub fn shades(
    photo: &Photo,
    layout: &Layout,
    card: &Card,
    scene: &Scene,
    count: usize,
    palest: Palest,
) -> Result<Vec<Shade>, Vec<Finding>> {
    let bay = layout.bay;
    let view = View::new(photo, card, scene, [bay.x, bay.y], [bay.x + bay.w, bay.y + bay.h]);
    let found = find::rows(&view, [bay.x, bay.y]);
    let Row { mut pieces } = match count {
        1 => find::single(&found),
        _ => find::longest(&found),
    };
    let seen = pieces.len();
    let miscounted = || vec![miscounted(seen, count)];
    let inferred = if count > 2 && seen + 1 == count {
        let ends = [pieces[0].beside(&pieces[1]), pieces[seen - 1].beside(&pieces[seen - 2])];
        let bare = ends.map(|p| measure(photo, card, scene, &p, 0).map(|s| s.is_pale()).unwrap_or(true));
        // One more that shows colour at an end was missed among the edges. Else one cannot be told from the paper.
        match (bare, palest) {
            ([false, true], _) => pieces.insert(0, ends[0]),
            ([true, false], _) => pieces.push(ends[1]),
            ([true, true], Palest::First) => pieces.insert(0, ends[0]),
            ([true, true], Palest::Last) => pieces.push(ends[1]),
            _ => return Err(miscounted()),
        }
        (bare == [true, true]).then_some(if palest == Palest::First { 0 } else { count - 1 })
    } else {
        None
    };
    if pieces.len() != count {
        return Err(miscounted());
    }
    let all = pieces.iter().enumerate().map(|(i, piece)| {
        let shade = measure(photo, card, scene, piece, i + 1)?;
        Ok(Shade { inferred: inferred == Some(i), ..shade })
    });
    all.collect()
}

impl Shade {
    /// Whether it looks like paper.
    fn is_pale(&self) -> bool {
        let [lightness, a, b] = self.lab.0;
        a.hypot(b).hypot(100.0 - lightness) <= PALE
    }
}

fn miscounted(seen: usize, said: usize) -> Finding {
    let seen = match seen {
        0 => "No even row of printed shades was seen in the bay".to_string(),
        1 => "One printed shade was seen in the bay".to_string(),
        n => format!("{n} printed shades in a row were seen in the bay"),
    };
    Finding::doubt(Code::ShadesCount, format!("{seen}, and {said} were named."))
}

fn measure(photo: &Photo, card: &Card, scene: &Scene, piece: &Piece, number: usize) -> Result<Shade, Vec<Finding>> {
    let refuse = |code: Code, sentence: String| vec![Finding::doubt(code, sentence)];
    let (w, h) = (photo.width() as f64 - 1.0, photo.height() as f64 - 1.0);
    let place = |i: usize| INNER * (2.0 * (i as f64 + 0.5) / GRID as f64 - 1.0);
    let (mut clipped, mut black) = (0, [0; 3]);
    let mut all: Vec<(usize, [f64; 3])> = Vec::with_capacity(GRID * GRID);
    for j in 0..GRID {
        for i in 0..GRID {
            let mm = piece.point(place(i), place(j));
            let [x, y] = card.plane.px(mm);
            let (x, y) = (x.round().clamp(0.0, w) as u32, y.round().clamp(0.0, h) as u32);
            let code = photo.encoded(x, y);
            clipped += code.iter().any(|c| *c >= 0.996) as usize;
            (0..3).for_each(|c| black[c] += (code[c] <= 0.004) as usize);
            let seen = scene.relative(photo.linear(x, y).map(f64::from), mm);
            all.push((i * BLOCKS / GRID + BLOCKS * (j * BLOCKS / GRID), seen));
        }
    }
    if clipped as f64 > CLIPPED_MOST * all.len() as f64 {
        return Err(refuse(Code::SampleClipped, format!("The printed shade {number} is beyond the camera's range.")));
    }
    let middle = |part: &mut dyn Iterator<Item = [f64; 3]>| {
        let list: Vec<[f64; 3]> = part.collect();
        [0, 1, 2].map(|c| median(&list.iter().map(|p| p[c]).collect::<Vec<_>>()).unwrap_or(0.0))
    };
    let linear = scene.correction.apply(middle(&mut all.iter().map(|p| p.1)));
    let lab = lab_from_linear(linear);
    let mut cov = [[0.0; 3]; 3];
    let mut uneven: f64 = 0.0;
    for b in 0..BLOCKS * BLOCKS {
        let part = middle(&mut all.iter().filter(|p| p.0 == b).map(|p| p.1));
        let there = lab_from_linear(scene.correction.apply(part));
        let d = [0, 1, 2].map(|i| there.0[i] - lab.0[i]);
        uneven = uneven.max(d.iter().map(|v| v * v).sum::<f64>().sqrt());
        // As for a vial's liquid: a third of the blocks' variance stands behind the median.
        (0..9).for_each(|k| cov[k / 3][k % 3] += d[k / 3] * d[k % 3] / (3 * BLOCKS * BLOCKS) as f64);
    }
    if uneven > UNEVEN_MOST {
        return Err(refuse(Code::SampleUneven, format!("The printed shade {number} is not of one colour.")));
    }
    // A code step of the camera's file; where deep ink leaves a channel at its lower end, all that is left below it.
    let dark = black.map(|b| if b as f64 > CLIPPED_MOST * all.len() as f64 { BELOW.powi(2) } else { 1e-6 });
    let j = jacobian_lab_of_linear(linear);
    for (r, row) in cov.iter_mut().enumerate() {
        for (c, v) in row.iter_mut().enumerate() {
            *v += (0..3).map(|k| j[r][k] * j[c][k] * dark[k]).sum::<f64>();
        }
    }
    let outline = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(x, y)| piece.point(INNER * x, INNER * y));
    Ok(Shade { lab, cov, outline, inferred: false })
}
