//! The card and labels, to be printed.

use super::fail::Fail;
use super::fields::Fields;
use super::frame::{Frame, shown};
use super::site::Site;
use crate::faces::print::{self, Dpi, LabelText, Paper, PrintError};
use crate::intake::Wanted;
use askama::Template;
use axum::extract::{RawQuery, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use std::sync::Arc;

impl From<PrintError> for Fail {
    fn from(e: PrintError) -> Self {
        Self::new(StatusCode::BAD_REQUEST, e.code(), e.to_string(), e.remedy())
    }
}

#[derive(Template)]
#[template(path = "print.html", config = "src/faces/web/askama.toml")]
struct Page {
    frame: Frame,
    /// Whether there are tanks and kits to print labels of.
    labels: bool,
}

pub(super) async fn paper(State(site): State<Arc<Site>>) -> Result<Response, Fail> {
    site.if_log(|_, log| {
        let labels = log.is_some_and(|l| l.tanks().is_ok_and(|t| !t.is_empty()));
        Ok(shown(&Page { frame: Frame::plain("Print"), labels }))
    })
    .await
}

/// The sheets there are.
fn sheet(typed: &Fields) -> Paper {
    if typed.one("paper") == "letter" { Paper::Letter } else { Paper::A4 }
}

fn file(bytes: Vec<u8>, kind: &'static str, name: &'static str) -> Response {
    ([(header::CONTENT_TYPE, kind), (header::CONTENT_DISPOSITION, name)], bytes).into_response()
}

pub(super) async fn card(State(site): State<Arc<Site>>, RawQuery(query): RawQuery) -> Result<Response, Fail> {
    let typed = Fields::asked(query)?;
    let number = typed.card_number()?;
    let drawn = tokio::task::spawn_blocking(move || match typed.one("as") {
        "photo" => {
            let bytes = print::png(&site.layout, number, Dpi::D300)?;
            Ok(file(bytes, "image/png", "attachment; filename=\"tintline-card.png\""))
        }
        _ => {
            let bytes = print::pdf(&site.layout, number, sheet(&typed))?;
            Ok(file(bytes, "application/pdf", "attachment; filename=\"tintline-card.pdf\""))
        }
    });
    drawn.await.unwrap_or_else(|_| Err(Fail::broken()))
}

/// Labels of all kits and tanks. Numbers are given out and kept in the log, so it is asked for, not looked at.
pub(super) async fn labels(State(site): State<Arc<Site>>, typed: Fields) -> Result<Response, Fail> {
    site.log(move |site, log| {
        let labels = site.home.stickers(log, &Wanted::default(), site.now())?;
        let texts: Vec<LabelText> = labels.iter().map(LabelText::from).collect();
        if typed.one("as") == "photo" {
            let bytes = print::labels_png(&texts, Dpi::D300)?;
            return Ok(file(bytes, "image/png", "attachment; filename=\"tintline-labels.png\""));
        }
        if texts.iter().any(|l| print::pdf_lacks(&l.words)) {
            let sentence = "A name on a label has letters that the PDF's fonts lack.";
            return Err(Fail::new(StatusCode::BAD_REQUEST, "label-letters", sentence, "Save them as a photo print."));
        }
        let bytes = print::labels_pdf(&texts, sheet(&typed))?;
        Ok(file(bytes, "application/pdf", "attachment; filename=\"tintline-labels.pdf\""))
    })
    .await
}
