//! What was typed into a form, as it was typed.

use super::fail::Fail;
use super::site::Site;
use crate::card::CardNumber;
use axum::body::Bytes;
use axum::extract::{FromRequest, Request};
use axum::http::StatusCode;
use std::sync::Arc;

/// The fields of a form in their order; a name may stand several times.
#[derive(Debug, Clone, Default)]
pub(super) struct Fields(Vec<(String, String)>);

impl Fields {
    /// What was typed under a name, trimmed; empty where nothing was.
    pub(super) fn one(&self, name: &str) -> &str {
        self.0.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v.trim())
    }

    /// The same; none where nothing was typed.
    pub(super) fn some(&self, name: &str) -> Option<String> {
        Some(self.one(name).to_string()).filter(|v| !v.is_empty())
    }

    /// All that was chosen under a name.
    pub(super) fn all(&self, name: &str) -> Vec<String> {
        self.0.iter().filter(|(n, _)| n == name).map(|(_, v)| v.clone()).collect()
    }

    /// A number, with a point or a comma; none where nothing was typed. `what` it is of begins the sentence if it is none.
    pub(super) fn number(&self, name: &str, what: &str) -> Result<Option<f64>, Fail> {
        let Some(text) = self.some(name) else { return Ok(None) };
        let number = text.replace(',', ".").parse().ok().filter(|n: &f64| n.is_finite());
        number.map(Some).ok_or_else(|| {
            let sentence = format!("{what}: '{text}' is no number");
            Fail::new(StatusCode::BAD_REQUEST, "number-malformed", sentence, "Write a number, such as 5 or 2.5.")
        })
    }

    /// The number of a card's print; none where nothing was typed.
    pub(super) fn card_number(&self) -> Result<Option<CardNumber>, Fail> {
        let Some(text) = self.some("number") else { return Ok(None) };
        text.parse().ok().and_then(CardNumber::new).map(Some).ok_or_else(|| {
            let sentence = format!("'{text}' is no number of a card");
            let remedy = format!("Give the one printed on it, from 1 to {}, or none.", CardNumber::MAX);
            Fail::new(StatusCode::BAD_REQUEST, "card-number", sentence, remedy)
        })
    }

    /// All of them.
    pub(super) fn pairs(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().map(|(name, value)| (name.as_str(), value.as_str()))
    }

    /// One more.
    pub(super) fn push(&mut self, name: String, value: String) {
        self.0.push((name, value));
    }

    /// Of a form's body.
    pub(super) fn of(text: &[u8]) -> Result<Self, Fail> {
        let all: Vec<(String, String)> = form_urlencoded::parse(text).into_owned().collect();
        // The parser puts the replacement character where bytes are no text. Only lines of text are wanted in the log.
        let odd = |c: char| c == char::REPLACEMENT_CHARACTER || c.is_control() && !"\t\r\n".contains(c);
        if all.iter().any(|(name, value)| name.contains(odd) || value.contains(odd)) {
            let sentence = "What was sent is not plain text in UTF-8.";
            return Err(Fail::new(StatusCode::BAD_REQUEST, "form-not-text", sentence, "Go back and type it anew."));
        }
        Ok(Self(all))
    }

    /// Of what stands behind the ? of an address.
    pub(super) fn asked(query: Option<String>) -> Result<Self, Fail> {
        Self::of(query.unwrap_or_default().as_bytes())
    }
}

impl FromRequest<Arc<Site>> for Fields {
    type Rejection = Fail;

    async fn from_request(request: Request, site: &Arc<Site>) -> Result<Self, Fail> {
        let bytes = Bytes::from_request(request, site).await;
        let bytes = bytes.map_err(|e| match e.status() {
            StatusCode::PAYLOAD_TOO_LARGE => Fail::new(
                StatusCode::PAYLOAD_TOO_LARGE,
                "form-too-large",
                "That is too much for a form.",
                "Write less.",
            ),
            _ => Fail::new(
                StatusCode::BAD_REQUEST,
                "form-broken",
                "The form did not get through whole; nothing was done.",
                "Send it once more.",
            ),
        })?;
        Self::of(&bytes)
    }
}
