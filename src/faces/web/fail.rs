//! What went wrong, as a page: the sentence, then what to do.

use super::frame::{Frame, shown};
use crate::faces::words::capital;
use crate::intake::{Fault, IntakeError};
use crate::log::LogError;
use crate::store::StoreError;
use askama::Template;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};

/// Why a page cannot be shown or something was not done.
#[derive(Debug)]
pub(super) struct Fail {
    pub(super) status: StatusCode,
    pub(super) code: &'static str,
    pub(super) sentence: String,
    pub(super) remedy: String,
}

impl Fail {
    pub(super) fn new(
        status: StatusCode,
        code: &'static str,
        sentence: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self { status, code, sentence: sentence.into(), remedy: remedy.into() }
    }

    /// What was typed wrong comes back with the page it was typed on, any other fault goes on.
    pub(super) fn back(self, page: impl FnOnce(Self) -> Result<Response, Self>) -> Result<Response, Self> {
        let status = self.status;
        match status.is_client_error() {
            true => Ok((status, page(self)?).into_response()),
            false => Err(self),
        }
    }

    /// A fault of the program itself.
    pub(super) fn broken() -> Self {
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "broken",
            "The program failed while it worked on this.",
            "Try once more. Nothing that was logged is lost.",
        )
    }
}

impl From<IntakeError> for Fail {
    fn from(e: IntakeError) -> Self {
        let status = match e.fault() {
            Fault::Asked => StatusCode::BAD_REQUEST,
            Fault::Input => StatusCode::UNPROCESSABLE_ENTITY,
            Fault::Storage => StatusCode::INTERNAL_SERVER_ERROR,
        };
        Self::new(status, e.code(), e.to_string(), e.remedy())
    }
}

impl From<LogError> for Fail {
    fn from(e: LogError) -> Self {
        match e {
            LogError::TankUnknown { .. } => Self { status: StatusCode::NOT_FOUND, ..IntakeError::from(e).into() },
            other => IntakeError::from(other).into(),
        }
    }
}

impl From<StoreError> for Fail {
    fn from(e: StoreError) -> Self {
        IntakeError::from(e).into()
    }
}

#[derive(Template)]
#[template(path = "fail.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    sentence: String,
    remedy: String,
    code: &'static str,
}

impl IntoResponse for Fail {
    fn into_response(self) -> Response {
        let Self { status, code, sentence, remedy } = self;
        let page = Page { frame: Frame::plain("Not done"), sentence: capital(&sentence), remedy, code };
        (status, shown(&page)).into_response()
    }
}

/// A handler that panicked.
pub(super) fn panicked(_: Box<dyn std::any::Any + Send>) -> Response {
    Fail::broken().into_response()
}

pub(super) async fn nothing_here() -> Fail {
    Fail::new(StatusCode::NOT_FOUND, "page-unknown", "There is no such page.", "Go to the start page.")
}
