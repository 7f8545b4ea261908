//! Logging what happened to a tank: first what kind of thing, then how much of what.

use super::fail::Fail;
use super::fields::Fields;
use super::frame::{Frame, Here, shown};
use super::said::moment;
use super::site::{Site, tank};
use crate::faces::books::book;
use crate::faces::words::capital;
use crate::intake::{self, At, Beside, Entered, IntakeError};
use crate::log::{Id, Log, Tank, Undo};
use askama::Template;
use axum::extract::{Path, RawQuery, State};
use axum::response::{IntoResponse, Redirect, Response};
use std::sync::Arc;

/// Kinds by what they are about.
const GROUPS: [(&str, &[&str]); 4] = [
    ("Water", &["water-change", "top-up", "conditioner", "buffer", "salt", "ammonia-dosed"]),
    (
        "Animals",
        &[
            "feeding",
            "fish-added",
            "fish-died",
            "fish-removed",
            "fish-counted",
            "symptom",
            "symptom-over",
            "medicine",
            "declared-established",
        ],
    ),
    (
        "Filter and power",
        &["media-rinsed", "media-added", "media-removed", "media-moved", "filter-off", "power-cut", "heater-fault"],
    ),
    ("Other", &["plants", "decor-removed", "note"]),
];
/// Events listed.
const LISTED: usize = 30;

#[derive(Template)]
#[template(path = "event.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    id: String,
    groups: Vec<(&'static str, Vec<Kind>)>,
    events: Vec<Happened>,
}

struct Kind {
    code: &'static str,
    words: String,
}

struct Happened {
    id: String,
    at: String,
    words: String,
}

#[derive(Template)]
#[template(path = "event-one.html", config = "src/faces/web/askama.toml")]
struct Form {
    frame: Frame,
    id: String,
    kind: String,
    takes: &'static str,
    /// Tanks that media may go into.
    others: Vec<Here>,
    into: bool,
    typed: Fields,
    wrong: Option<Fail>,
    /// Asked back, because the log has the same.
    twice: bool,
}

/// A kind in plain words.
fn plain(kind: &str) -> String {
    capital(&kind.replace('-', " "))
}

/// Without a kind, what there is and what was logged; with one, its form.
pub(super) async fn form(
    State(site): State<Arc<Site>>,
    Path(id): Path<String>,
    RawQuery(query): RawQuery,
) -> Result<Response, Fail> {
    let typed = Fields::asked(query)?;
    site.log(move |site, log| {
        let tank = tank(log, &id)?;
        match typed.some("kind") {
            Some(_) => Ok(shown(&one(log, &tank, typed, None)?)),
            None => {
                let book = book(log, &tank, &site.home.kit_facts()?)?;
                let zone = intake::zone(&tank.zone);
                let of = |e: &crate::advice::Happening| Happened {
                    id: e.entry.clone(),
                    at: moment(&zone, e.at),
                    words: e.words.clone(),
                };
                let events = book.events.iter().rev().take(LISTED).map(of).collect();
                let kinds = |all: &[&'static str]| all.iter().map(|k| Kind { code: k, words: plain(k) }).collect();
                let groups = GROUPS.iter().map(|(name, all)| (*name, kinds(all))).collect();
                let frame = Frame::of(&tank, "event", "What happened?");
                Ok(shown(&Page { frame, id: tank.id.to_string(), groups, events }))
            }
        }
    })
    .await
}

fn one(log: &Log, tank: &Tank, typed: Fields, wrong: Option<Fail>) -> Result<Form, Fail> {
    let kind = intake::kind(typed.one("kind")).map_err(IntakeError::from)?;
    let others = log.tanks()?.iter().filter(|t| t.id != tank.id).map(Here::from).collect();
    let twice = wrong.as_ref().is_some_and(|w| w.code == "entry-twice");
    let wrong = wrong.map(|w| match twice {
        true => Fail { remedy: "If it happened again, tick so below; else there is nothing to do.".into(), ..w },
        false => w,
    });
    Ok(Form {
        frame: Frame::of(tank, "event", plain(kind)),
        id: tank.id.to_string(),
        kind: kind.to_string(),
        takes: intake::takes(kind),
        others,
        into: kind == "media-moved",
        typed,
        wrong,
        twice,
    })
}

/// Logs it; what cannot be meant comes back with what was typed.
pub(super) async fn add(
    State(site): State<Arc<Site>>,
    Path(id): Path<String>,
    typed: Fields,
) -> Result<Response, Fail> {
    site.log(move |site, log| {
        let tank = tank(log, &id)?;
        match written(log, &tank, &typed, site.now()) {
            Ok(_) => Ok(Redirect::to(&format!("/tank/{}/event", tank.id)).into_response()),
            Err(wrong) => wrong.back(|wrong| Ok(shown(&one(log, &tank, typed, Some(wrong))?))),
        }
    })
    .await
}

fn written(log: &mut Log, tank: &Tank, typed: &Fields, now: jiff::Timestamp) -> Result<Id, Fail> {
    let beside = Beside { to: Id::parse(typed.one("into")), ..Beside::default() };
    let (what, words) = intake::happening(typed.one("kind"), typed.one("words"), beside).map_err(IntakeError::from)?;
    let note: Vec<String> = [words, typed.some("note")].into_iter().flatten().collect();
    let note = Some(note.join("; ")).filter(|n| !n.is_empty());
    // A date field of a browser writes a T between day and time.
    let at = typed.some("at").map(|at| At::parse(&at.replace('T', " "))).transpose()?;
    let when = Entered { at, again: typed.one("again") == "yes", instead: None };
    Ok(intake::add_event(log, tank, &what, note, when, now)?.id)
}

/// Takes an event or a reading back.
pub(super) async fn undo(
    State(site): State<Arc<Site>>,
    Path(id): Path<String>,
    typed: Fields,
) -> Result<Redirect, Fail> {
    let to = format!("/tank/{id}/event");
    site.log(move |site, log| {
        tank(log, &id)?;
        undone(log, typed.one("entry"), "", site.now())
    })
    .await?;
    Ok(Redirect::to(&to))
}

/// Takes an entry of the log back, for a reason if one was typed.
pub(super) fn undone(log: &mut Log, entry: &str, reason: &str, now: jiff::Timestamp) -> Result<(), Fail> {
    let entry = log.find(entry)?;
    let reason = if reason.is_empty() { "taken back on the page" } else { reason };
    log.write(now, |w| w.undo(&Undo::Entry(entry), reason))?;
    Ok(())
}
