//! The start page: every tank at a glance, worst first.

use super::fail::Fail;
use super::frame::{Frame, shown};
use super::site::{Site, book};
use crate::advice::{self, Review};
use crate::log::Log;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use std::sync::Arc;

#[derive(Template)]
#[template(path = "home.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    tanks: Vec<Glance>,
}

/// A tank in a few words.
struct Glance {
    id: String,
    name: String,
    symbol: &'static str,
    danger: String,
    stage: String,
}

pub(super) async fn home(State(site): State<Arc<Site>>) -> Result<Response, Fail> {
    let tanks = site.if_log(|site, log| log.map_or(Ok(Vec::new()), |log| glances(site, log))).await?;
    Ok(shown(&Page { frame: Frame::plain("Tanks"), tanks }))
}

fn glances(site: &Site, log: &Log) -> Result<Vec<Glance>, Fail> {
    let (kits, tanks) = (site.home.kit_facts()?, log.tanks()?);
    let mut reviews = Vec::new();
    for tank in &tanks {
        reviews.push(advice::review(&book(log, tank, &kits)?, site.now()));
    }
    advice::worst_first(&mut reviews);
    let glance = |r: &Review| {
        let id = tanks.iter().find(|t| t.name == r.tank)?.id.to_string();
        let symbol = if r.danger.is_unknown() { "?" } else { r.danger.act_as().symbol() };
        Some(Glance { id, name: r.tank.clone(), symbol, danger: r.danger.words(), stage: r.stage.words() })
    };
    Ok(reviews.iter().filter_map(glance).collect())
}
