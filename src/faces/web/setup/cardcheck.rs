//! Checking photos: good to read by, and the card still the one enrolled?

use super::super::fail::Fail;
use super::super::fields::Fields;
use super::super::frame::{Frame, shown};
use super::super::site::Site;
use super::super::upload::blocking;
use super::card::no_photo;
use super::said::Found;
use super::tray::{Photos, Seen, Sent, receive};
use crate::intake::{self, IntakeError, Kept};
use crate::light::{self, CardCheck, Enrolment};
use crate::photo::Limits;
use askama::Template;
use axum::extract::{Multipart, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use std::path::PathBuf;
use std::sync::Arc;

const CHECK: &str = "card check";

#[derive(Template)]
#[template(path = "setup/card-check.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    known: Vec<String>,
    typed: Fields,
    wrong: Option<Fail>,
    checked: Vec<CheckLine>,
    against: Option<String>,
}

struct CheckLine {
    name: String,
    good: bool,
    facts: Vec<String>,
    findings: Vec<Found>,
}

impl CheckLine {
    fn of(name: String, check: &CardCheck) -> Self {
        let place = check.place.as_ref().map(|p| {
            let number = p.number.map_or(String::new(), |n| format!("card {n}, "));
            format!("{number}{:.1} pixels a millimetre, edges spread {:.2} mm", p.px_per_mm, p.blur_mm)
        });
        let agreement = check.light.as_ref().and_then(|l| l.agreement.as_ref());
        let agreement = agreement.map(|a| {
            format!("patches ΔE00 {:.2} from the enrolled ones (its own photos stay below {:.2})", a.mean, a.allowed)
        });
        let facts = [place, agreement].into_iter().flatten().collect();
        Self { name, good: check.good, facts, findings: Found::all(&check.findings) }
    }
}

impl Page {
    fn form(site: &Site, typed: Fields, wrong: Option<Fail>) -> Result<Response, Fail> {
        let status = wrong.as_ref().map_or(StatusCode::OK, |w| w.status);
        let (frame, known) = (Frame::plain("Check a card"), site.home.card_names()?);
        let page = Self { frame, known, typed, wrong, checked: Vec::new(), against: None };
        Ok((status, shown(&page)).into_response())
    }
}

pub(super) async fn form(State(site): State<Arc<Site>>) -> Result<Response, Fail> {
    blocking(move || Page::form(&site, Fields::default(), None)).await
}

pub(super) async fn check(State(site): State<Arc<Site>>, form: Multipart) -> Result<Response, Fail> {
    let Sent { typed, photos } = receive(&site, CHECK, form).await?;
    blocking(move || {
        let Some(photos) = photos else { return Page::form(&site, typed, Some(no_photo())) };
        let _alone = site.tray.alone();
        match checks(&site, &typed, &photos) {
            Ok(checks) => {
                let key = site.tray.lay(CHECK, typed, photos, Seen::Checks(checks), site.now())?;
                Ok(Redirect::to(&format!("/card/check/{key}")).into_response())
            }
            Err(wrong) if wrong.status.is_client_error() => Page::form(&site, typed, Some(wrong)),
            Err(wrong) => Err(wrong),
        }
    })
    .await
}

/// The card to check against: the one chosen, else the only one; none where none is enrolled.
fn against(site: &Site, typed: &Fields) -> Result<Option<Kept<Enrolment>>, Fail> {
    match typed.some("card") {
        None if site.home.card_names()?.is_empty() => Ok(None),
        name => Ok(Some(site.home.card(name.as_deref())?)),
    }
}

fn checks(site: &Site, typed: &Fields, photos: &Photos) -> Result<Vec<CardCheck>, Fail> {
    let card = against(site, typed)?;
    let one = |path: PathBuf| {
        let opened = intake::open(&path, &Limits::default())?;
        light::check_card(&opened.photo, &site.layout, card.as_ref().map(|c| &c.value)).map_err(|source| {
            IntakeError::CardFile { name: card.as_ref().map(|c| c.name.clone()).unwrap_or_default(), source }
        })
    };
    photos.paths().into_iter().map(one).collect::<Result<_, _>>().map_err(|e| photos.fail(e).into())
}

pub(super) async fn look(State(site): State<Arc<Site>>, Path(key): Path<String>) -> Result<Response, Fail> {
    blocking(move || {
        let look = site.tray.find(CHECK, &key, site.now())?;
        let Seen::Checks(checks) = &look.seen else { return Err(Fail::broken()) };
        let line = |(i, check): (usize, &CardCheck)| {
            let name = &look.photos.names[i];
            let name = if name.is_empty() { format!("Photo {}", i + 1) } else { name.clone() };
            CheckLine::of(name, check)
        };
        let page = Page {
            frame: Frame::plain("Card checked"),
            known: site.home.card_names()?,
            typed: look.typed.clone(),
            wrong: None,
            checked: checks.iter().enumerate().map(line).collect(),
            against: against(&site, &look.typed)?.map(|c| c.name),
        };
        Ok(shown(&page))
    })
    .await
}
