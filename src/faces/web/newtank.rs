//! Adding a tank.

use super::fail::Fail;
use super::fields::Fields;
use super::frame::{Frame, shown};
use super::site::Site;
use crate::intake::{self, Described, IntakeError};
use crate::log::{NewTank, WaterKind};
use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::tz::TimeZone;
use std::sync::Arc;

#[derive(Template)]
#[template(path = "tank-new.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    typed: Fields,
    wrong: Option<Fail>,
    zone: String,
}

impl Page {
    fn of(typed: Fields, wrong: Option<Fail>) -> Self {
        // That of the computer on which the server runs, at home with the tank.
        let own = || TimeZone::try_system().ok().and_then(|z| z.iana_name().map(str::to_string));
        let zone = typed.some("zone").or_else(own).unwrap_or_else(|| "UTC".to_string());
        Self { frame: Frame::plain("Add a tank"), typed, wrong, zone }
    }
}

/// What was typed of a tank, but for its water.
pub(super) fn described(typed: &Fields) -> Described {
    Described {
        water: None,
        volume: typed.some("volume"),
        salinity: typed.some("salinity"),
        temperature: typed.some("temperature"),
        planted: typed.some("planted").map(|p| p == "yes"),
        animals: typed.some("animals"),
    }
}

pub(super) async fn form() -> Response {
    shown(&Page::of(Fields::default(), None))
}

pub(super) async fn add(State(site): State<Arc<Site>>, typed: Fields) -> Result<Response, Fail> {
    let work = tokio::task::spawn_blocking(move || {
        let water = WaterKind::parse(typed.one("water")).unwrap_or(WaterKind::Fresh);
        let new = NewTank::new(typed.one("name"), Page::of(typed.clone(), None).zone.as_str(), water);
        let described = described(&typed);
        let write = || -> Result<_, IntakeError> {
            // Before the log is made: what is typed wrong leaves nothing behind.
            described.meant()?;
            intake::add_tank(&mut site.home.log()?, &new, &described, site.now())
        };
        match write().map_err(Fail::from) {
            Ok(id) => Ok(Redirect::to(&format!("/tank/{id}")).into_response()),
            Err(wrong) => wrong.back(|wrong| Ok(shown(&Page::of(typed, Some(wrong))))),
        }
    });
    work.await.unwrap_or_else(|_| Err(Fail::broken()))
}
