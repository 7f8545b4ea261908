//! The reaction timer.

use super::event::undone;
use super::fail::Fail;
use super::fields::Fields;
use super::frame::{Frame, shown};
use super::said::moment;
use super::site::{Site, tank};
use crate::curve::Kind;
use crate::intake::{self, Entered, Home, IntakeError, Timer};
use askama::Template;
use axum::extract::{Path, RawQuery, State};
use axum::http::StatusCode;
use axum::response::{Redirect, Response};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use std::sync::Arc;

/// Seconds after which the page is asked for again while something runs, where there is no JavaScript.
const AGAIN: u32 = 20;

#[derive(Template)]
#[template(path = "wait.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    id: String,
    running: Vec<Running>,
    /// Whether the page asks for itself again, which would lose what is ticked.
    again: bool,
    kits: Vec<KitTests>,
}

/// A timer as it stands.
pub(super) struct Running {
    pub(super) entry: String,
    pub(super) test: String,
    pub(super) started: String,
    /// Seconds to the photo, for the countdown; none where the time is not known.
    pub(super) seconds: Option<i64>,
    /// The same in minutes and seconds.
    pub(super) left: Option<String>,
    /// Whether the photo is to be taken now.
    pub(super) due: bool,
    pub(super) until: String,
}

impl Running {
    pub(super) fn of(t: &Timer, zone: &TimeZone, now: Timestamp) -> Self {
        // Upwards, as nothing is to be photographed early.
        let seconds = t.ready.map(|at| ((at.duration_since(now).as_millis() + 999) / 1000).max(0) as i64);
        let time = |at| zone.to_datetime(at).strftime("%H:%M").to_string();
        Self {
            entry: t.entry.to_string(),
            test: t.start.test.clone(),
            started: moment(zone, t.start.at.instant),
            seconds,
            left: seconds.map(|s| format!("{}:{:02}", s / 60, s % 60)),
            due: t.ready.is_some_and(|at| at <= now),
            until: time(t.last),
        }
    }
}

struct KitTests {
    name: String,
    /// Strips are started whole.
    strips: bool,
    tests: Vec<(String, Option<String>)>,
}

fn kits(home: &Home) -> Result<Vec<KitTests>, Fail> {
    let mut out = Vec::new();
    for name in home.kit_names()? {
        // A kit that cannot be read is told about where kits are shown.
        if let Ok(kit) = home.kit(Some(&name)) {
            let wait = |m: f64| format!("{} min", crate::water::significant(m, 3));
            let tests = kit.value.tests.iter().map(|t| (t.name.clone(), t.wait_minutes.map(wait))).collect();
            out.push(KitTests { name, strips: kit.value.kind == Kind::Strip, tests });
        }
    }
    Ok(out)
}

pub(super) async fn timer(
    State(site): State<Arc<Site>>,
    Path(id): Path<String>,
    RawQuery(query): RawQuery,
) -> Result<Response, Fail> {
    let still = Fields::asked(query)?.one("still") == "yes";
    site.log(move |site, log| {
        let tank = tank(log, &id)?;
        let zone = intake::zone(&tank.zone);
        let running = intake::timers(&site.home.kit_facts()?, log, tank.id, site.now())?;
        let running: Vec<Running> = running.iter().map(|t| Running::of(t, &zone, site.now())).collect();
        let again = !running.is_empty() && !still;
        let frame = Frame { again: again.then_some(AGAIN), ..Frame::of(&tank, "wait", "Timer") };
        Ok(shown(&Page { frame, id: tank.id.to_string(), running, again, kits: kits(&site.home)? }))
    })
    .await
}

/// The last drop goes in.
pub(super) async fn start(
    State(site): State<Arc<Site>>,
    Path(id): Path<String>,
    typed: Fields,
) -> Result<Redirect, Fail> {
    let to = format!("/tank/{id}/wait");
    site.log(move |site, log| {
        let tank = tank(log, &id)?;
        let kit = site.home.kit(Some(typed.one("kit")))?;
        let asked = intake::tests_meant(&kit.value, &typed.all("test")).map_err(IntakeError::from)?;
        let asked = asked.ok_or_else(|| {
            let remedy = "Go back and tick the tests whose last drop went in.";
            Fail::new(StatusCode::BAD_REQUEST, "timer-no-test", "No test was ticked.", remedy)
        })?;
        let when = Entered { at: None, again: true, instead: None };
        intake::start_tests(log, &tank, Some(tank.id), (&kit.name, &asked), when, site.now())?;
        Ok(())
    })
    .await?;
    Ok(Redirect::to(&to))
}

/// It was not started after all.
pub(super) async fn stop(
    State(site): State<Arc<Site>>,
    Path(id): Path<String>,
    typed: Fields,
) -> Result<Redirect, Fail> {
    let to = format!("/tank/{id}/wait");
    site.log(move |site, log| {
        tank(log, &id)?;
        undone(log, typed.one("entry"), "", site.now())
    })
    .await?;
    Ok(Redirect::to(&to))
}
