//! Who watches hears what others bring, and nothing that is not theirs.

use std::time::Duration;

use gudgeon_relay::committer::Serves;
use gudgeon_relay::limits::{DRAIN, SESSION};
use gudgeon_relay::store::Memory;
use tonic::Code;

use crate::relay_kit::client::{self, Client, bring};
use crate::relay_kit::host::{Running, Shared, within};
use crate::relay_kit::{Copy, Shop, ids};

#[tokio::test]
async fn a_watcher_hears_what_another_brings_and_holds_the_same_afterwards() {
    let mut shop = Shop::new(10);
    let relay = Running::in_memory().await;
    bring(relay.at, &shop).await;
    let mut watches = Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap();
    let mut theirs = Copy::new(shop.record_id(), 2);
    let mut stream = watches.watch().await.unwrap();
    watches.sync(&mut theirs).await.unwrap();
    let mut brings = Client::open(relay.at, &shop.people[0], shop.id()).await.unwrap();
    let mut mine = Copy::new(shop.record_id(), 1);
    brings.sync(&mut mine).await.unwrap();
    for text in ["one", "two", "three"] {
        mine.write(&[shop.notes(&shop.people[0].clone(), text)]);
        brings.sync(&mut mine).await.unwrap();
        let told = within(stream.message()).await.unwrap().unwrap();
        assert_eq!(told.document, mine.id.bytes());
        client::take(&mut theirs, &told.changes);
        assert_eq!(theirs.document.heads(), client::hashes(&told.heads));
    }
    assert_eq!(theirs.ids(), ids(&shop.record));
    relay.stop().await;
}

#[tokio::test]
async fn a_watcher_hears_nothing_of_another_workshop() {
    let (mut shop, mut other) = (Shop::new(5), Shop::stranger());
    let both = Serves::Only([shop.id(), other.id()].into());
    let relay = Running::serving(Shared::new(Memory::new()).opener(), both).await;
    bring(relay.at, &shop).await;
    bring(relay.at, &other).await;
    let mut stream = Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap().watch().await.unwrap();
    // The other's note first, then one's own: the first word heard is of one's own.
    for shop in [&mut other, &mut shop] {
        let author = shop.people[0].clone();
        let mut brings = Client::open(relay.at, &author, shop.id()).await.unwrap();
        let mut copy = Copy::new(shop.record_id(), 1);
        brings.sync(&mut copy).await.unwrap();
        copy.write(&[shop.notes(&author, "said")]);
        brings.sync(&mut copy).await.unwrap();
    }
    let told = within(stream.message()).await.unwrap().unwrap();
    assert_eq!(told.document, shop.record_id().bytes());
    relay.stop().await;
}

#[tokio::test]
async fn a_watch_of_an_invite_hears_of_the_workshop_and_of_no_record() {
    let mut shop = Shop::new(5);
    let invitee = gudgeon_core::entry::Author::from_secret(&[40; 32]);
    shop.invites(invitee.key(), crate::relay_kit::NOW + 100_000);
    let relay = Running::in_memory().await;
    bring(relay.at, &shop).await;
    let mut stream = Client::open(relay.at, &invitee, shop.id()).await.unwrap().watch().await.unwrap();
    let lead = shop.people[0].clone();
    let mut brings = Client::open(relay.at, &lead, shop.id()).await.unwrap();
    let mut record = Copy::new(shop.record_id(), 1);
    record.write(&[shop.notes(&lead, "said")]);
    brings.sync(&mut record).await.unwrap();
    shop.enrols(&gudgeon_core::entry::Author::from_secret(&[41; 32]));
    let mut workshop = Copy::new(shop.id(), 1);
    workshop.write(&shop.workshop);
    brings.sync(&mut workshop).await.unwrap();
    let told = within(stream.message()).await.unwrap().unwrap();
    assert_eq!(told.document, shop.id().bytes());
    relay.stop().await;
}

#[tokio::test]
async fn a_watch_ends_when_its_key_is_removed() {
    let mut shop = Shop::new(5);
    let relay = Running::in_memory().await;
    bring(relay.at, &shop).await;
    let mut stream = Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap().watch().await.unwrap();
    let mut brings = Client::open(relay.at, &shop.people[0], shop.id()).await.unwrap();
    let mut workshop = Copy::new(shop.id(), 1);
    brings.sync(&mut workshop).await.unwrap();
    shop.removes(shop.people[1].key());
    workshop.write(&shop.workshop);
    brings.sync(&mut workshop).await.unwrap();
    let ended = within(stream.message()).await.unwrap_err();
    assert_eq!(ended.code(), Code::PermissionDenied);
    assert!(ended.message().contains("was removed"), "{ended}");
    relay.stop().await;
}

#[tokio::test]
async fn a_watch_ends_when_its_session_has_run_out() {
    let mut shop = Shop::new(5);
    let relay = Running::in_memory().await;
    bring(relay.at, &shop).await;
    let mut stream = Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap().watch().await.unwrap();
    relay.later(SESSION + Duration::from_millis(1));
    let lead = shop.people[0].clone();
    let mut brings = Client::open(relay.at, &lead, shop.id()).await.unwrap();
    let mut record = Copy::new(shop.record_id(), 1);
    record.write(&[shop.notes(&lead, "said")]);
    brings.sync(&mut record).await.unwrap();
    let ended = within(stream.message()).await.unwrap_err();
    assert_eq!(ended.code(), Code::Unauthenticated);
    relay.stop().await;
}

/// Time goes by here; what counts is the relay's clock, which stands until it is set on.
#[tokio::test]
async fn a_watch_that_hears_nothing_ends_with_its_session_all_the_same() {
    let shop = Shop::new(5);
    let short = Duration::from_millis(20);
    let open = Shared::new(Memory::new()).opener();
    let relay = Running::lasting(open, Serves::First, short).await;
    bring(relay.at, &shop).await;
    let mut stream = Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap().watch().await.unwrap();
    let early = tokio::time::timeout(short * 5, stream.message()).await;
    assert!(early.is_err(), "by the relay's clock it had not run out: {early:?}");
    relay.later(short + Duration::from_millis(1));
    let ended = within(stream.message()).await.unwrap_err();
    assert_eq!(ended.code(), Code::Unauthenticated);
    assert!(ended.message().contains("run out"), "{ended}");
    relay.stop().await;
}

#[tokio::test]
async fn a_watch_ends_when_the_relay_stops_and_does_not_hold_it_up() {
    let shop = Shop::new(5);
    let relay = Running::in_memory().await;
    bring(relay.at, &shop).await;
    let mut watches = Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap();
    let mut stream = watches.watch().await.unwrap();
    let stops = tokio::spawn(relay.stop());
    let ended = within(stream.message()).await.unwrap_err();
    assert_eq!(ended.code(), Code::Unavailable);
    assert!(ended.message().contains("stopping"), "{ended}");
    tokio::time::timeout(DRAIN, stops).await.expect("it waits for nothing else").unwrap();
}

#[tokio::test]
async fn who_only_brings_a_workshop_takes_no_place_among_those_who_watch() {
    let shop = Shop::new(5);
    let relay = Running::in_memory().await;
    let mut brings = Client::open(relay.at, &shop.root, shop.id()).await.unwrap();
    let denied = brings.watch().await.unwrap_err();
    assert_eq!(denied.code(), Code::PermissionDenied, "{denied}");
    bring(relay.at, &shop).await;
    assert!(brings.watch().await.is_err(), "the session is still one that brings");
    Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap().watch().await.unwrap();
    relay.stop().await;
}
