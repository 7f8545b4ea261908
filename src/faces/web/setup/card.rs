//! Cards: those enrolled, and enrolling one.

use super::super::fail::Fail;
use super::super::fields::Fields;
use super::super::frame::{Frame, shown};
use super::super::site::Site;
use super::super::upload::blocking;
use super::said::{Found, count};
use super::tray::{Look, Photos, Seen, Sent, Unread, receive};
use crate::card::CardNumber;
use crate::finding::Finding;
use crate::intake::{self, EnrolAsked, EnrolSeen, IntakeError, Keep, Kept};
use crate::light::{Enrolment, Origin};
use askama::Template;
use axum::extract::{Multipart, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::sync::Arc;

const ENROL: &str = "card enrol";

#[derive(Template)]
#[template(path = "setup/cards.html", config = "src/faces/web/askama.toml")]
struct Cards {
    frame: Frame,
    cards: Vec<CardLine>,
}

/// An enrolled card.
struct CardLine {
    name: String,
    number: Option<u32>,
    date: String,
    from: String,
    revision: String,
    revisions: usize,
    note: Option<String>,
    patches: Patches,
}

/// How well the photos of an enrolment agree.
struct Patches {
    /// Mean of the patches' standard deviations, ΔE00.
    mean: Option<String>,
    each: Vec<(String, String)>,
}

impl Patches {
    fn of(card: &Enrolment) -> Self {
        let mean = card.scatter().map(|m| format!("{m:.2}"));
        let each = card.patches.iter().filter_map(|p| Some((p.name.clone(), format!("{:.2}", p.scatter?))));
        Self { mean, each: each.collect() }
    }
}

impl CardLine {
    fn of(card: &Kept<Enrolment>, revisions: usize) -> Self {
        let c = &card.value;
        Self {
            name: card.name.clone(),
            number: c.number.map(CardNumber::get),
            date: c.date.to_string(),
            from: if c.origin == Origin::Measured { "measured values".into() } else { count(c.photos.len(), "photo") },
            revision: card.revision.short().to_string(),
            revisions,
            note: c.note.clone(),
            patches: Patches::of(c),
        }
    }
}

pub(super) async fn cards(State(site): State<Arc<Site>>) -> Result<Response, Fail> {
    blocking(move || {
        let one = |name: String| {
            let card = site.home.card(Some(&name))?;
            Ok(CardLine::of(&card, site.home.card_revisions(&name)?.len()))
        };
        let cards = site.home.card_names()?.into_iter().map(one).collect::<Result<_, IntakeError>>()?;
        Ok(shown(&Cards { frame: Frame::plain("Cards"), cards }))
    })
    .await
}

#[derive(Template)]
#[template(path = "setup/enrol.html", config = "src/faces/web/askama.toml")]
struct Form {
    frame: Frame,
    typed: Fields,
    wrong: Option<Fail>,
    /// Photos that were sent before and need not be sent again.
    look: Option<(String, usize)>,
    known: Vec<String>,
}

impl Form {
    fn answer(
        site: &Site,
        typed: Fields,
        wrong: Option<Fail>,
        look: Option<(String, usize)>,
    ) -> Result<Response, Fail> {
        let status = wrong.as_ref().map_or(StatusCode::OK, |w| w.status);
        let known = site.home.card_names()?;
        let form = Self { frame: Frame::plain("Enrol a card"), typed, wrong, look, known };
        Ok((status, shown(&form)).into_response())
    }
}

pub(super) async fn form(State(site): State<Arc<Site>>) -> Result<Response, Fail> {
    blocking(move || Form::answer(&site, Fields::default(), None, None)).await
}

fn asked(typed: &Fields) -> Result<EnrolAsked, Fail> {
    let number = typed.card_number()?;
    let name = typed.some("name").unwrap_or_else(|| "card".to_string());
    Ok(EnrolAsked { name, number, note: typed.some("note") })
}

fn today(site: &Site) -> Date {
    TimeZone::system().to_datetime(site.now()).date()
}

pub(super) fn no_photo() -> Fail {
    Fail::new(StatusCode::UNPROCESSABLE_ENTITY, "photo-missing", "No photo was chosen", "Choose one, or take it now.")
}

/// Photos come: what they show is laid down to be looked at.
pub(super) async fn send(State(site): State<Arc<Site>>, form: Multipart) -> Result<Response, Fail> {
    let Sent { typed, photos } = receive(&site, ENROL, form).await?;
    blocking(move || {
        let Some(photos) = photos else { return Form::answer(&site, typed, Some(no_photo()), None) };
        let alone = site.tray.alone();
        let seen = asked(&typed)
            .map_err(Unread::from)
            .and_then(|asked| intake::try_enrol(&photos.paths(), &asked, today(&site)).map_err(|e| photos.fail(e)));
        drop(alone);
        let lay = |seen| site.tray.lay(ENROL, typed.clone(), Arc::clone(&photos), seen, site.now());
        match seen {
            Ok(seen) => {
                let key = lay(Seen::Enrolment(seen))?;
                Ok(Redirect::to(&format!("/card/enrol/{key}")).into_response())
            }
            Err(Unread { fail: wrong, useless }) if wrong.status.is_client_error() => {
                let look = if useless { None } else { Some((lay(Seen::Nothing)?, photos.names.len())) };
                Form::answer(&site, typed, Some(wrong), look)
            }
            Err(unread) => Err(unread.into()),
        }
    })
    .await
}

#[derive(Template)]
#[template(path = "setup/enrolled.html", config = "src/faces/web/askama.toml")]
struct Seeing {
    frame: Frame,
    look: String,
    name: String,
    /// Whether a card of this name gets a new revision by it.
    again: bool,
    photos: Vec<(String, &'static str)>,
    card: Option<CardLine>,
    refusal: Vec<Found>,
    findings: Vec<Found>,
}

/// What became of every photo, by what the enrolment took of them.
fn verdicts(photos: &Photos, seen: &EnrolSeen<Enrolment>) -> Vec<(String, &'static str)> {
    let name = |i: usize| match photos.names[i].is_empty() {
        true => format!("Photo {}", i + 1),
        false => format!("Photo {}, {}", i + 1, photos.names[i]),
    };
    let all = 0..photos.names.len();
    let about = |i: usize, f: &Finding| f.sentence.starts_with(&format!("Photo {}", i + 1));
    let word = |i: usize| match seen {
        Err(why) if why.iter().any(|f| about(i, f)) => "refused",
        Err(_) => "nothing against it",
        Ok((card, _)) if card.photos.len() == photos.names.len() => "accepted",
        Ok((_, notes)) if notes.iter().any(|f| about(i, f)) => "left out, or with a note below",
        Ok(_) => "accepted",
    };
    all.map(|i| (name(i), word(i))).collect()
}

pub(super) async fn look(State(site): State<Arc<Site>>, Path(key): Path<String>) -> Result<Response, Fail> {
    blocking(move || {
        let look = site.tray.find(ENROL, &key, site.now())?;
        let Seen::Enrolment(seen) = &look.seen else {
            let again = Some((key, look.photos.names.len()));
            return Form::answer(&site, look.typed.clone(), None, again);
        };
        let name = asked(&look.typed)?.name;
        let card = |card: &Enrolment| {
            let kept = Kept { name: name.clone(), revision: card.revision(), value: card.clone() };
            CardLine::of(&kept, 0)
        };
        let page = Seeing {
            frame: Frame::plain(if seen.is_ok() { "Is this the card?" } else { "Not enrolled" }),
            look: key,
            again: site.home.card_names()?.contains(&name),
            photos: verdicts(&look.photos, seen),
            card: seen.as_ref().ok().map(|(c, _)| card(c)),
            refusal: seen.as_ref().err().map(|why| Found::all(why)).unwrap_or_default(),
            findings: seen.as_ref().map(|(_, f)| Found::all(f)).unwrap_or_default(),
            name,
        };
        Ok(shown(&page))
    })
    .await
}

/// Enrols the card, from the photos again: what is written is what the command line writes.
pub(super) async fn keep(State(site): State<Arc<Site>>, Path(key): Path<String>) -> Result<Redirect, Fail> {
    blocking(move || {
        let look = site.tray.find(ENROL, &key, site.now())?;
        let Look { typed, photos, seen, .. } = &*look;
        if !matches!(seen, Seen::Enrolment(Ok(_))) {
            return Ok(Redirect::to(&format!("/card/enrol/{key}")));
        }
        let alone = site.tray.alone();
        let done = intake::enrol(&site.home, &photos.paths(), &asked(typed)?, today(&site), Keep::default());
        drop(alone);
        match done.map_err(|e| photos.fail(e))? {
            Ok(_) => {
                site.tray.forget(&key, site.now());
                Ok(Redirect::to("/setup"))
            }
            Err(_) => Ok(Redirect::to(&format!("/card/enrol/{key}"))),
        }
    })
    .await
}

pub(super) async fn discard(State(site): State<Arc<Site>>, Path(key): Path<String>) -> Redirect {
    site.tray.forget(&key, site.now());
    Redirect::to("/card/enrol")
}
