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

pub(super) async fn form() -> Response {
    shown(&Page::of(Fields::default(), None))
}

pub(super) async fn add(State(site): State<Arc<Site>>, typed: Fields) -> Result<Response, Fail> {
    let work = tokio::task::spawn_blocking(move || {
        let water = WaterKind::parse(typed.one("water")).unwrap_or(WaterKind::Fresh);
        let new = NewTank::new(typed.one("name"), Page::of(typed.clone(), None).zone.as_str(), water);
        let described = Described {
            volume: typed.some("volume"),
            animals: typed.some("animals"),
            temperature: typed.some("temperature"),
            ..Described::default()
        };
        let write = || -> Result<_, IntakeError> {
            // Before the log is made: what is typed wrong leaves nothing behind.
            described.meant()?;
            intake::add_tank(&mut site.home.log()?, &new, &described, site.now())
        };
        match write().map_err(Fail::from) {
            Ok(id) => Ok(Redirect::to(&format!("/tank/{id}")).into_response()),
            Err(wrong) if wrong.status.is_client_error() => {
                Ok((wrong.status, shown(&Page::of(typed, Some(wrong)))).into_response())
            }
            Err(wrong) => Err(wrong),
        }
    });
    work.await.unwrap_or_else(|_| Err(Fail::broken()))
}
