//! The photos that came: how each stands, what was read from it, and what the keeper does about it.

use super::fail::Fail;
use super::fields::Fields;
use super::frame::{Frame, shown};
use super::seen::{self, Head, Read, Sample, Seen};
use super::shows::{Shows, Typed};
use super::site::Site;
use super::{desk::State as Standing, keeping};
use crate::faces::words::{Found, capital};
use crate::intake::{PhotoKey, Sent};
use crate::log::Log;
use askama::Template;
use axum::Router;
use axum::extract::{Path, Query, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use std::collections::HashMap;
use std::sync::Arc;

/// Seconds after which a page that waits is asked for again.
const AGAIN: u32 = 2;

pub(super) fn routes() -> Router<Arc<Site>> {
    Router::new()
        .route("/photo", get(list))
        .route("/photo/keep", post(keep_all))
        .route("/photo/{key}", get(one))
        .route("/photo/{key}/overlay", get(drawing))
        .route("/photo/{key}/shows", post(shows))
        .route("/photo/{key}/keep", post(keep))
        .route("/photo/{key}/eye", post(eye))
        .route("/photo/{key}/discard", post(discard))
}

#[derive(Template)]
#[template(path = "photos.html", config = "src/faces/web/askama.toml")]
struct List {
    frame: Frame,
    items: Vec<Item>,
    /// Photos that can be kept in one go: key and fingerprint.
    well: Vec<(String, String)>,
}

/// A photo in the list.
struct Item {
    key: String,
    name: String,
    tank: String,
    state: &'static str,
    lines: Vec<String>,
    waits: bool,
}

async fn list(State(site): State<Arc<Site>>) -> Result<Response, Fail> {
    let page = site.if_log(|site, log| {
        let tanks = log.as_ref().map_or(Ok(Vec::new()), |log| log.tanks())?;
        let (mut items, mut well) = (Vec::new(), Vec::new());
        for (key, sent) in site.desk.incoming().list()? {
            let tank = tanks.iter().find(|t| t.id == sent.tank).map(|t| t.name.clone()).unwrap_or_default();
            let (state, lines) = match (&sent.kept, &log) {
                (Some(kept), Some(log)) => ("kept", seen::lines(log, &kept.photo)?),
                _ => standing(site, &key, &mut well),
            };
            let waits = matches!(state, "waiting" | "being read");
            let name = sent.name.unwrap_or_else(|| "photo".to_string());
            items.push(Item { key: key.to_string(), name, tank, state, lines, waits });
        }
        let again = items.iter().any(|i| i.waits).then_some(AGAIN);
        Ok(List { frame: Frame { again, ..Frame::plain("Photos") }, items, well })
    });
    Ok(shown(&page.await?))
}

/// In a word how a photo stands, and what it says.
fn standing(site: &Site, key: &PhotoKey, well: &mut Vec<(String, String)>) -> (&'static str, Vec<String>) {
    match site.desk.state(key) {
        Standing::Waiting(_) => ("waiting", Vec::new()),
        Standing::Reading => ("being read", Vec::new()),
        Standing::Done(seen) => match &*seen {
            Seen::Wrong(fail) => ("needs a look", vec![here(fail).0]),
            Seen::Read(read) => {
                if read.is_well() {
                    well.push((key.to_string(), read.fingerprint.clone()));
                }
                let state = match () {
                    () if read.logged => "in the log already",
                    () if read.is_well() => "read",
                    () => "needs a look",
                };
                (state, read.samples.iter().map(Sample::short).collect())
            }
        },
    }
}

#[derive(Template)]
#[template(path = "photo.html", config = "src/faces/web/askama.toml")]
struct Page<'s> {
    frame: Frame,
    key: String,
    /// The tank on whose page it was sent.
    back: String,
    /// What is to be said first.
    told: Vec<&'static str>,
    waiting: Option<String>,
    wrong: Option<(String, String, &'static str)>,
    head: Option<&'s Head>,
    samples: &'s [Sample],
    findings: &'s [Found],
    remarks: &'s [String],
    /// What it was read for; none where it cannot be kept.
    fingerprint: Option<&'s str>,
    twin: Option<&'s str>,
    kept: bool,
    logged: bool,
    drawn: bool,
    /// Whether no sample was read: then another photo is what helps.
    refused: bool,
    shows: Option<Shows>,
}

async fn one(
    State(site): State<Arc<Site>>,
    Path(key): Path<String>,
    Query(asked): Query<HashMap<String, String>>,
) -> Result<Response, Fail> {
    let key = parsed(&key)?;
    let waits = known(&site, &key)?.kept.is_none();
    if waits {
        site.desk.settle(&key).await;
    }
    let told = [("changed", CHANGED), ("full", FULL)];
    let told = told.into_iter().filter(|(word, _)| asked.contains_key(*word)).map(|(_, said)| said).collect();
    site.log(move |site, log| {
        let sent = known(site, &key)?;
        let blank = Page::blank(site, log, &key, &sent, told)?;
        if let Some(kept) = &sent.kept {
            let (head, samples) = seen::logged(&site.home, log, &kept.photo, site.now())?;
            return Ok(shown(&Page { head: Some(&head), samples: &samples, ..blank }));
        }
        let shows = Some(Shows::of(&site.home, &site.layout, &Typed::said(&sent))?);
        let waiting = match site.desk.state(&key) {
            Standing::Waiting(0) => "It waits to be read.".to_string(),
            Standing::Waiting(1) => "It waits to be read; one photo is before it.".to_string(),
            Standing::Waiting(n) => format!("It waits to be read; {n} photos are before it."),
            Standing::Reading => "It is being read.".to_string(),
            Standing::Done(seen) => {
                return Ok(match &*seen {
                    Seen::Wrong(fail) => {
                        let (sentence, remedy) = here(fail);
                        shown(&Page { wrong: Some((sentence, remedy, fail.code)), drawn: false, shows, ..blank })
                    }
                    Seen::Read(read) => shown(&blank.of(read, shows)),
                });
            }
        };
        let frame = Frame { again: Some(AGAIN), ..blank.frame };
        Ok(shown(&Page { frame, waiting: Some(waiting), drawn: false, ..blank }))
    })
    .await
}

impl<'s> Page<'s> {
    /// With nothing of what was read.
    fn blank(site: &Site, log: &Log, key: &PhotoKey, sent: &Sent, told: Vec<&'static str>) -> Result<Self, Fail> {
        let tank = log.tanks()?.into_iter().find(|t| t.id == sent.tank);
        let title = "What the photo says";
        Ok(Self {
            frame: tank.map_or_else(|| Frame::plain(title), |tank| Frame::of(&tank, "read", title)),
            key: key.to_string(),
            back: sent.tank.to_string(),
            told,
            waiting: None,
            wrong: None,
            head: None,
            samples: &[],
            findings: &[],
            remarks: &[],
            fingerprint: None,
            twin: None,
            kept: sent.kept.is_some(),
            logged: false,
            drawn: site.desk.incoming().drawing(key)?.is_some(),
            refused: false,
            shows: None,
        })
    }

    fn of(self, read: &'s Read, shows: Option<Shows>) -> Self {
        let Read { fingerprint, head, samples, findings, remarks, logged, twin } = read;
        Self {
            head: Some(head),
            samples,
            findings,
            remarks,
            fingerprint: (!logged).then_some(fingerprint),
            twin: twin.as_deref(),
            logged: *logged,
            refused: samples.iter().all(|s| s.refused),
            shows,
            ..self
        }
    }
}

const CHANGED: &str =
    "Nothing was kept: what the photo says has changed since the page was made. Look at it once more.";
const FULL: &str = "The readings are kept, the photo itself is not: kept photos have reached the room set for them.";

async fn drawing(State(site): State<Arc<Site>>, Path(key): Path<String>) -> Result<Response, Fail> {
    let key = parsed(&key)?;
    let bytes = site.if_log(move |site, _| Ok(site.desk.incoming().drawing(&key)?)).await?;
    let bytes = bytes.ok_or_else(unknown)?;
    Ok(([(header::CONTENT_TYPE, "image/jpeg")], bytes).into_response())
}

/// Something else is said about what it shows: it is read anew.
async fn shows(State(site): State<Arc<Site>>, Path(key): Path<String>, typed: Fields) -> Result<Response, Fail> {
    let key = parsed(&key)?;
    let to = page_of(&key, "");
    site.if_log(move |site, _| {
        let mut sent = known(site, &key)?;
        if sent.kept.is_none() {
            Typed::of(typed.pairs()).say(&mut sent);
            site.desk.incoming().say(&key, &sent)?;
            site.desk.again(&key);
        }
        Ok(())
    })
    .await?;
    Ok(to)
}

async fn keep(State(site): State<Arc<Site>>, Path(key): Path<String>, typed: Fields) -> Result<Response, Fail> {
    let key = parsed(&key)?;
    site.if_log(move |site, _| {
        let (seen, twin) = (typed.one("seen"), typed.some("twin").is_some());
        Ok(page_of(&key, keeping::keep(site, &key, &known(site, &key)?, seen, twin)?.query()))
    })
    .await
}

/// Keeps all photos that were read well, as they were seen.
async fn keep_all(State(site): State<Arc<Site>>, typed: Fields) -> Result<Response, Fail> {
    site.if_log(move |site, _| {
        for item in typed.all("item") {
            let Some((key, seen)) = item.split_once(':') else { continue };
            let key = parsed(key)?;
            // One that was discarded meanwhile is gone.
            if let Some(sent) = site.desk.incoming().sent(&key)? {
                keeping::keep(site, &key, &sent, seen, false)?;
            }
        }
        Ok(Redirect::to("/photo").into_response())
    })
    .await
}

/// What was read by eye, kept with the photo that was refused.
async fn eye(State(site): State<Arc<Site>>, Path(key): Path<String>, typed: Fields) -> Result<Response, Fail> {
    let key = parsed(&key)?;
    site.if_log(move |site, _| {
        let (station, value, seen) = (typed.one("station"), typed.one("value"), typed.one("seen"));
        Ok(page_of(&key, keeping::by_eye(site, &key, &known(site, &key)?, station, value, seen)?.query()))
    })
    .await
}

async fn discard(State(site): State<Arc<Site>>, Path(key): Path<String>) -> Result<Response, Fail> {
    let key = parsed(&key)?;
    site.if_log(move |site, _| {
        let sent = site.desk.incoming().sent(&key)?;
        site.desk.incoming().discard(&key)?;
        site.desk.forget(&key);
        Ok(match sent.filter(|s| s.kept.is_none()) {
            Some(sent) => Redirect::to(&format!("/tank/{}/read", sent.tank)).into_response(),
            None => Redirect::to("/photo").into_response(),
        })
    })
    .await
}

fn page_of(key: &PhotoKey, query: &str) -> Response {
    Redirect::to(&format!("/photo/{key}{query}")).into_response()
}

fn parsed(key: &str) -> Result<PhotoKey, Fail> {
    PhotoKey::parse(key).ok_or_else(unknown)
}

fn known(site: &Site, key: &PhotoKey) -> Result<Sent, Fail> {
    site.desk.incoming().sent(key)?.ok_or_else(unknown)
}

fn unknown() -> Fail {
    Fail::new(
        StatusCode::NOT_FOUND,
        "photo-unknown",
        "There is no such photo here: it was discarded, or kept more than a day ago.",
        "What was kept is in the tank's history.",
    )
}

/// What is wrong with a photo, and what to do about it on its page, where the command line's words do not help.
fn here(fail: &Fail) -> (String, String) {
    let below = |said: &str| Some(format!("Say below {said}."));
    let remedy = match fail.code {
        "time-missing" => below("when it was taken"),
        "samples-missing" | "label-no-test" | "label-unreadable" | "label-no-target" => {
            below("what stands where, or lay labels and take the photo again")
        }
        "label-retired" | "label-two-meanings" => below("what stands where, and take the label away"),
        "label-against" | "label-test-gone" | "name-unknown" | "test-unknown" | "time-malformed" => {
            Some("Correct below what was said.".to_string())
        }
        "name-ambiguous" => Some("Choose the kit below.".to_string()),
        _ => None,
    };
    let sentence = capital(match fail.code {
        "time-missing" => "The photo does not say when it was taken, and was not snapped here",
        _ => &fail.sentence,
    });
    let stop = if sentence.ends_with(['.', '!', '?']) { "" } else { "." };
    (format!("{sentence}{stop}"), remedy.unwrap_or_else(|| fail.remedy.clone()))
}
