//! The two documents, everything that was said, and the shop's clock.

use gudgeon_core::assess::{Record, Workshop, digest_of};
use gudgeon_core::entry::payload::{Definition, Founding, Payload, RecordListed};
use gudgeon_core::entry::{self, Author, DocumentId, Entry, EntryId, Envelope, Kind};
use gudgeon_core::log::Log;

/// One minute, in milliseconds.
pub const MINUTE: i64 = 60_000;
/// One day, in milliseconds.
pub const DAY: i64 = 24 * 60 * MINUTE;

/// When the shop opens: a Monday in 2024, early.
pub const OPENING: i64 = 1_704_700_800_000;

/// One phone's key and what it holds of the record.
pub(super) struct Phone {
    pub(super) author: Author,
    pub(super) person: Option<EntryId>,
    pub(super) view: Record,
}

pub(super) struct World {
    root: Author,
    pub(super) workshop: Workshop,
    pub(super) workshop_entries: Vec<Entry>,
    pub(super) record: DocumentId,
    /// The founding and the definition.
    pub(super) base: Vec<Entry>,
    /// Everything else that was said in the record, in that order.
    pub(super) said: Vec<Entry>,
    pub(super) phones: Vec<Phone>,
    pub(super) clock: i64,
    seeds: u8,
}

impl World {
    pub(super) fn found() -> Self {
        let root = Author::from_secret(&[1; 32]);
        let says = Founding {
            name: "Invented Works".into(),
            workshop: None,
            definition_digest: None,
            nonce: vec![1],
        };
        let founding = root.sign(envelope(None, OPENING, vec![], &Payload::Founding(says)));
        let document = DocumentId::from(founding.id());
        let mut log = Log::new(document);
        log.insert(&founding);
        Self {
            root,
            workshop: Workshop::read(log),
            workshop_entries: vec![founding],
            record: document,
            base: Vec::new(),
            said: Vec::new(),
            phones: Vec::new(),
            clock: OPENING,
            seeds: 1,
        }
    }

    /// A new key pair; always the same for the same story.
    pub(super) fn author(&mut self) -> Author {
        self.seeds += 1;
        Author::from_secret(&[self.seeds; 32])
    }

    pub(super) fn found_record(&mut self, lead: usize, engine: &str) {
        let workshop = self.workshop.log().document();
        let says = Founding {
            name: "Engine one".into(),
            workshop: Some(workshop),
            definition_digest: Some(digest_of(engine)),
            nonce: vec![2],
        };
        let clock = self.tick();
        let author = self.phones[lead].author.clone();
        let founding = author.sign(envelope(None, clock, vec![], &Payload::Founding(says)));
        self.record = DocumentId::from(founding.id());
        let text = Payload::Definition(Definition { text: engine.into() });
        let definition = author.sign(envelope(Some(self.record), clock, vec![founding.id()], &text));
        self.base = vec![founding, definition];
        let mut view = Record::new(self.record);
        self.base.iter().for_each(|entry| view.insert(&checked(entry, self.record)));
        for phone in &mut self.phones {
            phone.view = view.clone();
        }
        let listed = RecordListed { record: self.record, name: "Engine one".into() };
        self.rules(Some(lead), &Payload::RecordListed(listed));
    }

    /// A record that holds the founding and the definition only.
    pub(super) fn fresh_view(&self) -> Record {
        let mut view = Record::new(self.record);
        self.base.iter().for_each(|entry| view.insert(entry));
        view
    }

    /// Says something in the workshop, knowing all of it; none: the root says it.
    pub(super) fn rules(&mut self, by: Option<usize>, says: &Payload) -> EntryId {
        self.rules_raw(by, says.kind().code(), entry::READER, says.encode())
    }

    /// Two say something in the workshop, neither knowing of the other's.
    pub(super) fn rule_apart(&mut self, one: (usize, &Payload), two: (usize, &Payload)) {
        let before = self.workshop.clone();
        self.rules(Some(one.0), one.1);
        let with_one = std::mem::replace(&mut self.workshop, before);
        self.rules(Some(two.0), two.1);
        self.workshop = with_one.with(self.workshop_entries.last().unwrap());
    }

    pub(super) fn rules_raw(
        &mut self,
        by: Option<usize>,
        kind_code: u32,
        min_reader: u32,
        payload: Vec<u8>,
    ) -> EntryId {
        let author = by.map_or_else(|| self.root.clone(), |by| self.phones[by].author.clone());
        let clock = self.tick();
        let log = self.workshop.log();
        let document = log.document();
        let after = log.after(author.key());
        let device_time = clock;
        let body = Envelope { document: Some(document), kind_code, device_time, min_reader, after, payload };
        let entry = checked(&author.sign(body), document);
        self.workshop = self.workshop.clone().with(&entry);
        self.workshop_entries.push(entry);
        self.workshop_entries.last().unwrap().id()
    }

    /// Says something in the record, knowing what that phone holds.
    pub(super) fn says(&mut self, by: usize, says: &Payload) -> EntryId {
        self.says_raw(by, says.kind().code(), entry::READER, says.encode())
    }

    pub(super) fn says_raw(
        &mut self,
        by: usize,
        kind_code: u32,
        min_reader: u32,
        payload: Vec<u8>,
    ) -> EntryId {
        let device_time = self.tick();
        let phone = &mut self.phones[by];
        let after = phone.view.log().after(phone.author.key());
        let document = Some(self.record);
        let body = Envelope { document, kind_code, device_time, min_reader, after, payload };
        let entry = checked(&phone.author.sign(body), self.record);
        phone.view.insert(&entry);
        let id = entry.id();
        if !self.said.iter().any(|said| said.id() == id) {
            self.said.push(entry);
        }
        id
    }

    /// What one phone holds goes to the other, an entry at a time.
    pub(super) fn carry(&mut self, from: usize, to: usize) {
        let held = self.phones[from].view.log().clone();
        for entry in self.said.iter().filter(|entry| held.holds(&entry.id())) {
            self.phones[to].view.insert(entry);
        }
    }

    pub(super) fn meet(&mut self) {
        for phone in &mut self.phones {
            self.said.iter().for_each(|entry| phone.view.insert(entry));
        }
    }

    fn tick(&mut self) -> i64 {
        self.clock += MINUTE;
        self.clock
    }
}

fn envelope(document: Option<DocumentId>, device_time: i64, after: Vec<EntryId>, says: &Payload) -> Envelope {
    let kind_code = says.kind().code();
    debug_assert!(Kind::from_code(kind_code).is_some());
    Envelope { document, kind_code, device_time, min_reader: entry::READER, after, payload: says.encode() }
}

/// The entry as the gate gives it back.
fn checked(entry: &Entry, document: DocumentId) -> Entry {
    entry::check(entry.id(), entry.value(), document).expect("an honest entry passes the gate")
}
