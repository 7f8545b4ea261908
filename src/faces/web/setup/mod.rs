//! Setting up: the card is enrolled, a kit is made and calibrated, one step after the other.
//!
//! Photos are looked at first and laid on the [`Tray`]; what they showed is written when the keeper accepts it, by the same calls as the
//! command line makes. Kits stand in addresses by the beginning of the hash of their name, which is looked for among those that are
//! there: a name never becomes a path.

mod card;
mod cardcheck;
mod check;
mod kit;
mod newkit;
mod recipe;
mod said;
mod shown;
mod start;
mod tray;

pub(super) use tray::Tray;

use super::site::Site;
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};
use std::sync::Arc;

pub(super) fn routes() -> Router<Arc<Site>> {
    let photos = Router::new()
        .route("/card/enrol", get(card::form).post(card::send))
        .route("/card/check", get(cardcheck::form).post(cardcheck::check))
        .route("/kit/{kit}/add", get(shown::standards).post(shown::send_standards))
        .route("/kit/{kit}/shades", get(shown::shades).post(shown::send_shades))
        .layer(DefaultBodyLimit::max(tray::MOST_BYTES));
    Router::new()
        .route("/setup", get(start::start))
        .route("/card", get(card::cards))
        .route("/card/enrol/{look}", get(card::look))
        .route("/card/enrol/{look}/keep", post(card::keep))
        .route("/card/enrol/{look}/discard", post(card::discard))
        .route("/card/check/{look}", get(cardcheck::look))
        .route("/kit", get(kit::kits))
        .route("/kit/new", get(newkit::form).post(newkit::make))
        .route("/kit/{kit}", get(kit::kit))
        .route("/kit/{kit}/remove", post(kit::remove))
        .route("/kit/{kit}/test", get(newkit::test_form).post(newkit::add_test))
        .route("/kit/{kit}/check", get(check::check))
        .route("/kit/{kit}/standards", get(recipe::recipe))
        .route("/kit/{kit}/add/{look}", get(shown::look))
        .route("/kit/{kit}/add/{look}/keep", post(shown::keep))
        .route("/kit/{kit}/add/{look}/discard", post(shown::discard))
        .merge(photos)
}
