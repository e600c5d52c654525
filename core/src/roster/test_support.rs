//! A workshop in few words, for tests: people with fixed keys who say things.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeSet;

use super::{NotCounted, Roster};
use crate::entry::payload::{self, Device, Role};
use crate::entry::{Author, DocumentId, Entry, EntryId, Envelope, KeyId, Payload};
use crate::log::Log;

pub(super) const MEMBER: &[Role] = &[Role::Member];
pub(super) const LEAD: &[Role] = &[Role::Lead];
pub(super) const BOTH: &[Role] = &[Role::Member, Role::Lead];
pub(super) const VIEWER: &[Role] = &[Role::Viewer];

/// A key pair by number; 0 is the root's.
pub(super) fn author(number: u8) -> Author {
    Author::from_secret(&[number.wrapping_add(1); 32])
}

pub(super) fn key(number: u8) -> KeyId {
    author(number).key()
}

/// One document under way: what is said goes in at once and names all that is there.
pub(super) struct Book {
    pub(super) document: DocumentId,
    pub(super) entries: Vec<Entry>,
    log: Log,
}

impl Book {
    pub(super) fn found(by: u8, name: &str, workshop: Option<DocumentId>) -> Self {
        let digest = workshop.map(|_| [7; 32]);
        let says =
            payload::Founding { name: name.to_owned(), workshop, definition_digest: digest, nonce: vec![1] };
        let entry = author(by).sign(envelope(None, &Payload::Founding(says), []));
        let document = DocumentId::from(entry.id());
        let mut log = Log::new(document);
        log.insert(&entry);
        Self { document, entries: vec![entry], log }
    }

    pub(super) fn log(&self) -> &Log {
        &self.log
    }

    pub(super) fn founding(&self) -> EntryId {
        self.entries[0].id()
    }

    /// Says something, knowing all that is there.
    pub(super) fn say(&mut self, by: u8, says: impl Into<Payload>) -> EntryId {
        let after = self.log.after(key(by));
        self.say_after(by, says, after)
    }

    /// Says something, knowing these and what they reach.
    pub(super) fn say_after(
        &mut self,
        by: u8,
        says: impl Into<Payload>,
        after: impl IntoIterator<Item = EntryId>,
    ) -> EntryId {
        let envelope = envelope(Some(self.document), &says.into(), after);
        self.put(by, envelope)
    }

    pub(super) fn put(&mut self, by: u8, envelope: Envelope) -> EntryId {
        let entry = author(by).sign(envelope);
        self.log.insert(&entry);
        self.entries.push(entry);
        self.entries.last().unwrap().id()
    }

    pub(super) fn read(&self) -> Roster {
        Roster::read(&self.log)
    }

    /// What a roster says of one of its entries.
    pub(super) fn judge(&self, roster: &Roster, id: EntryId) -> Result<(), NotCounted> {
        roster.counts(&self.log, self.log.place(&id).unwrap())
    }
}

pub(super) fn envelope(
    document: Option<DocumentId>,
    says: &Payload,
    after: impl IntoIterator<Item = EntryId>,
) -> Envelope {
    let after: BTreeSet<EntryId> = after.into_iter().collect();
    Envelope {
        document,
        kind_code: says.kind().code(),
        device_time: 1_000,
        min_reader: 1,
        after: after.into_iter().collect(),
        payload: says.encode(),
    }
}

/// A person's name for tests that do not care who it is.
pub(super) fn somebody(number: u8) -> EntryId {
    EntryId::new([number; 32])
}

pub(super) fn person(name: &str) -> Payload {
    Payload::Person(payload::Person { name: name.to_owned() })
}

pub(super) fn device(number: u8, person: EntryId, roles: &[Role]) -> Payload {
    Payload::Device(Device {
        key: key(number),
        person,
        roles: roles.to_vec(),
        label: format!("phone {number}"),
        invite: None,
        join_signature: Vec::new(),
    })
}

/// A removal that leaves these standing, document by document.
pub(super) fn removal(number: u8, accepted: &[(DocumentId, &[EntryId])]) -> Payload {
    Payload::Removal(payload::Removal {
        key: key(number),
        accepted: accepted.iter().map(|(document, ids)| (*document, ids.to_vec())).collect(),
        reason: "left".to_owned(),
        lost_device: false,
    })
}

pub(super) fn admit(entries: &[EntryId]) -> Payload {
    Payload::Admit(payload::Admit { entries: entries.to_vec(), reason: "made before".to_owned() })
}

pub(super) fn note(text: &str) -> Payload {
    Payload::Note(payload::Note { feature: String::new(), text: text.to_owned() })
}

pub(super) fn check(name: &str) -> Payload {
    Payload::Check(payload::Check {
        check: name.to_owned(),
        feature: "crank".to_owned(),
        passed: true,
        step: String::new(),
        note: String::new(),
    })
}

pub(super) fn decision(text: &str) -> Payload {
    Payload::Decision(payload::Decision {
        subject: "oversize".to_owned(),
        text: text.to_owned(),
        replaces: None,
    })
}

pub(super) fn instrument(mark: &str, owner: &str) -> Payload {
    Payload::Instrument(Box::new(payload::Instrument {
        mark: mark.to_owned(),
        owner: owner.to_owned(),
        ..payload::Instrument::default()
    }))
}

pub(super) fn listed(record: DocumentId, name: &str) -> Payload {
    Payload::RecordListed(payload::RecordListed { record, name: name.to_owned() })
}

/// A workshop with root 0, lead 1 (also a member), member 2, second lead 3 (lead only).
pub(super) fn workshop() -> Book {
    let mut book = Book::found(0, "Invented Works", None);
    for (number, roles) in [(1, BOTH), (2, MEMBER), (3, LEAD)] {
        let id = book.say(0, person(&format!("Person {number}")));
        book.say(0, device(number, id, roles));
    }
    book
}

/// A record of that workshop, founded by lead 1.
pub(super) fn record(workshop: &Book) -> Book {
    Book::found(1, "Engine one", Some(workshop.document))
}
