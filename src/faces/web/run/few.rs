//! No more connections than can be served: so many from all, so many from one address.

use axum_server::accept::Accept;
use std::collections::HashMap;
use std::future::{Ready, ready};
use std::io::{self, IoSlice};
use std::net::IpAddr;
use std::pin::Pin;
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::TcpStream;

/// Browsers open about six each. A proxy before the server is one address.
const FROM_ALL: usize = 192;
const FROM_ONE: usize = 48;

/// Hangs up at once on who is one too many.
#[derive(Clone, Default)]
pub(super) struct Few {
    by: Arc<Mutex<HashMap<IpAddr, usize>>>,
}

impl Few {
    fn enter(&self, from: IpAddr) -> Option<Place> {
        let mut by = self.by.lock().unwrap_or_else(PoisonError::into_inner);
        let all: usize = by.values().sum();
        let own = by.get(&from).copied().unwrap_or(0);
        if all >= FROM_ALL || own >= FROM_ONE {
            return None;
        }
        by.insert(from, own + 1);
        Some(Place { by: Arc::clone(&self.by), from })
    }
}

impl<S> Accept<TcpStream, S> for Few {
    type Stream = Held;
    type Service = S;
    type Future = Ready<io::Result<(Held, S)>>;

    fn accept(&self, stream: TcpStream, service: S) -> Self::Future {
        let held = || {
            let from = stream.peer_addr()?.ip();
            let place = self.enter(from).ok_or(io::ErrorKind::ConnectionRefused)?;
            stream.set_nodelay(true)?;
            Ok(place)
        };
        match held() {
            Ok(place) => ready(Ok((Held { stream, _place: place }, service))),
            Err(e) => ready(Err(e)),
        }
    }
}

/// Given back when the connection ends.
struct Place {
    by: Arc<Mutex<HashMap<IpAddr, usize>>>,
    from: IpAddr,
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut by = self.by.lock().unwrap_or_else(PoisonError::into_inner);
        match by.get_mut(&self.from) {
            Some(n) if *n > 1 => *n -= 1,
            _ => drop(by.remove(&self.from)),
        }
    }
}

/// A connection with its place.
pub(super) struct Held {
    stream: TcpStream,
    _place: Place,
}

impl AsyncRead for Held {
    fn poll_read(mut self: Pin<&mut Self>, cx: &mut Context<'_>, buf: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_read(cx, buf)
    }
}

impl AsyncWrite for Held {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context<'_>, buf: &[u8]) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.stream).poll_write(cx, buf)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bufs: &[IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.stream).poll_write_vectored(cx, bufs)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(cx)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(cx)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::net::Ipv4Addr;

    #[test]
    fn one_address_does_not_take_every_place() {
        let few = Few::default();
        let ip = |n| IpAddr::V4(Ipv4Addr::new(192, 168, 1, n));
        let mut first: Vec<_> = (0..60).filter_map(|_| few.enter(ip(1))).collect();
        assert_eq!(first.len(), 48);
        let others: Vec<_> =
            (2..60).flat_map(|n| (0..6).filter_map(|_| few.enter(ip(n))).collect::<Vec<_>>()).collect();
        assert_eq!(others.len(), 144);
        first.pop();
        assert!(few.enter(ip(99)).is_some() && few.enter(ip(1)).is_some());
        drop((first, others));
        assert!(few.by.lock().unwrap().is_empty());
    }
}
