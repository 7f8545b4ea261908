//! What stands around every page.

use super::fail::Fail;
use crate::log::Tank;
use askama::Template;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};

/// Title and ways on.
#[derive(Debug, Clone, Default)]
pub(super) struct Frame {
    pub(super) title: String,
    /// The tank the page is about.
    pub(super) tank: Option<Here>,
    /// Which of the tank's pages it is: `now`, `read`, `wait`, `history`, `event`; empty for none of them.
    pub(super) part: &'static str,
    /// Seconds after which a page that waits for something is asked for again, where there is no JavaScript.
    pub(super) again: Option<u32>,
}

/// A tank in an address and in words.
#[derive(Debug, Clone)]
pub(super) struct Here {
    pub(super) id: String,
    pub(super) name: String,
}

impl From<&Tank> for Here {
    fn from(tank: &Tank) -> Self {
        Self { id: tank.id.to_string(), name: tank.name.clone() }
    }
}

impl Frame {
    pub(super) fn plain(title: impl Into<String>) -> Self {
        Self { title: title.into(), ..Self::default() }
    }

    pub(super) fn of(tank: &Tank, part: &'static str, title: impl Into<String>) -> Self {
        Self { title: title.into(), tank: Some(tank.into()), part, again: None }
    }

    /// The program's version, at the foot of every page.
    pub(super) fn version(&self) -> &'static str {
        env!("CARGO_PKG_VERSION")
    }
}

/// A page as an answer.
pub(super) fn shown(page: &impl Template) -> Response {
    match page.render() {
        Ok(html) => ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], html).into_response(),
        // A page that cannot be written cannot say so by a page.
        Err(_) => (StatusCode::INTERNAL_SERVER_ERROR, Fail::broken().sentence).into_response(),
    }
}
