//! The plain model: what Gudgeon promises about entries that travel between phones, in a few hundred lines that know
//! nothing of Automerge, gRPC or the code under test. It is the oracle: later simulations and the real roster are compared
//! with it, so it is written to be read and checked by eye, and nothing in it is clever for speed.
//!
//! # The world
//!
//! Several **homes** (phones) with one or more keys each, at most one **relay**, one workshop document and one or two
//! records. An **entry** is signed by a key and names, in `after`, the newest entries its author knew. Entries travel in
//! **changes**; a change has an actor, a seq and the changes it rests on, and is taken or refused whole.
//! A signature is one bit here (genuine or not) and an id is a hash of what the entry says, so a forged *copy* of a genuine
//! entry has its id.
//!
//! | file | what it holds |
//! | --- | --- |
//! | [`who`] | who counts: [`who::counts`], the oracle for the roster |
//! | [`sync`] | replicas, the gate, the exchange, the bundle, the repack |
//! | this file | the world: phones, relay, what is in flight, backups, and a ledger of what was promised |
//! | [`run`] | a schedule of random acts from one seed, then exchange until nobody changes |
//! | [`laws`] | what must hold then |
//! | [`rng`] | ten lines of chance |
//!
//! # What goes wrong in it
//!
//! Answers are lost, late, doubled and out of order; bundles are old or thin; phones are lost, or restored from an old
//! backup and written on; the relay is wiped or rolled back; a stranger takes a phone's next actor and seq, or names ground
//! that never was; a tampered phone commits forged entries among good ones; keys are removed while others are away, or by
//! two leads at each other.
//!
//! # How it knows
//!
//! The [`Ledger`] writes down what each party *said* it kept, and when a loss takes the last holder of an entry it names
//! that entry as lost. The laws compare the ledger with what is there: a rule that quietly drops an entry breaks a promise
//! in the ledger. That the laws can fail is tested too: each [`Bug`] breaks one rule, and some seed must show it.
//!
//! # Choices the plan leaves open, made here
//!
//! - Only folded entries have any effect, and `after` names only folded ones. (Were an entry without ground named, all
//!   written later would lack its ground too; one hostile entry would end the record.)
//! - "Reached from a listed entry" is walked over everything held, folded or not.
//! - A removal in force binds even when the entry itself does not count.
//! - Roster acts outside the workshop document never count.
//! - Grants that would undo themselves do not count, see [`who`].
//! - A phone handed a bundle commits the entries of changes it cannot apply, under its own actor.

pub mod laws;
pub mod rng;
pub mod run;
pub mod sync;
pub mod who;

use std::collections::{BTreeMap, BTreeSet};

use rng::Rng;
use sync::{Answer, Change, Digest, Home, Put, Relay, Replica, Request};
use who::{Document, Entry, Id, Key, Kind};

/// A rule broken on purpose, to see that the laws notice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bug {
    /// An entry counts as it did when it arrived, whatever comes later.
    JudgesOnArrival,
    /// A repack leaves out the good entries of a change that held a bad one.
    DropsRefusedSiblings,
    /// A repack commits the phone's own entries only.
    RepacksOwnOnly,
    /// A repack starts from the phone's own document instead of the relay's.
    RepacksOnOwnGround,
    /// Nobody checks signatures.
    NoGate,
    /// A signature is checked once for each id, not for each value.
    ChecksOncePerId,
    /// A phone believes that what the relay once had it still has.
    NeverForgetsRelay,
    /// The relay refuses entries that do not count.
    RelayJudges,
    /// `after` names entries that lack their ground.
    NamesWhatLacksGround,
    /// Entries are folded whether or not their ground is held.
    FoldsWithoutGround,
    /// Of a removed key only the listed entries count, not those they reach.
    OnlyListedCount,
    /// The removals signed by a removed lead are void.
    RemovedLeadsRemoveNobody,
}

impl Bug {
    /// Every one of them.
    pub const ALL: [Self; 12] = [
        Self::JudgesOnArrival,
        Self::DropsRefusedSiblings,
        Self::RepacksOwnOnly,
        Self::RepacksOnOwnGround,
        Self::NoGate,
        Self::ChecksOncePerId,
        Self::NeverForgetsRelay,
        Self::RelayJudges,
        Self::NamesWhatLacksGround,
        Self::FoldsWithoutGround,
        Self::OnlyListedCount,
        Self::RemovedLeadsRemoveNobody,
    ];
}

/// Who said it keeps an entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Holder {
    /// The phone of that number.
    Home(usize),
    /// The relay.
    Relay,
}

/// What was written, who said to keep it, and what is lost.
#[derive(Clone, Debug, Default)]
pub struct Ledger {
    /// Every genuine entry ever written, as it was written.
    pub written: BTreeMap<Id, Entry>,
    /// Who said to keep it and has not lost it since.
    pub kept: BTreeMap<Id, BTreeSet<Holder>>,
    /// Named as lost: the last holder is gone.
    pub lost: BTreeSet<Id>,
}

impl Ledger {
    /// A party said that it keeps these.
    pub fn keep(&mut self, holder: Holder, ids: impl IntoIterator<Item = Id>) {
        for id in ids {
            self.kept.entry(id).or_default().insert(holder);
            self.lost.remove(&id);
        }
    }

    /// A party was lost or set back and holds only these now.
    pub fn set_back(&mut self, holder: Holder, left: &BTreeSet<Id>) {
        for (id, holders) in &mut self.kept {
            if !left.contains(id) && holders.remove(&holder) && holders.is_empty() {
                self.lost.insert(*id);
            }
        }
        self.keep(holder, left.iter().copied());
    }
}

/// How often things happened that the bound on repacks rests on.
#[derive(Clone, Copy, Debug, Default)]
pub struct Tally {
    /// Repacks, by all phones.
    pub repacks: usize,
    /// Replicas' worth of changes that cannot stand together: one a squat or a tampering, one a document for a restore.
    pub clashes: usize,
    /// Times the relay was wiped or rolled back.
    pub relay_losses: usize,
}

/// Something under way between a phone and the relay.
#[derive(Clone, Debug)]
enum Message {
    Ask(usize, Document, Request),
    Answer(usize, Document, Answer),
}

/// Everything there is.
#[derive(Clone, Debug)]
pub struct World {
    /// The root key, on paper; whoever holds the paper signs with it.
    pub root: Key,
    /// The documents of this workshop.
    pub documents: Vec<Document>,
    /// The relay, if there is one.
    pub relay: Option<Relay>,
    /// The phones; a lost one leaves its place empty.
    pub homes: Vec<Option<Home>>,
    /// What was promised.
    pub ledger: Ledger,
    /// Forged entries and the phone that committed them.
    pub forged: BTreeSet<(usize, Id)>,
    /// What happened how often.
    pub tally: Tally,
    /// Promises broken on the spot.
    pub broken: Vec<String>,
    /// The rule that is broken on purpose, if any.
    pub bug: Option<Bug>,
    rng: Rng,
    in_flight: Vec<Message>,
    home_backups: Vec<(usize, Home)>,
    relay_backups: Vec<Relay>,
}

impl World {
    /// The phones there are, by number.
    #[must_use]
    pub fn living(&self) -> Vec<usize> {
        (0..self.homes.len()).filter(|at| self.home(*at).is_some()).collect()
    }

    /// A phone, unless it is lost.
    #[must_use]
    pub fn home(&self, at: usize) -> Option<&Home> {
        self.homes.get(at).and_then(Option::as_ref)
    }

    fn home_mut(&mut self, at: usize) -> Option<&mut Home> {
        self.homes.get_mut(at).and_then(Option::as_mut)
    }

    /// A phone writes entries in one change, each knowing the one before, and sees its own work folded at once.
    pub fn write(&mut self, at: usize, document: Document, author: Key, kinds: Vec<Kind>) {
        let (root, bug) = (self.root, self.bug);
        let Some(home) = self.home_mut(at) else { return };
        let mut after = home.copy(document).newest(root, bug);
        let mut puts = Vec::new();
        for kind in kinds {
            let entry = Entry::new(author, document, kind, after);
            after = BTreeSet::from([entry.id]);
            puts.push(Put { entry, genuine: true });
        }
        self.commit(at, document, puts);
        let replica = self.home(at).and_then(|home| home.copies.get(&document));
        let folded = replica.map(|replica| replica.folded(root)).unwrap_or_default();
        if !after.is_subset(&folded) {
            self.broken.push(format!("home {at} cannot fold what it wrote itself: {after:?}"));
        }
    }

    fn commit(&mut self, at: usize, document: Document, puts: Vec<Put>) {
        let Some(home) = self.home_mut(at) else { return };
        let actor = home.actor;
        let new = home.copy(document).commit(document, actor, puts.clone());
        self.record(&puts);
        self.ledger.keep(Holder::Home(at), new);
    }

    fn record(&mut self, puts: &[Put]) {
        let genuine = puts.iter().filter(|put| put.genuine);
        self.ledger.written.extend(genuine.map(|put| (put.entry.id, put.entry.clone())));
    }

    /// A tampered phone commits a forged entry among good ones.
    pub fn tamper(&mut self, at: usize, forged: Entry, good: Vec<Entry>) {
        self.tally.clashes += 1;
        self.forged.insert((at, forged.id));
        let document = forged.document;
        let mut puts = vec![Put { entry: forged, genuine: false }];
        puts.extend(good.into_iter().map(|entry| Put { entry, genuine: true }));
        self.rng.shuffle(&mut puts);
        self.commit(at, document, puts);
    }

    /// A stranger's change under a phone's actor and next seq, pushed to the relay or handed to another phone.
    pub fn squat(&mut self, victim: usize, target: Holder, entry: Entry) {
        let Some(actor) = self.home(victim).map(|home| home.actor) else { return };
        let document = entry.document;
        let puts = vec![Put { entry, genuine: true }];
        let change = |replica: &Replica| {
            let (seq, deps) = (replica.next_seq(actor), replica.heads());
            vec![Change::new(document, actor, seq, deps, puts.clone())]
        };
        match target {
            Holder::Relay => {
                let Some(relay) = &mut self.relay else { return };
                let changes = change(relay.copies.entry(document).or_default());
                let request = Request { heads: BTreeSet::new(), changes };
                let (_, kept) = relay.exchange(document, &request, self.bug, self.root);
                self.ledger.keep(Holder::Relay, kept);
            }
            Holder::Home(at) => {
                let bug = self.bug;
                let Some(home) = self.home_mut(at) else { return };
                let bundle = change(home.copy(document));
                let (kept, _) = home.take_bundle(document, &bundle, bug);
                self.ledger.keep(target, kept);
            }
        }
        self.tally.clashes += 1;
        self.record(&puts);
    }

    /// A phone asks the relay; the request is under way.
    pub fn send(&mut self, at: usize, document: Document) {
        if let Some(home) = self.home_mut(at) {
            let request = home.ask(document);
            self.in_flight.push(Message::Ask(at, document, request));
        }
    }

    /// One message that is under way is lost.
    pub fn lose_message(&mut self) {
        let at = self.rng.below(self.in_flight.len());
        self.in_flight.drain(at..(at + 1).min(self.in_flight.len()));
    }

    /// One message that is under way arrives; perhaps a copy of it arrives again later.
    pub fn deliver(&mut self, again: bool) {
        if self.in_flight.is_empty() {
            return;
        }
        let at = self.rng.below(self.in_flight.len());
        let message = self.in_flight.swap_remove(at);
        if again {
            self.in_flight.push(message.clone());
        }
        match message {
            Message::Ask(at, document, request) => {
                if let Some(answer) = self.answer(document, &request) {
                    self.in_flight.push(Message::Answer(at, document, answer));
                }
            }
            Message::Answer(at, document, answer) => self.hear(at, document, &answer),
        }
    }

    fn answer(&mut self, document: Document, request: &Request) -> Option<Answer> {
        let (answer, kept) = self.relay.as_mut()?.exchange(document, request, self.bug, self.root);
        self.ledger.keep(Holder::Relay, kept);
        Some(answer)
    }

    fn hear(&mut self, at: usize, document: Document, answer: &Answer) {
        let bug = self.bug;
        let Some(home) = self.home_mut(at) else { return };
        let (new, clash) = home.hear(document, answer, bug);
        let own = home.sound(document);
        self.ledger.keep(Holder::Home(at), new);
        if clash {
            let relay = self.relay.as_ref().and_then(|relay| relay.copies.get(&document)).cloned();
            let base = if bug == Some(Bug::RepacksOnOwnGround) { own } else { relay.unwrap_or_default() };
            self.repack(at, document, &base);
        }
    }

    fn repack(&mut self, at: usize, document: Document, base: &Replica) {
        let bug = self.bug;
        let mut rng = Rng::new(self.rng.bits());
        let Some(home) = self.home_mut(at) else { return };
        if let Some(new) = home.repack(document, base, &mut rng, bug) {
            self.tally.repacks += 1;
            self.ledger.keep(Holder::Home(at), new);
        }
    }

    /// A whole exchange on a good line. Bounded: a broken rule may ask for ever.
    pub fn exchange(&mut self, at: usize, document: Document) {
        for _ in 0..50 {
            let Some(request) = self.home_mut(at).map(|home| home.ask(document)) else { return };
            let Some(answer) = self.answer(document, &request) else { return };
            self.hear(at, document, &answer);
            // A refusal ends the round: what follows it rests on the repack.
            if !answer.more || !answer.refusals.is_empty() {
                return;
            }
        }
    }

    /// One phone hands another a bundle without its first `skip` changes. A giver whose change fails the gate is told, and
    /// repacks on what is sound of its own.
    pub fn carry(&mut self, from: usize, to: usize, document: Document, skip: usize) {
        let bug = self.bug;
        let Some(giver) = self.home_mut(from) else { return };
        let bundle: Vec<Change> = giver.copy(document).changes().iter().skip(skip).cloned().collect();
        let Some(taker) = self.home_mut(to) else { return };
        let (new, failed) = taker.take_bundle(document, &bundle, bug);
        self.ledger.keep(Holder::Home(to), new);
        if failed && let Some(base) = self.home(from).map(|giver| giver.sound(document)) {
            self.repack(from, document, &base);
        }
    }

    /// Keeps a copy of a phone for later.
    pub fn back_up_home(&mut self, at: usize) {
        if let Some(home) = self.home(at).cloned() {
            self.home_backups.push((at, home));
        }
    }

    /// Puts an old copy in a phone's place; it knows no better and writes on.
    pub fn restore_home(&mut self) {
        if let Some((at, home)) = self.rng.pick(&self.home_backups) {
            self.tally.clashes += self.documents.len();
            self.forged.retain(|(holder, _)| *holder != at);
            self.ledger.set_back(Holder::Home(at), &home.entries().into_keys().collect());
            if let Some(place) = self.homes.get_mut(at) {
                *place = Some(home);
            }
        }
    }

    /// A phone is gone for good (or until an old copy of it turns up).
    pub fn lose_home(&mut self, at: usize) {
        if let Some(place) = self.homes.get_mut(at) {
            *place = None;
            self.forged.retain(|(holder, _)| *holder != at);
            self.ledger.set_back(Holder::Home(at), &BTreeSet::new());
        }
    }

    /// Keeps a copy of the relay for later.
    pub fn back_up_relay(&mut self) {
        self.relay_backups.extend(self.relay.clone());
    }

    /// Sets the relay back to an old copy, or to nothing.
    pub fn set_relay_back(&mut self, wipe: bool) {
        let old = if wipe { Some(Relay::default()) } else { self.rng.pick(&self.relay_backups) };
        if let (Some(relay), Some(old)) = (&mut self.relay, old) {
            let left = old.copies.values().flat_map(Replica::arrivals).map(|entry| entry.id).collect();
            self.ledger.set_back(Holder::Relay, &left);
            self.tally.relay_losses += 1;
            *relay = old;
        }
    }

    /// Exchanges (or, without a relay, carries) until nobody changes.
    ///
    /// # Errors
    ///
    /// The number of rounds after which it gave up.
    pub fn settle(&mut self) -> Result<(), String> {
        const ROUNDS: usize = 30;
        while !self.in_flight.is_empty() {
            self.deliver(false);
        }
        for _ in 0..ROUNDS {
            let before = self.picture();
            self.round();
            if self.picture() == before {
                return Ok(());
            }
        }
        Err(format!("still changing after {ROUNDS} rounds of exchange"))
    }

    fn round(&mut self) {
        let mut living = self.living();
        self.rng.shuffle(&mut living);
        for document in self.documents.clone() {
            for at in &living {
                if self.relay.is_some() {
                    self.exchange(*at, document);
                } else {
                    living.iter().filter(|to| *to != at).for_each(|to| self.carry(*at, *to, document, 0));
                }
            }
        }
    }

    /// The heads of every replica, what each phone believes of the relay's, and the repacks so far.
    fn picture(&self) -> (Vec<BTreeSet<Digest>>, usize) {
        let homes = self.homes.iter().flatten().map(|home| &home.copies);
        let all = homes.chain(self.relay.iter().map(|relay| &relay.copies));
        let heads = all.flat_map(BTreeMap::values).map(Replica::heads);
        let believed = self.homes.iter().flatten().flat_map(|home| home.relay_heads.values());
        (heads.chain(believed.cloned()).collect(), self.tally.repacks)
    }
}
