//! A first sync of a large record over a line that breaks in the middle of an answer.

use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use gudgeon_client::home::Home;
use gudgeon_client::sync::native::Relay;
use gudgeon_client::sync::{Effect, Engine, Exchanged, Identity, Input, Reply, Trouble};
use gudgeon_client::world::Native;
use gudgeon_core::document::{ANSWER_BYTES, parse};
use gudgeon_core::entry::payload::{Note, Payload, RecordListed};
use gudgeon_core::entry::{Author, DocumentId, Entry, Envelope, READER};
use sha2::{Digest as _, Sha256};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::{TcpListener, TcpStream};

use crate::relay_kit::client::{Client, bring};
use crate::relay_kit::host::{Running, within};
use crate::relay_kit::{Copy, NOW, Shop, ids};

/// Entries of the record, each in a change of its own.
const ENTRIES: usize = 10_000;

/// Small notes of one person, each knowing the one before.
fn notes(by: &Author, document: DocumentId, after: &Entry) -> Vec<Entry> {
    let mut last = after.id();
    let mut notes = Vec::with_capacity(ENTRIES);
    for number in 0..ENTRIES {
        // Digits that do not pack well, so that there are several pages.
        let digits =
            [0_u8, 1, 2, 3].map(|part| Sha256::digest([&number.to_be_bytes()[..], &[part]].concat()));
        let text = digits.iter().flatten().map(|byte| format!("{byte:02x}")).collect();
        let says = Payload::Note(Note { feature: String::new(), text });
        let entry = by.sign(Envelope {
            document: Some(document),
            kind_code: says.kind().code(),
            device_time: NOW,
            min_reader: READER,
            after: vec![last],
            payload: says.encode(),
        });
        last = entry.id();
        notes.push(entry);
    }
    notes
}

/// A line to the relay that counts what comes back, and breaks once.
struct Line {
    at: SocketAddr,
    came: Arc<AtomicUsize>,
    /// Bytes after which it breaks; taken when it does.
    breaks_after: Arc<AtomicUsize>,
}

impl Line {
    async fn to(relay: SocketAddr) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let at = listener.local_addr().unwrap();
        let (came, breaks_after) = (Arc::default(), Arc::new(AtomicUsize::new(usize::MAX)));
        let line = Self { at, came: Arc::clone(&came), breaks_after: Arc::clone(&breaks_after) };
        tokio::spawn(async move {
            while let Ok((near, _)) = listener.accept().await {
                let far = TcpStream::connect(relay).await.unwrap();
                tokio::spawn(carry(near, far, Arc::clone(&came), Arc::clone(&breaks_after)));
            }
        });
        line
    }

    fn came(&self) -> usize {
        self.came.load(Ordering::SeqCst)
    }
}

/// Carries bytes both ways until an end closes or the line breaks.
async fn carry(near: TcpStream, far: TcpStream, came: Arc<AtomicUsize>, breaks: Arc<AtomicUsize>) {
    let (mut near_reads, mut near_writes) = near.into_split();
    let (mut far_reads, mut far_writes) = far.into_split();
    let asks = tokio::io::copy(&mut near_reads, &mut far_writes);
    let answers = async {
        let mut piece = vec![0; 16 * 1024];
        while let Ok(length @ 1..) = far_reads.read(&mut piece).await {
            let so_far = came.fetch_add(length, Ordering::SeqCst) + length;
            if so_far > breaks.load(Ordering::SeqCst) {
                breaks.store(usize::MAX, Ordering::SeqCst);
                return;
            }
            if near_writes.write_all(&piece[..length]).await.is_err() {
                return;
            }
        }
    };
    tokio::select! {
        _ = asks => {}
        () = answers => {}
    }
}

/// A meeting over a line: the answers that came, and how it ended.
async fn meets(line: &Line, shop: &Shop, home: &mut Home) -> (Vec<Exchanged>, Effect) {
    let identity = Identity { author: shop.people[1].clone(), invite: false };
    let mut engine = Engine::new(shop.id(), vec![identity]);
    let mut relay = Relay::at(&format!("http://{}", line.at)).unwrap();
    let (mut answers, mut input) = (Vec::new(), Input::Begin);
    loop {
        input = match engine.handle(home, input).unwrap() {
            Effect::Ask(ask) => within(relay.ask(ask)).await,
            ended @ (Effect::Wait(_) | Effect::Done(_) | Effect::GaveUp(_)) => {
                return (answers, ended);
            }
        };
        if let Input::Reply(Reply::Exchanged(answer)) = &input {
            answers.push(answer.clone());
        }
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_first_sync_of_ten_thousand_entries_cut_in_the_middle_of_a_page_goes_on_from_there() {
    let mut shop = Shop::new(2);
    let listed = RecordListed { record: shop.record_id(), name: "Engine".into() };
    shop.rules(&shop.people[0].clone(), &Payload::RecordListed(listed));
    let relay = Running::in_memory().await;
    bring(relay.at, &shop).await;
    let mut whole = Copy::new(shop.record_id(), 1);
    let author = shop.people[0].clone();
    let notes = notes(&author, shop.record_id(), &shop.record[1]);
    let mut client = Client::open(relay.at, &author, shop.id()).await.unwrap();
    client.sync(&mut whole).await.unwrap();
    whole.write_singly(&notes);
    client.sync(&mut whole).await.unwrap();
    shop.record.extend(notes);

    let line = Line::to(relay.at).await;
    let directory = tempfile::tempdir().unwrap();
    let mut home = Home::create(directory.path(), Native).unwrap();
    // In the middle of the second page: one page is whole, and something of the next has come.
    line.breaks_after.store(ANSWER_BYTES * 3 / 2, Ordering::SeqCst);
    let (first, ended) = meets(&line, &shop, &mut home).await;
    assert!(matches!(&ended, Effect::GaveUp(Trouble::Offline(_))), "{ended:?}");
    let (cut, held) = (line.came(), home.document(shop.record_id()).unwrap().entries().len());
    assert!(held > 1_000 && held < ENTRIES, "{held} entries came before the line broke");
    drop(home);

    let mut home = Home::open(directory.path(), Native).unwrap();
    assert_eq!(home.document(shop.record_id()).unwrap().entries().len(), held, "what came is kept");
    let (second, ended) = meets(&line, &shop, &mut home).await;
    assert!(matches!(&ended, Effect::Done(_)), "{ended:?}");
    let mut came: BTreeMap<_, usize> = BTreeMap::new();
    for raw in first.iter().chain(&second).flat_map(|answer| &answer.changes) {
        *came.entry(parse(raw).unwrap().hash()).or_default() += 1;
    }
    assert!(came.values().all(|times| *times == 1), "a page that had come was fetched again");
    let pages = first.iter().chain(&second).filter(|answer| answer.more).count();
    assert!(pages >= 2, "{pages} pages");
    let held: Vec<_> = home.document(shop.record_id()).unwrap().entries().map(|put| put.id).collect();
    assert_eq!(held, ids(&shop.record));
    let bytes: usize = whole.document.changes_from(0).iter().map(|change| change.raw().len()).sum();
    let most = bytes + ANSWER_BYTES + 256 * 1024;
    assert!(line.came() < most, "{} bytes came ({cut} before the cut), of {bytes} there are", line.came());
    relay.stop().await;
}
