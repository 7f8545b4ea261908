//! What was typed into a form, as it was typed.

use super::fail::Fail;
use super::site::Site;
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

    /// Of an address's query or a form's body.
    pub(super) fn of(text: &[u8]) -> Self {
        Self(form_urlencoded::parse(text).into_owned().collect())
    }
}

impl FromRequest<Arc<Site>> for Fields {
    type Rejection = Fail;

    async fn from_request(request: Request, site: &Arc<Site>) -> Result<Self, Fail> {
        let bytes = Bytes::from_request(request, site).await;
        let bytes = bytes.map_err(|_| {
            Fail::new(StatusCode::PAYLOAD_TOO_LARGE, "form-too-large", "That is too much for a form.", "Write less.")
        })?;
        Ok(Self::of(&bytes))
    }
}
