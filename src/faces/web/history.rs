//! What was measured and what happened: charts, results, events.

use super::fail::Fail;
use super::fields::Fields;
use super::frame::{Frame, shown};
use super::said::moment;
use super::site::{Site, tank};
use crate::advice::{self, Book, Trend};
use crate::faces::books::trends;
use crate::faces::chart::{self, Chart, Skin};
use crate::faces::report::Report;
use crate::intake::{self, KitFacts};
use crate::log::{Filter, Log, Origin, Reading, Tank};
use askama::Template;
use axum::extract::{Path, RawQuery, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use std::sync::Arc;

/// How far back, in days, and in words.
const SPANS: [(&str, Option<u32>, &str); 3] =
    [("14", Some(14), "2 weeks"), ("90", Some(90), "3 months"), ("all", None, "All")];
/// The one that is shown unless another is chosen.
const USUAL: usize = 1;
/// Days on the page to show somebody, as on the command line.
const REPORT_DAYS: u32 = 60;
/// Results listed one by one.
const LISTED: usize = 80;

#[derive(Template)]
#[template(path = "history.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    id: String,
    chosen: &'static str,
    legend: String,
    charts: Vec<Drawing>,
    results: Vec<ResultLine>,
    more: usize,
    events: Vec<EventLine>,
}

/// A chart under its heading.
struct Drawing {
    name: String,
    unit: String,
    last: String,
    svg: String,
}

/// A result in a line.
pub(super) struct ResultLine {
    pub(super) id: String,
    pub(super) at: String,
    pub(super) test: String,
    pub(super) amount: String,
    pub(super) remark: String,
}

struct EventLine {
    number: usize,
    at: String,
    words: String,
}

impl Page {
    fn spans(&self) -> [(&'static str, Option<u32>, &'static str); 3] {
        SPANS
    }
}

pub(super) async fn history(
    State(site): State<Arc<Site>>,
    Path(id): Path<String>,
    RawQuery(query): RawQuery,
) -> Result<Response, Fail> {
    let asked = Fields::asked(query)?;
    site.log(move |site, log| {
        let tank = tank(log, &id)?;
        let (chosen, days, _) = SPANS.into_iter().find(|s| s.0 == asked.one("span")).unwrap_or(SPANS[USUAL]);
        let kits = site.home.kit_facts()?;
        let drawn = Drawn::of(log, &tank, &kits, days, site.now(), true)?;
        let zone = &drawn.chart.zone;
        let results = drawn.readings.iter().take(LISTED).map(|r| ResultLine::of(r, zone)).collect();
        let event = |e: &crate::faces::chart::Mark| EventLine {
            number: e.number,
            at: moment(zone, e.at),
            words: e.words.clone(),
        };
        Ok(shown(&Page {
            frame: Frame::of(&tank, "history", "History"),
            id: tank.id.to_string(),
            chosen,
            legend: Chart::legend(Skin::Phone),
            charts: drawn.chart.trends.iter().map(|t| Drawing::of(&drawn.chart, t)).collect(),
            results,
            more: drawn.readings.len().saturating_sub(LISTED),
            events: drawn.chart.events.iter().rev().map(event).collect(),
        }))
    })
    .await
}

/// The page to show a shop or a vet, as a file.
pub(super) async fn report(State(site): State<Arc<Site>>, Path(id): Path<String>) -> Result<Response, Fail> {
    site.log(move |site, log| {
        let tank = tank(log, &id)?;
        let kits = site.home.kit_facts()?;
        let drawn = Drawn::of(log, &tank, &kits, Some(REPORT_DAYS), site.now(), false)?;
        let review = advice::review(&drawn.book, site.now());
        let Drawn { book, chart, readings } = &drawn;
        let page = Report { book, review: &review, chart, readings, crops: &[], names: false };
        let kind = [
            (header::CONTENT_TYPE, "text/html; charset=utf-8"),
            (header::CONTENT_DISPOSITION, "attachment; filename=\"tank-report.html\""),
        ];
        Ok((kind, page.html()).into_response())
    })
    .await
}

/// What is drawn and listed of a tank.
struct Drawn {
    book: Book,
    chart: Chart,
    /// Newest first, one a sample.
    readings: Vec<Reading>,
}

impl Drawn {
    fn of(
        log: &Log,
        tank: &Tank,
        kits: &KitFacts,
        days: Option<u32>,
        now: Timestamp,
        names: bool,
    ) -> Result<Self, Fail> {
        let (book, trends) = trends(log, tank, kits, now)?;
        let own = Filter { tank: Some(tank.id), ..Filter::default() };
        let window = chart::window(&trends, days, now);
        let title = if names { tank.name.as_str() } else { "Tank" };
        let chart = Chart::new(title, intake::zone(&tank.zone), window, trends, &book.events, names);
        let mut readings = log.samples(&own, &|r| kits.window_minutes(r))?;
        readings.retain(|r| (window.0..=window.1).contains(&r.sample.at().instant));
        readings.sort_by_key(|r| std::cmp::Reverse(r.sample.at().instant));
        Ok(Self { book, chart, readings })
    }
}

impl Drawing {
    fn of(chart: &Chart, trend: &Trend) -> Self {
        Self {
            name: trend.subject.words().to_string(),
            unit: trend.unit.to_string(),
            last: chart.newest_of(trend).unwrap_or_default(),
            svg: chart.svg_of(trend, Skin::Phone),
        }
    }
}

impl ResultLine {
    pub(super) fn of(r: &Reading, zone: &TimeZone) -> Self {
        let by = match r.origin {
            Origin::Photo => "",
            Origin::Hand => "by hand",
            Origin::Correction => "corrected",
        };
        let doubt = if r.is_doubtful() { "in doubt" } else { "" };
        let remark: Vec<&str> = [doubt, by].into_iter().filter(|w| !w.is_empty()).collect();
        Self {
            id: r.id.to_string(),
            at: moment(zone, r.sample.at().instant),
            test: r.test.name.clone(),
            amount: r.words(),
            remark: remark.join(", "),
        }
    }
}
