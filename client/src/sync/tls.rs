//! TLS to a relay: who is believed there.

use std::io;
use std::sync::Arc;

use hyper_util::rt::TokioIo;
use rustls::client::WebPkiServerVerifier;
use rustls::client::danger::{HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier};
use rustls::crypto::{CryptoProvider, ring};
use rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use rustls::{CertificateError, ClientConfig, DigitallySignedStruct, Error, RootCertStore, SignatureScheme};
use tokio::net::TcpStream;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tonic::codegen::http::Uri;

use super::address::Address;

type BoxError = Box<dyn std::error::Error + Send + Sync>;

/// Why a relay is not believed to be the one that was meant.
#[derive(Clone, Debug, thiserror::Error)]
#[error("{}", words(.0))]
struct NotBelieved(Error);

#[allow(clippy::wildcard_enum_match_arm)] // the library's reasons are many; these have a way out of their own
fn words(error: &Error) -> String {
    use CertificateError as Of;
    let Error::InvalidCertificate(reason) = error else {
        return match error {
            Error::InvalidMessage(_) => "it does not speak TLS; write its address with http://".to_owned(),
            other => format!("it is not believed: {other}"),
        };
    };
    let what = match reason {
        Of::UnknownIssuer => {
            "comes from nobody who is believed here; ask whoever runs it for its address with the digits after \
             the #, or name the file of its authority: --authority FILE"
        }
        Of::NotValidForName | Of::NotValidForNameContext { .. } => {
            "is for another name; write its address by a name that its authority speaks for"
        }
        Of::Expired | Of::ExpiredContext { .. } | Of::NotValidYet | Of::NotValidYetContext { .. } => {
            "is not good today; look at the clocks of both machines"
        }
        other => return format!("its certificate is not believed: {other}"),
    };
    format!("its certificate {what}")
}

/// Connects to one relay.
#[derive(Clone)]
pub(super) struct Connector(Result<TlsConnector, NotBelieved>);

impl Connector {
    /// For the relay there. That nobody could be believed is told when it is asked.
    pub(super) fn to(address: &Address) -> Self {
        Self(Self::believing(address).map_err(NotBelieved))
    }

    fn believing(address: &Address) -> Result<TlsConnector, Error> {
        let provider: Arc<CryptoProvider> = Arc::new(ring::default_provider());
        let verifier: Arc<dyn ServerCertVerifier> = if address.names_authority() {
            Arc::new(OwnAuthority { address: address.clone(), provider: Arc::clone(&provider) })
        } else {
            verifier(public(), &provider)?
        };
        let mut config = ClientConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()?
            .dangerous()
            .with_custom_certificate_verifier(verifier)
            .with_no_client_auth();
        config.alpn_protocols = vec![b"h2".to_vec()];
        Ok(TlsConnector::from(Arc::new(config)))
    }

    /// A connection on which nobody but the relay reads.
    pub(super) async fn connect(self, uri: Uri) -> Result<TokioIo<TlsStream<TcpStream>>, BoxError> {
        let tls = self.0?;
        let host = uri.host().unwrap_or_default().trim_matches(['[', ']']);
        let name = ServerName::try_from(host.to_owned())?;
        let stream = TcpStream::connect((host, uri.port_u16().unwrap_or(443))).await?;
        stream.set_nodelay(true)?;
        let stream = tls.connect(name, stream).await;
        Ok(TokioIo::new(stream.map_err(reason)?))
    }
}

/// Why the relay was reached and not believed, if that is what a call came to.
pub(super) fn not_believed(status: &tonic::Status) -> Option<String> {
    let first = std::error::Error::source(status);
    let mut causes = std::iter::successors(first, |error| error.source());
    causes.find_map(|error| error.downcast_ref::<NotBelieved>()).map(ToString::to_string)
}

/// The library's own reason, where there is one: it lies within the system's.
fn reason(error: io::Error) -> BoxError {
    match error.get_ref().and_then(|inner| inner.downcast_ref::<Error>()) {
        Some(inner) => NotBelieved(inner.clone()).into(),
        None => error.into(),
    }
}

/// The authorities that this device knows.
fn public() -> RootCertStore {
    let mut roots = RootCertStore::empty();
    let known = rustls_native_certs::load_native_certs();
    let (added, left_out) = roots.add_parsable_certificates(known.certs);
    tracing::debug!(added, left_out, faults = known.errors.len(), "authorities of this device");
    roots
}

/// Without a single authority there is nothing to check by, and nothing is believed.
fn verifier(
    roots: RootCertStore,
    provider: &Arc<CryptoProvider>,
) -> Result<Arc<WebPkiServerVerifier>, Error> {
    let built = WebPkiServerVerifier::builder_with_provider(Arc::new(roots), Arc::clone(provider)).build();
    built.map_err(|error| Error::General(format!("this device knows no authorities: {error}")))
}

/// Believes one authority, which is known by its digits and comes with the relay's certificate; what it is
/// allowed to speak for, and everything else, is judged as of any other.
#[derive(Debug)]
struct OwnAuthority {
    address: Address,
    provider: Arc<CryptoProvider>,
}

impl ServerCertVerifier for OwnAuthority {
    fn verify_server_cert(
        &self,
        end_entity: &CertificateDer<'_>,
        intermediates: &[CertificateDer<'_>],
        server_name: &ServerName<'_>,
        ocsp_response: &[u8],
        now: UnixTime,
    ) -> Result<ServerCertVerified, Error> {
        let authority = intermediates.iter().find(|above| self.address.is_authority(above));
        let authority = authority.ok_or(Error::InvalidCertificate(CertificateError::UnknownIssuer))?;
        let mut roots = RootCertStore::empty();
        roots.add(authority.clone().into_owned())?;
        let judge = verifier(roots, &self.provider)?;
        judge.verify_server_cert(end_entity, intermediates, server_name, ocsp_response, now)
    }

    fn verify_tls12_signature(
        &self,
        message: &[u8],
        cert: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        let known = &self.provider.signature_verification_algorithms;
        rustls::crypto::verify_tls12_signature(message, cert, signed, known)
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        cert: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        let known = &self.provider.signature_verification_algorithms;
        rustls::crypto::verify_tls13_signature(message, cert, signed, known)
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        self.provider.signature_verification_algorithms.supported_schemes()
    }
}
