//! What is known of a tank, and changing it.

use super::fail::Fail;
use super::fields::Fields;
use super::frame::{Frame, shown};
use super::newtank::described;
use super::site::{Site, tank};
use crate::intake::{self, At, Described, Entered};
use crate::log::{Log, Tank, WaterKind};
use crate::water::significant;
use askama::Template;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use std::sync::Arc;

#[derive(Template)]
#[template(path = "tank-facts.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    id: String,
    known: Vec<(&'static str, String)>,
    typed: Fields,
    wrong: Option<Fail>,
}

impl Page {
    fn of(tank: &Tank, typed: Fields, wrong: Option<Fail>) -> Self {
        let with = |value: Option<f64>, unit: &str| value.map(|v| format!("{} {unit}", significant(v, 4)));
        let planted = tank.planted.map(|p| if p { "planted" } else { "without plants" }.to_string());
        let known = [
            ("Water", Some(tank.water.as_str().to_string())),
            ("As filled", with(tank.volume_l, "L")),
            ("Salinity", with(tank.salinity_g_kg, "g/kg")),
            ("Temperature", with(tank.celsius, "°C")),
            ("Plants", planted),
            ("Time zone", Some(tank.zone.clone())),
            ("Note", tank.note.clone()),
        ];
        let known = known.into_iter().filter_map(|(name, value)| Some((name, value?))).collect();
        Self { frame: Frame::of(tank, "", "What is known of the tank"), id: tank.id.to_string(), known, typed, wrong }
    }
}

pub(super) async fn form(State(site): State<Arc<Site>>, Path(id): Path<String>) -> Result<Response, Fail> {
    site.log(move |_, log| Ok(shown(&Page::of(&tank(log, &id)?, Fields::default(), None)))).await
}

pub(super) async fn change(
    State(site): State<Arc<Site>>,
    Path(id): Path<String>,
    typed: Fields,
) -> Result<Response, Fail> {
    site.log(move |site, log| {
        let tank = tank(log, &id)?;
        match changed(log, &tank, &typed, site.now()) {
            Ok(()) => Ok(Redirect::to(&format!("/tank/{}/facts", tank.id)).into_response()),
            Err(wrong) => wrong.back(|wrong| Ok(shown(&Page::of(&tank, typed, Some(wrong))))),
        }
    })
    .await
}

fn changed(log: &mut Log, tank: &Tank, typed: &Fields, now: Timestamp) -> Result<(), Fail> {
    let described = Described { water: WaterKind::parse(typed.one("water")), ..described(typed) };
    if described == Described::default() {
        let remedy = "Fill in what is different, or leave it as it is.";
        return Err(Fail::new(StatusCode::BAD_REQUEST, "facts-none", "It was not said what to change", remedy));
    }
    let at = typed.some("at").map(|at| At::parse(&at.replace('T', " "))).transpose()?;
    intake::change_tank(log, tank, &described, Entered { at, again: true, instead: None }, now)?;
    Ok(())
}
