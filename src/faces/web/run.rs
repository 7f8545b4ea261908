//! Listening, until it is told to stop.

use super::door::Door;
use super::{Site, router};
use crate::intake::Home;
use axum_server::accept::{Accept, NoDelayAcceptor};
use axum_server::tls_rustls::{RustlsAcceptor, RustlsConfig};
use axum_server::{Handle, Server};
use hyper_util::rt::TokioTimer;
use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener, UdpSocket};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use tokio::net::TcpStream;

/// How the server listens.
#[derive(Debug, Clone, Default)]
pub struct Listening {
    /// The port; 0 for any free one.
    pub port: u16,
    /// Whether to all of the home network, and not to this computer alone.
    pub lan: bool,
    /// Certificate and key, as PEM files.
    pub tls: Option<(PathBuf, PathBuf)>,
    /// Further names of this computer.
    pub names: Vec<String>,
    /// Whether phones that were paired are forgotten.
    pub forget: bool,
}

/// A server that listens.
#[derive(Debug, Clone)]
pub struct Up {
    /// Where to find it, the best address first: `http://192.0.2.7:8646`.
    pub addresses: Vec<String>,
    /// The code that pairs a phone; none where only this computer can come.
    pub code: Option<String>,
}

/// The server cannot run.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ServeError {
    /// Another program listens there, or this one may not.
    #[error("cannot listen at {at}: {source}")]
    Listen { at: SocketAddr, source: io::Error },
    /// Certificate or key.
    #[error("the certificate {} and the key {} cannot be used: {source}", certificate.display(), key.display())]
    Tls { certificate: PathBuf, key: PathBuf, source: io::Error },
    /// The list of paired phones.
    #[error("{sentence}")]
    Phones { sentence: String, remedy: String },
    /// It stopped by itself.
    #[error("the server stopped: {0}")]
    Stopped(io::Error),
}

impl ServeError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Listen { .. } => "serve-listen",
            Self::Tls { .. } => "serve-tls",
            Self::Phones { .. } => "serve-phones",
            Self::Stopped(_) => "serve-stopped",
        }
    }

    /// What can be done about it.
    pub fn remedy(&self) -> String {
        match self {
            Self::Listen { .. } => "Name another port with --port, or stop the program that uses it.".into(),
            Self::Tls { .. } => {
                "Give the certificate with its chain and the key that belongs to it, both as PEM: --tls CERT KEY."
                    .into()
            }
            Self::Phones { remedy, .. } => remedy.clone(),
            Self::Stopped(_) => "Start it again; what was logged is kept.".into(),
        }
    }
}

/// How long a stop waits for what was begun.
const GRACE: Duration = Duration::from_secs(60);
const TICK: Duration = Duration::from_millis(50);
/// How long a phone may take to say what it wants.
const HEADERS: Duration = Duration::from_secs(15);
/// Connections at once; browsers open several each.
const CONNECTIONS: usize = 128;

/// Serves until `stop` is set; what was begun is finished. `up` is called as soon as it listens.
pub fn serve(site: Site, asked: &Listening, stop: &'static AtomicBool, up: impl FnOnce(&Up)) -> Result<(), ServeError> {
    let ip = if asked.lan { Ipv4Addr::UNSPECIFIED } else { Ipv4Addr::LOCALHOST };
    let at = SocketAddr::from((ip, asked.port));
    let listen = |source| ServeError::Listen { at, source };
    let listener = TcpListener::bind(at).map_err(listen)?;
    listener.set_nonblocking(true).map_err(listen)?;
    let port = listener.local_addr().map_err(listen)?.port();
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().map_err(ServeError::Stopped)?;
    let door = door(asked, &site.home)?;
    let site = Arc::new(site.behind(door));
    if let Err(e) = site.start() {
        return Err(ServeError::Stopped(io::Error::other(e)));
    }
    let up_now = Up { addresses: addresses(asked, port), code: site.door.code() };
    let service = router(site.clone()).into_make_service_with_connect_info::<SocketAddr>();
    let end = runtime.block_on(async {
        let handle = Handle::new();
        let told = handle.clone();
        tokio::spawn(async move {
            while !stop.load(Ordering::SeqCst) {
                tokio::time::sleep(TICK).await;
            }
            told.graceful_shutdown(Some(GRACE));
        });
        let few = Few { handle: handle.clone(), inner: NoDelayAcceptor };
        let config = match &asked.tls {
            None => None,
            Some((certificate, key)) => {
                // Another provider may be there already; then that one serves.
                let _ = rustls::crypto::ring::default_provider().install_default();
                let tls = |source| ServeError::Tls { certificate: certificate.clone(), key: key.clone(), source };
                Some(RustlsConfig::from_pem_file(certificate, key).await.map_err(tls)?)
            }
        };
        let server = axum_server::from_tcp(listener).map_err(ServeError::Stopped)?.handle(handle);
        up(&up_now);
        match config {
            None => patient(server.acceptor(few)).serve(service).await,
            Some(config) => patient(server.acceptor(RustlsAcceptor::new(config).acceptor(few))).serve(service).await,
        }
        .map_err(ServeError::Stopped)
    });
    // What was accepted is read; what is not by then lies on the disk for the next start.
    site.finish(GRACE);
    end
}

fn door(asked: &Listening, home: &Home) -> Result<Door, ServeError> {
    let phones = |f: super::fail::Fail| ServeError::Phones { sentence: f.sentence, remedy: f.remedy };
    let door = if asked.lan { Door::lan(home).map_err(phones)? } else { Door::shut() };
    let door = door.called(&asked.names, asked.tls.is_some());
    if asked.forget && asked.lan {
        door.forget("all").map_err(phones)?;
    }
    Ok(door)
}

/// Where to find the server.
fn addresses(asked: &Listening, port: u16) -> Vec<String> {
    let scheme = if asked.tls.is_some() { "https" } else { "http" };
    let own = asked.lan.then(own_address).flatten().map(|ip| ip.to_string());
    let names = asked.names.iter().cloned().filter(|_| asked.lan).chain(own).chain(["127.0.0.1".to_string()]);
    names.map(|name| format!("{scheme}://{name}:{port}")).collect()
}

/// This computer's address on the network. Nothing is sent: the system only says which address it would send from.
fn own_address() -> Option<IpAddr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    // An address kept for documentation (RFC 5737).
    socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).ok()?;
    Some(socket.local_addr().ok()?.ip()).filter(|ip| !ip.is_loopback() && !ip.is_unspecified())
}

/// A phone that is slow to say what it wants is hung up on.
fn patient<Acceptor>(mut server: Server<SocketAddr, Acceptor>) -> Server<SocketAddr, Acceptor> {
    server.http_builder().http1().timer(TokioTimer::new()).header_read_timeout(HEADERS);
    server
}

/// Hangs up at once where too many are connected.
#[derive(Clone)]
struct Few {
    handle: Handle<SocketAddr>,
    inner: NoDelayAcceptor,
}

impl<S> Accept<TcpStream, S> for Few {
    type Stream = TcpStream;
    type Service = S;
    type Future = std::future::Ready<io::Result<(TcpStream, S)>>;

    fn accept(&self, stream: TcpStream, service: S) -> Self::Future {
        if self.handle.connection_count() > CONNECTIONS {
            return std::future::ready(Err(io::ErrorKind::ConnectionRefused.into()));
        }
        self.inner.accept(stream, service)
    }
}
