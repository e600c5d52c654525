//! Who is let in, and what for.

use std::collections::BTreeSet;
use std::time::Duration;

use gudgeon_core::entry::Author;
use gudgeon_proto::relay::Standing;
use gudgeon_proto::relay::relay_client::RelayClient;
use gudgeon_relay::committer::Serves;
use gudgeon_relay::limits::{BRINGING, CHALLENGE, SESSION};
use gudgeon_relay::store::Memory;
use tonic::Code;

use crate::relay_kit::client::{self, Client, bring};
use crate::relay_kit::host::{Running, Shared};
use crate::relay_kit::{Copy, NOW, Shop, ids};

/// A relay that was brought the shop's workshop and record.
async fn filled(shop: &Shop) -> Running {
    let relay = Running::in_memory().await;
    bring(relay.at, shop).await;
    relay
}

fn invitee() -> Author {
    Author::from_secret(&[40; 32])
}

#[tokio::test]
async fn a_member_gets_every_document_and_an_unknown_key_none() {
    let shop = Shop::new(20);
    let relay = filled(&shop).await;
    let mut member = Client::open(relay.at, &shop.people[1], shop.id()).await.unwrap();
    assert_eq!(member.standing, Standing::Member);
    let mut record = Copy::new(shop.record_id(), 1);
    member.sync(&mut record).await.unwrap();
    assert_eq!(record.ids(), ids(&shop.record));
    let refused = Client::open(relay.at, &invitee(), shop.id()).await.err().unwrap();
    assert_eq!(refused.code(), Code::PermissionDenied);
    assert!(refused.message().contains("not of this workshop"), "{refused}");
    relay.stop().await;
}

#[tokio::test]
async fn a_removed_key_is_let_in_no_more_and_its_open_session_ends() {
    let mut shop = Shop::new(5);
    let relay = filled(&shop).await;
    let mut removed = Client::open(relay.at, &shop.people[2], shop.id()).await.unwrap();
    removed.exchange(shop.record_id(), &[], Vec::new()).await.unwrap();
    shop.removes(shop.people[2].key());
    bring_again(&relay, &shop).await;
    let denied = removed.exchange(shop.record_id(), &[], Vec::new()).await.unwrap_err();
    assert_eq!(denied.code(), Code::PermissionDenied);
    let denied = Client::open(relay.at, &shop.people[2], shop.id()).await.err().unwrap();
    assert!(denied.message().contains("was removed"), "{denied}");
    relay.stop().await;
}

/// Brings the workshop as it is now, as a member.
async fn bring_again(relay: &Running, shop: &Shop) {
    let mut member = Client::open(relay.at, &shop.people[0], shop.id()).await.unwrap();
    let mut workshop = Copy::new(shop.id(), 51);
    member.sync(&mut workshop).await.unwrap();
    workshop.write(&shop.workshop);
    member.sync(&mut workshop).await.unwrap();
}

#[tokio::test]
async fn an_open_invite_gets_the_workshop_and_no_record() {
    let mut shop = Shop::new(5);
    shop.invites(invitee().key(), NOW + 1000);
    let relay = filled(&shop).await;
    let mut invited = Client::open(relay.at, &invitee(), shop.id()).await.unwrap();
    assert_eq!(invited.standing, Standing::Invited);
    let mut workshop = Copy::new(shop.id(), 1);
    invited.sync(&mut workshop).await.unwrap();
    assert_eq!(workshop.ids(), ids(&shop.workshop));
    let denied = invited.exchange(shop.record_id(), &[], Vec::new()).await.unwrap_err();
    assert_eq!(denied.code(), Code::PermissionDenied);
    assert!(denied.message().contains("the workshop's own document"), "{denied}");
    relay.later(Duration::from_secs(2));
    let spent = invited.exchange(shop.id(), &[], Vec::new()).await.unwrap_err();
    assert!(spent.message().contains("run out"), "{spent}");
    relay.stop().await;
}

#[tokio::test]
async fn an_invite_that_ran_out_or_was_taken_up_opens_nothing() {
    let mut shop = Shop::new(5);
    let (late, taken, joiner) = (invitee(), Author::from_secret(&[41; 32]), Author::from_secret(&[42; 32]));
    shop.invites(late.key(), NOW - 1);
    let invite = shop.invites(taken.key(), NOW + 100_000);
    let relay = filled(&shop).await;
    let denied = Client::open(relay.at, &late, shop.id()).await.err().unwrap();
    assert!(denied.message().contains("run out"), "{denied}");
    Client::open(relay.at, &taken, shop.id()).await.unwrap();
    shop.lets_in(&joiner, invite);
    bring_again(&relay, &shop).await;
    let denied = Client::open(relay.at, &taken, shop.id()).await.err().unwrap();
    assert_eq!(denied.code(), Code::PermissionDenied);
    assert!(denied.message().contains("taken up"), "{denied}");
    let joined = Client::open(relay.at, &joiner, shop.id()).await.unwrap();
    assert_eq!(joined.standing, Standing::Member);
    relay.stop().await;
}

#[tokio::test]
async fn an_invite_opens_a_session_to_its_last_moment() {
    let mut shop = Shop::new(5);
    shop.invites(invitee().key(), NOW);
    let relay = filled(&shop).await;
    let opened = Client::open(relay.at, &invitee(), shop.id()).await.unwrap();
    assert_eq!(opened.standing, Standing::Invited);
    relay.later(Duration::from_millis(1));
    let denied = Client::open(relay.at, &invitee(), shop.id()).await.err().unwrap();
    assert_eq!(denied.code(), Code::PermissionDenied);
    relay.stop().await;
}

#[tokio::test]
async fn a_relay_with_nothing_is_brought_the_workshop_by_one_who_gets_nothing() {
    let shop = Shop::new(5);
    let relay = Running::in_memory().await;
    let mut brings = Client::open(relay.at, &invitee(), shop.id()).await.unwrap();
    assert_eq!(brings.standing, Standing::Brings);
    let denied = brings.exchange(shop.record_id(), &[], Vec::new()).await.unwrap_err();
    assert_eq!(denied.code(), Code::PermissionDenied);
    let mut workshop = Copy::new(shop.id(), 1);
    let changes = workshop.write_singly(&shop.workshop);
    let (first, rest) = changes.split_at(3);
    brings.exchange(shop.id(), &[], first.to_vec()).await.unwrap();
    let reply = brings.exchange(shop.id(), &[], rest.to_vec()).await.unwrap();
    assert_eq!(client::hashes(&reply.heads), workshop.document.heads(), "it goes on in pages");
    assert!(reply.changes.is_empty() && !reply.more, "and is given nothing");
    let denied = brings.exchange(shop.record_id(), &[], Vec::new()).await.unwrap_err();
    assert_eq!(denied.code(), Code::PermissionDenied);
    let unknown = Client::open(relay.at, &invitee(), shop.id()).await.err().unwrap();
    assert_eq!(unknown.code(), Code::PermissionDenied, "now there is a roster");
    relay.later(BRINGING + Duration::from_millis(1));
    let over = brings.exchange(shop.id(), &[], Vec::new()).await.unwrap_err();
    assert_eq!(over.code(), Code::Unauthenticated);
    relay.stop().await;
}

#[tokio::test]
async fn once_a_workshop_has_come_another_is_not_served_even_by_a_relay_started_again() {
    let (shop, other) = (Shop::new(5), Shop::stranger());
    let store = Shared::new(Memory::new());
    for round in 0..2 {
        let relay = Running::start(store.opener()).await;
        if round == 0 {
            Client::open(relay.at, &other.root, other.id()).await.expect("nobody has come yet");
            bring(relay.at, &shop).await;
        }
        let denied = Client::open(relay.at, &other.root, other.id()).await.err().unwrap();
        assert_eq!(denied.code(), Code::PermissionDenied);
        assert!(denied.message().contains("serves another workshop"), "{denied}");
        Client::open(relay.at, &shop.people[0], shop.id()).await.unwrap();
        relay.stop().await;
    }
}

#[tokio::test]
async fn a_relay_that_names_its_workshops_serves_those_and_no_other() {
    let (shop, other) = (Shop::new(5), Shop::stranger());
    let named = Serves::Only(BTreeSet::from([shop.id()]));
    let relay = Running::serving(Shared::new(Memory::new()).opener(), named).await;
    let denied = Client::open(relay.at, &other.root, other.id()).await.err().unwrap();
    assert_eq!(denied.code(), Code::PermissionDenied);
    bring(relay.at, &shop).await;
    relay.stop().await;
}

#[tokio::test]
async fn a_challenge_signed_wrongly_for_another_workshop_or_too_late_opens_nothing() {
    let (shop, other) = (Shop::new(5), Shop::stranger());
    let relay = filled(&shop).await;
    let author = &shop.people[0];
    let mut wire = RelayClient::new(client::channel(relay.at).await);
    let greeted = client::greet(&mut wire, shop.id()).await.unwrap();
    let signature = client::answer(&shop.people[1], &greeted);
    let wrong = client::open(&mut wire, author, shop.id(), greeted.clone(), signature).await.unwrap_err();
    assert_eq!(wrong.code(), Code::Unauthenticated);
    assert!(wrong.message().contains("does not stand"), "{wrong}");

    let elsewhere = client::greet(&mut wire, other.id()).await.unwrap();
    let signature = client::answer(author, &elsewhere);
    let wrong = client::open(&mut wire, author, shop.id(), elsewhere, signature).await.unwrap_err();
    assert_eq!(wrong.code(), Code::Unauthenticated);

    let signature = client::answer(author, &greeted);
    client::open(&mut wire, author, shop.id(), greeted.clone(), signature.clone()).await.unwrap();
    relay.later(CHALLENGE + Duration::from_millis(1));
    let late = client::open(&mut wire, author, shop.id(), greeted, signature).await.unwrap_err();
    assert_eq!(late.code(), Code::Unauthenticated);
    assert!(late.message().contains("run out"), "{late}");
    relay.stop().await;
}

#[tokio::test]
async fn a_session_that_is_altered_or_has_run_out_is_not_taken() {
    let shop = Shop::new(5);
    let relay = filled(&shop).await;
    let mut client = Client::open(relay.at, &shop.people[0], shop.id()).await.unwrap();
    let mut altered = client.clone();
    altered.session[40] ^= 1;
    let denied = altered.exchange(shop.id(), &[], Vec::new()).await.unwrap_err();
    assert_eq!(denied.code(), Code::Unauthenticated);
    assert!(altered.watch().await.is_err());
    assert_eq!(client.expires, NOW + i64::try_from(SESSION.as_millis()).unwrap());
    relay.later(SESSION);
    client.exchange(shop.id(), &[], Vec::new()).await.expect("to the last moment");
    relay.later(Duration::from_millis(1));
    let denied = client.exchange(shop.id(), &[], Vec::new()).await.unwrap_err();
    assert_eq!(denied.code(), Code::Unauthenticated);
    assert!(denied.message().contains("run out"), "{denied}");
    relay.stop().await;
}

#[tokio::test]
async fn a_session_outlives_a_relay_that_is_started_again() {
    let shop = Shop::new(5);
    let store = Shared::new(Memory::new());
    let relay = Running::start(store.opener()).await;
    bring(relay.at, &shop).await;
    let client = Client::open(relay.at, &shop.people[0], shop.id()).await.unwrap();
    relay.stop().await;
    let relay = Running::start(store.opener()).await;
    let wire = RelayClient::new(client::channel(relay.at).await);
    let mut again = Client { wire, ..client };
    let mut record = Copy::new(shop.record_id(), 1);
    again.sync(&mut record).await.unwrap();
    assert_eq!(record.ids(), ids(&shop.record));
    relay.stop().await;
}
