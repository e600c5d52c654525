//! Killed under load, again and again: nothing that was answered is lost.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use gudgeon_core::entry::{DocumentId, Entry, EntryId};

use crate::program::{Relay, run};
use crate::relay_kit::client::{Client, bring};
use crate::relay_kit::host::PATIENCE;
use crate::relay_kit::{Copy, Shop};

const ROUNDS: usize = 5;
const CLIENTS: usize = 4;
/// Notes each client has ready for a round: more than it gets through.
const READY: usize = 400;
/// Answers of a round before the relay is killed, at least.
const ANSWERS: usize = 30;

/// What was answered so far, over all clients.
#[derive(Clone, Default)]
struct Answered {
    entries: Arc<Mutex<Vec<EntryId>>>,
    count: Arc<AtomicUsize>,
}

impl Answered {
    async fn reach(&self, count: usize) {
        let until = Instant::now() + PATIENCE;
        while self.count.load(Ordering::SeqCst) < count {
            assert!(Instant::now() < until, "the relay answers too little");
            tokio::time::sleep(Duration::from_millis(1)).await;
        }
    }
}

/// Sends one note after the other until the relay is gone.
async fn send(mut client: Client, id: DocumentId, actor: u8, notes: Vec<Entry>, answered: Answered) {
    let mut copy = Copy::new(id, actor);
    for note in notes {
        let changes = copy.write(std::slice::from_ref(&note));
        match client.exchange(id, &copy.document.heads(), changes).await {
            Ok(reply) => {
                assert!(reply.refusals.is_empty() && reply.unknown.is_empty(), "{:?}", reply.refusals);
                answered.entries.lock().unwrap().push(note.id());
                answered.count.fetch_add(1, Ordering::SeqCst);
            }
            Err(_) => return,
        }
    }
    panic!("the notes gave out before the relay was killed");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_relay_killed_under_load_keeps_everything_it_answered() {
    let data = tempfile::tempdir().unwrap();
    let mut shop = Shop::new(3);
    let relay = Relay::start(data.path());
    bring(relay.at, &shop).await;
    relay.kill();
    let answered = Answered::default();
    for round in 0..ROUNDS {
        let relay = Relay::start(data.path());
        let mut sends = Vec::new();
        for number in 0..CLIENTS {
            let client = Client::open(relay.at, &shop.people[number], shop.id()).await.unwrap();
            let actor = u8::try_from(100 + round * CLIENTS + number).unwrap();
            let notes = notes(&mut shop, number, round);
            sends.push(tokio::spawn(send(client, shop.record_id(), actor, notes, answered.clone())));
        }
        // In another moment of its work each time.
        answered.reach(answered.count.load(Ordering::SeqCst) + ANSWERS + 7 * round).await;
        relay.kill();
        for send in sends {
            send.await.unwrap();
        }
        everything_is_there(data.path(), &shop, &answered).await;
    }
    let sound = run(&["check", "--data", data.path().to_str().unwrap()]);
    assert_eq!(sound.code, Some(0), "{sound:?}");
}

/// Notes of one author, none of which knows of the others': they are cheap to make.
fn notes(shop: &mut Shop, number: usize, round: usize) -> Vec<Entry> {
    let author = shop.people[number].clone();
    let held = shop.record.clone();
    let made = (0..READY).map(|note| {
        shop.record.truncate(held.len());
        shop.notes(&author, &format!("round {round}, client {number}, note {note}"))
    });
    let made = made.collect();
    shop.record = held;
    made
}

async fn everything_is_there(data: &std::path::Path, shop: &Shop, answered: &Answered) {
    let relay = Relay::start(data);
    let mut record = Copy::new(shop.record_id(), 1);
    let mut client = Client::open(relay.at, &shop.people[0], shop.id()).await.unwrap();
    client.sync(&mut record).await.unwrap();
    let held = record.ids();
    let answered = answered.entries.lock().unwrap();
    let lost = answered.iter().filter(|id| held.binary_search(id).is_err()).count();
    assert_eq!(lost, 0, "of {} answered", answered.len());
}
