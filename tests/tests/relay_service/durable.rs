//! An answer means durable, and nothing is shown before that.

use std::pin::Pin;
use std::sync::Arc;
use std::time::Duration;

use gudgeon_core::entry::Author;
use gudgeon_proto::relay::WatchReply;
use gudgeon_relay::committer::{Clock, Committer, Handle, NoAnswer, Serves};
use gudgeon_relay::session::Caller;
use gudgeon_relay::store::{Call, Failure, Forgetful, Store as _, Trouble};
use gudgeon_relay::{Answer, Ask, Checked, Standing};
use tokio::task::JoinHandle;
use tonic::{Code, Status, Streaming};

use crate::relay_kit::client::{Client, bring};
use crate::relay_kit::host::{Running, Shared, within};
use crate::relay_kit::{Copy, NOW, Shop, ids};

/// Long enough for what is in memory already to come through, were it let through.
const A_WHILE: Duration = Duration::from_millis(100);

struct Scene {
    shop: Shop,
    store: Shared<Forgetful>,
    relay: Running,
    first: Client,
    mine: Copy,
    second: Client,
    watcher: Streaming<WatchReply>,
}

/// A relay that holds a record, one who is about to bring more, and two who look on.
async fn scene() -> Scene {
    let shop = Shop::new(10);
    let store = Shared::new(Forgetful::new());
    let relay = Running::start(store.opener()).await;
    bring(relay.at, &shop).await;
    let mut first = Client::open(relay.at, &shop.people[0], shop.id()).await.unwrap();
    let mut mine = Copy::new(shop.record_id(), 1);
    first.sync(&mut mine).await.unwrap();
    let second = Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap();
    let watcher = Client::open(relay.at, &shop.people[2], shop.id()).await.unwrap().watch().await.unwrap();
    Scene { shop, store, relay, first, mine, second, watcher }
}

impl Scene {
    fn writes(&mut self, text: &str) -> Vec<Vec<u8>> {
        let note = self.shop.notes(&self.shop.people[0].clone(), text);
        self.mine.write(&[note])
    }

    async fn second_sees(&mut self) -> Vec<gudgeon_core::entry::EntryId> {
        let mut theirs = Copy::new(self.shop.record_id(), 9);
        self.second.sync(&mut theirs).await.unwrap();
        theirs.ids()
    }

    async fn watcher_is_told_nothing(&mut self) {
        let told: Result<Result<Option<WatchReply>, Status>, _> =
            tokio::time::timeout(A_WHILE, self.watcher.message()).await;
        assert!(told.is_err(), "the watcher was told {told:?}");
    }
}

/// What a client is told where the store fails in this way.
async fn fails_and_goes_on(call: Call, trouble: Trouble, kept: usize, code: Code) {
    let mut scene = scene().await;
    let before = ids(&scene.shop.record);
    let changes = scene.writes("not kept at first");
    scene.store.with(|store| store.fail(Failure { call, after: 0, trouble, kept }));
    let told = scene.first.exchange(scene.mine.id, &[], changes.clone()).await.unwrap_err();
    assert_eq!(told.code(), code, "{told}");
    scene.watcher_is_told_nothing().await;
    if kept == 0 {
        assert_eq!(scene.second_sees().await, before);
    }
    scene.first.exchange(scene.mine.id, &[], changes).await.unwrap();
    assert_eq!(scene.second_sees().await, ids(&scene.shop.record));
    scene.store.with(|store| store.power_cut(|_| false));
    let Scene { relay, store, shop, .. } = scene;
    relay.stop().await;
    let relay = Running::start(store.opener()).await;
    let mut theirs = Copy::new(shop.record_id(), 9);
    Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap().sync(&mut theirs).await.unwrap();
    assert_eq!(theirs.ids(), ids(&shop.record));
    relay.stop().await;
}

#[tokio::test]
async fn a_flush_that_fails_is_told_and_shown_to_nobody_and_the_same_again_succeeds() {
    fails_and_goes_on(Call::Flush, Trouble::Device, 0, Code::Unavailable).await;
}

#[tokio::test]
async fn a_flush_that_fails_and_kept_it_nonetheless_is_told_as_failed() {
    fails_and_goes_on(Call::Flush, Trouble::Device, 1, Code::Unavailable).await;
}

#[tokio::test]
async fn a_full_device_is_told_as_such_and_the_same_again_succeeds() {
    fails_and_goes_on(Call::Append, Trouble::Full, 0, Code::ResourceExhausted).await;
}

/// Were the store tried and failed, it would be opened again, for which there may be no room.
#[tokio::test]
async fn with_no_room_left_reading_goes_on_and_with_room_again_what_waited_is_taken() {
    let mut scene = scene().await;
    let before = ids(&scene.shop.record);
    let changes = scene.writes("waits for room");
    scene.store.with(|store| store.set_full(true));
    let opened = scene.store.clone();
    for _ in 0..2 {
        let told = scene.first.exchange(scene.mine.id, &[], changes.clone()).await.unwrap_err();
        assert_eq!(told.code(), Code::ResourceExhausted, "{told}");
        assert!(told.message().contains("free some room on this device"), "{told}");
    }
    scene.watcher_is_told_nothing().await;
    assert_eq!(scene.second_sees().await, before);
    let held = Copy::new(scene.mine.id, 50).write(&scene.shop.record[..10]);
    scene.first.exchange(scene.mine.id, &[], held).await.expect("what is held takes no room");
    let refused = scene.first.exchange(scene.mine.id, &[], vec![vec![7; 500]]).await.unwrap();
    assert_eq!(refused.refusals.len(), 1, "told as ever, and not filed");
    opened.with(|store| assert_eq!(store.refused(scene.mine.id), Ok(Vec::new())));
    opened.with(|store| store.set_full(false));
    scene.first.exchange(scene.mine.id, &[], changes).await.unwrap();
    assert_eq!(scene.second_sees().await, ids(&scene.shop.record));
    scene.relay.stop().await;
}

/// A committer on a store in hand, and a group that waits for its turn: while the flush of one
/// exchange is held back, those that come meanwhile share the next one.
async fn behind_a_held_flush(
    shop: &Shop,
    store: &Shared<Forgetful>,
) -> (Committer, Handle, JoinHandle<Result<Answer, NoAnswer>>) {
    let clock: Clock = Arc::new(|| NOW);
    let both = Serves::Only([shop.id(), Shop::stranger().id()].into());
    let (committer, thread) = Committer::start(store.opener(), both, clock).unwrap();
    store.hold();
    let (caller, ask) = (caller(&shop.root, shop), ask(shop, Copy::new(shop.id(), 50).write(&shop.workshop)));
    let first = committer.clone();
    let held = tokio::spawn(async move { first.exchange(caller, ask, Checked::default()).await });
    within(store.waits()).await;
    (committer, thread, held)
}

fn caller(author: &Author, shop: &Shop) -> Caller {
    Caller { workshop: shop.id(), key: author.key(), brings: false }
}

fn ask(shop: &Shop, changes: Vec<Vec<u8>>) -> Ask {
    Ask { workshop: shop.id(), document: shop.id(), heads: Vec::new(), changes }
}

/// Puts a job into the queue and lets it wait there.
async fn queued<T>(job: impl Future<Output = T>) -> Pin<Box<impl Future<Output = T>>> {
    let mut job = Box::pin(job);
    tokio::select! {
        biased;
        _ = &mut job => panic!("it was answered before its turn"),
        () = std::future::ready(()) => job,
    }
}

#[tokio::test]
async fn all_of_a_group_are_told_when_their_one_flush_fails() {
    let (mut shop, store) = (Shop::new(3), Shared::new(Forgetful::new()));
    let (committer, thread, held) = behind_a_held_flush(&shop, &store).await;
    store.with(|store| {
        store.fail(Failure { call: Call::Flush, after: 1, trouble: Trouble::Device, kept: 0 });
    });
    let mut waiting = Vec::new();
    for number in 0..3 {
        shop.enrols(&Author::from_secret(&[70 + number; 32]));
        let changes = Copy::new(shop.id(), 60 + number).write(&shop.workshop);
        let ask = ask(&shop, changes);
        let job = committer.exchange(caller(&shop.people[0], &shop), ask, Checked::default());
        waiting.push(queued(job).await);
    }
    store.release();
    within(held).await.unwrap().expect("its own flush went well");
    for job in waiting {
        let told = within(job).await.unwrap_err();
        assert!(matches!(told, NoAnswer::Store { trouble: Trouble::Device, .. }), "{told}");
    }
    let shown =
        committer.exchange(caller(&shop.people[0], &shop), ask(&shop, Vec::new()), Checked::default());
    assert_eq!(within(shown).await.unwrap().heads.len(), 1, "only what was flushed");
    drop(committer);
    thread.join().unwrap();
}

#[tokio::test]
async fn who_may_ask_what_is_told_by_what_is_durable() {
    // Another workshop comes, and in the same group a key asks after it: were the roster told
    // that is only in memory, the failing flush would have shown it.
    let (shop, other, store) = (Shop::new(3), Shop::stranger(), Shared::new(Forgetful::new()));
    for fails in [true, false] {
        let (committer, thread, held) = behind_a_held_flush(&shop, &store).await;
        if fails {
            store.with(|store| {
                store.fail(Failure { call: Call::Flush, after: 1, trouble: Trouble::Device, kept: 0 });
            });
        }
        let changes = Copy::new(other.id(), 1).write(&other.workshop);
        let comes = committer.exchange(caller(&other.root, &other), ask(&other, changes), Checked::default());
        let comes = queued(comes).await;
        let asks = queued(committer.standing(caller(&other.people[0], &other))).await;
        store.release();
        within(held).await.unwrap().unwrap();
        assert_eq!(within(comes).await.is_err(), fails);
        let told = within(asks).await;
        assert!(if fails { told.is_err() } else { told == Ok(Standing::Member) }, "{told:?}");
        drop(committer);
        thread.join().unwrap();
        store.with(|store| *store = Forgetful::new());
    }
}

/// A connection that could not be ended still holds a way to the committer.
#[tokio::test]
async fn told_to_end_it_ends_whoever_still_holds_a_way_to_it() {
    let (shop, store) = (Shop::new(3), Shared::new(Forgetful::new()));
    let (committer, thread, held) = behind_a_held_flush(&shop, &store).await;
    let asks = ask(&shop, Vec::new());
    let waits = queued(committer.exchange(caller(&shop.people[0], &shop), asks.clone(), Checked::default()));
    let waits = waits.await;
    committer.end().await;
    store.release();
    within(held).await.unwrap().unwrap();
    within(waits).await.expect("what was asked before is answered");
    within(tokio::task::spawn_blocking(move || thread.join())).await.unwrap().unwrap();
    let late = committer.exchange(caller(&shop.people[0], &shop), asks, Checked::default());
    assert_eq!(within(late).await, Err(NoAnswer::Busy));
}

#[tokio::test]
async fn a_change_is_seen_by_others_only_once_it_is_flushed() {
    let mut scene = scene().await;
    let before = ids(&scene.shop.record).len();
    let changes = scene.writes("on its way");
    scene.store.hold();
    let (mut first, id) = (scene.first.clone(), scene.mine.id);
    let mut brings = tokio::spawn(async move { first.exchange(id, &[], changes).await });
    within(scene.store.waits()).await;
    let mut second = scene.second.clone();
    let mut asks = tokio::spawn(async move {
        let mut theirs = Copy::new(id, 9);
        second.sync(&mut theirs).await.unwrap();
        theirs.ids().len()
    });
    scene.watcher_is_told_nothing().await;
    assert!(!brings.is_finished() && !asks.is_finished(), "somebody was answered before the flush");
    scene.store.with(|store| assert_eq!(store.unflushed(), 1));
    scene.store.release();
    within(&mut brings).await.unwrap().unwrap();
    assert_eq!(within(&mut asks).await.unwrap(), before + 1);
    let told = within(scene.watcher.message()).await.unwrap().unwrap();
    assert_eq!((told.document, told.changes.len()), (id.bytes().to_vec(), 1));
    scene.relay.stop().await;
}

#[tokio::test]
async fn after_a_power_cut_everything_answered_is_there() {
    let mut scene = scene().await;
    let mut answered = scene.shop.record.clone();
    for number in 0..12 {
        let changes = scene.writes(&format!("note {number}"));
        scene.first.exchange(scene.mine.id, &[], changes).await.unwrap();
        answered = scene.shop.record.clone();
        scene.store.with(|store| assert_eq!(store.unflushed(), 0));
    }
    scene.store.with(|store| store.power_cut(|_| false));
    let Scene { relay, store, shop, .. } = scene;
    relay.stop().await;
    let relay = Running::start(store.opener()).await;
    let mut theirs = Copy::new(shop.record_id(), 9);
    Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap().sync(&mut theirs).await.unwrap();
    assert_eq!(theirs.ids(), ids(&answered));
    relay.stop().await;
}

#[tokio::test]
async fn a_document_whose_first_flush_fails_is_held_by_nobody_until_it_comes_again() {
    let (shop, store) = (Shop::new(10), Shared::new(Forgetful::new()));
    let relay = Running::start(store.opener()).await;
    bring(relay.at, &Shop { record: Vec::new(), ..Shop::new(1) }).await;
    let mut first = Client::open(relay.at, &shop.people[0], shop.id()).await.unwrap();
    let mut second = Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap();
    let changes = Copy::new(shop.record_id(), 1).write(&shop.record);
    let failure = Failure { call: Call::Flush, after: 0, trouble: Trouble::Device, kept: 0 };
    store.with(|store| store.fail(failure));
    first.exchange(shop.record_id(), &[], changes.clone()).await.unwrap_err();
    let shown = second.exchange(shop.record_id(), &[], Vec::new()).await.unwrap();
    assert!(shown.heads.is_empty() && shown.changes.is_empty(), "it is not durable and was shown");
    first.exchange(shop.record_id(), &[], changes.clone()).await.unwrap();
    store.with(|store| store.power_cut(|_| false));
    assert_eq!(store.with(|store| store.load(shop.record_id()).unwrap()), changes);
    relay.stop().await;
}

#[tokio::test]
async fn which_workshop_came_first_is_kept_whenever_any_of_it_is() {
    // A device that fails in the middle may keep any beginning of what was written.
    let (shop, other) = (Shop::new(5), Shop::stranger());
    for kept in 0..4 {
        let store = Shared::new(Forgetful::new());
        let relay = Running::start(store.opener()).await;
        let mut brings = Client::open(relay.at, &shop.root, shop.id()).await.unwrap();
        let changes = Copy::new(shop.id(), 1).write(&shop.workshop);
        let failure = Failure { call: Call::Flush, after: 0, trouble: Trouble::Device, kept };
        store.with(|store| store.fail(failure));
        brings.exchange(shop.id(), &[], changes.clone()).await.unwrap_err();
        let held = store.with(|store| store.documents().unwrap());
        let comes = Client::open(relay.at, &other.root, other.id()).await;
        assert!(held.is_empty() || comes.is_err(), "with {kept} writes kept another workshop is let in");
        assert!(kept > 0 || comes.is_ok(), "nothing was kept, and another workshop is shut out");
        relay.stop().await;
    }
}

/// Were it taken for the whole, nobody could open a session any more, and it stayed as it is.
#[tokio::test]
async fn a_workshop_of_which_a_beginning_was_kept_is_filled_again_by_those_who_have_it() {
    let shop = Shop::new(5);
    for kept in 0..6 {
        let store = Shared::new(Forgetful::new());
        let relay = Running::start(store.opener()).await;
        let mut workshop = Copy::new(shop.id(), 1);
        workshop.write_singly(&shop.workshop);
        let failure = Failure { call: Call::Flush, after: 0, trouble: Trouble::Device, kept };
        store.with(|store| store.fail(failure));
        let mut member = Client::open(relay.at, &shop.people[0], shop.id()).await.unwrap();
        member.sync(&mut workshop).await.unwrap_err();
        relay.stop().await;
        let relay = Running::start(store.opener()).await;
        let opened = Client::open(relay.at, &shop.people[0], shop.id()).await;
        let mut member = opened.unwrap_or_else(|denied| panic!("with {kept} writes kept: {denied}"));
        member.sync(&mut workshop).await.unwrap();
        let mut theirs = Copy::new(shop.id(), 2);
        let mut other = Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap();
        other.sync(&mut theirs).await.unwrap();
        assert_eq!(theirs.ids(), ids(&shop.workshop));
        relay.stop().await;
    }
}

#[tokio::test]
async fn what_was_refused_is_filed_with_its_rule() {
    let mut scene = scene().await;
    let note = scene.shop.notes(&scene.shop.people[0].clone(), "forged");
    let forged = scene.mine.forge(&note);
    scene.first.exchange(scene.mine.id, &[], forged).await.unwrap();
    let id = scene.mine.id;
    scene.store.with(|store| store.power_cut(|_| false));
    let filed = scene.store.with(|store| store.refused(id).unwrap());
    assert_eq!(filed.len(), 1);
    scene.relay.stop().await;
}
