//! Panels, legend and list of events, one below another.

use super::panel::{self, EM, LEFT};
use super::scene::{Anchor, Scene};
use super::{Chart, axis};
use crate::advice::{Level, Trend};
use crate::faces::lettering::{self, Weight};

/// Width of every picture that stands alone.
pub(super) const WIDTH: f64 = 760.0;
/// Width of a panel for a small screen, where its left end may be moved out of sight, and of the legend there.
const NARROW: f64 = 480.0;
const NARROW_LEGEND: f64 = 320.0;
const GAP: f64 = 12.0;
const LEADING: f64 = 15.0;
/// More events than these are not listed one by one.
const LISTED: usize = 60;
/// The browser's own letters may be wider than those that are measured here.
const ROOM: f64 = 1.12;

/// All panels with title, legend and the events' words.
pub(super) fn whole(chart: &Chart) -> Scene {
    let days = window(chart);
    let mut scene = Scene::new(WIDTH, format!("{}, {days}", chart.title));
    let mut y = 24.0;
    scene.bold([LEFT, y], 15.0, chart.title.as_str());
    scene.text([WIDTH - 14.0, y], EM, Anchor::End, days);
    y += 10.0;
    y = signs(&mut scene, y);
    for trend in &chart.trends {
        y += GAP;
        panel::panel(&mut scene, chart, trend, y);
        y += panel::HEIGHT;
    }
    y = events(&mut scene, chart, y + GAP);
    scene.text(
        [LEFT, y + LEADING],
        EM,
        Anchor::Start,
        "Estimates with their 95 % intervals, no proof. Not for drinking water.",
    );
    scene.height = y + LEADING + 14.0;
    scene
}

/// One panel; narrow for a small screen.
pub(super) fn one(chart: &Chart, trend: &Trend, narrow: bool) -> Scene {
    let last = chart.last(trend).map_or(String::new(), |p| format!("; last: {}", panel::said(chart, trend, p)));
    let width = if narrow { NARROW } else { WIDTH };
    let mut scene = Scene::new(width, format!("{}, {}{last}", trend.subject.words(), window(chart)));
    panel::panel(&mut scene, chart, trend, 0.0);
    scene.height = panel::HEIGHT;
    scene
}

/// The signs alone.
pub(super) fn legend(narrow: bool) -> Scene {
    let width = if narrow { NARROW_LEGEND } else { WIDTH };
    let mut scene = Scene::new(width, "The signs in the charts");
    scene.height = signs(&mut scene, 0.0) + 4.0;
    scene
}

fn window(chart: &Chart) -> String {
    let [from, to] = [chart.window.0, chart.window.1].map(|t| axis::day(&chart.zone, t));
    format!("{from} to {to}")
}

/// The legend from `top` on, in rows; gives its foot.
fn signs(scene: &mut Scene, top: f64) -> f64 {
    type Draw = fn(&mut Scene, [f64; 2]);
    let limit = |level: Level| -> Draw {
        match level {
            Level::Danger => |s, [x, y]| s.line(&[[x - 12.0, y], [x + 12.0, y]], panel::limit(Level::Danger)),
            Level::Urgent => |s, [x, y]| s.line(&[[x - 12.0, y], [x + 12.0, y]], panel::limit(Level::Urgent)),
            _ => |s, [x, y]| s.line(&[[x - 12.0, y], [x + 12.0, y]], panel::limit(Level::Caution)),
        }
    };
    let all: [(Draw, f64, &str); 9] = [
        (|s, at| panel::sample_value(s, at, false), 8.0, "value with 95 % interval"),
        (|s, at| panel::sample_value(s, at, true), 8.0, "in doubt: may alarm, not reassure"),
        (panel::sample_bar, 8.0, "not detected: below the bar's top"),
        (panel::sample_open, 8.0, "above the bar's foot"),
        (limit(Level::Caution), 14.0, "! caution"),
        (limit(Level::Danger), 14.0, "!! danger"),
        (limit(Level::Urgent), 14.0, "!!! urgent"),
        (|s, [x, y]| s.line(&[[x, y - 8.0], [x, y + 8.0]], panel::EVENT), 6.0, "event, by its number"),
        (|s, [x, y]| s.line(&[[x - 8.0, y + 4.0], [x + 8.0, y - 4.0]], panel::FRAME), 10.0, "from value to value"),
    ];
    let left = if scene.width < WIDTH { 4.0 } else { LEFT };
    let (mut x, mut y) = (left, top + 12.0);
    for (draw, half, words) in all {
        let wide = f64::from(lettering::width(words, EM as f32, Weight::Regular)) * ROOM;
        if x + 2.0 * half + 6.0 + wide > scene.width - 14.0 {
            (x, y) = (left, y + 22.0);
        }
        draw(scene, [x + half, y]);
        scene.text([x + 2.0 * half + 6.0, y + 3.8], EM, Anchor::Start, words);
        x += 2.0 * half + 6.0 + wide + 16.0;
    }
    y + 12.0
}

/// What the numbers of events stand for; gives the foot of the list.
fn events(scene: &mut Scene, chart: &Chart, top: f64) -> f64 {
    let mut y = top;
    let left_out = chart.events.len().saturating_sub(LISTED);
    for e in &chart.events[left_out..] {
        let at = chart.zone.to_datetime(e.at).strftime("%-d %b %Y %H:%M");
        let text = format!("{at}  {}", e.words);
        for (i, line) in lettering::wrap(&text, EM as f32, Weight::Regular, (WIDTH - LEFT - 50.0) as f32 / ROOM as f32)
            .into_iter()
            .enumerate()
        {
            if i == 0 {
                scene.text([LEFT + 20.0, y + EM], EM, Anchor::End, e.number.to_string());
            }
            scene.text([LEFT + 28.0, y + EM], EM, Anchor::Start, line);
            y += LEADING;
        }
    }
    if left_out > 0 {
        let words = format!("Events 1 to {left_out} are not listed here: tintline event list");
        scene.text([LEFT, y + EM], EM, Anchor::Start, words);
        y += LEADING;
    }
    y
}
