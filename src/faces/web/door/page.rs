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
    /// Whether there is nothing to do here.
    paired: bool,
}

impl Page {
    fn of(typed: Fields, wrong: Option<Fail>, paired: bool) -> Self {
        Self { frame: Frame::plain("Pair this phone"), typed, wrong, paired }
    }
}

async fn apart<T: Send + 'static>(
    site: Arc<Site>,
    work: impl FnOnce(&Site) -> Result<T, Fail> + Send + 'static,
) -> Result<T, Fail> {
    tokio::task::spawn_blocking(move || work(&site)).await.unwrap_or_else(|_| Err(Fail::broken()))
}

pub(in crate::faces::web) async fn form(State(site): State<Arc<Site>>, headers: HeaderMap) -> Result<Response, Fail> {
    let paired = apart(site, move |site| {
        let (door, now) = (&site.door, site.now());
        let paired = door.knows(door.token(&headers).as_deref(), now)?;
        if !paired {
            door.offer(now)?;
        }
        Ok(paired)
    });
    Ok(shown(&Page::of(Fields::default(), None, paired.await?)))
}

pub(in crate::faces::web) async fn pair(State(site): State<Arc<Site>>, request: Request) -> Result<Response, Fail> {
    let from = super::peer_or_nobody(&request);
    let typed = Fields::from_request(request, &site).await?;
    let words = typed.clone();
    let paired = apart(site, move |site| site.door.pair(words.one("code"), words.one("name"), from, site.now()));
    match paired.await {
        Ok(cookie) => Ok(([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response()),
        Err(wrong) if wrong.status.is_client_error() => {
            let status = wrong.status;
            Ok((status, shown(&Page::of(typed, Some(wrong), false))).into_response())
        }
        Err(wrong) => Err(wrong),
    }
}

#[derive(Template)]
#[template(path = "phones.html", config = "src/faces/web/askama.toml")]
struct Listed {
    frame: Frame,
    phones: Vec<Line>,
}

struct Line {
    phone: Phone,
    paired: String,
    used: String,
}

pub(in crate::faces::web) async fn phones(State(site): State<Arc<Site>>, headers: HeaderMap) -> Result<Response, Fail> {
    let all = apart(site, move |site| {
        let own = site.door.token(&headers);
        Ok(site.door.phones.list(own.as_deref(), site.now())?)
    });
    let zone = TimeZone::system();
    let line = |phone: Phone| {
        let day = |at| zone.to_datetime(at).strftime("%-d %b %Y").to_string();
        Line { paired: moment(&zone, phone.paired), used: day(phone.used), phone }
    };
    let phones = all.await?.into_iter().map(line).collect();
    Ok(shown(&Listed { frame: Frame::plain("Paired phones"), phones }))
}

pub(in crate::faces::web) async fn forget(State(site): State<Arc<Site>>, typed: Fields) -> Result<Redirect, Fail> {
    let done = apart(site, move |site| {
        let phones = &site.door.phones;
        match typed.some("all") {
            Some(_) => phones.forget_all()?,
            None => phones.forget(typed.one("phone"))?,
        }
        Ok(())
    });
    done.await?;
    Ok(Redirect::to("/phones"))
}
