//! Questions and answers as the relay's messages, over whatever carries them.

use gudgeon_core::document::{ChangeHash, Refused, Rule};
use gudgeon_core::entry::{EntryId, Refusal};
use gudgeon_proto::relay as wire;
use gudgeon_proto::relay::relay_client::RelayClient;
use tonic::Code;

use super::{Ask, Denial, Exchanged, Input, Reply, Standing, Trouble, Why};

/// Most bytes of one message, either way.
pub(super) const MESSAGE: usize = 8 * 1024 * 1024;

/// What carries them: HTTP/2 for a program, a browser's fetch for a page.
#[cfg(not(target_arch = "wasm32"))]
pub(super) type Carrier = tonic::transport::Channel;
#[cfg(target_arch = "wasm32")]
pub(super) type Carrier = tonic_web_wasm_client::Client;

/// Asks, and brings back what was answered or why nothing was.
pub(super) async fn put(client: &mut RelayClient<Carrier>, ask: Ask) -> Input {
    let answered = match ask {
        Ask::Greet { workshop } => greet(client, workshop.bytes().to_vec()).await,
        Ask::Open { workshop, key, challenge, nonce, signature } => {
            let request = wire::OpenSessionRequest {
                workshop: workshop.bytes().to_vec(),
                key: key.to_vec(),
                challenge,
                nonce: nonce.to_vec(),
                signature: signature.to_vec(),
            };
            open(client, request).await
        }
        Ask::Exchange { session, document, heads, changes } => {
            let heads = heads.iter().map(|head| head.bytes().to_vec()).collect();
            let document = document.bytes().to_vec();
            exchange(client, wire::ExchangeRequest { session, document, heads, changes }).await
        }
    };
    match answered {
        Ok(reply) => Input::Reply(reply),
        Err(status) => Input::Failed(trouble(&status)),
    }
}

/// Opens an ear at the relay.
pub(super) async fn listen(
    client: &mut RelayClient<Carrier>,
    request: tonic::Request<wire::WatchRequest>,
) -> Result<Watch, Trouble> {
    client.watch(request).await.map(|stream| Watch(stream.into_inner())).map_err(|status| trouble(&status))
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

async fn greet(client: &mut RelayClient<Carrier>, workshop: Vec<u8>) -> Result<Reply, tonic::Status> {
    let greeted = client.greet(wire::GreetRequest { workshop }).await?.into_inner();
    let relay = greeted.relay.try_into().map_err(|_| strange("its name"))?;
    Ok(Reply::Greeted { relay, challenge: greeted.challenge })
}

async fn open(
    client: &mut RelayClient<Carrier>,
    request: wire::OpenSessionRequest,
) -> Result<Reply, tonic::Status> {
    let opened = client.open_session(request).await?.into_inner();
    let standing = match opened.standing() {
        wire::Standing::Member => Standing::Member,
        wire::Standing::Invited => Standing::Invited,
        wire::Standing::Brings => Standing::Brings,
        wire::Standing::Unspecified => return Err(strange("the standing of the session")),
    };
    Ok(Reply::Opened { session: opened.session, standing })
}

async fn exchange(
    client: &mut RelayClient<Carrier>,
    request: wire::ExchangeRequest,
) -> Result<Reply, tonic::Status> {
    let answer = client.exchange(request).await?.into_inner();
    Ok(Reply::Exchanged(Exchanged {
        heads: hashes(&answer.heads)?,
        changes: answer.changes,
        refused: answer.refusals.iter().map(refused).collect::<Result<_, _>>()?,
        unknown: hashes(&answer.unknown)?,
        more: answer.more,
    }))
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
pub(super) fn trouble(status: &tonic::Status) -> Trouble {
    let said = status.message().to_owned();
    #[cfg(not(target_arch = "wasm32"))]
    if let Some(reason) = super::tls::not_believed(status) {
        return Trouble::Broken(reason);
    }
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
