//! The page on the phone: a small web server for the keeper's own network.
//!
//! Takes a [`Site`] (the home folder, the clock) and requests; gives pages. Promises: every page works without JavaScript and holds
//! all it needs, nothing is fetched from elsewhere; meaning is in words and numbers, never in colour alone; a name that somebody
//! typed never becomes a path; a request from another site, or by another name than the server's own, is refused (`door`).
//! Never: judges a value or knows a rule. Handlers call intake, log and advice.
//!
//! # Where things are
//! | file | what |
//! | --- | --- |
//! | `door` | who may in: the name asked for, where a request comes from, pairing; how much and how long; the headers of every answer |
//! | `run` | listening: addresses, TLS, connections; the stop |
//! | `site` | what all handlers share; work on the log away from the threads that answer |
//! | `frame` | what stands around every page |
//! | `fail` | what went wrong, as a page |
//! | `send`, `shows` | the form that says what a photo shows, and the photos that come with it |
//! | `upload` | forms of several parts, taken in piece by piece |
//! | `desk` | where they are read: a queue, a few threads, what came of each |
//! | `seen`, `scale` | what a photo said, ready to be shown, on a drawn rule |
//! | `photo`, `keeping` | a photo's page, the list of all; keep, discard, read by eye |
//! | `asset` | style and script, compiled in |
//! | `fields`, `said` | what was typed; statements of advice for a page |
//! | `now`, `history`, `entry`, `event`, `timer`, `newtank`, `facts`, `paper` | pages about tanks, readings, events, started tests, printing |
//! | `setup/` | setting up: the card, kits, photos of standards looked at before they are taken in |
//! | `page/` | the templates |

mod asset;
mod desk;
mod door;
mod entry;
mod event;
mod facts;
mod fail;
mod fields;
mod frame;
mod history;
mod home;
mod keeping;
mod newtank;
mod now;
mod paper;
mod photo;
mod run;
mod said;
mod scale;
mod seen;
mod send;
mod setup;
mod shows;
mod site;
mod timer;
mod upload;

pub use door::{Code, Phone, Phones, PhonesError};
pub use run::{Listening, Notice, ServeError, TlsError, Up, serve};
pub use site::Site;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware;
use axum::routing::{get, post};
use std::sync::Arc;
use tower_http::catch_panic::CatchPanicLayer;

/// All pages.
pub fn router(site: Arc<Site>) -> Router {
    Router::new()
        .route("/", get(home::home))
        .route("/pair", get(door::page::form).post(door::page::pair))
        .route("/phones", get(door::page::phones))
        .route("/phones/forget", post(door::page::forget))
        .merge(tanks())
        .merge(asset::routes())
        .merge(send::routes())
        .merge(setup::routes())
        .merge(photo::routes())
        .fallback(fail::nothing_here)
        .layer(DefaultBodyLimit::max(door::FORM_BYTES))
        .layer(CatchPanicLayer::custom(fail::panicked))
        .layer(middleware::from_fn_with_state(site.clone(), door::guard))
        .with_state(site)
}

/// Pages about tanks and what is logged of them.
fn tanks() -> Router<Arc<Site>> {
    Router::new()
        .route("/tank/new", get(newtank::form).post(newtank::add))
        .route("/tank/{id}", get(now::now))
        .route("/tank/{id}/facts", get(facts::form).post(facts::change))
        .route("/tank/{id}/trouble", get(now::trouble).post(now::see))
        .route("/tank/{id}/trouble/over", post(now::over))
        .route("/tank/{id}/history", get(history::history))
        .route("/tank/{id}/report", get(history::report))
        .route("/tank/{id}/event", get(event::form).post(event::add))
        .route("/tank/{id}/undo", post(event::undo))
        .route("/tank/{id}/wait", get(timer::timer).post(timer::start))
        .route("/tank/{id}/wait/stop", post(timer::stop))
        .route("/reading/{id}", get(entry::reading))
        .route("/reading/{id}/picture", get(entry::picture))
        .route("/reading/{id}/correct", post(entry::correct))
        .route("/reading/{id}/undo", post(entry::undo))
        .route("/reading/{id}/move", post(entry::moved))
        .route("/print", get(paper::paper))
        .route("/print/card", get(paper::card))
        .route("/print/labels", post(paper::labels))
}
