//! Pairing a phone, and forgetting it.

use super::Phone;
use crate::faces::web::fail::Fail;
use crate::faces::web::fields::Fields;
use crate::faces::web::frame::{Frame, shown};
use crate::faces::web::said::moment;
use crate::faces::web::site::Site;
use askama::Template;
use axum::extract::{FromRequest, Request, State};
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Redirect, Response};
use jiff::tz::TimeZone;
use std::sync::Arc;

#[derive(Template)]
#[template(path = "pair.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    typed: Fields,
    wrong: Option<Fail>,
}

pub(in crate::faces::web) async fn form() -> Response {
    shown(&Page { frame: Frame::plain("Pair this phone"), typed: Fields::default(), wrong: None })
}

pub(in crate::faces::web) async fn pair(State(site): State<Arc<Site>>, request: Request) -> Result<Response, Fail> {
    let from = super::from(&request);
    let typed = Fields::from_request(request, &site).await?;
    match site.door.pair(typed.one("code"), typed.one("name"), from, site.now()) {
        Ok(cookie) => Ok(([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response()),
        Err(wrong) if wrong.status.is_client_error() => {
            let status = wrong.status;
            let page = Page { frame: Frame::plain("Pair this phone"), typed, wrong: Some(wrong) };
            Ok((status, shown(&page)).into_response())
        }
        Err(wrong) => Err(wrong),
    }
}

#[derive(Template)]
#[template(path = "phones.html", config = "src/faces/web/askama.toml")]
struct Phones {
    frame: Frame,
    phones: Vec<(Phone, String)>,
}

pub(in crate::faces::web) async fn phones(State(site): State<Arc<Site>>, headers: HeaderMap) -> Response {
    let zone = TimeZone::system();
    let all = site.door.phones(&headers, site.now());
    let phones = all.into_iter().map(|p| (p.clone(), moment(&zone, p.paired))).collect();
    shown(&Phones { frame: Frame::plain("Paired phones"), phones })
}

pub(in crate::faces::web) async fn forget(State(site): State<Arc<Site>>, typed: Fields) -> Result<Redirect, Fail> {
    site.door.forget(typed.one("phone"))?;
    Ok(Redirect::to("/phones"))
}
