//! Random histories of several homes and one meeting place: nothing is lost, all agree,
//! and Automerge sees what the document's own index sees.
#![allow(clippy::unwrap_used)]

mod document_kit;

use std::collections::{BTreeMap, BTreeSet};

use automerge::transaction::{CommitOptions, Transactable};
use automerge::{ActorId, Automerge, ROOT, ReadDoc, TextEncoding};
use document_kit::{Dice, actor, entry, gate, rules};
use gudgeon_core::document::{
    Actor, Change, ChangeHash, CommitError, Document, ENTRIES, GENESIS, GENESIS_ACTOR, MAX_DEPS, MAX_ENTRY,
    MAX_PUTS, encode, genesis_hash, repack,
};
use gudgeon_core::entry::EntryId;
use proptest::prelude::*;

type Entries = BTreeMap<EntryId, Vec<u8>>;

fn entries(document: &Document) -> Entries {
    document.entries().map(|put| (put.id, put.value.to_vec())).collect()
}

fn raws(changes: &[&Change]) -> Vec<Vec<u8>> {
    changes.iter().map(|change| change.raw().to_vec()).collect()
}

/// One thing that happens.
#[derive(Clone, Debug)]
enum Event {
    /// A home commits entries, numbered from a small pool so that homes meet in them.
    Commit { home: usize, numbers: Vec<u32>, signature: u8 },
    /// Some of one home's changes reach another, shuffled, some lost, some twice.
    Carry { from: usize, to: usize, seed: u64 },
    /// A home exchanges with the meeting place; the answer may be lost.
    Exchange { home: usize, budget: usize, answer_lost: bool },
    /// Somebody puts a change under the actor and next number of a home.
    Squat { victim: usize, at: usize, number: u32 },
    /// A home goes back to an old copy of itself, still under its old actor.
    Restore { home: usize },
    /// The meeting place goes back to an old copy.
    Rollback,
    /// Both are copied for later.
    Backup,
}

fn events() -> impl Strategy<Value = Vec<Event>> {
    let home = 0..HOMES;
    let event = prop_oneof![
        5 => (home.clone(), prop::collection::vec(0..60u32, 1..6), 0..3u8)
            .prop_map(|(home, numbers, signature)| Event::Commit { home, numbers, signature }),
        3 => (home.clone(), home.clone(), any::<u64>())
            .prop_map(|(from, to, seed)| Event::Carry { from, to, seed }),
        4 => (home.clone(), 0..3000usize, any::<bool>())
            .prop_map(|(home, budget, answer_lost)| Event::Exchange { home, budget, answer_lost }),
        1 => (home.clone(), home.clone(), 0..60u32)
            .prop_map(|(victim, at, number)| Event::Squat { victim, at, number }),
        1 => home.prop_map(|home| Event::Restore { home }),
        1 => Just(Event::Rollback),
        1 => Just(Event::Backup),
    ];
    prop::collection::vec(event, 1..40)
}

const HOMES: usize = 4;

/// A home: its document, the actor it writes under, the last heads of the meeting place.
#[derive(Clone)]
struct Home {
    document: Document,
    actor: Actor,
    last_heads: Vec<ChangeHash>,
}

struct World {
    homes: Vec<Home>,
    relay: Document,
    backup: (Vec<Home>, Document),
    /// All that anybody ever said and kept.
    said: BTreeSet<EntryId>,
    next_actor: u8,
}

impl World {
    fn new() -> Self {
        let home = |number| Home { document: Document::new(), actor: actor(number), last_heads: vec![] };
        let homes: Vec<_> = [1, 2, 3, 4].map(home).to_vec();
        let relay = Document::new();
        Self { backup: (homes.clone(), relay.clone()), homes, relay, said: BTreeSet::new(), next_actor: 10 }
    }

    fn fresh(&mut self) -> Actor {
        self.next_actor += 1;
        actor(self.next_actor)
    }

    fn play(&mut self, event: &Event) {
        match event {
            Event::Commit { home, numbers, signature } => {
                let new: Vec<_> = numbers.iter().map(|number| entry(*number, *signature, 60)).collect();
                let home = &mut self.homes[*home];
                home.document.commit(home.actor, &new).unwrap();
            }
            Event::Carry { from, to, seed } => self.carry(*from, *to, *seed),
            Event::Exchange { home, budget, answer_lost } => self.exchange(*home, *budget, *answer_lost),
            Event::Squat { victim, at, number } => self.squat(*victim, *at, *number),
            Event::Restore { home } => self.homes[*home] = self.backup.0[*home].clone(),
            Event::Rollback => self.relay = self.backup.1.clone(),
            Event::Backup => self.backup = (self.homes.clone(), self.relay.clone()),
        }
    }

    fn carry(&mut self, from: usize, to: usize, seed: u64) {
        let mut dice = Dice::new(seed);
        let mut batch = raws(&self.homes[from].document.changes_from(0).iter().collect::<Vec<_>>());
        batch.extend(batch.clone());
        dice.shuffle(&mut batch);
        batch.truncate(dice.below(batch.len() + 1));
        self.homes[to].document.receive(&batch, &mut gate);
    }

    /// One round of the exchange as section "Exchange" has it; repacks if anything of the
    /// home's is not taken.
    fn exchange(&mut self, home: usize, budget: usize, answer_lost: bool) {
        let mine = &mut self.homes[home];
        let sent = raws(&mine.document.answer(&mine.last_heads, usize::MAX).changes);
        let taken = self.relay.receive(&sent, &mut gate);
        if answer_lost {
            return;
        }
        let mut heads = mine.last_heads.clone();
        heads.extend(mine.document.heads());
        let answer = self.relay.answer(&heads, budget);
        let got = mine.document.receive(&raws(&answer.changes), &mut gate);
        assert!(got.unknown_deps.is_empty() || !got.refused.is_empty(), "answers come in causal order");
        let lost = answer.unknown_heads.iter().any(|head| mine.last_heads.contains(head));
        mine.last_heads = if lost || answer.more { vec![] } else { self.relay.heads() };
        mine.last_heads.retain(|head| mine.document.contains(head));
        if !taken.refused.is_empty() || !got.refused.is_empty() {
            let fresh = self.fresh();
            let mine = &mut self.homes[home];
            let old = std::mem::take(&mut mine.document);
            mine.document = repack(&old, self.relay.clone(), fresh).unwrap().0;
            mine.actor = fresh;
        }
    }

    fn squat(&mut self, victim: usize, at: usize, number: u32) {
        let target = &self.homes[at].document;
        let actor = self.homes[victim].actor;
        let mut copy = target.clone();
        let _ = copy.commit(actor, &[entry(number, 9, 50)]).unwrap();
        let batch = raws(&copy.changes_from(target.len()).iter().collect::<Vec<_>>());
        self.homes[at].document.receive(&batch, &mut gate);
    }

    /// What a repack, a restore or a roll-back must not lose: what a home holds now.
    fn note(&mut self) {
        let documents = self.homes.iter().map(|home| &home.document).chain([&self.relay]);
        self.said = documents.flat_map(|document| entries(document).into_keys()).collect();
    }

    /// Exchanges until a whole round changes nothing.
    fn settle(&mut self) {
        for _ in 0..20 {
            let before = self.sizes();
            for home in 0..HOMES {
                self.exchange(home, 4000, false);
            }
            if before == self.sizes() {
                return;
            }
        }
        panic!("does not come to rest");
    }

    fn sizes(&self) -> Vec<(usize, Vec<ChangeHash>)> {
        let homes = self.homes.iter().map(|home| (home.document.len(), home.last_heads.clone()));
        homes.chain([(self.relay.len(), vec![])]).collect()
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_history_ends_in_equal_entry_sets(history in events()) {
        let mut world = World::new();
        for event in &history {
            world.play(event);
        }
        world.note();
        world.settle();
        let relay = entries(&world.relay);
        let held: BTreeSet<_> = relay.keys().copied().collect();
        prop_assert_eq!(&held, &world.said);
        for home in &world.homes {
            prop_assert_eq!(&entries(&home.document), &relay);
            home.document.check().unwrap();
        }
        world.relay.check().unwrap();
    }

    #[test]
    fn any_order_of_delivery_gives_the_same_document(history in events(), seed in any::<u64>()) {
        let mut world = World::new();
        for event in &history {
            world.play(event);
        }
        let mut batch: Vec<_> = world.homes.iter()
            .flat_map(|home| raws(&home.document.changes_from(0).iter().collect::<Vec<_>>()))
            .collect();
        let mut first = Document::new();
        let received = first.receive(&batch, &mut gate);
        let mut dice = Dice::new(seed);
        dice.shuffle(&mut batch);
        let mut second = Document::new();
        let again = second.receive(&batch, &mut gate);
        prop_assert_eq!(first.changes_from(0), second.changes_from(0));
        prop_assert_eq!(received, again);
        first.check().unwrap();

        // Automerge takes them one at a time as well, in the same order
        let mut live = Automerge::new_with_encoding(TextEncoding::UnicodeCodePoint);
        for raw in std::iter::once(GENESIS).chain(first.changes_from(0).iter().map(Change::raw)) {
            live.apply_changes([automerge::Change::try_from(raw).unwrap()]).unwrap();
        }
        let saved = Document::from_saved(&live.save()).unwrap();
        prop_assert_eq!(saved.heads(), first.heads());
        prop_assert_eq!(entries(&saved), entries(&first));

        // one at a time here, until nothing more is taken
        let mut third = Document::new();
        loop {
            let before = third.len();
            for raw in &batch {
                third.receive(&[raw], &mut gate);
            }
            if third.len() == before { break; }
        }
        third.check().unwrap();
    }

    #[test]
    fn a_saved_document_opens_with_the_same_changes(history in events()) {
        let mut world = World::new();
        for event in &history {
            world.play(event);
        }
        for home in &world.homes {
            let opened = Document::from_saved(&home.document.save().unwrap()).unwrap();
            prop_assert_eq!(opened.heads(), home.document.heads());
            prop_assert_eq!(entries(&opened), entries(&home.document));
            let names = |document: &Document| {
                document.changes_from(0).iter().map(|change| change.raw().to_vec()).collect::<BTreeSet<_>>()
            };
            prop_assert_eq!(names(&opened), names(&home.document));
        }
    }

    #[test]
    fn automerge_commits_the_very_same_bytes(
        sizes in prop::collection::vec(prop::collection::vec(prop_oneof![5..8usize, 5..300usize], 1..9), 1..6),
    ) {
        let mut ours = Document::new();
        let mut theirs = Automerge::new_with_encoding(TextEncoding::UnicodeCodePoint);
        theirs.apply_changes([automerge::Change::try_from(GENESIS).unwrap()]).unwrap();
        let map = theirs.get(ROOT, ENTRIES).unwrap().unwrap().1;
        theirs.set_actor(ActorId::from(actor(1).bytes()));
        for (round, sizes) in sizes.iter().enumerate() {
            let mut puts: Vec<_> = sizes.iter().enumerate()
                .map(|(at, size)| entry(u32::try_from(round * 100 + at).unwrap(), 1, *size))
                .collect();
            puts.sort();
            let written = ours.commit(actor(1), &puts).unwrap();
            let mut transaction = theirs.transaction();
            for (id, value) in puts {
                transaction.put(&map, id.to_hex(), value).unwrap();
            }
            transaction.commit_with(CommitOptions::default().with_time(0));
            let change = theirs.get_last_local_change().unwrap();
            prop_assert_eq!(change.raw_bytes(), written[0].raw());
            prop_assert_eq!(change.hash().0, written[0].hash().0);
        }
    }
}

#[test]
fn a_commit_leaves_out_what_is_held_and_splits_what_is_large() {
    let mut document = Document::new();
    let many: Vec<_> = (0..600).map(|number| entry(number, 1, 40)).collect();
    let changes = document.commit(actor(1), &many).unwrap();
    let sizes: Vec<_> = changes.iter().map(|change| change.puts().len()).collect();
    assert_eq!(sizes, [MAX_PUTS, MAX_PUTS, 600 - 2 * MAX_PUTS]);
    assert!(document.commit(actor(1), &many).unwrap().is_empty());
    let large: Vec<_> = (1000..1003).map(|number| entry(number, 1, MAX_ENTRY)).collect();
    assert_eq!(document.commit(actor(1), &large).unwrap().len(), 3);
    let twice = [entry(2000, 2, 40), entry(2000, 1, 40), entry(2001, 1, 40)];
    assert_eq!(document.commit(actor(1), &twice).unwrap().len(), 2);
    assert_eq!(document.entry(&twice[0].0), Some(twice[1].1.as_slice()));
    document.check().unwrap();
}

#[test]
fn a_commit_that_cannot_be_whole_leaves_nothing() {
    let mut document = Document::new();
    let (id, value) = entry(1, 1, 40);
    let large = vec![1; MAX_ENTRY + 1];
    let other = EntryId::new([1; 32]);
    let refused = document.commit(actor(1), &[(id, value.as_slice()), (other, &large)]);
    assert_eq!(refused, Err(CommitError::EntryTooLarge { id: other, size: MAX_ENTRY + 1 }));
    let refused = document.commit(actor(1), &[(id, value.as_slice()), (other, &[])]);
    assert_eq!(refused, Err(CommitError::EmptyEntry(other)));
    assert_eq!(document.commit(GENESIS_ACTOR, &[(id, &value)]), Err(CommitError::GenesisActor));
    assert!(document.is_empty());
    document.commit(actor(1), &[(id, &value)]).unwrap();
    let from = document.clone();
    let stale = repack(&Document::new(), from, actor(1)).unwrap_err();
    assert_eq!(stale, CommitError::ActorNotFresh(actor(1)));
}

#[test]
fn with_more_than_64_heads_a_commit_names_its_own_last_and_63_others() {
    let mut document = Document::new();
    document.commit(actor(200), &[entry(999, 1, 40)]).unwrap();
    let own = document.heads()[0];
    let batch: Vec<_> = (0..150u8)
        .map(|number| {
            let (id, value) = entry(u32::from(number), 1, 40);
            encode(actor(number), 1, 2, &[genesis_hash()], &[(id, &value)]).unwrap()
        })
        .collect();
    document.receive(&batch, &mut gate);
    assert_eq!(document.heads().len(), 151);
    let change = document.commit(actor(200), &[entry(1000, 1, 40)]).unwrap().remove(0);
    assert_eq!(change.deps().len(), MAX_DEPS);
    assert!(change.deps().contains(&own));
    assert_eq!(document.heads().len(), 151 - MAX_DEPS + 1);
    for number in 1001..1003 {
        document.commit(actor(200), &[entry(number, 1, 40)]).unwrap();
    }
    assert_eq!(document.heads().len(), 1);
    document.check().unwrap();
    // all of it in one batch, from the other end
    let mut batch: Vec<_> = document.changes_from(0).iter().map(|change| change.raw().to_vec()).collect();
    batch.reverse();
    let mut other = Document::new();
    assert!(rules(&other.receive(&batch, &mut gate)).is_empty());
    assert_eq!(other.heads(), document.heads());
}

#[test]
fn an_entry_is_at_the_office_if_any_change_there_holds_it() {
    let (first, second, third) = (entry(1, 1, 40), entry(2, 1, 40), entry(3, 1, 40));
    let mut office = Document::new();
    office.commit(actor(1), std::slice::from_ref(&first)).unwrap();
    let mut home = office.clone();
    let mut other = office.clone();
    other.commit(actor(2), std::slice::from_ref(&second)).unwrap();
    office.receive(&raws(&other.answer(&office.heads(), usize::MAX).changes), &mut gate);
    // the same entry by another way, before the office's change of it is known
    home.commit(actor(3), &[second.clone(), third.clone()]).unwrap();
    let mut beyond = vec![second.0, third.0];
    beyond.sort();
    assert_eq!(home.entries_beyond(&office.heads()).len(), 3, "heads unknown here count for nothing");
    assert_eq!(home.entries_beyond(&[home.changes_from(0)[0].hash()]), beyond);
    home.receive(&raws(&office.answer(&home.heads(), usize::MAX).changes), &mut gate);
    assert_eq!(home.entries_beyond(&office.heads()), [third.0]);
    assert_eq!(home.entries_beyond(&home.heads()), []);
}

#[test]
fn an_answer_holds_what_is_lacking_in_order_and_in_portions() {
    let mut document = Document::new();
    for number in 0..50u32 {
        document.commit(actor(number.to_le_bytes()[0] % 5), &[entry(number, 1, 400)]).unwrap();
    }
    let unknown = ChangeHash([9; 32]);
    let known = document.changes_from(0)[19].hash();
    let answer = document.answer(&[known, unknown], usize::MAX);
    assert_eq!(answer.unknown_heads, [unknown]);
    assert!(!answer.more);
    assert_eq!(answer.changes, document.changes_from(20).iter().collect::<Vec<_>>());
    assert!(document.answer(&document.heads(), 0).changes.is_empty());

    let mut behind = Document::new();
    let mut rounds = 0;
    loop {
        let answer = document.answer(&behind.heads(), 2000);
        behind.receive(&raws(&answer.changes), &mut gate);
        rounds += 1;
        if !answer.more {
            break;
        }
    }
    assert_eq!(behind.heads(), document.heads());
    assert!(rounds > 10, "{rounds}");
    let one = document.answer(&[], 0);
    assert!(one.more && one.changes.len() == 1, "never an empty portion");
}
