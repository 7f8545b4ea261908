//! The page on the phone: a small web server for the keeper's own network.
//!
//! Takes a [`Site`] (the home folder, the clock) and requests; gives pages. Promises: every page works without JavaScript and holds
//! all it needs, nothing is fetched from elsewhere; meaning is in words and numbers, never in colour alone; a name that somebody
//! typed never becomes a path; a request from another site, or by another name than the server's own, is refused ([`door`]).
//! Never: judges a value or knows a rule. Handlers call intake, log and advice.
//!
//! # Where things are
//! | file | what |
//! | --- | --- |
//! | `door` | who may in: the name asked for, where a request comes from, the headers of every answer |
//! | `site` | what all handlers share; work on the log away from the threads that answer |
//! | `frame` | what stands around every page |
//! | `fail` | what went wrong, as a page |
//! | `send`, `shows` | the form that says what a photo shows, and the photos that come with it |
//! | `desk` | where they are read: a queue, a few threads, what came of each |
//! | `seen`, `scale` | what a photo said, ready to be shown, on a drawn rule |
//! | `photo`, `keeping` | a photo's page, the list of all; keep, discard, read by eye |
//! | `asset` | style and script, compiled in |
//! | `page/` | the templates |

mod asset;
mod desk;
mod door;
mod fail;
mod frame;
mod home;
mod keeping;
mod photo;
mod run;
mod scale;
mod seen;
mod send;
mod shows;
mod site;

pub use run::{Asked, ServeError, serve};
pub use site::Site;

use axum::Router;
use axum::middleware;
use axum::routing::get;
use std::sync::Arc;

/// All pages.
pub fn router(site: Arc<Site>) -> Router {
    Router::new()
        .route("/", get(home::home))
        .merge(asset::routes())
        .merge(send::routes())
        .merge(photo::routes())
        .fallback(fail::nothing_here)
        .layer(middleware::from_fn(door::guard))
        .with_state(site)
}
