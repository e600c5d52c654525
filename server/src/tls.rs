//! How the relay proves who it is: by certificate files, or by its own authority.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use rustls::ServerConfig;
use rustls::crypto::{CryptoProvider, ring};
use rustls::pki_types::pem::PemObject as _;
use rustls::pki_types::{CertificateDer, PrivateKeyDer, PrivatePkcs8KeyDer};
use rustls::server::{ClientHello, ResolvesServerCert};
use rustls::sign::{CertifiedKey, SingleCertAndKey};

use crate::authority::{Authority, AuthorityError, Lasts};
use crate::committer::Clock;

/// Why there is no TLS.
#[derive(Debug, thiserror::Error)]
pub enum TlsError {
    /// A file that is not what it should be.
    #[error("{path}: {what}; name a file in PEM, as the maker of your certificate gave it")]
    File {
        /// Which.
        path: PathBuf,
        /// What is the matter.
        what: String,
    },
    /// Two files that do not belong together, or a key of no known kind.
    #[error("{cert} and {key}: {said}; name the key that the certificate was made for")]
    Pair {
        /// The certificate.
        cert: PathBuf,
        /// The key.
        key: PathBuf,
        /// What the library said.
        said: rustls::Error,
    },
    /// The authority.
    #[error(transparent)]
    Authority(#[from] AuthorityError),
    /// The library.
    #[error("setting up TLS: {0}")]
    Library(#[from] rustls::Error),
}

/// By files in PEM: the certificate with those above it, and its key.
///
/// # Errors
/// [`TlsError`].
pub fn by_files(cert: &Path, key: &Path) -> Result<Arc<ServerConfig>, TlsError> {
    let fault =
        |path: &Path, what: &dyn ToString| TlsError::File { path: path.into(), what: what.to_string() };
    let chain = CertificateDer::pem_file_iter(cert).map_err(|error| fault(cert, &error))?;
    let chain: Vec<_> = chain.collect::<Result<_, _>>().map_err(|error| fault(cert, &error))?;
    if chain.is_empty() {
        return Err(fault(cert, &"there is no certificate in it"));
    }
    let secret = PrivateKeyDer::from_pem_file(key).map_err(|error| fault(key, &error))?;
    let pair = CertifiedKey::from_der(chain, secret, &ring::default_provider());
    let pair = pair.map_err(|said| TlsError::Pair { cert: cert.into(), key: key.into(), said })?;
    config(Arc::new(SingleCertAndKey::from(pair)))
}

/// By the relay's own authority, with a certificate that is made anew when it nears its end.
///
/// # Errors
/// [`TlsError`].
pub fn by_authority(authority: Authority, clock: Clock) -> Result<Arc<ServerConfig>, TlsError> {
    let current = Mutex::new(Current::new(&authority, clock())?);
    config(Arc::new(Renewing { authority, clock, current }))
}

fn config(resolver: Arc<dyn ResolvesServerCert>) -> Result<Arc<ServerConfig>, TlsError> {
    let provider: Arc<CryptoProvider> = Arc::new(ring::default_provider());
    let mut config = ServerConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()?
        .with_no_client_auth()
        .with_cert_resolver(resolver);
    config.alpn_protocols = vec![b"h2".to_vec(), b"http/1.1".to_vec()];
    Ok(Arc::new(config))
}

/// A certificate that is looked at whenever somebody comes.
struct Renewing {
    authority: Authority,
    clock: Clock,
    current: Mutex<Current>,
}

struct Current {
    pair: Arc<CertifiedKey>,
    lasts: Lasts,
}

impl Current {
    fn new(authority: &Authority, now: i64) -> Result<Self, TlsError> {
        let leaf = authority.leaf(now)?;
        // The authority goes along: who knows it only by its digits finds it here.
        let chain = vec![leaf.certificate, authority.certificate().clone()];
        let key = PrivateKeyDer::from(PrivatePkcs8KeyDer::from(leaf.key));
        let pair = CertifiedKey::from_der(chain, key, &ring::default_provider())?;
        Ok(Self { pair: Arc::new(pair), lasts: leaf.lasts })
    }
}

impl std::fmt::Debug for Renewing {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Renewing").field("authority", &self.authority).finish_non_exhaustive()
    }
}

impl ResolvesServerCert for Renewing {
    fn resolve(&self, _: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        let now = (self.clock)();
        let mut current = self.current.lock().unwrap_or_else(PoisonError::into_inner);
        if current.lasts.is_spent(now) {
            match Current::new(&self.authority, now) {
                Ok(new) => {
                    tracing::info!("the relay's certificate was made anew");
                    *current = new;
                }
                Err(error) => tracing::error!(%error, "the relay's certificate was not made anew"),
            }
        }
        Some(Arc::clone(&current.pair))
    }
}
