//! A running relay: committer, service, health and description on one port, until told to stop.

use std::future::Future;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use gudgeon_proto::relay::relay_server::RelayServer;
use rustls::ServerConfig;
use tokio::net::TcpListener;
use tokio::sync::watch;
use tonic::server::NamedService;
use tonic::service::Routes;
use tonic::transport::Server;
use tonic_health::ServingStatus;
use tonic_health::server::HealthReporter;
use tonic_web::GrpcWebLayer;

use crate::authority::Authority;
use crate::committer::{Clock, Committer, Handle, Opener, Serves};
use crate::ending::Ending;
use crate::limits::{CALLS, DRAIN, HELLO, MESSAGE, PACE, REQUEST};
use crate::pace::Most;
use crate::port::Incoming;
use crate::service::Service;
use crate::session::Seal;
use crate::store::{SESSION_SECRET, Store, StoreError};
use crate::trust;
use crate::web::{APP, Asset, Web};

/// Setting: who the relay is.
const RELAY: &str = "relay";

/// Why a relay does not start or ends in the middle.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The store does not work.
    #[error("{0}; {hint}", hint = .0.hint())]
    Store(#[from] StoreError),
    /// The address is not to be had.
    #[error("listening at {at}: {source}; stop what listens there, or choose another address")]
    Listen {
        /// The address.
        at: SocketAddr,
        /// What the system said.
        source: std::io::Error,
    },
    /// The machine has no randomness to give.
    #[error("this machine gives no randomness")]
    NoRandomness,
    /// The transport ended by itself.
    #[error("the transport ended: {0}")]
    Transport(#[from] tonic::transport::Error),
}

/// The system's clock.
#[must_use]
pub fn system_clock() -> Clock {
    Arc::new(|| {
        let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
        since.ok().and_then(|since| i64::try_from(since.as_millis()).ok()).unwrap_or_default()
    })
}

/// A relay that is bound and not yet serving.
#[derive(Debug)]
pub struct Bound {
    listener: TcpListener,
    committer: Committer,
    thread: Handle,
    seal: Seal,
    clock: ClockBox,
    tls: Option<Arc<ServerConfig>>,
    hello: Duration,
    pace: Most,
    app: Vec<Asset>,
    trust: Option<(TcpListener, Router)>,
}

struct ClockBox(Clock);

impl std::fmt::Debug for ClockBox {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Clock")
    }
}

impl Bound {
    /// Opens the store and the port.
    ///
    /// # Errors
    /// [`ServeError`].
    pub async fn new(
        at: SocketAddr,
        mut open: Opener,
        serves: Serves,
        clock: Clock,
    ) -> Result<Self, ServeError> {
        let mut store = open()?;
        let seal = seal(store.as_mut())?;
        drop(store);
        let (committer, thread) = Committer::start(open, serves, Arc::clone(&clock))?;
        let (listener, clock) = (bind(at).await?, ClockBox(clock));
        let (tls, app, trust) = (None, APP.to_vec(), None);
        Ok(Self { listener, committer, thread, seal, clock, tls, hello: HELLO, pace: PACE, app, trust })
    }

    /// The same, with so many requests in a minute.
    #[must_use]
    pub fn with_pace_of(self, pace: Most) -> Self {
        Self { pace, ..self }
    }

    /// The same, with so much time for a connection to be opened and to begin its first request.
    #[must_use]
    pub fn with_hello_of(self, hello: Duration) -> Self {
        Self { hello, ..self }
    }

    /// The same, by TLS and nothing else.
    #[must_use]
    pub fn with_tls(self, tls: Arc<ServerConfig>) -> Self {
        Self { tls: Some(tls), ..self }
    }

    /// The same, with another phone app than the one that is built in.
    #[must_use]
    pub fn with_app(self, app: &[Asset]) -> Self {
        Self { app: app.to_vec(), ..self }
    }

    /// The same, with the page where phones come to trust an authority at a port of its own; answers where.
    ///
    /// # Errors
    /// [`ServeError::Listen`].
    pub async fn with_trust_page(
        self,
        at: SocketAddr,
        authority: &Authority,
    ) -> Result<(Self, SocketAddr), ServeError> {
        let (relay, listener) = (self.address().map(|own| own.port()), bind(at).await?);
        let told = |source| ServeError::Listen { at, source };
        let relay = format!("https://{}:{}", authority.names().host(), relay.map_err(told)?);
        let at = listener.local_addr().map_err(told)?;
        let trust = Some((listener, trust::router(authority, &relay)));
        Ok((Self { trust, ..self }, at))
    }

    /// The same, with sessions that last so long.
    #[must_use]
    pub fn with_sessions_of(self, lasts: Duration) -> Self {
        Self { seal: self.seal.lasting(lasts), ..self }
    }

    /// Where it listens: with port 0 the system has chosen one.
    ///
    /// # Errors
    /// What the system says.
    pub fn address(&self) -> std::io::Result<SocketAddr> {
        self.listener.local_addr()
    }

    /// Serves until `stop` is done; then ends streams, lets requests in progress end, and
    /// waits for the store.
    ///
    /// # Errors
    /// [`ServeError::Transport`].
    pub async fn serve(self, stop: impl Future<Output = ()> + Send + 'static) -> Result<(), ServeError> {
        let (tell, stopping) = watch::channel(false);
        let service =
            Service::new(self.committer.clone(), self.seal, self.clock.0, self.pace, stopping.clone());
        let (mut reporter, health) = tonic_health::server::health_reporter();
        reporter.set_serving::<RelayServer<Service>>().await;
        let relay =
            RelayServer::new(service).max_decoding_message_size(MESSAGE).max_encoding_message_size(MESSAGE);
        let calls = Routes::new(relay).add_service(health);
        let calls = calls.add_service(Ending::new(description(), stopping.clone()));
        let web = Web::new(&self.app, self.tls.is_some());
        let all = calls.into_axum_router().layer(GrpcWebLayer::new());
        let all = all.fallback(move |request| web.clone().answer(request));
        let relay = at_port(all, Incoming::new(self.listener, self.tls, self.hello), stopping.clone());
        let serving = async {
            match self.trust {
                None => relay.await,
                Some((listener, page)) => {
                    let page = at_port(page, Incoming::new(listener, None, self.hello), stopping.clone());
                    tokio::try_join!(relay, page).map(|((), ())| ())
                }
            }
        };
        let mut serving = std::pin::pin!(serving);
        tokio::select! {
            ended = &mut serving => ended?,
            () = stop => {
                tracing::info!("stopping");
                end_health(&mut reporter).await;
                let _nobody = tell.send(true);
                match tokio::time::timeout(DRAIN, serving).await {
                    Ok(ended) => ended?,
                    Err(_) => tracing::warn!("requests that had not ended were cut off"),
                }
            }
        }
        // What it has taken becomes durable. A connection that was cut off may still hold it.
        self.committer.end().await;
        let thread = self.thread;
        let joined = tokio::task::spawn_blocking(move || thread.join());
        if tokio::time::timeout(DRAIN, joined).await.is_err() {
            tracing::warn!("the committer is still busy; nothing answered is at risk");
        }
        tracing::info!("stopped");
        Ok(())
    }
}

async fn bind(at: SocketAddr) -> Result<TcpListener, ServeError> {
    TcpListener::bind(at).await.map_err(|source| ServeError::Listen { at, source })
}

/// Answers at one port until told to stop and what is under way has ended.
async fn at_port(
    answers: Router,
    incoming: Incoming,
    mut stopping: watch::Receiver<bool>,
) -> Result<(), tonic::transport::Error> {
    let mut server = Server::builder()
        .accept_http1(true)
        .timeout(REQUEST)
        .max_concurrent_streams(CALLS)
        .http2_keepalive_interval(Some(Duration::from_secs(30)));
    let stop = async move {
        // An error means that nobody can tell any more, which is as good as told.
        let _told = stopping.wait_for(|stopping| *stopping).await;
    };
    server.add_routes(Routes::from(answers)).serve_with_incoming_shutdown(incoming, stop).await
}

/// Says that nothing is served any more, and ends the streams of those who watch that: they
/// would hold up the end, for they never end by themselves.
async fn end_health(reporter: &mut HealthReporter) {
    for service in ["", <RelayServer<Service> as NamedService>::NAME] {
        reporter.set_service_status(service, ServingStatus::NotServing).await;
        reporter.clear_service_status(service).await;
    }
}

fn description()
-> tonic_reflection::server::v1::ServerReflectionServer<impl tonic_reflection::server::v1::ServerReflection> {
    tonic_reflection::server::Builder::configure()
        .register_encoded_file_descriptor_set(gudgeon_proto::relay::DESCRIPTION)
        .register_encoded_file_descriptor_set(tonic_health::pb::FILE_DESCRIPTOR_SET)
        .build_v1()
        .expect("our own descriptions are whole; a test reads them")
}

/// Who the relay is and its secret: made once, kept in the store.
fn seal(store: &mut dyn Store) -> Result<Seal, ServeError> {
    let relay = kept(store, RELAY)?;
    let secret = kept(store, SESSION_SECRET)?;
    store.flush()?;
    Ok(Seal::new(relay, secret))
}

fn kept(store: &mut dyn Store, name: &str) -> Result<[u8; 32], ServeError> {
    if let Some(value) = store.setting(name)?.and_then(|value| value.try_into().ok()) {
        return Ok(value);
    }
    let mut value = [0; 32];
    getrandom::fill(&mut value).map_err(|_| ServeError::NoRandomness)?;
    store.set_setting(name, &value)?;
    Ok(value)
}
