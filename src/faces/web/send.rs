//! Sending photos: the form of a tank, and the photos that come with it.

use super::fail::Fail;
use super::frame::{Frame, shown};
use super::shows::{LONGEST, Shows, Typed};
use super::site::{Site, tank};
use super::upload::{blocking, broken_off, pour, text, too_many};
use crate::intake::{self, Arriving, PhotoKey, Sent};
use crate::photo::Limits;
use askama::Template;
use axum::Router;
use axum::extract::multipart::{Field, Multipart};
use axum::extract::{DefaultBodyLimit, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use std::collections::HashMap;
use std::sync::Arc;

/// Most photos sent at once, and most bytes of all of them.
const MOST_PHOTOS: usize = 30;
const MOST_BYTES: usize = 600_000_000;

pub(super) fn routes() -> Router<Arc<Site>> {
    Router::new().route("/tank/{id}/read", get(form).post(send).layer(DefaultBodyLimit::max(MOST_BYTES)))
}

#[derive(Template)]
#[template(path = "read.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    here: String,
    shows: Shows,
    waiting: usize,
    trouble: Option<&'static str>,
}

async fn form(
    State(site): State<Arc<Site>>,
    Path(id): Path<String>,
    Query(asked): Query<HashMap<String, String>>,
) -> Result<Response, Fail> {
    page(site, id, asked.get("kit").cloned(), None).await
}

/// The form; with a kit, for that kit, else filled with what the tank's last photo showed.
async fn page(site: Arc<Site>, id: String, kit: Option<String>, typed: Option<Typed>) -> Result<Response, Fail> {
    let trouble = typed.as_ref().map(|_| "No photo was chosen.");
    let page = site.log(move |site, log| {
        let tank = tank(log, &id)?;
        let mut typed = match typed {
            Some(typed) => typed,
            None => Typed::last(intake::last_shown(log, &tank)?),
        };
        typed.kit = kit.or(typed.kit);
        let waiting = site.desk.incoming().list()?.iter().filter(|(_, sent)| sent.kept.is_none()).count();
        let shows = Shows::of(&site.home, &site.layout, &typed)?;
        Ok(Page { frame: Frame::of(&tank, "read", "Read a photo"), here: id, shows, waiting, trouble })
    });
    let page = page.await?;
    let status = if page.trouble.is_some() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    Ok((status, shown(&page)).into_response())
}

/// Photos come. Each is on the disk, with what was said about it, before this answers. What is wrong with the words is said with the
/// photo and mended there: a photo that was snapped may be nowhere else.
async fn send(State(site): State<Arc<Site>>, Path(id): Path<String>, mut form: Multipart) -> Result<Response, Fail> {
    let own = id.clone();
    let tank = Arc::clone(&site).log(move |_, log| tank(log, &own)).await?;
    let (mut fields, mut photos, mut wrong) = (Vec::new(), Vec::new(), None);
    while let Some(mut field) = form.next_field().await.map_err(broken_off)? {
        let name = field.name().unwrap_or_default().to_string();
        if !matches!(name.as_str(), "snap" | "photos") {
            fields.push((name, text(&mut field, 4 * LONGEST).await?));
            continue;
        }
        let file = field.file_name().map(|n| n.chars().take(LONGEST).collect::<String>());
        // After the first that is wrong the rest is only taken in, so that the answer is heard.
        match receive(&site, &mut field, photos.len(), wrong.is_some()).await? {
            Ok(Some(photo)) => photos.push((photo, name == "snap", file)),
            Ok(None) => {}
            Err(fail) => wrong = Some(fail),
        }
    }
    if let Some(fail) = wrong {
        return Err(fail);
    }
    let typed = Typed::of(fields.iter().map(|(name, value)| (name.as_str(), value.as_str())));
    if photos.is_empty() {
        return page(site, id, None, Some(typed)).await;
    }
    let taking = Arc::clone(&site);
    let keys = blocking(move || {
        let mut keys: Vec<PhotoKey> = Vec::new();
        for (photo, snapped, name) in photos {
            let mut sent = Sent::new(tank.id, taking.now());
            (sent.name, sent.snapped) = (name, snapped);
            typed.say(&mut sent);
            let key = photo.accept(&sent)?;
            taking.desk.again(&key);
            keys.push(key);
        }
        Ok(keys)
    });
    let keys = keys.await?;
    Ok(match &keys[..] {
        [one] => Redirect::to(&format!("/photo/{one}")).into_response(),
        _ => Redirect::to("/photo").into_response(),
    })
}

/// A photo's bytes, written as they come; none for a field in which none was chosen.
async fn receive(
    site: &Site,
    field: &mut Field<'_>,
    there: usize,
    pass: bool,
) -> Result<Result<Option<Arriving>, Fail>, Fail> {
    let incoming = site.desk.incoming().clone();
    let write = move |so_far: Option<Arriving>, bytes: Vec<u8>| {
        let mut photo = match so_far {
            Some(photo) => photo,
            None if there >= MOST_PHOTOS => return Err(too_many(MOST_PHOTOS)),
            None => incoming.begin(&Limits::default())?,
        };
        photo.add(&bytes)?;
        Ok(Some(photo))
    };
    pour(field, pass, None, write).await
}
