//! Results over time, as they are drawn.

use super::Document;
use crate::advice::{Bad, Guide, Point, Shown, Trend};
use crate::faces::chart::Chart;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde::Serialize;
use std::io::{self, Write};

/// `chart`.
#[derive(Debug, Serialize)]
pub struct ChartShown {
    pub tank: String,
    /// The window, with the offsets at the tank.
    pub from: String,
    pub to: String,
    pub trends: Vec<TrendOut>,
    /// Numbered as in the drawing.
    pub events: Vec<MarkOut>,
    /// The file that was written; null where it went to the terminal.
    pub file: Option<String>,
    #[serde(skip)]
    text: String,
}

/// One test's results, oldest first.
#[derive(Debug, Serialize)]
pub struct TrendOut {
    /// The analyte, or `free-ammonia`, which is computed.
    pub test: String,
    /// Unit of all numbers here; empty for pH.
    pub unit: String,
    pub results: Vec<ResultOut>,
    pub limits: Vec<LimitOut>,
}

/// A result. What is not known is null; 'not detected' has no value and no lower end.
#[derive(Debug, Serialize)]
pub struct ResultOut {
    /// Short form of its entry in the log.
    pub entry: String,
    pub at: String,
    /// `measured`, `not-detected`, `above`, `below`.
    pub status: &'static str,
    pub value: Option<f64>,
    /// Ends of the 95 % interval, or the one end that is known: of `not-detected` and `below` the upper, of `above` the lower.
    pub lower: Option<f64>,
    pub upper: Option<f64>,
    /// Whether it may alarm only, not reassure.
    pub doubtful: bool,
    /// As logged, in the log's own unit.
    pub text: String,
}

/// A limit.
#[derive(Debug, Serialize)]
pub struct LimitOut {
    pub value: f64,
    /// Which side is bad: `above` or `below`.
    pub bad: &'static str,
    /// `caution`, `danger`, `urgent`.
    pub level: &'static str,
    /// Stable text form of the rule, and where it comes from.
    pub rule: &'static str,
    pub source: &'static str,
}

/// An event.
#[derive(Debug, Serialize)]
pub struct MarkOut {
    pub number: usize,
    pub at: String,
    pub text: String,
}

fn time(zone: &TimeZone, t: Timestamp) -> String {
    t.display_with_offset(zone.to_offset(t)).to_string()
}

impl ResultOut {
    fn of(p: &Point, zone: &TimeZone) -> Self {
        let known = |x: f64| Some(x).filter(|x| x.is_finite());
        Self {
            entry: p.entry.clone(),
            at: time(zone, p.at),
            status: match p.shown {
                Shown::Some => "measured",
                Shown::None => "not-detected",
                Shown::Above => "above",
                Shown::Below => "below",
            },
            value: p.span.best,
            lower: known(p.span.low).filter(|_| !matches!(p.shown, Shown::None | Shown::Below)),
            upper: known(p.span.high),
            doubtful: p.doubtful,
            text: p.words.clone(),
        }
    }
}

impl LimitOut {
    fn of(g: &Guide) -> Self {
        let bad = if g.bad == Bad::Above { "above" } else { "below" };
        Self { value: g.value, bad, level: g.level.as_str(), rule: g.rule.code(), source: g.rule.source() }
    }
}

impl ChartShown {
    /// `text` is what is shown for the drawing.
    pub(in crate::faces::cli) fn of(tank: &str, chart: &Chart, file: Option<String>, text: String) -> Self {
        let trend = |t: &Trend| TrendOut {
            test: t.subject.code().to_string(),
            unit: t.unit.clone(),
            results: t.points.iter().map(|p| ResultOut::of(p, &chart.zone)).collect(),
            limits: t.guides.iter().map(LimitOut::of).collect(),
        };
        let mark = |m: &crate::faces::chart::Mark| MarkOut {
            number: m.number,
            at: time(&chart.zone, m.at),
            text: m.words.clone(),
        };
        Self {
            tank: tank.to_string(),
            from: time(&chart.zone, chart.window.0),
            to: time(&chart.zone, chart.window.1),
            trends: chart.trends.iter().map(trend).collect(),
            events: chart.events.iter().map(mark).collect(),
            file,
            text,
        }
    }
}

impl Document for ChartShown {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        match &self.file {
            Some(file) => writeln!(out, "Written: {file}"),
            None => out.write_all(self.text.as_bytes()),
        }
    }
}
