//! Cut-out labels: their size, where they are laid, and which of them lie above which station.
//!
//! A label bears a fiducial whose number says a test or a target (a tank, a standard …) of one home; what a number means is
//! not known here. Labels lie side by side, test and target, in the strip of bare paper between the patches and the caps of
//! the vials. Of a label only the marker has to show: its words, below the marker, may hide behind a cap.

use super::family::MODULES;
use super::layout::{Layout, Rect};
use super::markers::Seen;
use super::{Card, CardNumber};
use crate::photo::Photo;
use std::ops::RangeInclusive;

/// Which of a sample's two labels it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LabelKind {
    /// Which test stands below.
    Test,
    /// Which water was tested: a tank, the tap, a standard.
    Target,
}

impl LabelKind {
    /// The numbers of this kind: ids of the family tag36h11.
    pub fn numbers(self) -> RangeInclusive<u32> {
        match self {
            Self::Test => 16..=255,
            Self::Target => 256..=511,
        }
    }

    /// The kind of a number.
    pub fn of(number: u32) -> Option<Self> {
        [Self::Test, Self::Target].into_iter().find(|k| k.numbers().contains(&number))
    }
}

/// Width and height of a label, mm: two of them and a gap fit the 27 mm from station to station.
pub const SIZE: [f64; 2] = [12.0, 16.0];
/// Edge of the marker's black square, mm. A module is an eighth of it, one millimetre: so a photo's pixels a module are its
/// pixels a millimetre. At the least that a card is read with (3.2) a label is found too.
pub const EDGE: f64 = 8.0;
/// Bare paper above the marker, mm; the family asks for one module.
pub const TOP: f64 = 1.2;
/// Bare paper at either side of the marker, mm.
pub const SIDE: f64 = (SIZE[0] - EDGE) / 2.0;

/// A label as it lies in a photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Its number.
    pub number: u32,
    /// Its kind.
    pub kind: LabelKind,
    /// The station it lies above; None between two.
    pub station: Option<String>,
    /// Its outline with the words, in upright pixels, clockwise from its own top left.
    pub outline: [[f64; 2]; 4],
}

/// All labels of a photo.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Labels {
    /// Those that were read, from left to right.
    pub read: Vec<Label>,
    /// Stations above which something lies that looks like a label and cannot be read.
    pub unreadable: Vec<String>,
}

/// A label's marker lies at most this far from its station's line, mm: half a label's width to either side is its place, and
/// from here on it might as well be the neighbour's.
const REACH: f64 = 12.0;

/// The labels on the card.
pub fn labels(photo: &Photo, layout: &Layout, card: &Card) -> Labels {
    let mut read: Vec<(f64, Label)> = card.others.iter().filter_map(|seen| label(seen, layout, card)).collect();
    read.sort_by(|a, b| a.0.total_cmp(&b.0));
    Labels { read: read.into_iter().map(|(_, l)| l).collect(), unreadable: unreadable(photo, layout, card) }
}

fn label(seen: &Seen, layout: &Layout, card: &Card) -> Option<(f64, Label)> {
    let kind = LabelKind::of(seen.id)?;
    let square = seen.corners.map(|c| card.plane.mm(c));
    let centre = [0, 1].map(|i| square.iter().map(|p| p[i]).sum::<f64>() / 4.0);
    let bay = layout.bay;
    if !(0.0..=layout.width).contains(&centre[0]) || !(free_above(layout)..=bay.y + bay.h).contains(&centre[1]) {
        // A spare one that lies on the table.
        return None;
    }
    let outline = outline(&square).map(|p| card.plane.px(p));
    Some((centre[0], Label { number: seen.id, kind, station: station(layout, centre[0]), outline }))
}

/// The station above which a place lies; None between two.
fn station(layout: &Layout, x: f64) -> Option<String> {
    let s = &layout.stations;
    s.x.iter().zip(&s.names).find(|(mark, _)| (x - **mark).abs() <= REACH).map(|(_, name)| name.clone())
}

/// The label's corners from those of its marker, both in mm, clockwise from the top left.
fn outline(square: &[[f64; 2]; 4]) -> [[f64; 2]; 4] {
    let [a, b, _, d] = *square;
    let (right, down) = ([0, 1].map(|i| (b[i] - a[i]) / EDGE), [0, 1].map(|i| (d[i] - a[i]) / EDGE));
    let at = |x: f64, y: f64| [0, 1].map(|i| a[i] + right[i] * x + down[i] * y);
    let (left, top) = (-SIDE, -TOP);
    [at(left, top), at(left + SIZE[0], top), at(left + SIZE[0], top + SIZE[1]), at(left, top + SIZE[1])]
}

/// Bounds (mm) of the paper that a marker other than the card's own stands on.
pub fn paper_of(seen: &Seen, card: &Card) -> Rect {
    let square = seen.corners.map(|c| card.plane.mm(c));
    match LabelKind::of(seen.id) {
        Some(_) => bounds(&outline(&square), CUT),
        None => bounds(&square, 3.0),
    }
}

/// A cut edge casts a shadow, and may be cut wide: this much besides the label, mm.
const CUT: f64 = 0.5;

fn bounds(points: &[[f64; 2]; 4], more: f64) -> Rect {
    let [low, high] =
        [f64::min, f64::max].map(|pick| [0, 1].map(|i| points[1..].iter().fold(points[0][i], |m, p| pick(m, p[i]))));
    let [x, y] = low.map(|v| v - more);
    Rect { x, y, w: high[0] + more - x, h: high[1] + more - y }
}

/// Lower edge of what is printed above the bay, mm.
pub(super) fn free_above(layout: &Layout) -> f64 {
    let bay = layout.bay;
    let above = |r: &Rect| r.y + r.h <= bay.y && r.x < bay.x + bay.w && bay.x < r.x + r.w;
    layout.patches.iter().map(|p| p.rect).filter(above).map(|r| r.y + r.h).fold(0.0, f64::max)
}

/// Cells a millimetre in which labels that cannot be read are looked for, and their window's side, mm.
const PER_MM: f64 = 4.0;
const WINDOW: f64 = 6.0;
/// A marker's modules change from black to white and back this often along a window's lines, level and upright, on average.
/// A cap's edge makes one change, its ribs many in one direction alone.
const CHANGES: f64 = 1.6;
/// Against the paper about it: what is darker is black, what is lighter is white.
const BLACK: f32 = 0.5;
const WHITE: f32 = 0.68;

/// Stations above which there is the pattern of a marker that was not read.
fn unreadable(photo: &Photo, layout: &Layout, card: &Card) -> Vec<String> {
    let number = CardNumber::new(1).map(|n| n.marker(layout)).map(|m| Rect { x: m.x, y: m.y, w: m.edge, h: m.edge });
    let mut known: Vec<Rect> = card.others.iter().map(|s| paper_of(s, card)).collect();
    known.extend(number.map(|r| Rect { x: r.x - 1.0, y: r.y - 1.0, w: r.w + 2.0, h: r.h + 2.0 }));
    let top = free_above(layout) + 0.5;
    // No lower than markers lie: below are caps and vials.
    let foot = layout.bay.y + EDGE + TOP;
    let marks = layout.stations.x.iter().zip(&layout.stations.names);
    let here = |mark: f64| {
        let from = [mark - REACH - EDGE / 2.0, top];
        let grid = Grid::new(photo, card, from, [2.0 * REACH + EDGE, foot - top]);
        grid.windows().any(|(x, y)| {
            let place = Rect { x: from[0] + x, y: from[1] + y, w: WINDOW, h: WINDOW };
            let free = !known.iter().any(|r| meet(r, &place));
            free && grid.changes(x, y).is_some_and(|[level, upright]| level.min(upright) > CHANGES)
        })
    };
    marks.filter(|(mark, _)| here(**mark)).map(|(_, name)| name.clone()).collect()
}

fn meet(a: &Rect, b: &Rect) -> bool {
    a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h
}

/// A piece of the card seen straight on: green, as coded.
struct Grid {
    width: usize,
    height: usize,
    cells: Vec<f32>,
    lightest: f32,
}

impl Grid {
    fn new(photo: &Photo, card: &Card, from: [f64; 2], size: [f64; 2]) -> Self {
        let [width, height] = size.map(|s| (s * PER_MM) as usize);
        let (right, bottom) = (photo.width().saturating_sub(1), photo.height().saturating_sub(1));
        let mut cells = Vec::with_capacity(width * height);
        for j in 0..height {
            let row = card.plane.row([from[0] + 0.5 / PER_MM, from[1] + (j as f64 + 0.5) / PER_MM], 1.0 / PER_MM);
            cells.extend((0..width).map(|i| {
                let [x, y] = row.at(i);
                photo.encoded(((x + 0.5) as u32).min(right), ((y + 0.5) as u32).min(bottom))[1]
            }));
        }
        let lightest = cells.iter().copied().fold(0.0, f32::max);
        Self { width, height, cells, lightest }
    }

    /// Top left corners of all windows, mm.
    fn windows(&self) -> impl Iterator<Item = (f64, f64)> {
        let steps = |n: usize| (0..).map(f64::from).take_while(move |v| (v + WINDOW) * PER_MM <= n as f64);
        let (width, height) = (self.width, self.height);
        steps(height).flat_map(move |y| steps(width).map(move |x| (x, y)))
    }

    /// How often black and white change along the window's lines, level and upright, on average; None without
    /// paper, and without ink.
    fn changes(&self, x: f64, y: f64) -> Option<[f64; 2]> {
        let (i0, j0, n) = ((x * PER_MM) as usize, (y * PER_MM) as usize, (WINDOW * PER_MM) as usize);
        let at = |i: usize, j: usize| self.cells[(j0 + j) * self.width + i0 + i];
        // Bare paper is passed over without a closer look.
        let dark = (0..n)
            .flat_map(|j| (0..n).map(move |i| (i, j)))
            .filter(|(i, j)| at(*i, *j) < BLACK * self.lightest)
            .count();
        if dark * 8 < n * n {
            return None;
        }
        let mut all: Vec<f32> = (0..n * n).map(|k| at(k % n, k / n)).collect();
        let paper = *all.select_nth_unstable_by(n * n * 9 / 10, f32::total_cmp).1;
        let count = |cell: &dyn Fn(usize, usize) -> f32| {
            let mut changes = 0u32;
            for line in 0..n {
                let mut black = None;
                for k in 0..n {
                    let v = cell(line, k) / paper.max(1e-3);
                    let now = match v {
                        v if v < BLACK => true,
                        v if v > WHITE => false,
                        _ => continue,
                    };
                    changes += u32::from(black.is_some_and(|b| b != now));
                    black = Some(now);
                }
            }
            f64::from(changes) / n as f64
        };
        (paper > 0.1).then(|| [count(&|line, k| at(k, line)), count(&|line, k| at(line, k))])
    }
}

// The family asks for a module of bare paper about a marker.
const _: () = assert!(TOP >= EDGE / MODULES as f64);
const _: () = assert!(SIDE >= EDGE / MODULES as f64);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_labels_fit_between_stations_and_above_a_vial() {
        let layout = Layout::first();
        let pitch = layout.stations.x.windows(2).map(|w| w[1] - w[0]).fold(f64::MAX, f64::min);
        assert_eq!(pitch, 27.0);
        assert!(2.0 * SIZE[0] + 2.0 <= pitch);
        // Side by side their markers lie half a label's width off the line, and 6 mm of clumsiness bind them still.
        assert_eq!(SIZE[0] / 2.0 + 6.0, REACH);
        assert!(2.0 * REACH < pitch);
        assert_eq!(free_above(&layout), 27.0);
    }

    #[test]
    fn numbers_have_their_kinds() {
        let kinds: Vec<_> = [15, 16, 255, 256, 511, 512].map(LabelKind::of).into();
        let (test, target) = (Some(LabelKind::Test), Some(LabelKind::Target));
        assert_eq!(kinds, [None, test, test, target, target, None]);
    }

    #[test]
    fn a_label_binds_to_the_station_below() {
        let layout = Layout::first();
        let at = |x: f64| station(&layout, x);
        assert_eq!(at(34.5 - 6.0).as_deref(), Some("A"));
        assert_eq!(at(46.4).as_deref(), Some("A"));
        assert_eq!(at(48.0), None, "half way to B");
        assert_eq!(at(49.6).as_deref(), Some("B"));
        assert_eq!(at(127.4).as_deref(), Some("D"));
        assert_eq!((at(21.0), at(128.0)), (None, None));
    }

    #[test]
    fn the_outline_turns_with_the_marker() {
        let (s, c) = 15f64.to_radians().sin_cos();
        let turned = |x: f64, y: f64| [60.0 + c * x - s * y, 33.0 + s * x + c * y];
        let square = [turned(-4.0, -4.0), turned(4.0, -4.0), turned(4.0, 4.0), turned(-4.0, 4.0)];
        let found = outline(&square);
        let want = [turned(-6.0, -5.2), turned(6.0, -5.2), turned(6.0, 10.8), turned(-6.0, 10.8)];
        for (a, b) in found.iter().flatten().zip(want.iter().flatten()) {
            assert!((a - b).abs() < 1e-9, "{found:?} {want:?}");
        }
    }
}
