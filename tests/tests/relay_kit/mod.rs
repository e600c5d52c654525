//! What the tests of a running relay share: an invented shop, phones that exchange, and a
//! store whose flush can be held back.
#![allow(dead_code, unreachable_pub, clippy::unwrap_used)]

pub mod client;
pub mod host;
pub mod tls;

use gudgeon_core::document::{Actor, ChangeHash, Document};
use gudgeon_core::entry::payload::{Device, Founding, Invite, Note, Payload, Person, Photo, Removal, Role};
use gudgeon_core::entry::{Author, DocumentId, Entry, EntryId, Envelope, KeyId, READER};
use gudgeon_core::roster::join_request;
use gudgeon_tests::large::{Large, large};

/// An invented moment by which the relay's clock stands.
pub const NOW: i64 = 1_800_000_000_000;

/// An invented workshop with one record; what is said later is appended.
pub struct Shop {
    pub root: Author,
    pub people: Vec<Author>,
    pub workshop: Vec<Entry>,
    pub record: Vec<Entry>,
}

impl Shop {
    /// A record of `count` entries; the authors are those of [`large`].
    pub fn new(count: usize) -> Self {
        let Large { workshop, record } = large(count);
        let people = (2..6).map(|seed| Author::from_secret(&[seed; 32])).collect();
        Self { root: Author::from_secret(&[1; 32]), people, workshop, record }
    }

    /// Another workshop, of people nobody here knows, with a record of its own.
    pub fn stranger() -> Self {
        let (root, person) = (Author::from_secret(&[60; 32]), Author::from_secret(&[61; 32]));
        let mut shop = Self { root, people: vec![person], workshop: Vec::new(), record: Vec::new() };
        let founding =
            |workshop| Founding { name: "Other".into(), workshop, definition_digest: None, nonce: vec![3] };
        shop.workshop.push(sign(&shop.root, None, &[], &Payload::Founding(founding(None))));
        shop.enrols(&shop.people[0].clone());
        let record = sign(&shop.people[0], None, &[], &Payload::Founding(founding(Some(shop.id()))));
        shop.record.push(record);
        shop
    }

    pub fn id(&self) -> DocumentId {
        self.workshop[0].id().into()
    }

    pub fn record_id(&self) -> DocumentId {
        self.record[0].id().into()
    }

    /// A statement of somebody who holds the whole workshop.
    pub fn rules(&mut self, by: &Author, says: &Payload) -> EntryId {
        let entry = sign(by, Some(self.id()), &self.workshop, says);
        let id = entry.id();
        self.workshop.push(entry);
        id
    }

    /// A statement of somebody who holds the whole record.
    pub fn notes(&mut self, by: &Author, text: &str) -> Entry {
        let says = Payload::Note(Note { feature: String::new(), text: text.into() });
        let entry = sign(by, Some(self.record_id()), &self.record, &says);
        self.record.push(entry.clone());
        entry
    }

    /// A picture of that size, invented noise.
    pub fn photographs(&mut self, by: &Author, number: u8, size: usize) {
        let photo = Photo {
            feature: String::new(),
            media_type: "image/jpeg".into(),
            data: vec![number; size],
            caption: String::new(),
        };
        let entry = sign(by, Some(self.record_id()), &self.record, &Payload::Photo(photo));
        self.record.push(entry);
    }

    pub fn enrols(&mut self, author: &Author) {
        let root = self.root.clone();
        let person = self.rules(&root, &Payload::Person(Person { name: "Somebody".into() }));
        let device = Device {
            key: author.key(),
            person,
            roles: vec![Role::Member],
            label: "phone".into(),
            invite: None,
            join_signature: Vec::new(),
        };
        self.rules(&root, &Payload::Device(device));
    }

    pub fn removes(&mut self, key: KeyId) {
        let root = self.root.clone();
        let removal = Removal { key, accepted: Vec::new(), reason: "left".into(), lost_device: false };
        self.rules(&root, &Payload::Removal(removal));
    }

    pub fn invites(&mut self, one_time_key: KeyId, expires: i64) -> EntryId {
        let root = self.root.clone();
        self.rules(
            &root,
            &Payload::Invite(Invite {
                person: None,
                person_name: "New".into(),
                roles: vec![Role::Member],
                expires,
                one_time_key,
                relay: String::new(),
            }),
        )
    }

    /// A lead lets in who came by an invite.
    pub fn lets_in(&mut self, joiner: &Author, invite: EntryId) {
        let root = self.root.clone();
        let person = self.rules(&root, &Payload::Person(Person { name: "New".into() }));
        let asks = join_request(joiner, self.id(), invite);
        let roles = gudgeon_core::roster::Roles::of(&[Role::Member]);
        self.rules(&root, &Payload::Device(asks.device(person, roles, "phone".into())));
    }
}

/// Signs for somebody who holds these entries.
pub fn sign(by: &Author, document: Option<DocumentId>, held: &[Entry], says: &Payload) -> Entry {
    let after = document.map(|id| Large::log(id, held).after(by.key())).unwrap_or_default();
    by.sign(Envelope {
        document,
        kind_code: says.kind().code(),
        device_time: NOW,
        min_reader: READER,
        after,
        payload: says.encode(),
    })
}

/// The value of an entry under another signature of its key that stands as well: what signs
/// with another secret prefix (RFC 8032, section 5.1.6, step 2) draws another point.
pub fn signed_again(by: &Author, entry: &Entry) -> Vec<u8> {
    use ed25519_dalek::hazmat::{ExpandedSecretKey, raw_sign};
    use ed25519_dalek::{SigningKey, VerifyingKey};

    let signing = SigningKey::from_bytes(&by.secret());
    let mut expanded = ExpandedSecretKey::from(&by.secret());
    expanded.hash_prefix = [8; 32];
    let (key, body) = (entry.key(), &entry.value()[96..]);
    let message = [gudgeon_core::entry::ENTRY_TAG, key.bytes(), body].concat();
    let verifying: VerifyingKey = signing.verifying_key();
    let signature = raw_sign::<sha2::Sha512>(&expanded, &message, &verifying);
    [&key.bytes()[..], &signature.to_bytes(), body].concat()
}

/// A copy of a document as one phone holds it.
pub struct Copy {
    pub id: DocumentId,
    pub document: Document,
    pub relay_heads: Vec<ChangeHash>,
    pub actor: Actor,
}

impl Copy {
    pub fn new(id: DocumentId, actor: u8) -> Self {
        Self { id, document: Document::new(), relay_heads: Vec::new(), actor: Actor([actor; 16]) }
    }

    /// Writes entries, several to a change; answers the raw changes.
    pub fn write(&mut self, entries: &[Entry]) -> Vec<Vec<u8>> {
        let values: Vec<_> = entries.iter().map(|entry| (entry.id(), entry.value())).collect();
        raws(&self.document.commit(self.actor, &values).unwrap())
    }

    /// Writes each entry as a change of its own.
    pub fn write_singly(&mut self, entries: &[Entry]) -> Vec<Vec<u8>> {
        entries.iter().flat_map(|entry| self.write(std::slice::from_ref(entry))).collect()
    }

    /// Writes a value that no gate lets pass.
    pub fn forge(&mut self, entry: &Entry) -> Vec<Vec<u8>> {
        let mut value = entry.value().to_vec();
        value[40] ^= 1;
        raws(&self.document.commit(self.actor, &[(entry.id(), value)]).unwrap())
    }

    pub fn ids(&self) -> Vec<EntryId> {
        self.document.entries().map(|put| put.id).collect()
    }
}

pub fn raws(changes: &[gudgeon_core::document::Change]) -> Vec<Vec<u8>> {
    changes.iter().map(|change| change.raw().to_vec()).collect()
}

/// Ids of entries, sorted as documents show them.
pub fn ids(entries: &[Entry]) -> Vec<EntryId> {
    let mut ids: Vec<EntryId> = entries.iter().map(Entry::id).collect();
    ids.sort_unstable();
    ids
}

/// The raw changes of an answer.
pub fn raws_of(answer: &gudgeon_core::document::Answer<'_>) -> Vec<Vec<u8>> {
    answer.changes.iter().map(|change| change.raw().to_vec()).collect()
}
