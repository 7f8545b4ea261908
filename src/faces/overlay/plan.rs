//! Where everything of an overlay goes, in its pixels; nothing is drawn here.
//!
//! The photo fills the top left. Plates stand below it in the order of their samples from left to right, or to its
//! right in their order from top to bottom where samples lie one above the other (a strip); so lines to them do not cross.

use super::Shown;
use super::words::{self, Words};
use crate::faces::lettering::{self, Weight};
use crate::reading::PhotoReading;

/// A rectangle of pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Area {
    pub x: i32,
    pub y: i32,
    pub w: u32,
    pub h: u32,
}

impl Area {
    fn right(self) -> i32 {
        self.x + self.w as i32
    }

    fn foot(self) -> i32 {
        self.y + self.h as i32
    }

    fn meets(self, other: Area) -> bool {
        self.x < other.right() && other.x < self.right() && self.y < other.foot() && other.y < self.foot()
    }
}

/// A line of text: its left end and baseline.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    pub text: String,
    pub at: (f32, f32),
    pub em: f32,
    pub weight: Weight,
}

/// What is said of one sample, or of the photo.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Plate {
    pub area: Area,
    pub tag: Option<String>,
    pub lines: Vec<Line>,
    /// From the sample to the plate.
    pub leader: Option<[[f32; 2]; 3]>,
    pub urgent: bool,
}

/// A station's name beside its sample.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tag {
    pub text: String,
    pub at: Area,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Outline {
    Card,
    Liquid,
    Used,
    Label,
}

/// One kind of outline and what it means.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Entry {
    pub kind: Outline,
    pub line: [[f32; 2]; 2],
    pub text: &'static str,
    pub at: (f32, f32),
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Plan {
    pub size: (u32, u32),
    /// Running text, pixels to the em.
    pub em: f32,
    pub card: Option<[[f32; 2]; 4]>,
    /// A sample each, in the reading's order; after them the clear vial, if there is one.
    pub outlines: Vec<Vec<Vec<[f32; 2]>>>,
    /// Outlines of the labels in the photo.
    pub labels: Vec<[[f32; 2]; 4]>,
    pub plates: Vec<Plate>,
    pub tags: Vec<Tag>,
    pub legend: Vec<Entry>,
}

/// Narrowest and widest plate, in ems.
const NARROW: f32 = 12.0;
const WIDE: f32 = 30.0;
/// Between photo and plates, and between plates, in ems.
const GUTTER: f32 = 2.6;
const GAP: f32 = 0.7;

/// White space inside a plate.
pub(super) fn pad(em: f32) -> u32 {
    (em * 0.6) as u32
}

/// Size of a label with this text.
pub(super) fn tag_size(text: &str, em: f32) -> (u32, u32) {
    let h = (em * 1.5).ceil() as u32;
    ((lettering::width(text, em, Weight::Bold) + em * 0.8).ceil().max(h as f32) as u32, h)
}

impl Plan {
    pub fn new(photo: (u32, u32), scale: f64, reading: &PhotoReading, labels: &[Shown]) -> Self {
        let em = (photo.0.max(photo.1) as f32 / 72.0).clamp(15.0, 22.0);
        // Pixel centres: photo pixel 0 is `scale` overlay pixels wide.
        let place = |p: [f64; 2]| p.map(|v| ((v + 0.5) * scale - 0.5) as f32);
        let outlines: Vec<Vec<Vec<[f32; 2]>>> = reading
            .samples
            .iter()
            .map(|s| &s.outlines)
            .chain(reading.clear.iter().map(|c| &c.outlines))
            .map(|outlines| outlines.iter().map(|o| o.iter().copied().map(place).collect()).collect())
            .collect();
        let mut plan = Self {
            size: photo,
            em,
            card: reading.card.map(|c| c.map(place)),
            plates: Vec::new(),
            tags: Vec::new(),
            legend: Vec::new(),
            labels: labels.iter().map(|l| l.outline.map(place)).collect(),
            outlines,
        };
        let bounds: Vec<Option<Area>> = plan.outlines.iter().map(|o| bound(o)).collect();
        let beside = stacked(&bounds);
        let mut order: Vec<usize> = (0..reading.samples.len()).collect();
        let along = |a: Area| if beside { a.y * 2 + a.h as i32 } else { a.x * 2 + a.w as i32 };
        order.sort_by_key(|&i| bounds[i].map_or(i32::MAX, along));
        let said: Vec<(usize, Words)> =
            order.iter().map(|&i| (i, words::labelled(&reading.samples[i], reading, labels))).collect();
        let names: Vec<&str> = reading.samples.iter().map(|s| s.station.as_str()).collect();
        if beside {
            plan.plates_beside(photo, &said, &names, &bounds);
        } else {
            plan.plates_below(photo, &said, &names, &bounds);
        }
        let clear = reading.clear.as_ref().map(|c| format!("{} clear", c.station));
        let tags: Vec<&str> = names.iter().copied().chain(clear.as_deref()).collect();
        plan.put_tags(photo, &tags, &bounds);
        plan.put_foot(reading);
        plan
    }

    fn gap(&self) -> i32 {
        (self.em * GAP) as i32
    }

    fn gutter(&self) -> i32 {
        (self.em * GUTTER) as i32
    }

    fn plates_below(&mut self, photo: (u32, u32), said: &[(usize, Words)], names: &[&str], bounds: &[Option<Area>]) {
        if said.is_empty() {
            return;
        }
        let (gap, wide) = (self.gap(), photo.0 as i32);
        let fitting = ((wide - gap) / ((self.em * NARROW) as i32 + gap)).max(1) as usize;
        let columns = said.len().min(fitting);
        let width = ((wide - gap) / columns as i32 - gap).min((self.em * WIDE) as i32).max(1);
        let block = columns as i32 * (width + gap) - gap;
        // The block stands under its samples as far as the picture's edges let it.
        let seen: Vec<i32> = bounds.iter().flatten().map(|a| a.x + a.w as i32 / 2).collect();
        let middle = if seen.is_empty() { wide / 2 } else { seen.iter().sum::<i32>() / seen.len() as i32 };
        let left = (middle - block / 2).clamp(gap.min(wide - gap - block), (wide - gap - block).max(gap));
        let one_row = columns == said.len();
        let mut y = photo.1 as i32 + if one_row && !seen.is_empty() { self.gutter() } else { gap };
        for row in said.chunks(columns) {
            let first = self.plates.len();
            for (column, (i, words)) in row.iter().enumerate() {
                let x = left + column as i32 * (width + gap);
                let mut plate = set(words, Some(names[*i]), (x, y), width as u32, self.em);
                let foot = bounds[*i].filter(|_| one_row).map(|a| [(a.x + a.w as i32 / 2) as f32, a.foot() as f32]);
                plate.leader = foot
                    .map(|[fx, fy]| [[fx, fy], [fx, photo.1 as f32], [(x + width / 2) as f32, y as f32]])
                    .filter(|l| clear(l, *i, bounds));
                self.plates.push(plate);
            }
            let tallest = self.plates[first..].iter().map(|p| p.area.h).max().unwrap_or(0);
            self.plates[first..].iter_mut().for_each(|p| p.area.h = tallest);
            y += tallest as i32 + gap;
        }
        self.size.1 = y as u32;
    }

    fn plates_beside(&mut self, photo: (u32, u32), said: &[(usize, Words)], names: &[&str], bounds: &[Option<Area>]) {
        let (gap, width) = (self.gap(), (self.em * WIDE * 0.85) as u32);
        let x = photo.0 as i32 + self.gutter();
        let mut y = gap;
        for (i, words) in said {
            let mut plate = set(words, Some(names[*i]), (x, y), width, self.em);
            let middle = y + plate.area.h as i32 / 2;
            plate.leader = bounds[*i]
                .map(|a| [a.right() as f32, (a.y + a.h as i32 / 2) as f32])
                .map(|[fx, fy]| [[fx, fy], [photo.0 as f32, fy], [x as f32, middle as f32]])
                .filter(|l| clear(l, *i, bounds));
            y = plate.area.foot() + gap;
            self.plates.push(plate);
        }
        self.size = (x as u32 + width + gap as u32, photo.1.max(y as u32));
    }

    /// A label beside each sample, on the first side where it covers no sample and no other label.
    fn put_tags(&mut self, photo: (u32, u32), names: &[&str], bounds: &[Option<Area>]) {
        let near = (self.em * 0.5) as i32;
        for (i, own) in bounds.iter().enumerate() {
            let Some(own) = *own else { continue };
            let (w, h) = tag_size(names[i], self.em);
            let (cx, cy) = (own.x + (own.w as i32 - w as i32) / 2, own.y + (own.h as i32 - h as i32) / 2);
            let (left, right) = (own.x - near - w as i32, own.right() + near);
            let places = [(cx, own.foot() + near), (right, cy), (left, cy), (cx, own.y - near - h as i32)];
            let free = places.into_iter().map(|(x, y)| Area { x, y, w, h }).find(|a| {
                (0..=photo.0 as i32 - w as i32).contains(&a.x)
                    && (0..=photo.1 as i32 - h as i32).contains(&a.y)
                    && !bounds.iter().flatten().any(|b| b.meets(*a))
                    && !self.tags.iter().any(|t| t.at.meets(*a))
            });
            self.tags.extend(free.map(|at| Tag { text: names[i].to_string(), at }));
        }
    }

    /// What was noticed about the whole photo, and what the outlines mean.
    fn put_foot(&mut self, reading: &PhotoReading) {
        let (gap, wide) = (self.gap(), self.size.0 as i32);
        // Plates end with a gap; a bare photo does not.
        let mut y = if self.plates.iter().any(|p| p.area.foot() + gap == self.size.1 as i32) {
            self.size.1 as i32
        } else {
            self.size.1 as i32 + gap
        };
        if let Some(words) = words::photo(reading) {
            let plate = set(&words, None, (gap, y), (wide - 2 * gap).max(1) as u32, self.em);
            y = plate.area.foot() + gap;
            self.plates.push(plate);
        }
        let several = self.outlines.iter().any(|o| o.len() > 1);
        let any = self.outlines.iter().any(|o| !o.is_empty());
        let kinds = [
            (Outline::Card, self.card.is_some(), "the card"),
            (Outline::Liquid, several, "the liquid"),
            (Outline::Used, any, "what was measured"),
            (Outline::Label, !self.labels.is_empty(), "labels"),
        ];
        let (em, stroke) = (self.em, self.em * 4.0);
        let (mut x, mut row) = (gap as f32, y as f32 + em * 0.9);
        for (kind, _, text) in kinds.into_iter().filter(|k| k.1) {
            let end = x + stroke + em * 0.5 + lettering::width(text, em * 0.85, Weight::Regular);
            if end > wide as f32 - gap as f32 && x > gap as f32 {
                (x, row) = (gap as f32, row + em * 1.5);
            }
            let line = [[x, row], [x + stroke, row]];
            self.legend.push(Entry { kind, line, text, at: (x + stroke + em * 0.5, row + em * 0.3) });
            x += stroke + em * 2.0 + lettering::width(text, em * 0.85, Weight::Regular);
            y = (row + em * 1.1) as i32;
        }
        self.size.1 = y as u32;
    }
}

/// The rectangle of pixels around a sample's outlines.
fn bound(outlines: &[Vec<[f32; 2]>]) -> Option<Area> {
    let points = || outlines.iter().flatten().filter(|p| p.iter().all(|v| v.is_finite()));
    points().next()?;
    let low = |axis: usize| points().map(|p| p[axis]).fold(f32::MAX, f32::min).floor() as i32;
    let high = |axis: usize| points().map(|p| p[axis]).fold(f32::MIN, f32::max).ceil() as i32;
    let (x, y) = (low(0), low(1));
    Some(Area { x, y, w: (high(0) - x + 1) as u32, h: (high(1) - y + 1) as u32 })
}

/// Whether samples lie more one above the other than side by side.
fn stacked(bounds: &[Option<Area>]) -> bool {
    let spread = |middle: fn(&Area) -> i32| {
        let places = || bounds.iter().flatten().map(middle);
        places().max().unwrap_or(0) - places().min().unwrap_or(0)
    };
    spread(|a| a.y + a.h as i32 / 2) > spread(|a| a.x + a.w as i32 / 2)
}

/// Whether a leader's way over the photo, its first piece, keeps off the other samples.
fn clear(leader: &[[f32; 2]; 3], own: usize, bounds: &[Option<Area>]) -> bool {
    let ([ax, ay], [bx, by]) = (leader[0], leader[1]);
    let (x, y) = (ax.min(bx) as i32 - 4, ay.min(by) as i32 - 4);
    let way = Area { x, y, w: (ax - bx).abs() as u32 + 8, h: (ay - by).abs() as u32 + 8 };
    !bounds.iter().enumerate().any(|(i, b)| i != own && b.is_some_and(|b| b.meets(way)))
}

/// Sets words on a plate of the given width; its height follows.
fn set(words: &Words, tag: Option<&str>, (x, y): (i32, i32), width: u32, em: f32) -> Plate {
    let inner = pad(em) as f32;
    let (left, mut top) = (x as f32 + inner, y as f32 + inner);
    let column = (width as f32 - 2.0 * inner).max(em);
    let mut lines = Vec::new();
    for (n, saying) in words.sayings.iter().enumerate() {
        let size = em * saying.size;
        // The first saying stands beside the tag.
        let indent = tag.filter(|_| n == 0).map_or(0.0, |t| tag_size(t, em).0 as f32 + em * 0.5);
        let mut step = size * 1.32;
        for text in lettering::wrap(&saying.text, size, saying.weight, (column - indent).max(em)) {
            let at = (left + indent, top + size * if indent > 0.0 { 1.1 } else { 1.0 });
            lines.push(Line { text, at, em: size, weight: saying.weight });
            step = if indent > 0.0 { step.max(em * 1.5) } else { step };
            top += step;
        }
    }
    let h = (top - y as f32 + inner * 0.8).ceil() as u32;
    Plate { area: Area { x, y, w: width, h }, tag: tag.map(String::from), lines, leader: None, urgent: words.urgent }
}

#[cfg(test)]
mod tests;
