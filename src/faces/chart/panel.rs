//! One trend: its frame, limits, events and results.

use super::axis::{self, Scale};
use super::scene::{Anchor, Pen, Scene, Shape, Tone};
use super::{Chart, Mark};
use crate::advice::{Bad, Guide, Level, Point, Shown, Trend};
use crate::faces::lettering::{self, Weight};

/// Margins beside the plot: for numbers, and for the limits' words.
pub(super) const LEFT: f64 = 46.0;
pub(super) const RIGHT: f64 = 150.0;
const TITLE: f64 = 20.0;
const PLOT: f64 = 104.0;
/// Below the plot: the events' numbers, then times.
const EVENTS: f64 = 13.0;
const TIMES: f64 = 15.0;
pub(super) const HEIGHT: f64 = TITLE + PLOT + EVENTS + TIMES;
pub(super) const EM: f64 = 11.0;
const SMALL: f64 = 10.0;
/// Half the width of bars and of whiskers' caps, and a disc's radius.
const BAR: f64 = 4.0;
const CAP: f64 = 3.0;
const DISC: f64 = 3.2;
/// Lines of text stand no closer than this.
const LEADING: f64 = 11.5;

pub(super) const FRAME: Pen = Pen::new(0.8, Tone::Soft);
const GRID: Pen = Pen::new(0.4, Tone::Soft);
const JOIN: Pen = Pen::new(0.8, Tone::Soft);
pub(super) const EVENT: Pen = Pen::new(0.8, Tone::Soft).dashed([1.0, 3.0]);
const SURE: Pen = Pen::new(1.3, Tone::Ink);
const UNSURE: Pen = Pen::new(1.3, Tone::Ink).dashed([2.5, 2.0]);

/// A limit's line: the worse, the shorter its dashes.
pub(super) fn limit(level: Level) -> Pen {
    let pen = Pen::new(1.0, Tone::Ink);
    match level {
        Level::None | Level::Caution => pen.dashed([10.0, 4.0]),
        Level::Danger => pen.dashed([4.0, 3.0]),
        Level::Urgent => pen.dashed([1.2, 2.4]),
    }
}

/// Places in one panel.
struct Plot<'a> {
    chart: &'a Chart,
    scale: Scale,
    left: f64,
    right: f64,
    top: f64,
}

impl Plot<'_> {
    fn foot(&self) -> f64 {
        self.top + PLOT
    }

    fn x(&self, at: jiff::Timestamp) -> f64 {
        self.left + self.chart.place(at) * (self.right - self.left)
    }

    fn y(&self, value: f64) -> f64 {
        self.foot() - self.scale.share(value).clamp(0.0, 1.0) * PLOT
    }

    fn holds(&self, value: f64) -> bool {
        self.scale.low <= value && value <= self.scale.high
    }
}

/// Draws a trend's panel with its upper edge at `top`.
pub(super) fn panel(scene: &mut Scene, chart: &Chart, trend: &Trend, top: f64) {
    let (left, right) = (LEFT, scene.width - RIGHT);
    let plot = Plot { chart, scale: Scale::of(trend), left, right, top: top + TITLE };
    title(scene, &plot, trend);
    frame(scene, &plot);
    events(scene, &plot, &chart.events);
    limits(scene, &plot, &trend.guides);
    joins(scene, &plot, &trend.points);
    for p in &trend.points {
        scene.begin("result", &p.entry, said(chart, trend, p));
        result(scene, &plot, p, trend.from_zero);
        scene.end();
    }
}

/// A result in words, with its time.
pub(super) fn said(chart: &Chart, trend: &Trend, p: &Point) -> String {
    let at = chart.zone.to_datetime(p.at).strftime("%-d %b %Y %H:%M");
    let doubt = if p.doubtful { ", in doubt" } else { "" };
    format!("{} {}{doubt}, {at}", trend.subject.words(), p.words)
}

fn title(scene: &mut Scene, plot: &Plot, trend: &Trend) {
    let base = plot.top - 7.0;
    let name = trend.subject.words();
    scene.bold([plot.left, base], EM + 1.0, name);
    let wide = f64::from(lettering::width(name, EM as f32 + 1.0, Weight::Bold));
    scene.text([plot.left + wide * 1.06 + 8.0, base], EM, Anchor::Start, trend.unit.as_str());
    if let Some(last) = plot.chart.last(trend) {
        let at = axis::day(&plot.chart.zone, last.at);
        let doubt = if last.doubtful { ", in doubt" } else { "" };
        scene.text([plot.right, base], EM, Anchor::End, format!("last {}{doubt}, {at}", last.words));
    }
}

fn frame(scene: &mut Scene, plot: &Plot) {
    for tick in &plot.scale.ticks {
        let y = plot.y(*tick);
        scene.line(&[[plot.left, y], [plot.right, y]], GRID);
        scene.text([plot.left - 6.0, y + 3.6], SMALL, Anchor::End, plot.scale.label(*tick));
    }
    scene.line(&[[plot.left, plot.top], [plot.left, plot.foot()], [plot.right, plot.foot()]], FRAME);
    let most = (plot.right - plot.left) / 64.0;
    let base = plot.foot() + EVENTS + TIMES - 4.0;
    for (at, words) in axis::times(&plot.chart.zone, plot.chart.window, most) {
        let x = plot.x(at);
        scene.line(&[[x, plot.foot()], [x, plot.foot() + 4.0]], FRAME);
        scene.text([x, base], SMALL, Anchor::Middle, words);
    }
}

/// A dotted line for each event and its number below; numbers that would touch become a range.
fn events(scene: &mut Scene, plot: &Plot, events: &[Mark]) {
    const CLOSE: f64 = 15.0;
    let mut groups: Vec<(f64, f64, usize, usize)> = Vec::new();
    for e in events {
        let x = plot.x(e.at);
        scene.line(&[[x, plot.top], [x, plot.foot() + 3.0]], EVENT);
        match groups.last_mut() {
            Some(g) if x - g.1 < CLOSE => (g.1, g.3) = (x, e.number),
            _ => groups.push((x, x, e.number, e.number)),
        }
    }
    for (from, to, first, last) in groups {
        let words = if first == last { format!("{first}") } else { format!("{first}–{last}") };
        scene.text([f64::midpoint(from, to), plot.foot() + EVENTS - 1.0], SMALL - 1.0, Anchor::Middle, words);
    }
}

/// Lines of limits within the scale with their words at the right; the nearest beyond it in words alone.
fn limits(scene: &mut Scene, plot: &Plot, guides: &[Guide]) {
    let x = plot.right + 6.0;
    let words = |g: &Guide| format!("{} {}", g.level.symbol(), g.words());
    let (inside, beyond): (Vec<&Guide>, Vec<&Guide>) = guides.iter().partition(|g| plot.holds(g.value));
    // From the top down, none over another.
    let mut inside: Vec<(f64, &Guide)> = inside.into_iter().map(|g| (plot.y(g.value), g)).collect();
    inside.sort_by(|a, b| a.0.total_cmp(&b.0));
    let above = beyond.iter().filter(|g| g.bad == Bad::Above && g.value > plot.scale.high);
    let mut free = plot.top - LEADING;
    if let Some(g) = above.min_by(|a, b| a.value.total_cmp(&b.value)) {
        free = plot.top;
        scene.text([x, free + 3.6], SMALL, Anchor::Start, format!("higher: {}", words(g)));
    }
    for (y, g) in inside {
        scene.begin("limit", "", words(g));
        scene.line(&[[plot.left, y], [plot.right, y]], limit(g.level));
        free = (y).max(free + LEADING);
        scene.text([x, free + 3.6], SMALL, Anchor::Start, words(g));
        scene.end();
    }
    let below = beyond.iter().filter(|g| g.bad == Bad::Below && g.value < plot.scale.low);
    if let Some(g) = below.max_by(|a, b| a.value.total_cmp(&b.value)) {
        scene.text([x, plot.foot().max(free + LEADING) + 3.6], SMALL, Anchor::Start, format!("lower: {}", words(g)));
    }
}

/// Thin lines from value to value; what is only a limit is not joined.
fn joins(scene: &mut Scene, plot: &Plot, points: &[Point]) {
    for pair in points.windows(2) {
        if let [Some(a), Some(b)] = [&pair[0], &pair[1]].map(|p| p.span.best.map(|v| [plot.x(p.at), plot.y(v)])) {
            scene.line(&[a, b], JOIN);
        }
    }
}

fn result(scene: &mut Scene, plot: &Plot, p: &Point, from_zero: bool) {
    let x = plot.x(p.at);
    let pen = if p.doubtful { UNSURE } else { SURE };
    match p.shown {
        Shown::None => closed_bar(scene, plot, x, p.span.high, pen),
        Shown::Above => open_bar(scene, x, plot.y(p.span.low), plot.top, pen),
        Shown::Below if from_zero => closed_bar(scene, plot, x, p.span.high, pen),
        Shown::Below => open_bar(scene, x, plot.y(p.span.high), plot.foot(), pen),
        Shown::Some => value(scene, plot, x, p, pen),
    }
}

/// From zero to a limit, closed: somewhere in it.
fn closed_bar(scene: &mut Scene, plot: &Plot, x: f64, limit: f64, pen: Pen) {
    let (y, foot) = (plot.y(limit), plot.foot());
    scene.area(&[[x - BAR, foot], [x - BAR, y], [x + BAR, y], [x + BAR, foot]], Tone::Ground, Some(pen));
    if !plot.holds(limit) {
        point_to(scene, x, plot.top, -1.0);
    }
}

/// From a limit to the end of the plot, open there, with an arrow.
pub(super) fn open_bar(scene: &mut Scene, x: f64, y: f64, end: f64, pen: Pen) {
    scene.line(&[[x - BAR, end], [x - BAR, y], [x + BAR, y], [x + BAR, end]], pen);
    point_to(scene, x, end, (end - y).signum());
}

/// A full triangle at a place, pointing up (−1) or down (1).
fn point_to(scene: &mut Scene, x: f64, y: f64, way: f64) {
    let base = y - way * 6.0;
    scene.area(&[[x - BAR, base], [x, y], [x + BAR, base]], Tone::Ink, None);
}

/// A disc at the value on a whisker over its interval; without a value the whisker alone, stronger.
fn value(scene: &mut Scene, plot: &Plot, x: f64, p: &Point, pen: Pen) {
    let whisker = if p.span.best.is_some() { pen } else { Pen { width: 2.2, ..pen } };
    if p.span.low < p.span.high {
        let (low, high) = (plot.y(p.span.low), plot.y(p.span.high));
        scene.line(&[[x, low], [x, high]], whisker);
        for (end, bound, way) in [(low, p.span.low, 1.0), (high, p.span.high, -1.0)] {
            match plot.holds(bound) {
                true => scene.line(&[[x - CAP, end], [x + CAP, end]], SURE),
                // It reaches further than is drawn.
                false => point_to(scene, x, end, way),
            }
        }
    }
    if let Some(best) = p.span.best {
        disc(scene, [x, plot.y(best)], p.doubtful);
    }
}

/// Full for what counts, hollow for what is in doubt.
pub(super) fn disc(scene: &mut Scene, at: [f64; 2], doubtful: bool) {
    let fill = if doubtful { Tone::Ground } else { Tone::Ink };
    scene.shapes.push(Shape::Disc { at, radius: DISC, fill, pen: SURE });
}

/// A small whisker with its disc, for the legend.
pub(super) fn sample_value(scene: &mut Scene, at: [f64; 2], doubtful: bool) {
    let [x, y] = at;
    let pen = if doubtful { UNSURE } else { SURE };
    scene.line(&[[x, y - 7.0], [x, y + 7.0]], pen);
    [y - 7.0, y + 7.0].into_iter().for_each(|end| scene.line(&[[x - CAP, end], [x + CAP, end]], SURE));
    disc(scene, at, doubtful);
}

/// A small closed bar, for the legend.
pub(super) fn sample_bar(scene: &mut Scene, [x, y]: [f64; 2]) {
    let (top, foot) = (y - 5.0, y + 7.0);
    scene.area(&[[x - BAR, foot], [x - BAR, top], [x + BAR, top], [x + BAR, foot]], Tone::Ground, Some(SURE));
}

/// A small open bar, for the legend.
pub(super) fn sample_open(scene: &mut Scene, [x, y]: [f64; 2]) {
    open_bar(scene, x, y + 6.0, y - 8.0, SURE);
}
