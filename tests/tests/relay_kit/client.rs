//! A phone's side of the wire, by the client that is generated from the protocol.

use std::net::SocketAddr;

use gudgeon_core::document::ChangeHash;
use gudgeon_core::entry::{Author, DocumentId, SESSION_TAG, check};
use gudgeon_proto::relay as wire;
use gudgeon_proto::relay::relay_client::RelayClient;
use tonic::transport::{Channel, Endpoint};
use tonic::{Status, Streaming};

use super::{Copy, Shop};

/// The caller's nonce: what it is does not matter to the relay.
const NONCE: [u8; 32] = [9; 32];

pub async fn channel(at: SocketAddr) -> Channel {
    Endpoint::from_shared(format!("http://{at}")).unwrap().connect().await.unwrap()
}

/// A connection, and the session it has opened.
#[derive(Clone)]
pub struct Client {
    pub wire: RelayClient<Channel>,
    pub session: Vec<u8>,
    pub standing: wire::Standing,
    pub expires: i64,
}

impl Client {
    /// Connects and opens a session.
    pub async fn open(at: SocketAddr, author: &Author, workshop: DocumentId) -> Result<Self, Status> {
        let mut wire = RelayClient::new(channel(at).await);
        let greeted = greet(&mut wire, workshop).await?;
        let signature = answer(author, &greeted);
        let opened = open(&mut wire, author, workshop, greeted, signature).await?;
        let standing = opened.standing();
        Ok(Self { wire, session: opened.session, standing, expires: opened.expires })
    }

    pub async fn exchange(
        &mut self,
        document: DocumentId,
        heads: &[ChangeHash],
        changes: Vec<Vec<u8>>,
    ) -> Result<wire::ExchangeReply, Status> {
        let heads = heads.iter().map(|head| head.bytes().to_vec()).collect();
        let asked = wire::ExchangeRequest {
            session: self.session.clone(),
            document: document.bytes().to_vec(),
            heads,
            changes,
        };
        self.wire.exchange(asked).await.map(tonic::Response::into_inner)
    }

    /// Exchanges until the relay has no more to say; answers how many times it was asked.
    pub async fn sync(&mut self, copy: &mut Copy) -> Result<usize, Status> {
        for asked in 1..=100 {
            let lacking = copy.document.answer(&copy.relay_heads, 1024 * 1024);
            let (changes, more_here) = (super::raws_of(&lacking), lacking.more);
            let heads = [copy.relay_heads.clone(), copy.document.heads()].concat();
            let reply = self.exchange(copy.id, &heads, changes).await?;
            assert!(reply.refusals.is_empty(), "{:?}", reply.refusals);
            take(copy, &reply.changes);
            let forgot = hashes(&reply.unknown).iter().any(|head| copy.relay_heads.contains(head));
            // A relay that lost what it had names the heads it does not know: from the start. And
            // a head that is still to come must not be named, or the rest would never come.
            let held = hashes(&reply.heads).into_iter().filter(|head| copy.document.contains(head));
            copy.relay_heads = if forgot { Vec::new() } else { held.collect() };
            if !(reply.more || more_here || forgot) {
                return Ok(asked);
            }
        }
        panic!("a hundred exchanges did not do");
    }

    pub async fn watch(&mut self) -> Result<Streaming<wire::WatchReply>, Status> {
        let asked = wire::WatchRequest { session: self.session.clone() };
        let mut stream = self.wire.watch(asked).await?.into_inner();
        let first = stream.message().await?.unwrap();
        assert!(first.behind && first.changes.is_empty(), "the first word says that the ear is open");
        Ok(stream)
    }
}

/// Brings the shop's workshop, and its record, to a relay that holds nothing.
pub async fn bring(at: SocketAddr, shop: &Shop) {
    let mut client = Client::open(at, &shop.root, shop.id()).await.unwrap();
    let mut workshop = Copy::new(shop.id(), 50);
    workshop.write(&shop.workshop);
    client.sync(&mut workshop).await.unwrap();
    if shop.record.is_empty() {
        return;
    }
    let mut client = Client::open(at, &shop.people[0], shop.id()).await.unwrap();
    let mut record = Copy::new(shop.record_id(), 50);
    record.write(&shop.record);
    client.sync(&mut record).await.unwrap();
}

pub async fn greet(
    wire: &mut RelayClient<Channel>,
    workshop: DocumentId,
) -> Result<wire::GreetReply, Status> {
    let asked = wire::GreetRequest { workshop: workshop.bytes().to_vec() };
    wire.greet(asked).await.map(tonic::Response::into_inner)
}

/// The signature that answers a challenge.
pub fn answer(author: &Author, greeted: &wire::GreetReply) -> Vec<u8> {
    author.sign_tagged(SESSION_TAG, &[&greeted.relay, &greeted.challenge, &NONCE]).to_vec()
}

pub async fn open(
    wire: &mut RelayClient<Channel>,
    author: &Author,
    workshop: DocumentId,
    greeted: wire::GreetReply,
    signature: Vec<u8>,
) -> Result<wire::OpenSessionReply, Status> {
    let asked = wire::OpenSessionRequest {
        workshop: workshop.bytes().to_vec(),
        key: author.key().bytes().to_vec(),
        challenge: greeted.challenge,
        nonce: NONCE.to_vec(),
        signature,
    };
    wire.open_session(asked).await.map(tonic::Response::into_inner)
}

/// Takes changes as a phone does: through the gate, all of them.
pub fn take(copy: &mut Copy, changes: &[Vec<u8>]) {
    let id = copy.id;
    let received = copy
        .document
        .receive(changes, &mut |entry, value| check(entry, value, id).map(drop).map_err(Into::into));
    assert!(received.refused.is_empty(), "the relay gave out {:?}", received.refused);
    assert!(received.unknown_deps.is_empty(), "the relay left out {:?}", received.unknown_deps);
}

pub fn hashes(raw: &[Vec<u8>]) -> Vec<ChangeHash> {
    raw.iter().map(|bytes| ChangeHash::from_slice(bytes).unwrap()).collect()
}
