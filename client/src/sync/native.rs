//! The way to a relay over gRPC, for programs.

use std::pin::pin;
use std::sync::OnceLock;
use std::time::Duration;

use gudgeon_proto::relay as wire;
use gudgeon_proto::relay::relay_client::RelayClient;
use rustls::RootCertStore;
use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject as _;
use tonic::transport::Endpoint;
use tower::service_fn;

use super::tls::Connector;
pub use super::wire::Watch;
use super::wire::{Carrier, MESSAGE, listen, put};
use super::{Address, Ask, BadAddress, Effect, Engine, Input, Summary, Trouble};
use crate::error::HomeError;
use crate::home::Home;

/// How long a relay may take to be reached, and to answer.
const REACH: Duration = Duration::from_secs(5);
const ANSWER: Duration = Duration::from_secs(60);

/// How long a relay may be silent before whoever waits is told.
const SILENT: Duration = Duration::from_secs(3);

/// Told when a relay is silent; set once for the whole program.
static WHEN_SILENT: OnceLock<fn(Duration)> = OnceLock::new();

/// Names what is called when a relay has not answered for a few seconds, with the time that it has
/// in all: once, until it answers in good time again. The first that is named stays.
pub fn when_silent(tell: fn(Duration)) {
    WHEN_SILENT.get_or_init(|| tell);
}

/// A relay at an address; reached when first asked.
#[derive(Clone, Debug)]
pub struct Relay {
    client: RelayClient<Carrier>,
    /// Whoever waits was told that it is silent.
    told: bool,
}

impl Relay {
    /// At an [`Address`] such as `https://192.168.1.20:7474`; must be called within a tokio runtime.
    ///
    /// # Errors
    /// [`BadAddress`].
    pub fn at(address: &str) -> Result<Self, BadAddress> {
        let address: Address = address.parse()?;
        let endpoint: Endpoint =
            address.url().parse().map_err(|_| BadAddress::new(address.url().to_owned()))?;
        let endpoint = endpoint.connect_timeout(REACH).timeout(ANSWER).tcp_nodelay(true);
        let channel = if address.is_encrypted() {
            let tls = Connector::to(&address);
            endpoint.connect_with_connector_lazy(service_fn(move |uri| tls.clone().connect(uri)))
        } else {
            endpoint.connect_lazy()
        };
        let client =
            RelayClient::new(channel).max_decoding_message_size(MESSAGE).max_encoding_message_size(MESSAGE);
        Ok(Self { client, told: false })
    }

    /// Asks, and brings back what was answered or why nothing was.
    pub async fn ask(&mut self, ask: Ask) -> Input {
        let told = self.told;
        let (input, silent) = {
            let mut asking = pin!(put(&mut self.client, ask));
            match tokio::time::timeout(SILENT, &mut asking).await {
                Ok(input) => (input, false),
                Err(_) => {
                    if let Some(tell) = WHEN_SILENT.get().filter(|_| !told) {
                        tell(ANSWER);
                    }
                    (asking.await, true)
                }
            }
        };
        self.told = silent;
        input
    }

    /// Waits until the relay has something new, and says so; then again.
    ///
    /// # Errors
    /// [`Trouble`] when the stream ends.
    pub async fn watch(&mut self, session: Vec<u8>) -> Result<Watch, Trouble> {
        // A stream lasts: the limit on an answer is not for it.
        let mut request = tonic::Request::new(wire::WatchRequest { session });
        request.set_timeout(Duration::from_secs(24 * 60 * 60));
        listen(&mut self.client, request).await
    }
}

/// The first certificate in a file, PEM or DER, as DER; none if there is none in it.
#[must_use]
pub fn certificate(bytes: &[u8]) -> Option<Vec<u8>> {
    let der = CertificateDer::from_pem_slice(bytes).unwrap_or_else(|_| CertificateDer::from(bytes));
    RootCertStore::empty().add(der.clone()).ok().map(|()| der.to_vec())
}

/// One whole meeting.
///
/// # Errors
/// [`HomeError`] if the home does not read or write; inside, why the relay was no use.
pub async fn meet(
    relay: &mut Relay,
    engine: &mut Engine,
    home: &mut Home,
) -> Result<Result<Summary, Trouble>, HomeError> {
    let mut input = Input::Begin;
    loop {
        input = match engine.handle(home, input)? {
            Effect::Ask(ask) => relay.ask(ask).await,
            Effect::Wait(milliseconds) => {
                tokio::time::sleep(Duration::from_millis(milliseconds)).await;
                Input::Begin
            }
            Effect::Done(summary) => return Ok(Ok(summary)),
            Effect::GaveUp(trouble) => return Ok(Err(trouble)),
        };
    }
}
