//! Listening, until it is told to stop.

use super::{Site, router};
use axum_server::Handle;
use std::io;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// What is asked of the server.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The port; 0 for any free one.
    pub port: u16,
}

/// The server cannot run.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ServeError {
    /// Another program listens there, or this one may not.
    #[error("cannot listen at {at}: {source}")]
    Listen { at: SocketAddr, source: io::Error },
    /// It stopped by itself.
    #[error("the server stopped: {0}")]
    Stopped(io::Error),
}

impl ServeError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Listen { .. } => "serve-listen",
            Self::Stopped(_) => "serve-stopped",
        }
    }

    /// What can be done about it.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::Listen { .. } => "Name another port with --port, or stop the program that uses it.",
            Self::Stopped(_) => "Start it again; what was logged is kept.",
        }
    }
}

/// How long a stop waits for what was begun.
const GRACE: Duration = Duration::from_secs(30);
const TICK: Duration = Duration::from_millis(50);

/// Serves until `stop` is set; what was begun is finished. `up` is told the address as soon as it is listened at.
pub fn serve(
    site: Site,
    asked: &Asked,
    stop: &'static AtomicBool,
    up: impl FnOnce(SocketAddr),
) -> Result<(), ServeError> {
    let at = SocketAddr::from((Ipv4Addr::LOCALHOST, asked.port));
    let listen = |source| ServeError::Listen { at, source };
    let listener = TcpListener::bind(at).map_err(listen)?;
    listener.set_nonblocking(true).map_err(listen)?;
    let own = listener.local_addr().map_err(listen)?;
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().map_err(ServeError::Stopped)?;
    let site = Arc::new(site);
    if let Err(e) = site.start() {
        return Err(ServeError::Stopped(io::Error::other(e)));
    }
    let app = router(Arc::clone(&site));
    let end = runtime.block_on(async {
        let handle = Handle::new();
        let told = handle.clone();
        tokio::spawn(async move {
            while !stop.load(Ordering::SeqCst) {
                tokio::time::sleep(TICK).await;
            }
            told.graceful_shutdown(Some(GRACE));
        });
        up(own);
        let server = axum_server::from_tcp(listener).map_err(ServeError::Stopped)?;
        let service = app.into_make_service_with_connect_info::<SocketAddr>();
        server.handle(handle).serve(service).await.map_err(ServeError::Stopped)
    });
    // What was accepted is read; what is not by then lies on the disk for the next start.
    site.finish(GRACE);
    end
}
