//! What comes with a form of several parts: typed fields, and photos in pieces.

use super::fail::Fail;
use axum::extract::multipart::{Field, MultipartError};
use axum::http::StatusCode;

/// Bytes gathered before they are handed on.
const GATHERED: usize = 1 << 19;

/// A typed field, of which no more than so many bytes are taken.
pub(super) async fn text(field: &mut Field<'_>, most: usize) -> Result<String, Fail> {
    let mut bytes = Vec::new();
    while let Some(chunk) = field.chunk().await.map_err(broken_off)? {
        let room = most.saturating_sub(bytes.len());
        bytes.extend_from_slice(&chunk[..chunk.len().min(room)]);
    }
    Ok(String::from_utf8_lossy(&bytes).to_string())
}

/// Hands on what a field brings, in large pieces, on a thread that may wait for a disk; nothing for a field that brings nothing. After
/// something went wrong, or with `pass`, the rest is only taken in, so that the answer is heard. The outer error: it broke off.
pub(super) async fn pour<S: Send + 'static>(
    field: &mut Field<'_>,
    pass: bool,
    start: S,
    write: impl Fn(S, Vec<u8>) -> Result<S, Fail> + Clone + Send + 'static,
) -> Result<Result<S, Fail>, Fail> {
    let (mut gathered, mut state) = (Vec::new(), Ok(start));
    loop {
        let chunk = field.chunk().await.map_err(broken_off)?;
        if !pass && state.is_ok() {
            gathered.extend_from_slice(chunk.as_deref().unwrap_or_default());
        }
        if gathered.len() >= GATHERED || chunk.is_none() && !gathered.is_empty() {
            let (bytes, write) = (std::mem::take(&mut gathered), write.clone());
            state = match state {
                Ok(so_far) => blocking(move || write(so_far, bytes)).await,
                wrong => wrong,
            };
        }
        if chunk.is_none() {
            return Ok(state);
        }
    }
}

/// Works on a thread that may wait for a disk.
pub(super) async fn blocking<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, Fail> + Send + 'static,
) -> Result<T, Fail> {
    tokio::task::spawn_blocking(work).await.unwrap_or_else(|_| Err(Fail::broken()))
}

pub(super) fn broken_off(e: MultipartError) -> Fail {
    let status = e.status();
    match status {
        StatusCode::PAYLOAD_TOO_LARGE => Fail::new(
            status,
            "upload-too-large",
            "That is more than is taken at once; nothing was kept.",
            "Send fewer photos at a time.",
        ),
        _ => Fail::new(
            StatusCode::BAD_REQUEST,
            "upload-broken",
            "The photos did not get through whole; nothing was kept.",
            "Send them once more. What came twice is one.",
        ),
    }
}

pub(super) fn too_many(most: usize) -> Fail {
    Fail::new(
        StatusCode::PAYLOAD_TOO_LARGE,
        "upload-too-many",
        format!("More than {most} photos came at once; nothing was kept."),
        "Send fewer photos at a time.",
    )
}
