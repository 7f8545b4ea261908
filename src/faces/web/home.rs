//! The start page: every tank at a glance, worst first; what is due; what runs.

use super::fail::Fail;
use super::frame::{Frame, shown};
use super::said::DueLine;
use super::site::Site;
use super::timer::Running;
use crate::advice;
use crate::faces::books::book;
use crate::faces::dues;
use crate::intake;
use crate::log::Log;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use jiff::tz::TimeZone;
use std::sync::Arc;

#[derive(Template)]
#[template(path = "home.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    tanks: Vec<Glance>,
    /// What concerns no tank.
    household: Vec<DueLine>,
}

/// A tank in a few words.
struct Glance {
    id: String,
    name: String,
    symbol: &'static str,
    danger: String,
    stage: String,
    due: Vec<DueLine>,
    running: Vec<Running>,
}

pub(super) async fn home(State(site): State<Arc<Site>>) -> Result<Response, Fail> {
    site.if_log(|site, log| {
        let (tanks, household) = match log {
            Some(log) => (glances(site, log)?, household(site, log)?),
            None => (Vec::new(), Vec::new()),
        };
        Ok(shown(&Page { frame: Frame::plain("Tanks"), tanks, household }))
    })
    .await
}

fn glances(site: &Site, log: &Log) -> Result<Vec<Glance>, Fail> {
    let (kits, tanks, now) = (site.home.kit_facts()?, log.tanks()?, site.now());
    let mut reviews = Vec::new();
    let mut all = Vec::new();
    for tank in &tanks {
        let book = book(log, tank, &kits)?;
        let review = advice::review(&book, now);
        let zone = intake::zone(&tank.zone);
        let due = advice::due(&book, &review);
        let running = intake::timers(&kits, log, tank.id, now)?;
        all.push(Glance {
            id: tank.id.to_string(),
            name: tank.name.clone(),
            symbol: review.danger.symbol(),
            danger: review.danger.words(),
            stage: review.stage.words(),
            due: due.iter().filter(|d| dues::today(d, &zone, now)).map(|d| DueLine::of(d, &zone, now)).collect(),
            running: running.iter().map(|t| Running::of(t, &zone, now)).collect(),
        });
        reviews.push(review);
    }
    advice::worst_first(&mut reviews);
    all.sort_by_key(|g| reviews.iter().position(|r| r.tank == g.name));
    Ok(all)
}

/// Controls of kits that are due.
fn household(site: &Site, log: &Log) -> Result<Vec<DueLine>, Fail> {
    let now = site.now();
    let zone = log.tanks()?.first().map_or(TimeZone::UTC, |t| intake::zone(&t.zone));
    let due = dues::controls(&site.home, log, &zone, now)?;
    Ok(due.iter().filter(|d| dues::today(d, &zone, now)).map(|d| DueLine::of(d, &zone, now)).collect())
}
