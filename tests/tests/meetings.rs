//! Homes and a relay under a seeded scheduler: requests and answers get lost, come twice and
//! in any order, homes crash and go back to old backups, the relay is wiped and set back. In
//! the end everybody holds everything that was saved.
//!
//! `GUDGEON_SEED=17` runs one seed, `GUDGEON_SEEDS=5000` so many of them.
#![allow(clippy::unwrap_used)]

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex};

use gudgeon_client::home::Home;
use gudgeon_client::store::{Batch, Memory, Row, Store, StoreError, Table};
use gudgeon_client::sync::{Ask, Effect, Engine, Exchanged, Identity, Input, Reply, Standing, Trouble};
use gudgeon_client::world::{NoRandomness, World};
use gudgeon_core::document::{Actor, Document};
use gudgeon_core::entry::payload::{Device, Founding, Note, Person, RecordListed, Role};
use gudgeon_core::entry::{Author, DocumentId, EntryId, Payload};
use gudgeon_relay::{Ask as RelayAsk, Desk};
use gudgeon_tests::model::rng::Rng;

/// Seeds in the suite.
const SEEDS: u64 = 300;

/// Steps before everybody is left in peace.
const STEPS: usize = 160;

/// A store that outlives the home that has it open.
#[derive(Clone, Default)]
struct Kept(Arc<Mutex<Memory>>);

impl Store for Kept {
    fn get(&self, table: Table, key: &[u8]) -> Result<Option<Vec<u8>>, StoreError> {
        self.0.lock().unwrap().get(table, key)
    }

    fn scan(&self, table: Table, prefix: &[u8]) -> Result<Vec<Row>, StoreError> {
        self.0.lock().unwrap().scan(table, prefix)
    }

    fn write(&mut self, batch: &Batch) -> Result<(), StoreError> {
        self.0.lock().unwrap().write(batch)
    }
}

/// Time that stands and randomness that repeats.
struct Rehearsed(Mutex<Rng>);

impl World for Rehearsed {
    fn now(&self) -> i64 {
        1_800_000_000_000
    }

    fn fill(&self, bytes: &mut [u8]) -> Result<(), NoRandomness> {
        let mut rng = self.0.lock().unwrap();
        bytes.fill_with(|| rng.bits().to_le_bytes()[0]);
        Ok(())
    }
}

/// One person's phone.
struct Phone {
    secret: [u8; 32],
    kept: Kept,
    backup: Option<Memory>,
    home: Home,
    meeting: Option<(Engine, Effect)>,
    /// Answers that were given once, to be given again.
    heard: Vec<Reply>,
}

impl Phone {
    fn new(number: u8, rng: &mut Rng) -> Self {
        let kept = Kept::default();
        let home = Home::within(Box::new(kept.clone()), rehearsed(rng)).unwrap();
        Self { secret: [number + 1; 32], kept, backup: None, home, meeting: None, heard: Vec::new() }
    }

    fn author(&self) -> Author {
        Author::from_secret(&self.secret)
    }

    /// The program ends in the middle of whatever it does, and is started again.
    fn crash(&mut self, rng: &mut Rng) {
        self.meeting = None;
        self.home = Home::within(Box::new(self.kept.clone()), rehearsed(rng)).unwrap();
    }

    fn begin(&mut self, workshop: DocumentId) {
        let identity = Identity { author: self.author(), invite: false };
        let mut engine = Engine::new(workshop, vec![identity]);
        let effect = engine.handle(&mut self.home, Input::Begin).unwrap();
        self.meeting = Some((engine, effect));
    }

    fn hear(&mut self, input: Input) {
        let Some((mut engine, _)) = self.meeting.take() else { return };
        match engine.handle(&mut self.home, input).unwrap() {
            Effect::Done(_) | Effect::GaveUp(_) => {}
            effect @ (Effect::Ask(_) | Effect::Wait(_)) => self.meeting = Some((engine, effect)),
        }
    }

    fn entries(&self) -> BTreeMap<DocumentId, BTreeSet<EntryId>> {
        let mut all = BTreeMap::new();
        for document in self.home.workshop().into_iter().chain(self.home.records()) {
            all.insert(document, ids(self.home.document(document).unwrap()));
        }
        all
    }
}

fn rehearsed(rng: &mut Rng) -> Rehearsed {
    Rehearsed(Mutex::new(Rng::new(rng.bits())))
}

fn ids(document: &Document) -> BTreeSet<EntryId> {
    document.entries().map(|put| put.id).collect()
}

struct Stage {
    rng: Rng,
    phones: Vec<Phone>,
    office: Desk,
    backup: Desk,
    workshop: DocumentId,
    record: DocumentId,
    saved: BTreeMap<DocumentId, BTreeSet<EntryId>>,
    written: u32,
    squatted: u32,
}

impl Stage {
    /// A workshop of three, all of whom have it and its record from the first day.
    fn new(seed: u64) -> Self {
        let mut rng = Rng::new(seed);
        let mut phones: Vec<Phone> = (0..3).map(|number| Phone::new(number, &mut rng)).collect();
        let root = Author::from_secret(&[77; 32]);
        let founding = |name: &str, workshop| Founding {
            name: name.to_owned(),
            workshop,
            definition_digest: None,
            nonce: seed.to_be_bytes().to_vec(),
        };
        let first = &mut phones[0].home;
        let workshop = first.found(&root, founding("Shop", None), &[]).unwrap().document;
        for secret in [[1; 32], [2; 32], [3; 32]] {
            let person = Payload::Person(Person { name: format!("Person {}", secret[0]) });
            let person = first.state(workshop, &root, &[person]).unwrap().entries[0];
            let device = Device {
                key: Author::from_secret(&secret).key(),
                person,
                roles: vec![Role::Member, Role::Lead],
                label: String::new(),
                invite: None,
                join_signature: Vec::new(),
            };
            first.state(workshop, &root, &[Payload::Device(device)]).unwrap();
        }
        let lead = phones[0].author();
        let first = &mut phones[0].home;
        let record = first.found(&lead, founding("Engine", Some(workshop)), &[]).unwrap().document;
        let listed = RecordListed { record, name: "Engine".to_owned() };
        first.state(workshop, &lead, &[Payload::RecordListed(listed)]).unwrap();
        let office = Desk::new();
        let mut stage = Self {
            rng,
            phones,
            backup: office.clone(),
            office,
            workshop,
            record,
            saved: BTreeMap::new(),
            written: 0,
            squatted: 0,
        };
        for number in 1..3 {
            for document in [workshop, record] {
                let raws = raws(stage.phones[0].home.document(document).unwrap());
                stage.phones[number].home.receive(document, &raws).unwrap();
            }
        }
        stage.saved = stage.phones[0].entries();
        stage
    }

    fn step(&mut self) {
        let number = self.rng.below(3);
        match self.rng.below(100) {
            0..25 => self.write(number),
            25..85 => self.go_on(number),
            85..89 => self.again(number),
            89..93 => self.phones[number].crash(&mut self.rng),
            93 => {
                let memory = self.phones[number].kept.0.lock().unwrap().clone();
                self.phones[number].backup = Some(memory);
            }
            94 => self.restore(number),
            95 => self.set_back(Desk::new()),
            96 => self.backup = self.office.clone(),
            97 => self.set_back(self.backup.clone()),
            98 => self.squat(number),
            _ => self.carry(number),
        }
    }

    fn write(&mut self, number: usize) {
        let document = if self.rng.below(5) == 0 { self.workshop } else { self.record };
        self.written += 1;
        let phone = &mut self.phones[number];
        let says = Payload::Note(Note { feature: String::new(), text: format!("note {}", self.written) });
        let saved = phone.home.state(document, &phone.author(), &[says]).unwrap();
        self.saved.entry(document).or_default().extend(saved.entries);
    }

    /// One step of a meeting: the request may get lost, and so may the answer.
    fn go_on(&mut self, number: usize) {
        let workshop = self.workshop;
        let Some((_, effect)) = &self.phones[number].meeting else {
            return self.phones[number].begin(workshop);
        };
        let input = match effect.clone() {
            Effect::Ask(_) if self.rng.below(10) == 0 => Input::Failed(Trouble::Busy("lost".to_owned())),
            Effect::Ask(ask) => {
                let reply = self.office_answers(ask);
                if self.rng.below(10) == 0 {
                    Input::Failed(Trouble::Busy("the answer was lost".to_owned()))
                } else {
                    self.phones[number].heard.push(reply.clone());
                    Input::Reply(reply)
                }
            }
            Effect::Wait(_) => Input::Begin,
            Effect::Done(_) | Effect::GaveUp(_) => return,
        };
        self.phones[number].hear(input);
    }

    /// An old answer arrives a second time, whatever was asked since.
    fn again(&mut self, number: usize) {
        let heard = &self.phones[number].heard;
        if heard.is_empty() {
            return;
        }
        let reply = heard[self.rng.below(heard.len())].clone();
        // One that is no answer to an exchange would be matched by its stream, not by us.
        if matches!(reply, Reply::Exchanged(_)) {
            self.phones[number].hear(Input::Reply(reply));
        }
    }

    fn office_answers(&mut self, ask: Ask) -> Reply {
        match ask {
            Ask::Greet { .. } => Reply::Greeted { relay: [9; 32], challenge: vec![1; 72] },
            Ask::Open { .. } => {
                let empty = self.office.document(self.workshop).is_none();
                let standing = if empty { Standing::Brings } else { Standing::Member };
                Reply::Opened { session: vec![1], standing }
            }
            Ask::Exchange { document, heads, changes, .. } => {
                let ask = RelayAsk { workshop: self.workshop, document, heads, changes };
                let answer = self.office.exchange(&ask);
                Reply::Exchanged(Exchanged {
                    heads: answer.heads,
                    changes: answer.changes,
                    refused: answer.refused,
                    unknown: answer.unknown,
                    more: answer.more,
                })
            }
        }
    }

    /// A phone goes back to a backup; what nobody else has is gone with it, and named so.
    fn restore(&mut self, number: usize) {
        let Some(backup) = self.phones[number].backup.clone() else { return };
        *self.phones[number].kept.0.lock().unwrap() = backup;
        self.phones[number].crash(&mut self.rng);
        self.forget_what_nobody_has();
    }

    /// The relay is wiped, or goes back to a backup.
    fn set_back(&mut self, office: Desk) {
        self.office = office;
        self.forget_what_nobody_has();
    }

    /// What nobody has any more nobody can restore: all that may ever be lost.
    fn forget_what_nobody_has(&mut self) {
        let mut left: BTreeMap<DocumentId, BTreeSet<EntryId>> = BTreeMap::new();
        for phone in &self.phones {
            for (document, entries) in phone.entries() {
                left.entry(document).or_default().extend(entries);
            }
        }
        for (document, entries) in &mut self.saved {
            let office = self.office.document(*document).map(ids).unwrap_or_default();
            entries.retain(|id| left[document].contains(id) || office.contains(id));
        }
    }

    /// Somebody writes at the office under a phone's actor and its next number.
    fn squat(&mut self, number: usize) {
        let Some(document) = self.office.document(self.record).cloned() else { return };
        let actor: Actor = self.phones[number].home.actor();
        let stranger = Author::from_secret(&[66; 32]);
        self.squatted += 1;
        let kept = Kept::default();
        let mut home = Home::within(Box::new(kept), rehearsed(&mut self.rng)).unwrap();
        for id in [self.workshop, self.record] {
            home.receive(id, &raws(self.phones[number].home.document(id).unwrap())).unwrap();
        }
        let says = Payload::Note(Note { feature: String::new(), text: format!("squat {}", self.squatted) });
        let saved = home.state(self.record, &stranger, &[says]).unwrap();
        let value = home.document(self.record).unwrap().entry(&saved.entries[0]).unwrap().to_vec();
        let mut theirs = document;
        let from = theirs.len();
        theirs.commit(actor, &[(saved.entries[0], value)]).unwrap();
        let changes = theirs.changes_from(from).iter().map(|change| change.raw().to_vec()).collect();
        let ask = RelayAsk { workshop: self.workshop, document: self.record, heads: Vec::new(), changes };
        let answer = self.office.exchange(&ask);
        assert_eq!(answer.refused, []);
        self.saved.entry(self.record).or_default().extend(saved.entries);
    }

    /// A hands B what it has, with no office between.
    fn carry(&mut self, number: usize) {
        let other = (number + 1) % self.phones.len();
        for document in [self.workshop, self.record] {
            let raws = raws(self.phones[number].home.document(document).unwrap());
            self.phones[other].home.receive(document, &raws).unwrap();
        }
    }

    /// One whole meeting without trouble.
    fn settle(&mut self, number: usize) {
        self.phones[number].begin(self.workshop);
        for _ in 0..10_000 {
            let Some((_, effect)) = &self.phones[number].meeting else { return };
            let input = match effect.clone() {
                Effect::Ask(ask) => Input::Reply(self.office_answers(ask)),
                Effect::Wait(_) => Input::Begin,
                Effect::Done(_) | Effect::GaveUp(_) => return,
            };
            self.phones[number].hear(input);
        }
        panic!("a meeting without trouble does not end");
    }

    fn come_to_rest(&mut self) {
        for _ in 0..2 {
            for number in 0..self.phones.len() {
                self.settle(number);
            }
        }
    }

    fn check(&self, seed: u64) {
        for (number, phone) in self.phones.iter().enumerate() {
            let held = phone.entries();
            for (document, entries) in &self.saved {
                let lost: Vec<_> = entries.difference(&held[document]).collect();
                assert!(lost.is_empty(), "seed {seed}: phone {number} lost {lost:?}");
                let office = ids(self.office.document(*document).unwrap());
                assert_eq!(held[document], office, "seed {seed}: phone {number} and the office differ");
                let here = phone.home.here_only(*document).unwrap();
                assert!(here.is_empty(), "seed {seed}: phone {number} thinks {here:?} are only here");
            }
        }
        for document in [self.workshop, self.record] {
            self.office.document(document).unwrap().check().unwrap();
        }
    }
}

fn raws(document: &Document) -> Vec<Vec<u8>> {
    document.changes_from(0).iter().map(|change| change.raw().to_vec()).collect()
}

fn play(seed: u64) {
    let mut stage = Stage::new(seed);
    for _ in 0..STEPS {
        stage.step();
    }
    stage.come_to_rest();
    stage.check(seed);
}

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok()?.parse().ok()
}

#[test]
fn whatever_happens_on_the_way_everybody_ends_with_everything_that_was_saved() {
    if let Some(seed) = number("GUDGEON_SEED") {
        return play(seed);
    }
    for seed in 0..number("GUDGEON_SEEDS").unwrap_or(SEEDS) {
        play(seed);
    }
}

/// Otherwise a page that got lost would cost the whole first sync again.
#[test]
fn a_first_meeting_that_is_cut_in_the_middle_goes_on_from_there() {
    let mut stage = Stage::new(1);
    let author = stage.phones[0].author();
    for note in 0..40 {
        let text = format!("{note}{}", "x".repeat(150_000));
        let says = Payload::Note(Note { feature: String::new(), text });
        stage.phones[0].home.state(stage.record, &author, &[says]).unwrap();
    }
    let record = stage.record;
    stage.settle(0);
    stage.phones[1].begin(stage.workshop);
    let mut pages = 0;
    while pages < 2 {
        let Some((_, Effect::Ask(ask))) = stage.phones[1].meeting.as_ref() else { panic!("a meeting") };
        let ask = ask.clone();
        let reply = stage.office_answers(ask);
        pages += usize::from(matches!(&reply, Reply::Exchanged(answer) if answer.more));
        stage.phones[1].hear(Input::Reply(reply));
    }
    let before = stage.phones[1].home.document(record).unwrap().len();
    assert!(before > 10, "{before} changes after two pages");
    let mut rng = Rng::new(5);
    stage.phones[1].crash(&mut rng);
    assert_eq!(stage.phones[1].home.document(record).unwrap().len(), before, "what came is kept");
    stage.phones[1].begin(stage.workshop);
    let mut bytes = 0;
    while let Some((_, Effect::Ask(ask))) = stage.phones[1].meeting.as_ref() {
        let ask = ask.clone();
        let reply = stage.office_answers(ask);
        if let Reply::Exchanged(answer) = &reply {
            bytes += answer.changes.iter().map(Vec::len).sum::<usize>();
        }
        stage.phones[1].hear(Input::Reply(reply));
    }
    let whole = stage.office.document(record).unwrap();
    assert_eq!(stage.phones[1].home.document(record).unwrap().heads(), whole.heads());
    let left: usize = raws(whole)[before..].iter().map(Vec::len).sum();
    assert_eq!(bytes, left, "only what was missing came");
}

/// Otherwise somebody would trust a relay with what it has lost.
#[test]
fn at_the_office_turns_back_to_here_only_after_a_wipe() {
    let mut stage = Stage::new(2);
    stage.come_to_rest();
    let (record, workshop) = (stage.record, stage.workshop);
    assert!(stage.phones[0].home.here_only(record).unwrap().is_empty());
    stage.office = Desk::new();
    stage.phones[0].begin(workshop);
    let mut seen = 0;
    for _ in 0..100 {
        let Some((_, Effect::Ask(ask))) = stage.phones[0].meeting.as_ref() else { break };
        let ask = ask.clone();
        let reply = stage.office_answers(ask);
        // The first answer after the wipe, before anything was brought to it again.
        let before = stage.phones[0].home.here_only(workshop).unwrap().len();
        stage.phones[0].hear(Input::Reply(reply));
        seen = seen.max(stage.phones[0].home.here_only(workshop).unwrap().len().saturating_sub(before));
    }
    assert!(seen > 0, "the workshop's entries were told to be only here for a while");
    stage.check(2);
}
