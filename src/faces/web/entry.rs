//! One reading, with all that is known of it; the keeper's own judgement in its place.

use super::event::undone;
use super::fail::Fail;
use super::fields::Fields;
use super::frame::{Frame, Here, shown};
use super::said::moment;
use super::site::{Site, tank};
use crate::faces::cropped;
use crate::faces::words::Found;
use crate::intake::{self, Chart};
use crate::log::{Id, Log, LogError, Origin, Reading, Standing, Target};
use askama::Template;
use axum::extract::{Path, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use std::sync::Arc;

#[derive(Template)]
#[template(path = "reading.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    id: String,
    test: String,
    at: String,
    /// Whether it stands, and can be changed.
    stands: bool,
    standing: &'static str,
    before: Option<String>,
    findings: Vec<Found>,
    facts: Vec<(&'static str, String)>,
    pictured: bool,
    /// Other tanks, which its sample may be of.
    others: Vec<Here>,
    history: Vec<(String, String)>,
    typed: Fields,
    wrong: Option<Fail>,
}

pub(super) async fn reading(State(site): State<Arc<Site>>, Path(id): Path<String>) -> Result<Response, Fail> {
    site.log(move |site, log| {
        let reading = found(log, &id)?;
        Ok(shown(&page(site, log, &reading, Fields::default(), None)?))
    })
    .await
}

fn found(log: &Log, id: &str) -> Result<Reading, Fail> {
    let unknown = || LogError::EntryUnknown { id: id.chars().take(40).collect() };
    let gone = |e: LogError| match e {
        LogError::EntryUnknown { .. } => Fail { status: StatusCode::NOT_FOUND, ..Fail::from(e) },
        other => other.into(),
    };
    let id = Id::parse(id).ok_or_else(|| gone(unknown()))?;
    log.judged(id).map_err(gone)
}

fn page(site: &Site, log: &Log, r: &Reading, typed: Fields, wrong: Option<Fail>) -> Result<Page, Fail> {
    let tanks = log.tanks()?;
    let tank = tanks.iter().find(|t| Some(t.id) == r.sample.target.tank());
    let zone = intake::zone(tank.or(tanks.first()).map_or("UTC", |t| &t.zone));
    let title = format!("{} {}", r.test.name, r.words());
    let frame = tank.map_or_else(|| Frame::plain(&title), |t| Frame::of(t, "history", &title));
    let place = site.home.places(Some(log))?.of_reading(r, &site.home.kit_facts()?);
    let mut facts = vec![("Taken from", r.origin.as_str().to_string())];
    let short = |hash: &Option<String>| hash.as_ref().map(|h| h.chars().take(12).collect::<String>());
    let limit = r.detection_limit.as_ref().map(ToString::to_string);
    let more = [
        ("Kit", r.test.kit.clone()),
        ("Kit's revision", short(&r.kit_revision)),
        ("Card's revision", short(&r.card_revision)),
        ("Station", r.station.clone()),
        ("Place", place.map(|p| p.text)),
        ("Cannot tell from none below", limit),
        ("Dilution", r.dilution.map(|d| d.to_string())),
        ("As entered", r.entered.clone().filter(|_| r.origin != Origin::Photo)),
        ("Colour, CIELAB", r.lab.map(|l| l.map(|v| format!("{v:.1}")).join(" "))),
        ("Program", Some(r.program.clone())),
        ("Entry", Some(r.id.short())),
    ];
    facts.extend(more.into_iter().filter_map(|(name, value)| Some((name, value?))));
    let lines = log.history(r.id)?;
    let line = |l: &crate::log::Line| {
        let words = match &l.change {
            Some(c) => match &c.reason {
                Some(why) => format!("{}: {why}", c.kind),
                None => c.kind.clone(),
            },
            None => format!("{} written", l.kind),
        };
        (moment(&zone, l.recorded), words)
    };
    Ok(Page {
        frame,
        id: r.id.to_string(),
        test: r.test.name.clone(),
        at: moment(&zone, r.sample.at().instant),
        stands: r.standing == Standing::Current,
        standing: r.standing.as_str(),
        before: r.instead_of.as_ref().map(|b| b.words()),
        findings: r.refusal.iter().chain(&r.findings).map(Found::from).collect(),
        facts,
        pictured: intake::may_crop(&site.home, r)?,
        others: tanks.iter().filter(|t| tank.is_some_and(|own| own.id != t.id)).map(Here::from).collect(),
        history: lines.iter().map(line).collect(),
        typed,
        wrong,
    })
}

/// What was measured, cut out of the kept original.
pub(super) async fn picture(State(site): State<Arc<Site>>, Path(id): Path<String>) -> Result<Response, Fail> {
    site.log(move |site, log| {
        let reading = found(log, &id)?;
        let crops = intake::crops(&site.home, std::slice::from_ref(&reading), &site.layout, 1)?;
        let jpeg = crops.first().and_then(|(_, crop)| cropped::jpeg(crop));
        let none = || {
            let remedy = "Originals are kept from the next photo on, unless --no-keep is given.";
            Fail::new(StatusCode::NOT_FOUND, "photo-not-kept", "The original of this reading is not kept.", remedy)
        };
        Ok(([(header::CONTENT_TYPE, "image/jpeg")], jpeg.ok_or_else(none)?).into_response())
    })
    .await
}

pub(super) async fn correct(
    State(site): State<Arc<Site>>,
    Path(id): Path<String>,
    typed: Fields,
) -> Result<Response, Fail> {
    site.log(move |site, log| {
        let reading = found(log, &id)?;
        let tests = site.home.tests(None)?;
        let (value, reason) = (typed.one("value"), typed.one("reason"));
        let reason = if reason.is_empty() { "read by eye" } else { reason };
        let done = intake::correct(log, reading.id, value, &tests, &Chart::default(), reason, site.now());
        match done.map_err(Fail::from) {
            Ok(new) => Ok(Redirect::to(&format!("/reading/{new}")).into_response()),
            Err(wrong) => wrong.back(|wrong| Ok(shown(&page(site, log, &reading, typed, Some(wrong))?))),
        }
    })
    .await
}

pub(super) async fn undo(
    State(site): State<Arc<Site>>,
    Path(id): Path<String>,
    typed: Fields,
) -> Result<Redirect, Fail> {
    site.log(move |site, log| {
        let reading = found(log, &id)?;
        undone(log, &id, typed.one("undo-reason"), site.now())?;
        Ok(match reading.sample.target.tank() {
            Some(tank) => Redirect::to(&format!("/tank/{tank}/history")),
            None => Redirect::to("/"),
        })
    })
    .await
}

/// Its sample was of another tank, and all that was read of it.
pub(super) async fn moved(
    State(site): State<Arc<Site>>,
    Path(id): Path<String>,
    typed: Fields,
) -> Result<Redirect, Fail> {
    site.log(move |site, log| {
        let reading = found(log, &id)?;
        let to = tank(log, typed.one("to"))?;
        let reason = typed.some("move-reason").unwrap_or_else(|| "it was of another tank".to_string());
        log.write(site.now(), |w| w.move_sample(reading.sample.id, Target::Tank(to.id), None, &reason))?;
        Ok(Redirect::to(&format!("/reading/{}", reading.id)))
    })
    .await
}
