//! Charts in the terminal: a row of columns a trend, with its numbers.

use super::Chart;
use super::axis::{self, Scale};
use crate::advice::{Point, Shown, Trend};
use crate::water::significant;
use std::fmt::Write;

/// What the terminal can show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Signs {
    /// Eighths of a block.
    Blocks,
    /// Digits from 1 to 8, for eighths of the scale.
    Ascii,
}

const BLOCKS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];
const DIGITS: [char; 8] = ['1', '2', '3', '4', '5', '6', '7', '8'];

/// Each trend as columns between the ends of the scale, and below them the last result and the limits. A column
/// is a share of the window; of several results in it the highest is shown.
pub fn terminal(chart: &Chart, signs: Signs, columns: usize) -> String {
    let columns = columns.clamp(8, 400);
    let name = |t: &Trend| format!("{} {}", t.subject.words(), t.unit).trim_end().to_string();
    let wide = chart.trends.iter().map(|t| name(t).chars().count()).max().unwrap_or(0);
    let ends: Vec<[String; 2]> = chart
        .trends
        .iter()
        .map(|t| {
            let s = Scale::of(t);
            [s.label(s.low), s.label(s.high)]
        })
        .collect();
    let end = ends.iter().flatten().map(|e| e.len()).max().unwrap_or(0);
    let mut out = String::new();
    // Writing to a String cannot fail.
    for (trend, [low, high]) in chart.trends.iter().zip(&ends) {
        let row = row(chart, trend, signs, columns);
        let name = name(trend);
        let pad = " ".repeat(wide - name.chars().count());
        let _ = writeln!(out, "{name}{pad}  {low:>end$} |{row}| {high}");
        if let Some(p) = chart.last(trend) {
            let doubt = if p.doubtful { ", in doubt" } else { "" };
            let _ = writeln!(out, "    last {}{doubt}, {}", p.words, axis::day(&chart.zone, p.at));
        }
        let limits: Vec<String> = trend.guides.iter().map(|g| format!("{} {}", g.level.symbol(), g.words())).collect();
        if !limits.is_empty() {
            let _ = writeln!(out, "    {}", limits.join(", "));
        }
    }
    let [from, to] = [chart.window.0, chart.window.1].map(|t| axis::day(&chart.zone, t));
    let rest = columns.saturating_sub(from.len());
    let _ = writeln!(out, "{:wide$}  {:end$}  {from}{to:>rest$}", "", "");
    let days = chart.window.1.duration_since(chart.window.0).as_secs_f64() / 86400.0 / columns as f64;
    let steps = match signs {
        Signs::Blocks => "blocks are eighths of the scale",
        Signs::Ascii => "1 to 8 are eighths of the scale",
    };
    let length = match days {
        d if d < 0.95 => format!("{} h", significant(d * 24.0, 2)),
        d if d < 1.05 => "1 day".to_string(),
        d => format!("{} days", significant(d, 2)),
    };
    let _ = writeln!(
        out,
        "A column is {length}; {steps}.\n_ not detected, ^ above the scale of the test, v below it, ? in doubt."
    );
    out
}

fn row(chart: &Chart, trend: &Trend, signs: Signs, columns: usize) -> String {
    let scale = Scale::of(trend);
    let mut cells: Vec<Option<&Point>> = vec![None; columns];
    for p in &trend.points {
        let (from, to) = chart.window;
        let share = p.at.duration_since(from).as_secs_f64() / to.duration_since(from).as_secs_f64().max(1.0);
        let cell = &mut cells[((share * columns as f64) as usize).min(columns - 1)];
        // The higher one warns.
        if cell.is_none_or(|held| {
            (p.shown == Shown::Above, p.span.middle()) >= (held.shown == Shown::Above, held.span.middle())
        }) {
            *cell = Some(p);
        }
    }
    let sign = |p: &Point| match p.shown {
        _ if p.doubtful => '?',
        Shown::None => '_',
        Shown::Above => '^',
        Shown::Below => 'v',
        Shown::Some => {
            let eighth = (scale.share(p.span.middle()) * 8.0).ceil().clamp(1.0, 8.0) as usize - 1;
            if signs == Signs::Blocks { BLOCKS[eighth] } else { DIGITS[eighth] }
        }
    };
    cells.into_iter().map(|c| c.map_or(' ', sign)).collect()
}
