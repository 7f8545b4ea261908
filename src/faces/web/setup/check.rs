//! Whether a kit is fit to read with.

use super::super::fail::Fail;
use super::super::frame::{Frame, shown};
use super::super::site::Site;
use super::kit::found;
use super::said::{Found, Todo, values};
use crate::curve::{self, Check, Nuisance, Test};
use crate::finding::Finding;
use crate::intake::{self, ControlOf};
use askama::Template;
use axum::extract::{Path, State};
use axum::response::Response;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::sync::Arc;

#[derive(Template)]
#[template(path = "setup/kit-check.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    kit: String,
    name: String,
    tests: Vec<Part>,
    next: Option<Todo>,
}

struct Part {
    name: String,
    values: String,
    /// The swatch, what it is said to be, and how it reads on the others.
    left_out: Vec<(usize, f64, String)>,
    gaps: Vec<(f64, f64, String)>,
    control: Option<String>,
    findings: Vec<Found>,
}

impl Part {
    fn of(test: &Test, check: &Check, control: &ControlOf, today: Date) -> Self {
        let mut findings: Vec<Finding> = check.findings.clone();
        findings.extend(test.expired(today));
        let left_out = check.left_out.iter().map(|l| {
            let read = match (l.read, l.steps) {
                (Some(read), Some(steps)) => format!("reads {read:.3}, {steps:+.2} standards"),
                _ => "an end; nothing to read it on".to_string(),
            };
            (l.number, l.value, read)
        });
        let due = if control.due.on <= today { "due since" } else { "due" };
        let control = format!("Control check with a known standard {due} {}.", control.due.on);
        Self {
            name: test.name.clone(),
            values: values(test),
            left_out: left_out.collect(),
            gaps: check.gaps.iter().map(|g| (g.from, g.to, format!("{:.1}", g.delta_e))).collect(),
            control: (test.values().len() >= 2).then_some(control),
            findings: Found::all(&findings),
        }
    }
}

pub(super) async fn check(State(site): State<Arc<Site>>, Path(asked): Path<String>) -> Result<Response, Fail> {
    site.if_log(move |site, log| {
        let kit = found(site, &asked)?;
        let today = TimeZone::system().to_datetime(site.now()).date();
        let events = log.map(|log| log.events(None)).transpose()?.unwrap_or_default();
        let controls = intake::controls(&kit, &events, today);
        let part = |(test, control): (&Test, &ControlOf)| {
            Part::of(test, &curve::check(test, Nuisance::of(kit.value.kind)), control, today)
        };
        let enrolled = !site.home.card_names()?.is_empty();
        let steps = intake::next_steps(&kit.value, enrolled);
        Ok(shown(&Page {
            frame: Frame::plain(format!("Check of {}", kit.name)),
            name: kit.name.clone(),
            tests: kit.value.tests.iter().zip(&controls).map(part).collect(),
            next: steps.first().map(|s| Todo::of(&kit, s)),
            kit: asked,
        }))
    })
    .await
}
