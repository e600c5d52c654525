//! Whole homes at a real relay: who is removed, when anybody hears of it, and a phone that was
//! copied.

use std::path::Path;

use gudgeon_client::home::Home;
use gudgeon_client::sync::native::{Relay, meet};
use gudgeon_client::sync::{Engine, Identity, Summary};
use gudgeon_client::world::Native;
use gudgeon_core::assess::{Record, Workshop, assess};
use gudgeon_core::entry::payload::{Device, Note, Payload, Person, RecordListed, Removal, Role};
use gudgeon_core::entry::{Author, DocumentId, Entry, EntryId, KeyId};
use gudgeon_core::roster::Roster;
use tonic::Code;

use crate::relay_kit::client::{Client, bring};
use crate::relay_kit::host::{Running, within};
use crate::relay_kit::{Copy, Shop, sign};

/// A shop whose workshop lists its record, so that homes find it.
fn shop() -> Shop {
    let mut shop = Shop::new(12);
    let listed = RecordListed { record: shop.record_id(), name: "Engine".into() };
    shop.rules(&shop.people[0].clone(), &Payload::RecordListed(listed));
    shop
}

/// One person's home in a directory.
struct Phone {
    author: Author,
    home: Home,
}

impl Phone {
    fn at(directory: &Path, author: &Author) -> Self {
        Self { author: author.clone(), home: Home::create(directory, Native).unwrap() }
    }

    fn opened(directory: &Path, author: &Author) -> Self {
        Self { author: author.clone(), home: Home::open(directory, Native).unwrap() }
    }

    async fn meets(&mut self, relay: &Running, shop: &Shop) -> Summary {
        let identity = Identity { author: self.author.clone(), invite: false };
        let mut engine = Engine::new(shop.id(), vec![identity]);
        let mut way = Relay::at(&format!("http://{}", relay.at)).unwrap();
        within(meet(&mut way, &mut engine, &mut self.home)).await.unwrap().unwrap()
    }

    fn says(&mut self, shop: &Shop, text: &str) -> EntryId {
        let says = Payload::Note(Note { feature: String::new(), text: text.into() });
        self.home.state(shop.record_id(), &self.author, &[says]).unwrap().entries[0]
    }

    /// All that follows from what this home holds, and what it names.
    fn assessed(&self, shop: &Shop) -> (Vec<u8>, Vec<(&'static str, Vec<EntryId>)>) {
        let log = |id: DocumentId| self.home.log(id).unwrap().clone();
        let (record, workshop) = (Record::read(log(shop.record_id())), Workshop::read(log(shop.id())));
        let assessment = assess(&record, &workshop);
        let findings = assessment.findings().into_iter();
        let named = findings.map(|found| (found.rule.name(), found.ids.clone())).collect();
        (assessment.to_bytes(&record, &workshop), named)
    }

    fn counts(&self, shop: &Shop, id: EntryId) -> bool {
        let roster = Roster::read(self.home.log(shop.id()).unwrap());
        let record = self.home.log(shop.record_id()).unwrap();
        roster.counts(record, record.place(&id).unwrap()).is_ok()
    }
}

/// What a courier brings, as changes that know nothing of each other, in this order; after
/// each of them the homes of these people meet the relay.
async fn arrives(
    shop: &Shop,
    people: &[usize],
    letters: &[(DocumentId, &Entry)],
) -> (Running, Vec<(tempfile::TempDir, Phone)>) {
    let relay = Running::in_memory().await;
    bring(relay.at, shop).await;
    let mut phones = Vec::new();
    for number in people {
        let directory = tempfile::tempdir().unwrap();
        let phone = Phone::at(directory.path(), &shop.people[*number]);
        phones.push((directory, phone));
    }
    for (number, (document, entry)) in (1..).zip(letters) {
        let mut courier = Client::open(relay.at, &shop.people[3], shop.id()).await.unwrap();
        let changes = Copy::new(*document, number).write(std::slice::from_ref(*entry));
        let reply = courier.exchange(*document, &[], changes).await.unwrap();
        assert!(reply.refusals.is_empty(), "{:?}", reply.refusals);
        for (_, phone) in &mut phones {
            phone.meets(&relay, shop).await;
        }
    }
    (relay, phones)
}

#[tokio::test]
async fn a_removal_before_between_and_after_the_removed_keys_entries_means_the_same_everywhere() {
    let mut shop = shop();
    let removed = shop.people[1].clone();
    let (workshop, record) = (shop.id(), shop.record_id());
    let (early, late) = {
        let early = shop.notes(&removed, "before it was removed");
        (early, shop.notes(&removed, "after it was removed"))
    };
    shop.record.truncate(12);
    let accepted = vec![(record, vec![early.id()])];
    let says = Removal { key: removed.key(), accepted, reason: "left".into(), lost_device: false };
    let removal = sign(&shop.people[0], Some(workshop), &shop.workshop, &Payload::Removal(says));
    let (early, late, removal) = ((record, &early), (record, &late), (workshop, &removal));
    let mut told: Option<Vec<u8>> = None;
    for order in [[removal, early, late], [early, removal, late], [early, late, removal]] {
        let (relay, phones) = arrives(&shop, &[0, 2, 3], &order).await;
        relay.stop().await;
        for (_, phone) in phones {
            assert!(phone.counts(&shop, early.1.id()) && !phone.counts(&shop, late.1.id()));
            let (bytes, _) = phone.assessed(&shop);
            assert!(told.as_ref().is_none_or(|other| *other == bytes), "the order of arrival matters");
            told = Some(bytes);
        }
    }
}

#[tokio::test]
async fn two_leads_who_remove_each_other_are_both_removed_everywhere() {
    let mut shop = shop();
    let second = Author::from_secret(&[70; 32]);
    let root = shop.root.clone();
    let person = shop.rules(&root, &Payload::Person(Person { name: "Second".into() }));
    let roles = vec![Role::Member, Role::Lead];
    let (label, join_signature) = ("phone".into(), Vec::new());
    let device = Device { key: second.key(), person, roles, label, invite: None, join_signature };
    shop.rules(&root, &Payload::Device(device));
    let (workshop, record) = (shop.id(), shop.record_id());
    let first = shop.people[0].clone();
    let removes = |by: &Author, key: KeyId| {
        let accepted =
            vec![(workshop, shop.workshop.iter().filter(|e| e.key() == key).map(Entry::id).collect())];
        let says = Removal { key, accepted, reason: "left".into(), lost_device: false };
        sign(by, Some(workshop), &shop.workshop, &Payload::Removal(says))
    };
    let (a, b) = (removes(&first, second.key()), removes(&second, first.key()));
    let [of_first, of_second] = [&first, &second].map(|by| {
        let says = Payload::Note(Note { feature: String::new(), text: "of a lead".into() });
        sign(by, Some(record), &shop.record, &says)
    });
    let mut told: Option<Vec<u8>> = None;
    let (a, b) = ((workshop, &a), (workshop, &b));
    let (work, works) = ((record, &of_first), (record, &of_second));
    for order in [[a, b, work, works], [b, work, works, a], [work, works, b, a]] {
        let (relay, phones) = arrives(&shop, &[2, 3], &order).await;
        for lead in [&first, &second] {
            let denied = Client::open(relay.at, lead, workshop).await.err().expect("it was removed");
            assert_eq!(denied.code(), Code::PermissionDenied, "{denied}");
        }
        relay.stop().await;
        for (_, phone) in phones {
            let roster = Roster::read(phone.home.log(workshop).unwrap());
            for key in [first.key(), second.key()] {
                assert!(!roster.removals_of(key).is_empty() && !roster.may_connect(key));
            }
            assert!(!phone.counts(&shop, of_first.id()) && !phone.counts(&shop, of_second.id()));
            let (bytes, _) = phone.assessed(&shop);
            assert!(told.as_ref().is_none_or(|other| *other == bytes), "the order of arrival matters");
            told = Some(bytes);
        }
    }
}

/// Everything in a directory, as a backup takes it.
fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for file in std::fs::read_dir(from).unwrap().map(Result::unwrap) {
        let to = to.join(file.file_name());
        if file.file_type().unwrap().is_dir() {
            copy(&file.path(), &to);
        } else {
            std::fs::copy(file.path(), to).unwrap();
        }
    }
}

#[tokio::test]
async fn a_phone_restored_from_a_backup_that_writes_on_packs_anew_and_loses_nothing() {
    let shop = shop();
    let relay = Running::in_memory().await;
    bring(relay.at, &shop).await;
    let around = tempfile::tempdir().unwrap();
    let [kept, own] = ["backup", "phone"].map(|name| around.path().join(name));
    let mut phone = Phone::at(&own, &shop.people[1]);
    phone.meets(&relay, &shop).await;
    drop(phone);
    copy(&own, &kept);
    let mut phone = Phone::opened(&own, &shop.people[1]);
    let before = phone.says(&shop, "after the backup, at the office");
    phone.meets(&relay, &shop).await;
    let actor = phone.home.actor();
    drop(phone);

    std::fs::remove_dir_all(&own).unwrap();
    copy(&kept, &own);
    let mut phone = Phone::opened(&own, &shop.people[1]);
    let after = phone.says(&shop, "written on after the restore");
    assert_eq!(phone.home.actor(), actor, "the same actor and number twice");
    let met = phone.meets(&relay, &shop).await;
    let record = met.met.iter().find(|met| met.document == shop.record_id()).unwrap();
    assert_eq!((record.repacked, record.here_only), (1, 0), "{record:?}");
    assert_ne!(phone.home.actor(), actor);

    let mut other = Phone::at(&around.path().join("other"), &shop.people[2]);
    other.meets(&relay, &shop).await;
    for home in [&phone, &other] {
        assert!(home.counts(&shop, before) && home.counts(&shop, after));
        let (_, findings) = home.assessed(&shop);
        let forked = findings
            .iter()
            .find(|(rule, _)| *rule == "forked-key")
            .expect("two that know nothing of each other");
        assert!([before, after].iter().all(|id| forked.1.contains(id)), "{forked:?}");
    }
    assert_eq!(phone.assessed(&shop), other.assessed(&shop));
    let again = phone.meets(&relay, &shop).await;
    assert!(again.met.iter().all(|met| met.repacked == 0 && met.came == 0 && met.went == 0), "{again:?}");
    relay.stop().await;
}
