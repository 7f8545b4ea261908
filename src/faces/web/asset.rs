//! Style and script, compiled in.

use super::site::Site;
use axum::Router;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use std::sync::Arc;

const STYLE: &str = include_str!("asset/style.css");
const SCRIPT: &str = include_str!("asset/page.js");
const UPLOAD: &str = include_str!("asset/upload.js");
const ICON: &str = include_str!("asset/icon.svg");

pub(super) fn routes() -> Router<Arc<Site>> {
    Router::new()
        .route("/style.css", get(|| async { kept("text/css; charset=utf-8", STYLE) }))
        .route("/page.js", get(|| async { kept("text/javascript; charset=utf-8", SCRIPT) }))
        .route("/upload.js", get(|| async { kept("text/javascript; charset=utf-8", UPLOAD) }))
        .route("/icon.svg", get(|| async { kept("image/svg+xml", ICON) }))
}

/// Asked for again after a day, or with a new version by another address.
fn kept(kind: &'static str, what: &'static str) -> Response {
    ([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "max-age=86400")], what).into_response()
}
