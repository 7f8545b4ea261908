//! Who may in: by which name the server was asked for, where a request comes from, whether the phone is paired. And what every
//! answer carries.
//!
//! - A name other than `localhost`, a plain address or a name given at the start is refused: a site that gives its own name to this
//!   computer's address (DNS rebinding) would otherwise read the pages.
//! - What changes something must come from a page of this server. Browsers say where a request comes from in `Sec-Fetch-Site` and
//!   `Origin` (W3C Fetch Metadata; RFC 6454, section 7); one that says neither is refused.
//! - On the home network every phone is paired once, by a code that stands in the terminal ([`pairing`]); then a cookie tells it
//!   ([`paired`]). Without the home network only this computer can reach the server, and nobody is asked.

pub(super) mod page;
mod paired;
mod pairing;

pub(super) use paired::Phone;
pub(super) use pairing::Guess;

use super::fail::Fail;
use super::site::Site;
use crate::intake::Home;
use axum::extract::{ConnectInfo, Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use paired::Paired;
use pairing::Pairing;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

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

/// What anybody may see.
const OPEN: [&str; 4] = ["/pair", "/style.css", "/page.js", "/icon.svg"];
const COOKIE: &str = "tintline";

/// The door of a server.
pub(super) struct Door {
    /// Other names of this server, in small letters.
    names: Vec<String>,
    /// Whether answers go over TLS.
    tls: bool,
    /// None where only this computer can come.
    lan: Option<Lan>,
}

struct Lan {
    pairing: Mutex<Pairing>,
    paired: Mutex<Paired>,
}

impl Door {
    /// For this computer alone.
    pub(super) fn shut() -> Self {
        Self { names: Vec::new(), tls: false, lan: None }
    }

    /// For the home network.
    pub(super) fn lan(home: &Home) -> Result<Self, Fail> {
        let paired = Mutex::new(Paired::of(home)?);
        let pairing = Mutex::new(Pairing::new().map_err(|_| Fail::broken())?);
        Ok(Self { lan: Some(Lan { pairing, paired }), ..Self::shut() })
    }

    /// With further names and over TLS.
    pub(super) fn called(self, names: &[String], tls: bool) -> Self {
        Self { names: names.iter().map(|n| n.trim().to_ascii_lowercase()).collect(), tls, ..self }
    }

    /// The code that pairs a phone.
    pub(super) fn code(&self) -> Option<String> {
        self.lan.as_ref().map(|lan| held(&lan.pairing).shown())
    }

    /// Tries a code; a cookie where it is right.
    pub(super) fn pair(&self, typed: &str, named: &str, from: IpAddr, now: Timestamp) -> Result<HeaderValue, Fail> {
        let Some(lan) = &self.lan else { return Err(not_asked()) };
        match held(&lan.pairing).guess(typed, from, now) {
            Guess::Right => {
                let token = held(&lan.paired).add(named, now)?;
                Ok(self.cookie(&token, paired::KEPT_DAYS * 24 * 3600))
            }
            Guess::Wrong => Err(Fail::new(
                StatusCode::FORBIDDEN,
                "pair-wrong",
                "That is not the code.",
                "Type the code that stands in the window where the server was started.",
            )),
            Guess::TooMany { seconds } => Err(Fail::new(
                StatusCode::TOO_MANY_REQUESTS,
                "pair-too-many",
                format!("Too many wrong codes; the next is looked at in {seconds} seconds."),
                "Wait, then type the code that stands in the window where the server was started.",
            )),
        }
    }

    /// The phones that are paired, the one that asks first.
    pub(super) fn phones(&self, headers: &HeaderMap, now: Timestamp) -> Vec<Phone> {
        let own = token(headers);
        self.lan.as_ref().map_or_else(Vec::new, |lan| held(&lan.paired).list(own.as_deref(), now))
    }

    /// Forgets a paired phone.
    pub(super) fn forget(&self, which: &str) -> Result<(), Fail> {
        match &self.lan {
            Some(lan) => held(&lan.paired).forget(which),
            None => Err(not_asked()),
        }
    }

    /// A cookie that scripts cannot read and other sites cannot make the browser send.
    fn cookie(&self, token: &str, seconds: i64) -> HeaderValue {
        let secure = if self.tls { "; Secure" } else { "" };
        let text = format!("{COOKIE}={token}; Path=/; Max-Age={seconds}; HttpOnly; SameSite=Strict{secure}");
        // A token is letters and digits.
        HeaderValue::from_str(&text).unwrap_or(HeaderValue::from_static(""))
    }

    fn known(&self, headers: &HeaderMap, now: Timestamp) -> bool {
        let Some(lan) = &self.lan else { return true };
        token(headers).is_some_and(|t| held(&lan.paired).knows(&t, now))
    }

    fn judge(&self, method: &Method, headers: &HeaderMap) -> Result<(), Fail> {
        let text = |name: HeaderName| headers.get(name).and_then(|v| v.to_str().ok());
        let host = text(header::HOST).unwrap_or_default();
        if !self.own_name(host) {
            return Err(Fail::new(
                StatusCode::MISDIRECTED_REQUEST,
                "host-unknown",
                "This server was asked for by a name that is not its own.",
                "Type the address that the server showed when it started, or give the name with --name.",
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
    fn own_name(&self, host: &str) -> bool {
        let name = match host.strip_prefix('[') {
            Some(rest) => rest.split_once(']').map_or("", |(name, _)| name),
            None => host.rsplit_once(':').map_or(host, |(name, _)| name),
        };
        let name = name.to_ascii_lowercase();
        name == "localhost" || name.parse::<IpAddr>().is_ok() || self.names.contains(&name)
    }
}

fn not_asked() -> Fail {
    Fail::new(
        StatusCode::NOT_FOUND,
        "pair-not-asked",
        "Only this computer can open the page, so no phone is paired.",
        "Start the server with --lan to open it to phones.",
    )
}

/// Before every handler.
pub(super) async fn guard(State(site): State<Arc<Site>>, request: Request, next: Next) -> Response {
    let (method, path) = (request.method().clone(), request.uri().path().to_string());
    let mut answer = match site.door.judge(&method, request.headers()) {
        Err(fail) => fail.into_response(),
        Ok(()) if OPEN.contains(&path.as_str()) || site.door.known(request.headers(), site.now()) => {
            next.run(request).await
        }
        Ok(()) if method.is_safe() => Redirect::to("/pair").into_response(),
        Ok(()) => Fail::new(
            StatusCode::UNAUTHORIZED,
            "not-paired",
            "This phone is not paired with the server, or was forgotten; nothing was done.",
            "Open the start page, type the code, and repeat it.",
        )
        .into_response(),
    };
    for (name, value) in ALWAYS {
        answer.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    answer.headers_mut().entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    answer
}

/// Where a request comes from.
pub(super) fn from(request: &Request) -> IpAddr {
    let told = request.extensions().get::<ConnectInfo<SocketAddr>>();
    told.map_or(IpAddr::V4(Ipv4Addr::UNSPECIFIED), |c| c.0.ip())
}

/// The token of a request's cookie.
fn token(headers: &HeaderMap) -> Option<String> {
    let all = headers.get_all(header::COOKIE).iter().filter_map(|v| v.to_str().ok());
    let mut pairs = all.flat_map(|v| v.split(';')).filter_map(|p| p.trim().split_once('='));
    pairs.find(|(name, _)| *name == COOKIE).map(|(_, value)| value.to_string())
}

fn held<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}
