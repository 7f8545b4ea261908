//! Charts of a tank's results over time: as SVG, as PNG, and small in the terminal.
//!
//! Takes trends and events as `advice` gives them, the tank's time zone and a window of time; gives drawings. Promises: each
//! result stands with its bounds, 'not detected' as an open bar from zero to its limit, 'above' as a bar open at the top;
//! shape, dash and words carry the meaning, nothing does by colour; texts from the log are escaped. Never: judges; limits come
//! with their words from the trend.

mod axis;
mod panel;
mod picture;
mod png;
mod scene;
mod svg;
mod terminal;

pub use terminal::{Signs, terminal};

use crate::advice::{Happening, Point, Trend};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

/// What a chart shows.
#[derive(Debug, Clone)]
pub struct Chart {
    /// Its title.
    pub title: String,
    /// The tank's zone.
    pub zone: TimeZone,
    /// From when and to when, the first before the second.
    pub window: (Timestamp, Timestamp),
    /// Trends with at least one result in the window, and none outside it.
    pub trends: Vec<Trend>,
    /// Events in the window, numbered from 1 in their order.
    pub events: Vec<Mark>,
}

/// An event on a chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    pub number: usize,
    pub at: Timestamp,
    /// In words.
    pub words: String,
}

/// Why there is no picture.
#[derive(Debug, thiserror::Error)]
pub enum ChartError {
    /// Nothing to show.
    #[error("there is no result from {from} to {to} to draw")]
    Empty { from: String, to: String },
    /// From the encoder.
    #[error("the picture cannot be made: {cause}")]
    Encoding { cause: String },
}

impl ChartError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Empty { .. } => "chart-empty",
            Self::Encoding { .. } => "chart-encoding",
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::Empty { .. } => "Show more: --days with a larger number, or --all.",
            Self::Encoding { .. } => "Try SVG.",
        }
    }
}

/// What ink and ground of an SVG are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Skin {
    /// Black on white, for a file of its own.
    Paper,
    /// The colours of the page it stands in, light or dark.
    Page,
    /// The same, narrower, for a small screen.
    Phone,
}

/// Share of the plot kept free at its right end, so that the newest result does not stand on the frame.
const MARGIN: f64 = 0.02;
/// Days that are shown of a log without any result.
const EMPTY_DAYS: u32 = 60;

/// The last so many days, or all; of a young log from its first result on.
pub fn window(trends: &[Trend], days: Option<u32>, now: Timestamp) -> (Timestamp, Timestamp) {
    let back = |days: u32| now.checked_sub(SignedDuration::from_hours(24 * i64::from(days))).unwrap_or(Timestamp::MIN);
    let from = back(days.unwrap_or(EMPTY_DAYS));
    match Chart::whole(trends, now) {
        Some((first, now)) if days.is_none() || first > from => (first, now),
        _ => (from, now),
    }
}

impl Chart {
    /// A chart of what lies in the window. `notes` keeps the keeper's own words of events.
    pub fn new(
        title: &str,
        zone: TimeZone,
        (from, to): (Timestamp, Timestamp),
        trends: Vec<Trend>,
        events: &[Happening],
        notes: bool,
    ) -> Self {
        let within = |at: Timestamp| from <= at && at <= to;
        let cut = trends.into_iter().filter_map(|mut t| {
            t.points.retain(|p| within(p.at));
            (!t.points.is_empty()).then_some(t)
        });
        let trends = cut.collect();
        let mut inside: Vec<&Happening> = events.iter().filter(|e| within(e.at)).collect();
        inside.sort_by_key(|e| e.at);
        let words = |e: &Happening| match notes {
            true => e.words.clone(),
            false => e.plain_words().to_string(),
        };
        let marks = inside.iter().enumerate().map(|(i, e)| Mark { number: i + 1, at: e.at, words: words(e) });
        Self { title: title.into(), zone, window: (from, to), trends, events: marks.collect() }
    }

    /// From the first result to `now`, the whole of it.
    pub fn whole(trends: &[Trend], now: Timestamp) -> Option<(Timestamp, Timestamp)> {
        let first = trends.iter().flat_map(|t| &t.points).map(|p| p.at).min()?;
        let day = SignedDuration::from_hours(24);
        // A little before the first result, so that it does not stand on the frame.
        let before = now.duration_since(first) / 50;
        Some((first.checked_sub(before).ok()?.min(now.checked_sub(day).ok()?), now))
    }

    /// All panels with their legend and the list of events, as a document of its own or for a page.
    pub fn svg(&self, skin: Skin) -> Result<String, ChartError> {
        self.filled()?;
        Ok(svg::svg(&picture::whole(self), skin))
    }

    /// One trend alone, for a page that lists events and signs elsewhere.
    pub fn svg_of(&self, trend: &Trend, skin: Skin) -> String {
        svg::svg(&picture::one(self, trend, skin == Skin::Phone), skin)
    }

    /// The signs that are used, alone.
    pub fn legend(skin: Skin) -> String {
        svg::svg(&picture::legend(skin == Skin::Phone), skin)
    }

    /// The same as a PNG file's bytes, `width` pixels wide.
    pub fn png(&self, width: u32) -> Result<Vec<u8>, ChartError> {
        self.filled()?;
        png::png(&picture::whole(self), width)
    }

    /// Refuses where there is nothing to show.
    pub fn filled(&self) -> Result<(), ChartError> {
        let day = |t: Timestamp| axis::day(&self.zone, t);
        match self.trends.is_empty() {
            true => Err(ChartError::Empty { from: day(self.window.0), to: day(self.window.1) }),
            false => Ok(()),
        }
    }

    /// Where in the window a time lies, 0 to 1, with the margin at the end.
    fn place(&self, at: Timestamp) -> f64 {
        let (from, to) = self.window;
        let span = to.duration_since(from).as_secs_f64().max(1.0);
        (at.duration_since(from).as_secs_f64() / span) * (1.0 - MARGIN)
    }

    fn last<'t>(&self, trend: &'t Trend) -> Option<&'t Point> {
        trend.points.last()
    }
}
