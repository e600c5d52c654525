//! Homes and a relay under a seeded scheduler: requests and answers get lost, come twice and
//! in any order, homes crash and go back to old backups, the relay is wiped, set back, killed
//! between writing and flushing, and its disk is full. In the end everybody holds what the
//! plain model's ledger says was kept, makes the same of it, and counts whom the model counts.
//!
//! `GUDGEON_SEED=17` runs one seed, `GUDGEON_SEEDS=5000` so many of them.
#![allow(clippy::unwrap_used)]

#[path = "meetings/office.rs"]
mod office;
#[path = "meetings/phone.rs"]
mod phone;
mod relay_kit;
#[path = "meetings/says.rs"]
mod says;
#[path = "meetings/shop.rs"]
mod shop;
#[path = "meetings/told.rs"]
mod told;

use std::collections::BTreeSet;

use gudgeon_client::home::Home;
use gudgeon_client::sync::{Ask, Effect, Input, Reply, Trouble};
use gudgeon_core::document::{Actor, Document};
use gudgeon_core::entry::payload::Note;
use gudgeon_core::entry::{Author, DocumentId, Payload};
use gudgeon_relay::Ask as RelayAsk;
use gudgeon_relay::store::{Call, Failure, Forgetful, Trouble as StoreTrouble};
use gudgeon_tests::model::rng::Rng;
use gudgeon_tests::model::who::Id;
use gudgeon_tests::model::{Holder, Ledger};
use office::Office;
use phone::{Kept, Phone, rehearsed};
use says::Subjects;
use shop::{COURIER, ROOT, STRANGER, found, key};
use told::{Both, assessment};

/// An invented moment that lasts.
const NOW: i64 = 1_800_000_000_000;

/// Seeds in the suite.
const SEEDS: u64 = 200;

/// Steps before everybody is left in peace.
const STEPS: usize = 160;

struct Stage {
    rng: Rng,
    phones: Vec<Phone>,
    office: Office,
    backup: Forgetful,
    workshop: DocumentId,
    record: DocumentId,
    subjects: Subjects,
    both: Both,
    ledger: Ledger,
    seen: Seen,
    written: u32,
}

/// How often things came about that a play must come to, or it proves nothing.
#[derive(Clone, Copy, Debug, Default)]
struct Seen {
    failed_writes: usize,
    lost: usize,
    not_counted: usize,
    in_force: usize,
    forks: usize,
    missing_ground: usize,
}

impl Seen {
    const fn add(&mut self, other: Self) {
        self.failed_writes += other.failed_writes;
        self.lost += other.lost;
        self.not_counted += other.not_counted;
        self.in_force += other.in_force;
        self.forks += other.forks;
        self.missing_ground += other.missing_ground;
    }
}

impl Stage {
    /// A workshop of three, all of whom have it and its record from the first day.
    fn new(seed: u64) -> Self {
        let mut rng = Rng::new(seed);
        let mut phones: Vec<Phone> = (0..3).map(|number| Phone::new(number, &mut rng)).collect();
        let subjects = found(&mut phones[0].home, seed);
        let (workshop, record) = (subjects.workshop, subjects.record);
        let office = Office::new(workshop, key(COURIER));
        let mut keys = vec![key(ROOT), key(COURIER)];
        keys.extend(subjects.keys.iter().map(|(key, _)| *key));
        let mut stage = Self {
            rng,
            phones,
            backup: office.kept(),
            office,
            workshop,
            record,
            subjects,
            both: Both::new(workshop, keys),
            ledger: Ledger::default(),
            seen: Seen::default(),
            written: 0,
        };
        for number in 1..3 {
            for document in [workshop, record] {
                let raws = raws(stage.phones[0].home.document(document).unwrap());
                stage.phones[number].home.receive(document, &raws).unwrap();
            }
        }
        (0..3).for_each(|number| stage.note(number));
        stage
    }

    fn step(&mut self) {
        let number = self.rng.below(3);
        match self.rng.below(100) {
            0..25 => self.write(number),
            25..84 => self.go_on(number),
            84 => self.office.restart(),
            85..89 => self.again(number),
            89..93 => self.phones[number].crash(&mut self.rng),
            93 => {
                let memory = self.phones[number].kept.0.lock().unwrap().clone();
                self.phones[number].backup = Some(memory);
            }
            94 => self.restore(number),
            95 => self.set_back(Forgetful::new()),
            96 => self.backup = self.office.kept(),
            97 => self.set_back(self.backup.clone()),
            98 => self.squat(number),
            _ => self.carry(number),
        }
    }

    fn write(&mut self, number: usize) {
        self.written += 1;
        let phone = &mut self.phones[number];
        let (document, says) = self.subjects.draw(&mut self.rng, &phone.home, self.written);
        phone.home.state(document, &phone.author(), &[says]).unwrap();
        self.note(number);
    }

    /// Takes down what a phone holds; what it once said to keep it must still have.
    fn note(&mut self, number: usize) {
        let home = &self.phones[number].home;
        for document in [self.workshop, self.record] {
            for entry in self.both.hear(home.log(document).unwrap()) {
                self.ledger.written.insert(entry.id, entry);
            }
        }
        let held = self.both.ids(self.phones[number].entries().values().flatten());
        self.keeps(Holder::Home(number), held);
    }

    fn note_office(&mut self) {
        let held = self.at_office();
        self.keeps(Holder::Relay, held);
    }

    fn at_office(&mut self) -> BTreeSet<Id> {
        let held = [self.workshop, self.record].map(|document| self.office.entries(document));
        self.both.ids(held.iter().flatten())
    }

    fn keeps(&mut self, holder: Holder, held: BTreeSet<Id>) {
        for (id, holders) in &self.ledger.kept {
            assert!(!holders.contains(&holder) || held.contains(id), "{holder:?} said to keep {id:?}");
        }
        self.ledger.keep(holder, held);
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
                let answered = self.office_is_asked(ask);
                if let (Input::Reply(reply), true) = (&answered, self.rng.below(10) > 0) {
                    self.phones[number].heard.push(reply.clone());
                    answered
                } else {
                    Input::Failed(Trouble::Busy("the answer was lost".to_owned()))
                }
            }
            Effect::Wait(_) => Input::Begin,
            Effect::Done(_) | Effect::GaveUp(_) => return,
        };
        self.phones[number].hear(input);
        self.note(number);
    }

    /// Now and then its disk is full or fails, or it is killed between writing and flushing;
    /// any beginning of what it wrote may be there afterwards.
    fn office_is_asked(&mut self, ask: Ask) -> Input {
        let brings = matches!(&ask, Ask::Exchange { changes, .. } if !changes.is_empty());
        if !(brings && self.rng.one_in(8)) {
            let input = self.office.answers(ask);
            self.note_office();
            return input;
        }
        let call = if self.rng.one_in(2) { Call::Append } else { Call::Flush };
        let trouble = if self.rng.one_in(2) { StoreTrouble::Full } else { StoreTrouble::Device };
        let failure = Failure { call, after: 0, trouble, kept: self.rng.below(4) };
        let (input, failed) = self.office.answers_or_fails(ask, failure);
        self.seen.failed_writes += usize::from(failed);
        if failed && self.rng.one_in(2) {
            self.office.restart();
        }
        self.note_office();
        input
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
            self.note(number);
        }
    }

    /// A phone goes back to a backup; what nobody else has is gone with it, and named so.
    fn restore(&mut self, number: usize) {
        let Some(backup) = self.phones[number].backup.clone() else { return };
        *self.phones[number].kept.0.lock().unwrap() = backup;
        self.phones[number].crash(&mut self.rng);
        let left = self.both.ids(self.phones[number].entries().values().flatten());
        self.ledger.set_back(Holder::Home(number), &left);
    }

    /// The relay is wiped, or goes back to a backup.
    fn set_back(&mut self, kept: Forgetful) {
        self.office.set_back(kept);
        let left = self.at_office();
        self.ledger.set_back(Holder::Relay, &left);
    }

    /// Somebody writes at the office under a phone's actor and its next number.
    fn squat(&mut self, number: usize) {
        let mut theirs = self.office.document(self.record);
        if theirs.is_empty() {
            return;
        }
        let actor: Actor = self.phones[number].home.actor();
        self.written += 1;
        let mut home = Home::within(Box::new(Kept::default()), rehearsed(&mut self.rng)).unwrap();
        for id in [self.workshop, self.record] {
            home.receive(id, &raws(self.phones[number].home.document(id).unwrap())).unwrap();
        }
        let says = says::check(self.written);
        let saved = home.state(self.record, &Author::from_secret(&STRANGER), &[says]).unwrap();
        let value = home.document(self.record).unwrap().entry(&saved.entries[0]).unwrap().to_vec();
        let from = theirs.len();
        theirs.commit(actor, &[(saved.entries[0], value)]).unwrap();
        let changes = theirs.changes_from(from).iter().map(|change| change.raw().to_vec()).collect();
        let ask = RelayAsk { workshop: self.workshop, document: self.record, heads: Vec::new(), changes };
        let answer = self.office.exchange(false, ask).unwrap();
        assert_eq!(answer.refused, []);
        for entry in self.both.hear(home.log(self.record).unwrap()) {
            self.ledger.written.insert(entry.id, entry);
        }
        self.note_office();
    }

    /// A hands B what it has, with no office between.
    fn carry(&mut self, number: usize) {
        let other = (number + 1) % self.phones.len();
        for document in [self.workshop, self.record] {
            let raws = raws(self.phones[number].home.document(document).unwrap());
            self.phones[other].home.receive(document, &raws).unwrap();
        }
        self.note(other);
    }

    /// One whole meeting without trouble.
    fn settle(&mut self, number: usize) {
        self.phones[number].begin(self.workshop);
        for _ in 0..10_000 {
            let Some((_, effect)) = &self.phones[number].meeting else {
                self.note(number);
                return self.note_office();
            };
            let input = match effect.clone() {
                Effect::Ask(ask) => self.office.answers(ask),
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

    /// Everybody holds what the plain model's ledger says was kept, no less and no more.
    fn check(&mut self, seed: u64) {
        let left = self.ledger.written.keys().filter(|id| !self.ledger.lost.contains(id));
        let left: BTreeSet<_> = left.copied().collect();
        assert_eq!(self.at_office(), left, "seed {seed}: the office");
        for (number, phone) in self.phones.iter().enumerate() {
            let held = self.both.ids(phone.entries().values().flatten());
            assert_eq!(held, left, "seed {seed}: phone {number}");
            for document in [self.workshop, self.record] {
                let here = phone.home.here_only(document).unwrap();
                assert!(here.is_empty(), "seed {seed}: phone {number} thinks {here:?} are only here");
            }
        }
        for document in [self.workshop, self.record] {
            self.office.document(document).check().unwrap();
        }
        self.seen.lost = self.ledger.lost.len();
        self.check_meaning(seed, &left);
    }

    /// Everybody makes the same of it, and counts whom the plain model counts.
    fn check_meaning(&mut self, seed: u64, left: &BTreeSet<Id>) {
        let told = self.both.by_model(left);
        let mut bytes: Option<Vec<u8>> = None;
        for (number, phone) in self.phones.iter().enumerate() {
            let [workshop, record] = [self.workshop, self.record].map(|id| phone.home.log(id).unwrap());
            assert_eq!(self.both.by_roster(workshop, record), told, "seed {seed}: phone {number}");
            let own = assessment(workshop, record);
            assert!(bytes.as_ref().is_none_or(|other| *other == own), "seed {seed}: phone {number} differs");
            bytes = Some(own);
        }
        self.seen.not_counted = told.not_counted.len();
        self.seen.in_force = told.in_force.len();
        self.seen.forks = told.forks.len();
        self.seen.missing_ground = told.missing_ground.len();
    }
}

fn raws(document: &Document) -> Vec<Vec<u8>> {
    document.changes_from(0).iter().map(|change| change.raw().to_vec()).collect()
}

fn play(seed: u64) -> Seen {
    let mut stage = Stage::new(seed);
    for _ in 0..STEPS {
        stage.step();
    }
    stage.come_to_rest();
    stage.check(seed);
    stage.seen
}

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok()?.parse().ok()
}

#[test]
fn whatever_happens_on_the_way_everybody_ends_with_what_was_kept_and_makes_the_same_of_it() {
    if let Some(seed) = number("GUDGEON_SEED") {
        play(seed);
        return;
    }
    let mut seen = Seen::default();
    for seed in 0..number("GUDGEON_SEEDS").unwrap_or(SEEDS).max(SEEDS) {
        seen.add(play(seed));
    }
    let all = [seen.failed_writes, seen.lost, seen.not_counted, seen.in_force, seen.forks];
    assert!(all.iter().all(|times| *times > 50), "{seen:?}");
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
        let Input::Reply(reply) = stage.office.answers(ask) else { panic!("an answer") };
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
        let Input::Reply(reply) = stage.office.answers(ask) else { panic!("an answer") };
        if let Reply::Exchanged(answer) = &reply {
            bytes += answer.changes.iter().map(Vec::len).sum::<usize>();
        }
        stage.phones[1].hear(Input::Reply(reply));
    }
    let whole = stage.office.document(record);
    assert_eq!(stage.phones[1].home.document(record).unwrap().heads(), whole.heads());
    let left: usize = raws(&whole)[before..].iter().map(Vec::len).sum();
    assert_eq!(bytes, left, "only what was missing came");
}

/// Otherwise somebody would trust a relay with what it has lost.
#[test]
fn at_the_office_turns_back_to_here_only_after_a_wipe() {
    let mut stage = Stage::new(2);
    stage.come_to_rest();
    let (record, workshop) = (stage.record, stage.workshop);
    assert!(stage.phones[0].home.here_only(record).unwrap().is_empty());
    stage.set_back(Forgetful::new());
    stage.phones[0].begin(workshop);
    let mut seen = 0;
    for _ in 0..100 {
        let Some((_, Effect::Ask(ask))) = stage.phones[0].meeting.as_ref() else { break };
        let ask = ask.clone();
        let Input::Reply(reply) = stage.office.answers(ask) else { panic!("an answer") };
        // The first answer after the wipe, before anything was brought to it again.
        let before = stage.phones[0].home.here_only(workshop).unwrap().len();
        stage.phones[0].hear(Input::Reply(reply));
        seen = seen.max(stage.phones[0].home.here_only(workshop).unwrap().len().saturating_sub(before));
    }
    assert!(seen > 0, "the workshop's entries were told to be only here for a while");
    stage.check(2);
}
