//! Who may in: by which name the server was asked for, and from where a request comes. And what every answer carries.
//!
//! - A name other than `localhost` or a plain address is refused: a site that gives its own name to this computer's address (DNS
//!   rebinding) would otherwise read the pages.
//! - What changes something must come from a page of this server. Browsers say where a request comes from in `Sec-Fetch-Site` and
//!   `Origin` (W3C Fetch Metadata; RFC 6454, section 7); one that says neither is refused.

use super::fail::Fail;
use axum::extract::Request;
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::net::IpAddr;

/// Nothing but what this server sends; forms go nowhere else; no page of another site may frame it. `blob:` is the preview of a photo
/// that is about to be sent.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data: blob:; \
connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'";

const ALWAYS: [(HeaderName, &str); 7] = [
    (header::CONTENT_SECURITY_POLICY, POLICY),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (header::REFERRER_POLICY, "same-origin"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    (HeaderName::from_static("permissions-policy"), "geolocation=(), microphone=()"),
];

/// Before every handler.
pub(super) async fn guard(request: Request, next: Next) -> Response {
    let mut answer = match judge(request.method(), request.headers()) {
        Ok(()) => next.run(request).await,
        Err(fail) => fail.into_response(),
    };
    for (name, value) in ALWAYS {
        answer.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    answer.headers_mut().entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    answer
}

fn judge(method: &Method, headers: &HeaderMap) -> Result<(), Fail> {
    let text = |name: HeaderName| headers.get(name).and_then(|v| v.to_str().ok());
    let host = text(header::HOST).unwrap_or_default();
    if !own_name(host) {
        return Err(Fail::new(
            StatusCode::MISDIRECTED_REQUEST,
            "host-unknown",
            "This server was asked for by a name that is not its own.",
            "Type the address that the server showed when it started.",
        ));
    }
    if method.is_safe() {
        return Ok(());
    }
    let site = text(HeaderName::from_static("sec-fetch-site"));
    let origin = text(header::ORIGIN).and_then(|o| o.strip_prefix("http://").or(o.strip_prefix("https://")));
    let own = match (site, origin) {
        (Some(site), _) => site == "same-origin",
        (None, Some(origin)) => origin.eq_ignore_ascii_case(host),
        (None, None) => false,
    };
    match own {
        true => Ok(()),
        false => Err(Fail::new(
            StatusCode::FORBIDDEN,
            "request-foreign",
            "This did not come from a page of this server; nothing was done.",
            "Open the page again and repeat it there.",
        )),
    }
}

/// A plain address cannot be another site's name.
fn own_name(host: &str) -> bool {
    let name = match host.strip_prefix('[') {
        Some(rest) => rest.split_once(']').map_or(rest, |(name, _)| name),
        None => host.rsplit_once(':').map_or(host, |(name, _)| name),
    };
    name.eq_ignore_ascii_case("localhost") || name.parse::<IpAddr>().is_ok()
}
