//! What a relay does in earnest, beside what wire and device take by themselves in the same run:
//! `cargo bench -p gudgeon-tests --bench relay`. No criterion: each figure is a whole day of
//! work, measured once with its spread.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

use std::fs::File;
use std::io::{Seek as _, Write as _};
use std::net::SocketAddr;
use std::path::Path;
use std::time::{Duration, Instant};

use gudgeon_client::home::Home;
use gudgeon_client::store::Memory;
use gudgeon_client::sync::native::{Relay, meet};
use gudgeon_client::sync::{Engine, Identity};
use gudgeon_client::world::Native;
use gudgeon_core::entry::payload::{Device, Founding, Note, Person, RecordListed, Role};
use gudgeon_core::entry::{Author, DocumentId, Payload, SESSION_TAG};
use gudgeon_proto::relay as wire;
use gudgeon_proto::relay::relay_client::RelayClient;
use gudgeon_relay::committer::Serves;
use gudgeon_relay::pace::Most;
use gudgeon_relay::serve::{Bound, system_clock};
use gudgeon_relay::store::{OnDisk, Options, Store};
use tokio::sync::oneshot;
use tonic::transport::Channel;

const ROUNDS: usize = 300;
const RECORDS: usize = 200;
const EACH: usize = 50;
const CONNECTIONS: usize = 20;
const OLD: usize = 1000;

/// A workshop of one lead, with records, all on a home in memory.
struct Shop {
    home: Home,
    lead: Author,
    workshop: DocumentId,
}

impl Shop {
    fn new() -> Self {
        let mut home = Home::within(Box::new(Memory::default()), Native).unwrap();
        let (root, lead) = (Author::from_secret(&[1; 32]), Author::from_secret(&[2; 32]));
        let workshop = home.found(&root, founding("Shop", None), &[]).unwrap().document;
        let person = Payload::Person(Person { name: "Lead".to_owned() });
        let person = home.state(workshop, &root, &[person]).unwrap().entries[0];
        let device = Device {
            key: lead.key(),
            person,
            roles: vec![Role::Lead, Role::Member],
            label: String::new(),
            invite: None,
            join_signature: Vec::new(),
        };
        home.state(workshop, &root, &[Payload::Device(device)]).unwrap();
        Self { home, lead, workshop }
    }

    /// A record with so many notes of the size of a reading, each saved by itself.
    fn record(&mut self, notes: usize) -> DocumentId {
        let nonce = self.home.records().count().to_string();
        let lead = &self.lead;
        let says = founding(&format!("Engine {nonce}"), Some(self.workshop));
        let record = self.home.found(lead, says, &[]).unwrap().document;
        let listed = RecordListed { record, name: format!("Engine {nonce}") };
        self.home.state(self.workshop, lead, &[Payload::RecordListed(listed)]).unwrap();
        for number in 0..notes {
            self.home.state(record, lead, &[note(number)]).unwrap();
        }
        record
    }

    fn raws(&self, document: DocumentId) -> Vec<Vec<u8>> {
        let changes = self.home.document(document).unwrap().changes_from(0);
        changes.iter().map(|change| change.raw().to_vec()).collect()
    }
}

fn founding(name: &str, workshop: Option<DocumentId>) -> Founding {
    let nonce = name.as_bytes().to_vec();
    Founding { name: name.to_owned(), workshop, definition_digest: None, nonce }
}

fn note(number: usize) -> Payload {
    let text =
        format!("note {number}, as long as the figures, gauges and temperatures of a reading are in all");
    Payload::Note(Note { feature: String::new(), text })
}

/// A relay on disk in this process.
struct Running {
    at: SocketAddr,
    stop: oneshot::Sender<()>,
    served: tokio::task::JoinHandle<()>,
}

async fn serve(data: &Path) -> Running {
    let data = data.to_owned();
    let open = Box::new(move || Ok(Box::new(OnDisk::open(&data, Options::default())?) as Box<dyn Store>));
    let bound =
        Bound::new("127.0.0.1:0".parse().unwrap(), open, Serves::First, system_clock()).await.unwrap();
    // Asked as fast as it answers: what one key may ask in a minute is not what is measured.
    let bound = bound.with_pace_of(Most { requests: u32::MAX, openings: u32::MAX });
    let at = bound.address().unwrap();
    let (stop, told) = oneshot::channel();
    let until = async move {
        let _told = told.await;
    };
    let served = tokio::spawn(async move { bound.serve(until).await.unwrap() });
    Running { at, stop, served }
}

async fn end(relay: Running) {
    relay.stop.send(()).unwrap();
    relay.served.await.unwrap();
}

async fn open(at: SocketAddr, shop: &Shop) -> (RelayClient<Channel>, Vec<u8>) {
    let channel =
        Channel::from_shared(format!("http://{at}")).unwrap().tcp_nodelay(true).connect().await.unwrap();
    let mut client = RelayClient::new(channel).max_decoding_message_size(8 << 20);
    let workshop = shop.workshop.bytes().to_vec();
    let greeted = client.greet(wire::GreetRequest { workshop: workshop.clone() }).await.unwrap().into_inner();
    let nonce = vec![7; 32];
    let signature =
        shop.lead.sign_tagged(SESSION_TAG, &[&greeted.relay, &greeted.challenge, &nonce]).to_vec();
    let key = shop.lead.key().bytes().to_vec();
    let asked = wire::OpenSessionRequest { workshop, key, challenge: greeted.challenge, nonce, signature };
    let session = client.open_session(asked).await.unwrap().into_inner().session;
    (client, session)
}

async fn exchange(
    client: &mut RelayClient<Channel>,
    session: &[u8],
    document: DocumentId,
    changes: Vec<Vec<u8>>,
) -> wire::ExchangeReply {
    let (session, document) = (session.to_vec(), document.bytes().to_vec());
    let heads = Vec::new();
    client.exchange(wire::ExchangeRequest { session, document, heads, changes }).await.unwrap().into_inner()
}

async fn bring(at: SocketAddr, shop: &Shop) {
    let (mut client, session) = open(at, shop).await;
    exchange(&mut client, &session, shop.workshop, shop.raws(shop.workshop)).await;
}

#[derive(Clone, Copy)]
struct Spread {
    p50: Duration,
    p99: Duration,
}

fn spread(mut all: Vec<Duration>) -> Spread {
    all.sort_unstable();
    Spread { p50: all[all.len() / 2], p99: all[all.len() * 99 / 100] }
}

fn say(what: &str, spread: Spread) {
    println!("{what:<58} p50 {:>9.1?}  p99 {:>9.1?}", spread.p50, spread.p99);
}

/// What wire and device take by themselves, in the same minute as what is compared with them.
struct Limits {
    echo: Vec<Duration>,
    device: Vec<Duration>,
    file: File,
}

impl Limits {
    fn new(directory: &Path) -> Self {
        let mut file = File::create(directory.join("plain")).unwrap();
        // Written once already, as the store's file mostly is: the sync is of bytes, not of a length.
        file.write_all(&vec![0; ROUNDS * 512]).unwrap();
        file.sync_all().unwrap();
        file.rewind().unwrap();
        Self { echo: Vec::new(), device: Vec::new(), file }
    }

    /// A call that does nothing, and a change's bytes with fdatasync.
    async fn once(&mut self, client: &mut RelayClient<Channel>, shop: &Shop) {
        let from = Instant::now();
        client.greet(wire::GreetRequest { workshop: shop.workshop.bytes().to_vec() }).await.unwrap();
        self.echo.push(from.elapsed());
        let from = Instant::now();
        self.file.write_all(&[7; 400]).unwrap();
        self.file.sync_data().unwrap();
        self.device.push(from.elapsed());
    }
}

/// From sending an entry until a second client has it, durable at the relay.
async fn seen(at: SocketAddr, shop: &mut Shop, limits: &mut Limits) -> Spread {
    let record = shop.record(0);
    let (mut writer, session) = open(at, shop).await;
    exchange(&mut writer, &session, shop.workshop, shop.raws(shop.workshop)).await;
    exchange(&mut writer, &session, record, shop.raws(record)).await;
    let (mut reader, second) = open(at, shop).await;
    let mut heard = reader.watch(wire::WatchRequest { session: second }).await.unwrap().into_inner();
    heard.message().await.unwrap();
    let mut all = Vec::new();
    for number in 0..ROUNDS {
        limits.once(&mut writer, shop).await;
        shop.home.state(record, &shop.lead, &[note(number)]).unwrap();
        let change = shop.raws(record).pop().unwrap();
        let from = Instant::now();
        let (_answer, news) =
            tokio::join!(exchange(&mut writer, &session, record, vec![change.clone()]), heard.message());
        all.push(from.elapsed());
        assert_eq!(news.unwrap().unwrap().changes, [change]);
    }
    spread(all)
}

/// Many records over many connections at once, until all of it is durable.
async fn crowd(data: &Path) {
    let mut shop = Shop::new();
    let records: Vec<DocumentId> = (0..RECORDS).map(|_| shop.record(EACH - 1)).collect();
    let relay = serve(data).await;
    bring(relay.at, &shop).await;
    let mut waiting = Vec::new();
    for number in 0..CONNECTIONS {
        let mine: Vec<_> =
            records.iter().skip(number).step_by(CONNECTIONS).map(|id| (*id, shop.raws(*id))).collect();
        let opened = open(relay.at, &shop).await;
        waiting.push((opened, mine));
    }
    let from = Instant::now();
    let tasks: Vec<_> = waiting
        .into_iter()
        .map(|((mut client, session), mine)| {
            tokio::spawn(async move {
                for (record, raws) in mine {
                    // As phones send them: a few at a time.
                    for some in raws.chunks(10) {
                        let reply = exchange(&mut client, &session, record, some.to_vec()).await;
                        assert!(reply.refusals.is_empty() && reply.unknown.is_empty());
                    }
                }
            })
        })
        .collect();
    for task in tasks {
        task.await.unwrap();
    }
    let took = from.elapsed();
    let entries = RECORDS * EACH;
    let rate = entries as u128 * 1_000_000 / took.as_micros();
    println!(
        "{entries} entries in {RECORDS} records over {CONNECTIONS} connections, durable: {took:.1?}, {rate} entries/s"
    );
    println!("memory of this process, relay and load together: {} MB", memory());
    end(relay).await;
    let store = OnDisk::open(data, Options::default()).unwrap();
    let bytes = store.size_on_disk().unwrap();
    let raw: usize = records.iter().flat_map(|id| shop.raws(*id)).map(|raw| raw.len()).sum();
    println!(
        "on disk at the relay: {} bytes an entry, of which {} are its raw change",
        bytes / entries as u64,
        raw / entries
    );
}

/// A fresh client fetches a record of some age and can read it.
async fn fresh(at: SocketAddr, shop: &mut Shop) -> Spread {
    let record = shop.record(OLD - 1);
    let (mut writer, session) = open(at, shop).await;
    exchange(&mut writer, &session, shop.workshop, shop.raws(shop.workshop)).await;
    exchange(&mut writer, &session, record, shop.raws(record)).await;
    let mut all = Vec::new();
    for _ in 0..20 {
        let mut home = Home::within(Box::new(Memory::default()), Native).unwrap();
        let author = Author::from_secret(&[2; 32]);
        let mut engine = Engine::new(shop.workshop, vec![Identity { author, invite: false }]);
        let mut relay = Relay::at(&format!("http://{at}")).unwrap();
        let from = Instant::now();
        meet(&mut relay, &mut engine, &mut home).await.unwrap().unwrap();
        all.push(from.elapsed());
        assert_eq!(home.document(record).unwrap().len(), OLD);
    }
    spread(all)
}

/// Resident memory in MB, where the system tells.
fn memory() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:")).unwrap_or_default();
    line.split_whitespace().next().and_then(|kb| kb.parse::<u64>().ok()).unwrap_or_default() / 1024
}

#[tokio::main]
async fn main() {
    let directory = tempfile::tempdir().unwrap();
    let mut shop = Shop::new();
    let relay = serve(&directory.path().join("one")).await;
    bring(relay.at, &shop).await;
    let mut limits = Limits::new(directory.path());
    let seen = seen(relay.at, &mut shop, &mut limits).await;
    let (echo, device) = (spread(limits.echo), spread(limits.device));
    say("a call that does nothing (echo)", echo);
    say("400 bytes and fdatasync on this device", device);
    say("one entry, durable and seen by a second client", seen);
    let limit = echo.p50 + 2 * device.p50 + Duration::from_millis(2);
    let verdict = if seen.p50 <= limit { "within" } else { "OVER" };
    println!("{:<58} p50 {limit:>9.1?}  {verdict}", "  its limit: echo + 2 fdatasync + 2 ms");
    let fresh = fresh(relay.at, &mut shop).await;
    say(&format!("a fresh home fetches and checks a record of {OLD} entries"), fresh);
    end(relay).await;
    crowd(&directory.path().join("crowd")).await;
}
