//! What went wrong, as a page: the sentence, then what to do.

use super::frame::{Frame, shown};
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
        let mut sentence = sentence;
        if let Some(first) = sentence.get_mut(..1) {
            first.make_ascii_uppercase();
        }
        let page = Page { frame: Frame::plain("Not done"), sentence, remedy, code };
        (status, shown(&page)).into_response()
    }
}

pub(super) async fn nothing_here() -> Fail {
    Fail::new(StatusCode::NOT_FOUND, "page-unknown", "There is no such page.", "Go to the start page.")
}
