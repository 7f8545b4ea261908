//! Listening, until it is told to stop.

mod few;
mod tls;

pub use tls::TlsError;

use super::door::{Code, Door, Phones, PhonesError, of_a_home};
use super::{Site, router};
use crate::intake::IntakeError;
use axum_server::tls_rustls::RustlsAcceptor;
use axum_server::{Handle, Server};
use few::Few;
use hyper_util::rt::TokioTimer;
use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener};
use std::path::PathBuf;
use std::pin::pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use tokio::sync::mpsc::unbounded_channel;

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
}

/// What a server has to say to whoever started it.
#[derive(Debug, Clone)]
pub enum Notice {
    /// It listens.
    Up(Up),
    /// There is another code: the hour of the one before was over when a phone asked, or it was guessed at too often.
    Code(Code),
}

/// A server that listens.
#[derive(Debug, Clone)]
pub struct Up {
    /// Where to find it, the best address first: `http://192.168.1.7:8646`.
    pub addresses: Vec<String>,
    /// The code that pairs a phone; none where only this computer can come.
    pub code: Option<Code>,
}

/// The server cannot run.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ServeError {
    /// Another program listens there, or this one may not.
    #[error("cannot listen at {at}: {source}")]
    Listen { at: SocketAddr, source: io::Error },
    /// Certificate or key.
    #[error(transparent)]
    Tls(#[from] TlsError),
    /// The list of paired phones.
    #[error(transparent)]
    Phones(#[from] PhonesError),
    /// Photos that were sent before.
    #[error(transparent)]
    Photos(#[from] IntakeError),
    /// It stopped by itself.
    #[error("the server stopped: {0}")]
    Stopped(io::Error),
}

impl ServeError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Listen { .. } => "serve-listen",
            Self::Tls(e) => e.code(),
            Self::Phones(e) => e.code(),
            Self::Photos(e) => e.code(),
            Self::Stopped(_) => "serve-stopped",
        }
    }

    /// What can be done about it.
    pub fn remedy(&self) -> String {
        match self {
            Self::Listen { .. } => "Name another port with --port, or stop the program that uses it.".into(),
            Self::Tls(e) => e.remedy().into(),
            Self::Phones(e) => e.remedy(),
            Self::Photos(e) => e.remedy(),
            Self::Stopped(_) => "Start it again; what was logged is kept.".into(),
        }
    }
}

/// How long a stop waits for what is still being sent, and then for what is still being read. Together less than the minute and a half
/// after which service managers commonly kill.
const GRACE: Duration = Duration::from_secs(30);
const TICK: Duration = Duration::from_millis(50);
/// How long a phone may take to say what it wants, and a connection may lie idle.
const HEADERS: Duration = Duration::from_secs(15);

/// Serves until `stop` is set; what was begun is finished. `tell` is called as soon as it listens, and whenever there is another code.
pub fn serve(
    site: Site,
    asked: &Listening,
    stop: &'static AtomicBool,
    mut tell: impl FnMut(Notice),
) -> Result<(), ServeError> {
    // IPv4 alone: an IPv6 address of a home can often be reached from everywhere.
    let ip = if asked.lan { Ipv4Addr::UNSPECIFIED } else { Ipv4Addr::LOCALHOST };
    let at = SocketAddr::from((ip, asked.port));
    let listen = |source| ServeError::Listen { at, source };
    let tls = asked.tls.as_ref().map(|(certificate, key)| tls::config(certificate, key)).transpose()?;
    let listener = TcpListener::bind(at).map_err(listen)?;
    listener.set_nonblocking(true).map_err(listen)?;
    let port = listener.local_addr().map_err(listen)?.port();
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().map_err(ServeError::Stopped)?;
    let (teller, mut told) = unbounded_channel();
    let door = if asked.lan { Door::lan(&site.home, teller) } else { Door::shut(&site.home) };
    let site = Arc::new(site.behind(door.called(&asked.names, tls.is_some())));
    // Not before it listens: the code of a server that runs already stays as it is.
    let code = asked.lan.then(|| Phones::of(&site.home).new_code(site.now())).transpose()?;
    site.start()?;
    let up = Up { addresses: addresses(asked, port), code };
    let service = router(Arc::clone(&site)).into_make_service_with_connect_info::<SocketAddr>();
    let end = runtime.block_on(async {
        let handle = Handle::new();
        let stopping = handle.clone();
        tokio::spawn(async move {
            while !stop.load(Ordering::SeqCst) {
                tokio::time::sleep(TICK).await;
            }
            stopping.graceful_shutdown(Some(GRACE));
        });
        let server = axum_server::from_tcp(listener).map_err(ServeError::Stopped)?.handle(handle);
        tell(Notice::Up(up));
        let served = async {
            match tls {
                None => patient(server.acceptor(Few::default())).serve(service).await,
                Some(config) => {
                    let acceptor = RustlsAcceptor::new(config).acceptor(Few::default());
                    patient(server.acceptor(acceptor)).serve(service).await
                }
            }
        };
        let mut served = pin!(served);
        loop {
            tokio::select! {
                end = &mut served => return end.map_err(ServeError::Stopped),
                Some(code) = told.recv() => tell(Notice::Code(code)),
            }
        }
    });
    // What was accepted is read; what is not by then lies on the disk for the next start.
    site.finish(GRACE);
    runtime.shutdown_timeout(TICK);
    end
}

/// Where to find the server: by its names, at every address of a home network, on this computer.
fn addresses(asked: &Listening, port: u16) -> Vec<String> {
    let scheme = if asked.tls.is_some() { "https" } else { "http" };
    let mut hosts = Vec::new();
    if asked.lan {
        hosts.extend(asked.names.iter().map(|n| n.trim().to_string()));
        hosts.extend(own_addresses().iter().map(Ipv4Addr::to_string));
    }
    hosts.push(Ipv4Addr::LOCALHOST.to_string());
    hosts.iter().map(|host| format!("{scheme}://{host}:{port}")).collect()
}

/// This computer's addresses in home networks. First those that routers for homes commonly give (common practice); virtual networks
/// inside a computer commonly lie at 172.17 and above.
fn own_addresses() -> Vec<Ipv4Addr> {
    let all = if_addrs::get_if_addrs().unwrap_or_default();
    let v4 = |ip| match ip {
        IpAddr::V4(v4) => Some(v4),
        IpAddr::V6(_) => None,
    };
    let mut out: Vec<Ipv4Addr> = all.iter().filter_map(|i| v4(i.ip())).filter(|v4| !v4.is_loopback()).collect();
    out.retain(|v4| of_a_home(IpAddr::V4(*v4)));
    out.sort_by_key(|v4| match v4.octets() {
        [192, 168, ..] => 0,
        [10, ..] => 1,
        [172, ..] => 2,
        _ => 3,
    });
    out
}

/// A phone that is slow to say what it wants is hung up on. HTTP/1.1 alone, which begins without looking for other protocols: a
/// connection that says nothing would otherwise stay.
fn patient<Acceptor>(server: Server<SocketAddr, Acceptor>) -> Server<SocketAddr, Acceptor> {
    let mut server = server.http1_only();
    server.http_builder().http1().timer(TokioTimer::new()).header_read_timeout(HEADERS);
    server
}
