//! How long a request may take, and how many large ones there are at once.
//!
//! A body that stops coming is given up after [`STALL`], a request as a whole after [`FORM`] or, with photos, [`UPLOAD`]. Who is
//! refused while still sending is listened to a little longer: a browser whose sending is cut off shows no answer.

use crate::faces::web::fail::Fail;
use axum::body::{Body, Bytes, HttpBody};
use axum::extract::Request;
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use http_body::Frame;
use std::future::poll_fn;
use std::pin::Pin;
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::sync::Semaphore;
use tokio::time::timeout;
use tower_http::timeout::TimeoutBody;

/// Bytes of a form without photos.
pub(in crate::faces::web) const FORM_BYTES: usize = 64 * 1024;

const STALL: Duration = Duration::from_secs(30);
const FORM: Duration = Duration::from_secs(120);
/// Thirty photos over a weak network.
const UPLOAD: Duration = Duration::from_secs(20 * 60);
/// Uploads at once, and how long one waits for its turn.
const UPLOADS: usize = 8;
const TURN: Duration = Duration::from_secs(60);
const LINGER: Duration = Duration::from_secs(5);
const LINGER_BYTES: usize = 32_000_000;

/// The places of those who send much.
pub(super) struct Places(Semaphore);

impl Places {
    pub(super) fn new() -> Self {
        Self(Semaphore::new(UPLOADS))
    }

    /// Lets a request go on, within its time.
    pub(super) async fn pass(&self, request: Request, next: Next) -> Response {
        let (parts, body) = request.into_parts();
        let large = parts.method == axum::http::Method::POST
            && body.size_hint().exact().is_none_or(|bytes| bytes > FORM_BYTES as u64);
        let rest = Rest::of(body);
        let request = Request::from_parts(parts, Body::new(rest.clone()));
        let answer = if large {
            match timeout(TURN, self.0.acquire()).await {
                Ok(Ok(_place)) => within(UPLOAD, request, next).await,
                _ => busy(),
            }
        } else {
            within(FORM, request, next).await
        };
        rest.listen_on().await;
        answer
    }
}

/// Listens to the rest of a request that is refused.
pub(super) async fn hear_out(request: Request) {
    Rest::of(request.into_body()).listen_on().await;
}

async fn within(time: Duration, request: Request, next: Next) -> Response {
    match timeout(time, next.run(request)).await {
        Ok(answer) => answer,
        Err(_) => Fail::new(
            StatusCode::REQUEST_TIMEOUT,
            "request-slow",
            "This took too long and was given up.",
            "Try again nearer to the router, or with fewer photos at a time.",
        )
        .into_response(),
    }
}

fn busy() -> Response {
    let fail = Fail::new(
        StatusCode::SERVICE_UNAVAILABLE,
        "uploads-many",
        "Others are sending photos just now; nothing of this was kept.",
        "Send them again in a minute.",
    );
    let mut answer = fail.into_response();
    answer.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from_static("60"));
    answer
}

/// A request's body, of which the part that was not read can be taken up again.
#[derive(Clone)]
struct Rest(Arc<Mutex<Pin<Box<TimeoutBody<Body>>>>>);

impl Rest {
    fn of(body: Body) -> Self {
        Self(Arc::new(Mutex::new(Box::pin(TimeoutBody::new(STALL, body)))))
    }

    async fn listen_on(mut self) {
        let mut left = LINGER_BYTES;
        let hear = async {
            while !self.is_end_stream() {
                let Some(Ok(frame)) = poll_fn(|cx| Pin::new(&mut self).poll_frame(cx)).await else { return };
                left = left.saturating_sub(frame.data_ref().map_or(0, Bytes::len));
                if left == 0 {
                    return;
                }
            }
        };
        let _ = timeout(LINGER, hear).await;
    }
}

impl HttpBody for Rest {
    type Data = Bytes;
    type Error = axum::BoxError;

    fn poll_frame(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Option<Result<Frame<Bytes>, Self::Error>>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).as_mut().poll_frame(cx)
    }

    fn is_end_stream(&self) -> bool {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).is_end_stream()
    }

    fn size_hint(&self) -> http_body::SizeHint {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).size_hint()
    }
}
