//! The way to a relay over gRPC, for programs.

use std::pin::pin;
use std::sync::OnceLock;
use std::time::Duration;

use gudgeon_core::document::{ChangeHash, Refused, Rule};
use gudgeon_core::entry::{EntryId, Refusal};
use gudgeon_proto::relay as wire;
use gudgeon_proto::relay::relay_client::RelayClient;
use tonic::Code;
use tonic::transport::{Channel, Endpoint};

use super::{Ask, Denial, Effect, Engine, Exchanged, Input, Reply, Standing, Summary, Trouble, Why};
use crate::error::HomeError;
use crate::home::Home;

/// Most bytes of one message, either way.
const MESSAGE: usize = 8 * 1024 * 1024;

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
    client: RelayClient<Channel>,
    /// Whoever waits was told that it is silent.
    told: bool,
}

/// An address that cannot be meant.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no address of a relay; write it like http://192.168.1.20:7474")]
pub struct BadAddress(String);

impl Relay {
    /// At an address such as `http://127.0.0.1:7474`; must be called within a tokio runtime.
    ///
    /// # Errors
    /// [`BadAddress`].
    pub fn at(address: &str) -> Result<Self, BadAddress> {
        let bad = || BadAddress(address.to_owned());
        if !address.starts_with("http://") {
            return Err(bad());
        }
        let endpoint: Endpoint = address.parse().map_err(|_| bad())?;
        let channel = endpoint.connect_timeout(REACH).timeout(ANSWER).tcp_nodelay(true).connect_lazy();
        let client =
            RelayClient::new(channel).max_decoding_message_size(MESSAGE).max_encoding_message_size(MESSAGE);
        Ok(Self { client, told: false })
    }

    /// Asks, and brings back what was answered or why nothing was.
    pub async fn ask(&mut self, ask: Ask) -> Input {
        let told = self.told;
        let (input, silent) = {
            let mut asking = pin!(self.put(ask));
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

    async fn put(&mut self, ask: Ask) -> Input {
        let answered = match ask {
            Ask::Greet { workshop } => self.greet(workshop.bytes().to_vec()).await,
            Ask::Open { workshop, key, challenge, nonce, signature } => {
                let request = wire::OpenSessionRequest {
                    workshop: workshop.bytes().to_vec(),
                    key: key.to_vec(),
                    challenge,
                    nonce: nonce.to_vec(),
                    signature: signature.to_vec(),
                };
                self.open(request).await
            }
            Ask::Exchange { session, document, heads, changes } => {
                let heads = heads.iter().map(|head| head.bytes().to_vec()).collect();
                let document = document.bytes().to_vec();
                self.exchange(wire::ExchangeRequest { session, document, heads, changes }).await
            }
        };
        match answered {
            Ok(reply) => Input::Reply(reply),
            Err(status) => Input::Failed(trouble(&status)),
        }
    }

    async fn greet(&mut self, workshop: Vec<u8>) -> Result<Reply, tonic::Status> {
        let greeted = self.client.greet(wire::GreetRequest { workshop }).await?.into_inner();
        let relay = greeted.relay.try_into().map_err(|_| strange("its name"))?;
        Ok(Reply::Greeted { relay, challenge: greeted.challenge })
    }

    async fn open(&mut self, request: wire::OpenSessionRequest) -> Result<Reply, tonic::Status> {
        let opened = self.client.open_session(request).await?.into_inner();
        let standing = match opened.standing() {
            wire::Standing::Member => Standing::Member,
            wire::Standing::Invited => Standing::Invited,
            wire::Standing::Brings => Standing::Brings,
            wire::Standing::Unspecified => return Err(strange("the standing of the session")),
        };
        Ok(Reply::Opened { session: opened.session, standing })
    }

    async fn exchange(&mut self, request: wire::ExchangeRequest) -> Result<Reply, tonic::Status> {
        let answer = self.client.exchange(request).await?.into_inner();
        Ok(Reply::Exchanged(Exchanged {
            heads: hashes(&answer.heads)?,
            changes: answer.changes,
            refused: answer.refusals.iter().map(refused).collect::<Result<_, _>>()?,
            unknown: hashes(&answer.unknown)?,
            more: answer.more,
        }))
    }

    /// Waits until the relay has something new, and says so; then again.
    ///
    /// # Errors
    /// [`Trouble`] when the stream ends.
    pub async fn watch(&mut self, session: Vec<u8>) -> Result<Watch, Trouble> {
        // A stream lasts: the limit on an answer is not for it.
        let mut request = tonic::Request::new(wire::WatchRequest { session });
        request.set_timeout(Duration::from_secs(24 * 60 * 60));
        match self.client.watch(request).await {
            Ok(stream) => Ok(Watch(stream.into_inner())),
            Err(status) => Err(trouble(&status)),
        }
    }
}

/// An open ear at the relay.
#[derive(Debug)]
pub struct Watch(tonic::Streaming<wire::WatchReply>);

impl Watch {
    /// The next news; what it is, an exchange tells.
    ///
    /// # Errors
    /// [`Trouble`] when the stream ends.
    pub async fn next(&mut self) -> Result<(), Trouble> {
        match self.0.message().await {
            Ok(Some(_)) => Ok(()),
            Ok(None) => Err(Trouble::Offline("the relay ended the watch".to_owned())),
            Err(status) => Err(trouble(&status)),
        }
    }
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

fn hashes(list: &[Vec<u8>]) -> Result<Vec<ChangeHash>, tonic::Status> {
    list.iter().map(|bytes| ChangeHash::from_slice(bytes).ok_or_else(|| strange("a head"))).collect()
}

fn refused(refusal: &wire::Refusal) -> Result<Refused, tonic::Status> {
    let entry = match refusal.entry.as_slice() {
        [] => None,
        bytes => Some(EntryId::from_slice(bytes).ok_or_else(|| strange("a refused entry"))?),
    };
    let change = ChangeHash::from_slice(&refusal.change).ok_or_else(|| strange("a refused change"))?;
    Ok(Refused { change, entry, rule: rule(&refusal.rule), hint: refusal.hint.clone() })
}

/// Rules that only a relay has.
const RELAYS_OWN: [&str; 2] = ["founding-first", "other-workshop"];

/// The rule by its name here; one of a later relay keeps its hint and loses its name.
fn rule(name: &str) -> &'static str {
    let known = Rule::ALL.iter().map(|rule| rule.name());
    known.chain(Refusal::RULES).chain(RELAYS_OWN).find(|rule| *rule == name).unwrap_or("other")
}

fn strange(what: &str) -> tonic::Status {
    tonic::Status::internal(format!("the relay's answer is not understood: {what}; update this program"))
}

#[allow(clippy::wildcard_enum_match_arm)] // the codes are a standard's; what is left is a relay's fault
fn trouble(status: &tonic::Status) -> Trouble {
    let said = status.message().to_owned();
    match status.code() {
        Code::Unauthenticated => Trouble::NoSession,
        Code::PermissionDenied => {
            let name = status.metadata().get(wire::DENIED).and_then(|name| name.to_str().ok());
            Trouble::Denied(Denial::new(Why::named(name.unwrap_or_default()), said))
        }
        Code::Unavailable if std::error::Error::source(status).is_some() => Trouble::Offline(said),
        Code::Unavailable | Code::ResourceExhausted | Code::Aborted => Trouble::Busy(said),
        Code::DeadlineExceeded | Code::Cancelled | Code::Unknown => Trouble::Offline(said),
        _ => Trouble::Broken(said),
    }
}
