//! Certificate and key.

use axum_server::tls_rustls::RustlsConfig;
use rustls::pki_types::pem::{self, PemObject};
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use rustls::{ServerConfig, crypto::ring};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Certificate or key cannot be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum TlsError {
    /// A file.
    #[error("cannot read {}: {source}", path.display())]
    File { path: PathBuf, source: io::Error },
    /// The file holds none.
    #[error("{} holds no certificate in PEM form", path.display())]
    NoCertificate { path: PathBuf },
    /// The file holds none.
    #[error("{} holds no private key in PEM form", path.display())]
    NoKey { path: PathBuf },
    /// They do not go together, or are of a kind that is not known.
    #[error("the certificate {} and the key {} cannot be used: {source}", certificate.display(), key.display())]
    Pair { certificate: PathBuf, key: PathBuf, source: rustls::Error },
}

impl TlsError {
    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::File { .. } => "tls-file",
            Self::NoCertificate { .. } => "tls-no-certificate",
            Self::NoKey { .. } => "tls-no-key",
            Self::Pair { source: rustls::Error::InconsistentKeys(_), .. } => "tls-not-a-pair",
            Self::Pair { .. } => "tls-unusable",
        }
    }

    /// What can be done about it.
    pub fn remedy(&self) -> &'static str {
        match self.code() {
            "tls-file" => "Check the path, and that you may read it: --tls CERT KEY.",
            "tls-no-certificate" => "Give the certificate first, followed by its chain, as PEM: --tls CERT KEY.",
            "tls-no-key" => "Give the key second, unencrypted, as PEM: --tls CERT KEY.",
            "tls-not-a-pair" => "Give the key that was made with this certificate.",
            _ => "Make certificate and key anew, as RSA, ECDSA or Ed25519.",
        }
    }
}

/// What the server needs to speak TLS.
pub(super) fn config(certificate: &Path, key: &Path) -> Result<RustlsConfig, TlsError> {
    let chain = CertificateDer::pem_slice_iter(&read(certificate)?).collect::<Result<Vec<_>, _>>();
    let none = || TlsError::NoCertificate { path: certificate.into() };
    let chain = chain.ok().filter(|c| !c.is_empty()).ok_or_else(none)?;
    let own =
        PrivateKeyDer::from_pem_slice(&read(key)?).map_err(|_: pem::Error| TlsError::NoKey { path: key.into() })?;
    let unusable = |source| TlsError::Pair { certificate: certificate.into(), key: key.into(), source };
    let builder = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()));
    let builder = builder.with_safe_default_protocol_versions().map_err(unusable)?.with_no_client_auth();
    let mut config = builder.with_single_cert(chain, own).map_err(unusable)?;
    // HTTP/1.1 alone is spoken here: it is what the limits are made for.
    config.alpn_protocols = vec![b"http/1.1".to_vec()];
    Ok(RustlsConfig::from_config(Arc::new(config)))
}

fn read(path: &Path) -> Result<Vec<u8>, TlsError> {
    std::fs::read(path).map_err(|source| TlsError::File { path: path.into(), source })
}
