//! What is taken, what is refused, and what comes back.

use gudgeon_core::document::{Actor, Document, encode, genesis_hash, repack};
use gudgeon_core::entry::{DocumentId, EntryId};
use gudgeon_proto::relay as wire;
use gudgeon_relay::limits::HEADS;
use gudgeon_relay::store::{Append, Forgetful, Store as _};
use tonic::Code;

use crate::relay_kit::client::{self, Client, bring};
use crate::relay_kit::host::{Running, Shared};
use crate::relay_kit::{Copy, Shop, ids, signed_again};

async fn member(relay: &Running, shop: &Shop, number: usize) -> Client {
    Client::open(relay.at, &shop.people[number], shop.id()).await.unwrap()
}

fn rules(reply: &wire::ExchangeReply) -> Vec<&str> {
    reply.refusals.iter().map(|refusal| refusal.rule.as_str()).collect()
}

#[tokio::test]
async fn what_one_brings_in_pages_another_gets_whole_and_again_changes_nothing() {
    let shop = Shop::new(90);
    for relay in [Running::in_memory().await, Running::start(Shared::new(Forgetful::new()).opener()).await] {
        let founded = Shop { record: shop.record[..1].to_vec(), ..Shop::new(1) };
        bring(relay.at, &founded).await;
        let mut first = member(&relay, &shop, 0).await;
        let mut mine = Copy::new(shop.record_id(), 1);
        first.sync(&mut mine).await.unwrap();
        let changes = mine.write_singly(&shop.record);
        for page in changes.chunks(20) {
            let reply = first.exchange(mine.id, &[], page.to_vec()).await.unwrap();
            assert!(reply.refusals.is_empty() && reply.unknown.is_empty());
        }
        let mut second = member(&relay, &shop, 1).await;
        let mut theirs = Copy::new(shop.record_id(), 2);
        second.sync(&mut theirs).await.unwrap();
        assert_eq!(theirs.ids(), ids(&shop.record));
        assert_eq!(theirs.document.heads(), mine.document.heads());
        let again = first.exchange(mine.id, &mine.document.heads(), changes).await.unwrap();
        assert_eq!(client::hashes(&again.heads), mine.document.heads());
        assert!(again.refusals.is_empty() && again.changes.is_empty() && !again.more);
        relay.stop().await;
    }
}

#[tokio::test]
async fn more_than_fits_one_answer_is_fetched_in_several() {
    let mut shop = Shop::new(2);
    let author = shop.people[0].clone();
    let relay = Running::in_memory().await;
    bring(relay.at, &shop).await;
    let (mut first, mut mine) = (member(&relay, &shop, 0).await, Copy::new(shop.record_id(), 1));
    first.sync(&mut mine).await.unwrap();
    (0..6).for_each(|number| shop.photographs(&author, number, 600_000));
    mine.write(&shop.record[2..]);
    first.sync(&mut mine).await.unwrap();
    let mut second = member(&relay, &shop, 1).await;
    let mut theirs = Copy::new(shop.record_id(), 2);
    let asked = second.sync(&mut theirs).await.unwrap();
    assert!(asked >= 2, "3.6 MB came in {asked} answer");
    assert_eq!(theirs.ids(), ids(&shop.record));
    relay.stop().await;
}

#[tokio::test]
async fn pages_that_come_before_their_forerunners_are_asked_for_from_there() {
    let shop = Shop::new(30);
    let relay = Running::in_memory().await;
    bring(relay.at, &Shop { record: shop.record[..1].to_vec(), ..Shop::new(1) }).await;
    let mut client = member(&relay, &shop, 0).await;
    let mut copy = Copy::new(shop.record_id(), 1);
    client.sync(&mut copy).await.unwrap();
    let changes = copy.write_singly(&shop.record);
    let reply = client.exchange(copy.id, &[], changes[10..].to_vec()).await.unwrap();
    let lacking = gudgeon_core::document::parse(&changes[9]).unwrap().hash();
    assert_eq!(client::hashes(&reply.unknown), [lacking]);
    client.exchange(copy.id, &[], changes[..10].to_vec()).await.unwrap();
    let reply = client.exchange(copy.id, &[], changes[10..].to_vec()).await.unwrap();
    assert_eq!(client::hashes(&reply.heads), copy.document.heads());
    relay.stop().await;
}

#[tokio::test]
async fn a_forged_entry_is_refused_with_rule_and_hint_and_what_follows_flows_once_repacked() {
    let mut shop = Shop::new(10);
    let relay = Running::in_memory().await;
    bring(relay.at, &shop).await;
    let mut client = member(&relay, &shop, 0).await;
    let mut copy = Copy::new(shop.record_id(), 1);
    client.sync(&mut copy).await.unwrap();
    let (sound, author) = (copy.document.clone(), shop.people[0].clone());
    let [false_one, true_one, beside] = ["forged", "sound", "beside"].map(|text| shop.notes(&author, text));
    let mut other = Copy { document: sound.clone(), ..Copy::new(shop.record_id(), 2) };
    let mut changes = copy.forge(&false_one);
    changes.extend(copy.write(std::slice::from_ref(&true_one)));
    changes.extend(other.write(std::slice::from_ref(&beside)));
    let reply = client.exchange(copy.id, &[], changes).await.unwrap();
    let mut refused = rules(&reply);
    refused.sort_unstable();
    assert_eq!(refused, ["bad-signature", "follows-refused"]);
    let forged = reply.refusals.iter().find(|refusal| refusal.rule == "bad-signature").unwrap();
    assert_eq!(forged.entry, false_one.id().bytes());
    assert!(reply.refusals.iter().all(|refusal| !refusal.hint.is_empty()));

    let kept: Document = {
        let mut kept = sound;
        kept.commit(Actor([3; 16]), &[(true_one.id(), true_one.value())]).unwrap();
        kept
    };
    let (_, again) = repack(&kept, other.document.clone(), Actor([4; 16])).unwrap();
    let reply = client.exchange(copy.id, &[], crate::relay_kit::raws(&again)).await.unwrap();
    assert!(reply.refusals.is_empty(), "{:?}", rules(&reply));
    let mut theirs = Copy::new(shop.record_id(), 9);
    member(&relay, &shop, 1).await.sync(&mut theirs).await.unwrap();
    let held = theirs.ids();
    assert!(held.contains(&true_one.id()) && held.contains(&beside.id()));
    assert!(!held.contains(&false_one.id()), "the forged one reaches nobody");
    relay.stop().await;
}

#[tokio::test]
async fn a_record_of_another_workshop_is_refused_and_reaches_nobody() {
    let (shop, other) = (Shop::new(5), Shop::stranger());
    let relay = Running::in_memory().await;
    bring(relay.at, &shop).await;
    let mut client = member(&relay, &shop, 0).await;
    let mut copy = Copy::new(other.record_id(), 1);
    let reply = client.exchange(copy.id, &[], copy.write(&other.record)).await.unwrap();
    assert_eq!(rules(&reply), ["other-workshop"]);
    let reply = client.exchange(copy.id, &[], Vec::new()).await.unwrap();
    assert!(reply.changes.is_empty() && reply.heads.is_empty());
    relay.stop().await;
}

#[tokio::test]
async fn a_member_of_one_workshop_gets_no_record_of_another_that_the_relay_holds() {
    let (shop, other) = (Shop::new(5), Shop::stranger());
    let both = gudgeon_relay::committer::Serves::Only([shop.id(), other.id()].into());
    let relay = Running::serving(Shared::new(Forgetful::new()).opener(), both).await;
    bring(relay.at, &shop).await;
    bring(relay.at, &other).await;
    let mut client = member(&relay, &shop, 0).await;
    for document in [other.record_id(), other.id()] {
        let denied = client.exchange(document, &[], Vec::new()).await.unwrap_err();
        assert_eq!(denied.code(), Code::PermissionDenied);
        assert!(denied.message().contains("another workshop"), "{denied}");
    }
    relay.stop().await;
}

#[tokio::test]
async fn a_record_whose_founding_does_not_come_is_not_kept() {
    let shop = Shop::new(10);
    let relay = Running::in_memory().await;
    bring(relay.at, &Shop { record: Vec::new(), ..Shop::new(1) }).await;
    let mut client = member(&relay, &shop, 0).await;
    let mut copy = Copy::new(shop.record_id(), 1);
    let changes = copy.write(&shop.record[1..]);
    let reply = client.exchange(copy.id, &[], changes.clone()).await.unwrap();
    assert_eq!(rules(&reply), ["founding-first"]);
    assert!(reply.heads.is_empty());
    let founding = Copy::new(shop.record_id(), 2).write(&shop.record[..1]);
    let reply = client.exchange(copy.id, &[], [founding, changes].concat()).await.unwrap();
    assert!(reply.refusals.is_empty() && reply.heads.len() == 2, "all at once is sound");
    relay.stop().await;
}

#[tokio::test]
async fn wrong_lengths_and_too_many_heads_are_told_with_the_limit() {
    let shop = Shop::new(5);
    let relay = Running::in_memory().await;
    bring(relay.at, &shop).await;
    let mut client = member(&relay, &shop, 0).await;
    let asked = |document: &[u8], heads: Vec<Vec<u8>>| wire::ExchangeRequest {
        session: client.session.clone(),
        document: document.to_vec(),
        heads,
        changes: Vec::new(),
    };
    let id = shop.id();
    let wrong = [
        (asked(&[1; 31], vec![]), Code::InvalidArgument, "document is 32 bytes; this has 31"),
        (asked(id.bytes(), vec![vec![1; 33]]), Code::InvalidArgument, "a head is 32 bytes; this has 33"),
        (asked(id.bytes(), vec![vec![1; 32]; HEADS + 1]), Code::ResourceExhausted, "at most 1024 heads"),
    ];
    for (asked, code, text) in wrong {
        let told = client.wire.exchange(asked).await.unwrap_err();
        assert_eq!(told.code(), code);
        assert!(told.message().contains(text), "{told}");
    }
    let told = client.wire.greet(wire::GreetRequest { workshop: vec![1; 5] }).await.unwrap_err();
    assert!(told.message().contains("workshop is 32 bytes; this has 5"), "{told}");
    let opens = wire::OpenSessionRequest { workshop: vec![1; 32], key: vec![1; 3], ..Default::default() };
    let told = client.wire.open_session(opens).await.unwrap_err();
    assert!(told.message().contains("key is 32 bytes; this has 3"), "{told}");
    relay.stop().await;
}

#[tokio::test]
async fn bytes_that_are_no_change_are_refused_and_the_rest_of_the_batch_is_taken() {
    let mut shop = Shop::new(5);
    let relay = Running::in_memory().await;
    bring(relay.at, &shop).await;
    let mut client = member(&relay, &shop, 0).await;
    let mut copy = Copy::new(shop.record_id(), 1);
    client.sync(&mut copy).await.unwrap();
    let note = shop.notes(&shop.people[0].clone(), "sound");
    let changes = [vec![vec![7; 500], Vec::new()], copy.write(&[note])].concat();
    let reply = client.exchange(copy.id, &[], changes).await.unwrap();
    assert_eq!(reply.refusals.len(), 2);
    assert_eq!(client::hashes(&reply.heads), copy.document.heads());
    relay.stop().await;
}

#[tokio::test]
async fn a_damaged_document_is_told_as_lost_and_the_others_go_on() {
    let shop = Shop::new(10);
    let store = Shared::new(Forgetful::new());
    let relay = Running::start(store.opener()).await;
    bring(relay.at, &shop).await;
    relay.stop().await;
    let lost = DocumentId::new([77; 32]);
    let rows = [0, 1].map(|at| Append { document: lost, at, raw: vec![1; 9].into() });
    store.with(|store| {
        store.append(&rows).unwrap();
        store.power_cut(|number| number == 1);
    });
    let relay = Running::start(store.opener()).await;
    let mut client = member(&relay, &shop, 0).await;
    for _ in 0..2 {
        let told = client.exchange(lost, &[], Vec::new()).await.unwrap_err();
        assert_eq!(told.code(), Code::DataLoss, "{told}");
        let mut record = Copy::new(shop.record_id(), 1);
        client.sync(&mut record).await.unwrap();
        assert_eq!(record.ids(), ids(&shop.record));
    }
    relay.stop().await;
}

#[tokio::test]
async fn the_same_entry_in_two_changes_counts_once() {
    let mut shop = Shop::new(10);
    let relay = Running::in_memory().await;
    bring(relay.at, &shop).await;
    let note = shop.notes(&shop.people[0].clone(), "once");
    for number in [0, 1] {
        let mut client = member(&relay, &shop, number).await;
        let mut copy = Copy::new(shop.record_id(), u8::try_from(number).unwrap() + 1);
        // Each writes it alone, on the genesis: two changes, neither knowing of the other.
        let reply = client.exchange(copy.id, &[], copy.write(std::slice::from_ref(&note))).await.unwrap();
        assert!(reply.refusals.is_empty(), "{:?}", rules(&reply));
        assert_eq!(reply.heads.len(), 2 + number);
    }
    let mut theirs = Copy::new(shop.record_id(), 9);
    member(&relay, &shop, 2).await.sync(&mut theirs).await.unwrap();
    assert_eq!(theirs.document.len(), 3, "both changes came");
    assert_eq!(theirs.ids(), ids(&shop.record));
    relay.stop().await;
}

#[tokio::test]
async fn two_signatures_over_one_body_are_both_taken_and_count_once() {
    let mut shop = Shop::new(10);
    let relay = Running::in_memory().await;
    bring(relay.at, &shop).await;
    let author = shop.people[0].clone();
    let note = shop.notes(&author, "once");
    let again = signed_again(&author, &note);
    assert_ne!(again, note.value());
    let mut client = member(&relay, &shop, 0).await;
    let id = shop.record_id();
    for (number, value) in [(1, note.value()), (2, &again)] {
        let change = encode(Actor([number; 16]), 1, 2, &[genesis_hash()], &[(note.id(), value)]).unwrap();
        let reply = client.exchange(id, &[], vec![change]).await.unwrap();
        assert!(reply.refusals.is_empty(), "{:?}", rules(&reply));
    }
    let mut theirs = Copy::new(id, 9);
    member(&relay, &shop, 1).await.sync(&mut theirs).await.unwrap();
    assert!(theirs.document.holds(&note.id(), note.value()) && theirs.document.holds(&note.id(), &again));
    assert_eq!(theirs.ids(), ids(&shop.record));
    relay.stop().await;
}

#[tokio::test]
async fn an_actor_and_number_that_are_taken_are_refused_and_repacking_saves_the_entry() {
    let mut shop = Shop::new(10);
    let relay = Running::in_memory().await;
    bring(relay.at, &shop).await;
    let author = shop.people[0].clone();
    let [squats, mine] = ["squats", "mine"].map(|text| shop.notes(&author, text));
    let change =
        |id: EntryId, value: &[u8]| encode(Actor([1; 16]), 1, 2, &[genesis_hash()], &[(id, value)]).unwrap();
    let mut client = member(&relay, &shop, 0).await;
    let id = shop.record_id();
    let first = client.exchange(id, &[], vec![change(squats.id(), squats.value())]).await.unwrap();
    assert!(first.refusals.is_empty());
    let second = client.exchange(id, &[], vec![change(mine.id(), mine.value())]).await.unwrap();
    assert_eq!(rules(&second), ["actor-taken"]);
    assert!(second.refusals[0].hint.contains("repack"), "{:?}", second.refusals);
    let mut copy = Copy::new(id, 1);
    client.sync(&mut copy).await.unwrap();
    let mut fresh = Copy { document: copy.document, ..Copy::new(id, 2) };
    let saved = client.exchange(id, &[], fresh.write(&[mine])).await.unwrap();
    assert!(saved.refusals.is_empty());
    let mut theirs = Copy::new(id, 9);
    member(&relay, &shop, 1).await.sync(&mut theirs).await.unwrap();
    assert_eq!(theirs.ids(), ids(&shop.record));
    relay.stop().await;
}
