//! A tank as it stands: danger, what to do, stage, next test. And first help.

use super::fail::Fail;
use super::fields::Fields;
use super::frame::{Frame, shown};
use super::said::{DueLine, Line, Said};
use super::site::{Site, tank};
use crate::advice;
use crate::faces::books::book;
use crate::intake::{self, Beside, Entered, IntakeError};
use askama::Template;
use axum::extract::{Path, RawQuery, State};
use axum::response::{Redirect, Response};
use std::sync::Arc;

#[derive(Template)]
#[template(path = "now.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    id: String,
    said: Said,
    /// Whether a symptom is going on, which can be said to be over.
    ill: bool,
    due: Vec<DueLine>,
}

pub(super) async fn now(State(site): State<Arc<Site>>, Path(id): Path<String>) -> Result<Response, Fail> {
    site.log(move |site, log| {
        let tank = tank(log, &id)?;
        let now = site.now();
        let zone = intake::zone(&tank.zone);
        let book = book(log, &tank, &site.home.kit_facts()?)?;
        let review = advice::review(&book, now);
        let due = advice::due(&book, &review).iter().map(|d| DueLine::of(d, &zone, now)).collect();
        let frame = Frame::of(&tank, "now", "Now");
        // First help for a symptom rests on its entry.
        let ill = review.trouble.iter().any(|s| !s.rests_on.is_empty());
        Ok(shown(&Page { frame, id: tank.id.to_string(), said: Said::of(&review, &zone), ill, due }))
    })
    .await
}

#[derive(Template)]
#[template(path = "trouble.html", config = "src/faces/web/askama.toml")]
struct Trouble {
    frame: Frame,
    id: String,
    help: Vec<Line>,
    logged: bool,
}

/// First help at once, without waiting for anything to be logged.
pub(super) async fn trouble(
    State(site): State<Arc<Site>>,
    Path(id): Path<String>,
    RawQuery(query): RawQuery,
) -> Result<Response, Fail> {
    let logged = Fields::asked(query)?.one("logged") == "yes";
    site.log(move |site, log| {
        let tank = tank(log, &id)?;
        let help = Line::all(&advice::first_help(), site.now());
        Ok(shown(&Trouble { frame: Frame::of(&tank, "now", "A fish is in trouble"), id, help, logged }))
    })
    .await
}

pub(super) async fn see(
    State(site): State<Arc<Site>>,
    Path(id): Path<String>,
    typed: Fields,
) -> Result<Redirect, Fail> {
    let to = format!("/tank/{id}/trouble?logged=yes");
    log(site, id, "symptom", typed.one("seen").to_string()).await?;
    Ok(Redirect::to(&to))
}

/// What is wrong is over.
pub(super) async fn over(State(site): State<Arc<Site>>, Path(id): Path<String>) -> Result<Redirect, Fail> {
    let to = format!("/tank/{id}");
    log(site, id, "symptom-over", String::new()).await?;
    Ok(Redirect::to(&to))
}

async fn log(site: Arc<Site>, id: String, kind: &'static str, words: String) -> Result<(), Fail> {
    site.log(move |site, log| {
        let tank = tank(log, &id)?;
        let (what, note) = intake::happening(kind, &words, Beside::default()).map_err(IntakeError::from)?;
        let when = Entered { at: None, again: true, instead: None };
        intake::add_event(log, &tank, &what, note, when, site.now())?;
        Ok(())
    })
    .await
}
