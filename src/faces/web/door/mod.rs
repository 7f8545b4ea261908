//! Who may in: by which name the server was asked for and from where ([`name`]), whether the phone is paired, how much it may send
//! ([`limit`]). And what every answer carries.
//!
//! With `--lan` every phone is paired once, by a code that stands in the terminal ([`pairing`]); then a cookie tells it ([`paired`]). This
//! computer's own browser is paired too: what comes from this computer may come through a tunnel or a proxy from anywhere. Without
//! `--lan` nobody else can reach the server, and nobody is asked.

mod limit;
mod name;
pub(super) mod page;
mod paired;
mod pairing;

pub(super) use limit::FORM_BYTES;
pub(super) use name::of_a_home;
pub use paired::{Code, Phone, Phones, PhonesError};
pub(super) use pairing::token as random_token;

use super::fail::Fail;
use super::site::Site;
use crate::intake::Home;
use axum::extract::{ConnectInfo, Request, State};
use axum::http::StatusCode;
use axum::http::{HeaderMap, HeaderName, HeaderValue, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use limit::Places;
use paired::Fit;
use pairing::Guesses;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::{Arc, Mutex, PoisonError};
use tokio::sync::mpsc::UnboundedSender;

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

/// What anybody at home may see.
const OPEN: [&str; 4] = ["/pair", "/style.css", "/page.js", "/icon.svg"];
const WHERE: &str =
    "Type the code that stands in the window where the server was started, or that 'tintline serve pair' shows.";

/// The door of a server.
pub(super) struct Door {
    phones: Phones,
    /// Other names of this server, in small letters.
    names: Vec<String>,
    /// Whether answers go over TLS.
    tls: bool,
    places: Places,
    /// None where only this computer can come.
    lan: Option<Lan>,
}

struct Lan {
    guesses: Mutex<Guesses>,
    /// To the terminal: there is another code.
    tell: UnboundedSender<Code>,
}

impl Door {
    /// For this computer alone.
    pub(super) fn shut(home: &Home) -> Self {
        Self { phones: Phones::of(home), names: Vec::new(), tls: false, places: Places::new(), lan: None }
    }

    /// For the home network; other codes than the first are told as they are made.
    pub(super) fn lan(home: &Home, tell: UnboundedSender<Code>) -> Self {
        Self { lan: Some(Lan { guesses: Mutex::default(), tell }), ..Self::shut(home) }
    }

    /// With further names and over TLS.
    pub(super) fn called(self, names: &[String], tls: bool) -> Self {
        Self { names: names.iter().map(|n| n.trim().to_ascii_lowercase()).collect(), tls, ..self }
    }

    /// Sees to it that there is a code for the phone that asks; for none where phones are not asked.
    fn offer(&self, now: Timestamp) -> Result<(), Fail> {
        let Some(lan) = &self.lan else { return Ok(()) };
        // Two that ask at once are told of one code.
        let _held = lan.guesses.lock().unwrap_or_else(PoisonError::into_inner);
        if !self.phones.has_code(now)? {
            lan.renew(&self.phones, now)?;
        }
        Ok(())
    }

    /// Tries a code; a cookie where it is right.
    fn pair(&self, typed: &str, named: &str, from: IpAddr, now: Timestamp) -> Result<HeaderValue, Fail> {
        let Some(lan) = &self.lan else { return Err(not_asked()) };
        let mut guesses = lan.guesses.lock().unwrap_or_else(PoisonError::into_inner);
        if let Err(seconds) = guesses.begin(from, now) {
            return Err(Fail::new(
                StatusCode::TOO_MANY_REQUESTS,
                "pair-too-many",
                format!("Too many wrong codes; the next is looked at in {seconds} seconds."),
                format!("Wait. {WHERE}"),
            ));
        }
        match self.phones.fits(typed, now)? {
            Fit::Right => {
                guesses.right(from);
                Ok(self.cookie(&self.phones.add(named, now)?, paired::WHOLE_DAYS * 24 * 3600))
            }
            Fit::Wrong => {
                if guesses.wrong() {
                    lan.renew(&self.phones, now)?;
                    guesses.anew();
                }
                Err(Fail::new(StatusCode::FORBIDDEN, "pair-wrong", "That is not the code.", WHERE))
            }
            Fit::Over => {
                guesses.right(from);
                lan.renew(&self.phones, now)?;
                let sentence = format!("A code serves for {} minutes; there is a new one now.", paired::CODE_MINUTES);
                Err(Fail::new(StatusCode::FORBIDDEN, "pair-over", sentence, WHERE))
            }
        }
    }

    /// A cookie that scripts cannot read. `Lax`: other sites can lead a phone here by a link, which changes nothing, and then it is
    /// known; with anything else they want from here it does not go along.
    fn cookie(&self, token: &str, seconds: i64) -> HeaderValue {
        let secure = if self.tls { "; Secure" } else { "" };
        let text = format!("{}={token}; Path=/; Max-Age={seconds}; HttpOnly; SameSite=Lax{secure}", self.cookie_name());
        // A token is letters and digits.
        HeaderValue::from_str(&text).unwrap_or(HeaderValue::from_static(""))
    }

    /// Over TLS a name that browsers take from this very host alone, and only encrypted (RFC 6265bis, cookie name prefixes).
    fn cookie_name(&self) -> &'static str {
        if self.tls { "__Host-tintline" } else { "tintline" }
    }

    /// The token of a request's cookie.
    fn token(&self, headers: &HeaderMap) -> Option<String> {
        let all = headers.get_all(header::COOKIE).iter().filter_map(|v| v.to_str().ok());
        let mut pairs = all.flat_map(|v| v.split(';')).filter_map(|p| p.trim().split_once('='));
        pairs.find(|(name, _)| *name == self.cookie_name()).map(|(_, value)| value.to_string())
    }

    fn knows(&self, token: Option<&str>, now: Timestamp) -> Result<bool, PhonesError> {
        match (&self.lan, token) {
            (None, _) => Ok(true),
            (Some(_), None) => Ok(false),
            (Some(_), Some(token)) => self.phones.knows(token, now),
        }
    }
}

impl Lan {
    fn renew(&self, phones: &Phones, now: Timestamp) -> Result<(), Fail> {
        // Nobody listens any more where the server is about to stop.
        let _ = self.tell.send(phones.new_code(now)?);
        Ok(())
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
    let refused = admit(&site, &request);
    let mut answer = match refused.await {
        Ok(()) => site.door.places.pass(request, next).await,
        Err(answer) => {
            limit::hear_out(request).await;
            answer
        }
    };
    answer = as_a_page(answer);
    for (name, value) in ALWAYS {
        answer.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    answer.headers_mut().entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    answer
}

fn admit(site: &Arc<Site>, request: &Request) -> impl Future<Output = Result<(), Response>> + use<> {
    let door = &site.door;
    let safe = request.method().is_safe();
    let open = OPEN.contains(&request.uri().path());
    let token = door.token(request.headers());
    let judged = name::judge(request.method(), request.headers(), &door.names);
    let judged = judged.and_then(|()| if door.lan.is_some() { name::near(peer(request)) } else { Ok(()) });
    let site = site.clone();
    async move {
        judged.map_err(IntoResponse::into_response)?;
        if open || site.door.lan.is_none() {
            return Ok(());
        }
        let known = tokio::task::spawn_blocking(move || site.door.knows(token.as_deref(), site.now())).await;
        match known {
            Ok(Ok(true)) => Ok(()),
            Ok(Ok(false)) if safe => Err(Redirect::to("/pair").into_response()),
            Ok(Ok(false)) => Err(not_paired().into_response()),
            Ok(Err(e)) => Err(Fail::from(e).into_response()),
            Err(_) => Err(Fail::broken().into_response()),
        }
    }
}

fn not_paired() -> Fail {
    Fail::new(
        StatusCode::UNAUTHORIZED,
        "not-paired",
        "This phone is not paired with the server, or was forgotten; nothing was done.",
        "Open the start page, type the code, and repeat it.",
    )
}

/// What the framework refuses in a bare word, as a page.
fn as_a_page(answer: Response) -> Response {
    let (status, headers) = (answer.status(), answer.headers());
    let page = headers.get(header::CONTENT_TYPE).is_some_and(|t| t.as_bytes().starts_with(b"text/html"));
    if page || !(status.is_client_error() || status.is_server_error()) {
        return answer;
    }
    let (sentence, remedy) = match status {
        StatusCode::METHOD_NOT_ALLOWED => ("This address does not take that kind of request.", "Go to the start page."),
        StatusCode::PAYLOAD_TOO_LARGE => ("That is more than is taken here.", "Send less at a time."),
        _ => ("This request cannot be understood.", "Go back, and try once more from the page."),
    };
    let allowed = headers.get(header::ALLOW).cloned();
    let mut page = Fail::new(status, "request-odd", sentence, remedy).into_response();
    if let Some(allowed) = allowed {
        page.headers_mut().insert(header::ALLOW, allowed);
    }
    page
}

/// Where a request comes from.
fn peer(request: &Request) -> Option<IpAddr> {
    request.extensions().get::<ConnectInfo<SocketAddr>>().map(|c| c.0.ip())
}

fn peer_or_nobody(request: &Request) -> IpAddr {
    peer(request).unwrap_or(IpAddr::V4(Ipv4Addr::UNSPECIFIED))
}

#[cfg(test)]
mod tests;
