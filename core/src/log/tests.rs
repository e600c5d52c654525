//! The log against the plain meaning of "reached through `after`", on random graphs with copied devices.
#![allow(clippy::unwrap_used)]

use std::collections::{BTreeMap, BTreeSet};

use super::Log;
use crate::entry::{Author, DocumentId, Entry, EntryId, Envelope, KeyId, Kind, MAX_AFTER, Payload, payload};

const DOCUMENT: DocumentId = DocumentId::new([9; 32]);

/// A seeded source of chance: a 64-bit linear congruence (multiplier from memory; only mixing matters).
struct Chance(u64);

impl Chance {
    fn below(&mut self, limit: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from((self.0 >> 33) % u64::try_from(limit.max(1)).unwrap()).unwrap()
    }

    fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.below(last + 1));
        }
    }
}

fn author(number: u8) -> Author {
    Author::from_secret(&[number; 32])
}

fn note(by: &Author, text: &str, after: impl IntoIterator<Item = EntryId>) -> Entry {
    let says = Payload::Note(payload::Note { feature: String::new(), text: text.to_owned() });
    let after: BTreeSet<EntryId> = after.into_iter().collect();
    by.sign(Envelope {
        document: Some(DOCUMENT),
        kind_code: Kind::Note.code(),
        device_time: 0,
        min_reader: 1,
        after: after.into_iter().collect(),
        payload: says.encode(),
    })
}

/// A random graph: each entry names up to three earlier ones, so that keys often part ways.
fn graph(seed: u64, size: usize) -> Vec<Entry> {
    let mut chance = Chance(seed);
    let authors: Vec<Author> = (1..=4).map(author).collect();
    let mut entries: Vec<Entry> = Vec::new();
    for number in 0..size {
        let by = &authors[chance.below(authors.len())];
        let own = entries.iter().rev().find(|e| e.key() == by.key()).map(Entry::id);
        let mut after: Vec<EntryId> = (0..chance.below(4))
            .filter_map(|_| Some(entries.get(chance.below(entries.len()))?.id()))
            .collect();
        after.extend(own.filter(|_| chance.below(4) > 0));
        entries.push(note(by, &number.to_string(), after));
    }
    entries
}

fn log_of<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Log {
    let mut log = Log::new(DOCUMENT);
    for entry in entries {
        log.insert(entry);
    }
    log
}

/// Naive reachability: for each entry, all that it reaches among these.
fn reached(entries: &[Entry]) -> BTreeMap<EntryId, BTreeSet<EntryId>> {
    let by_id: BTreeMap<EntryId, &Entry> = entries.iter().map(|e| (e.id(), e)).collect();
    let walk = |entry: &Entry| {
        let (mut open, mut seen) = (entry.envelope().after.clone(), BTreeSet::new());
        while let Some(id) = open.pop() {
            if seen.insert(id) {
                open.extend(by_id.get(&id).map(|e| e.envelope().after.clone()).unwrap_or_default());
            }
        }
        seen
    };
    entries.iter().map(|entry| (entry.id(), walk(entry))).collect()
}

/// All that a log says, by name and not by place.
#[derive(Debug, PartialEq, Eq)]
struct Told {
    folded: BTreeSet<EntryId>,
    waiting: Vec<EntryId>,
    wanted: Vec<EntryId>,
    heads: Vec<EntryId>,
    forked: Vec<KeyId>,
    forks: BTreeMap<KeyId, BTreeSet<EntryId>>,
    after: Vec<Vec<EntryId>>,
}

fn told(log: &Log) -> Told {
    Told {
        folded: log.folded().iter().map(|s| s.id).collect(),
        waiting: log.waiting().map(|s| s.id).collect(),
        wanted: log.wanted().collect(),
        heads: log.heads().collect(),
        forked: log.forked_keys().collect(),
        forks: log.forks(),
        after: (1..=5).map(|n| log.after(author(n).key())).collect(),
    }
}

#[test]
fn knows_is_reachability_whatever_the_order_of_arrival() {
    for seed in 0..40 {
        let entries = graph(seed, 40);
        let reach = reached(&entries);
        let mut arriving: Vec<&Entry> = entries.iter().collect();
        Chance(seed ^ 77).shuffle(&mut arriving);
        let log = log_of(arriving);
        assert_eq!(log.folded().len(), entries.len(), "seed {seed}");
        for later in &entries {
            for earlier in &entries {
                let (a, b) = (log.place(&later.id()).unwrap(), log.place(&earlier.id()).unwrap());
                assert_eq!(log.knows(a, b), reach[&later.id()].contains(&earlier.id()), "seed {seed}");
            }
        }
    }
}

#[test]
fn any_order_of_arrival_tells_the_same() {
    for seed in 0..60 {
        let mut chance = Chance(seed);
        let mut entries = graph(seed ^ 1000, 30);
        // Some never arrive, so that others keep waiting for them.
        entries.retain(|_| chance.below(8) > 0);
        let first = told(&log_of(&entries));
        for _ in 0..6 {
            chance.shuffle(&mut entries);
            assert_eq!(told(&log_of(&entries)), first, "seed {seed}");
        }
    }
}

#[test]
fn folded_is_what_reaches_nothing_missing() {
    for seed in 0..60 {
        let mut chance = Chance(seed);
        let whole = graph(seed ^ 2000, 30);
        let reach = reached(&whole);
        let held: Vec<Entry> = whole.into_iter().filter(|_| chance.below(6) > 0).collect();
        let ids: BTreeSet<EntryId> = held.iter().map(Entry::id).collect();
        let expected: BTreeSet<EntryId> =
            ids.iter().copied().filter(|id| reach[id].is_subset(&ids)).collect();
        let log = log_of(&held);
        assert_eq!(told(&log).folded, expected, "seed {seed}");
        assert_eq!(told(&log).waiting.len(), ids.len() - expected.len(), "seed {seed}");
    }
}

#[test]
fn forks_are_the_first_entries_with_a_concurrent_one_of_their_key() {
    for seed in 0..60 {
        let entries = graph(seed ^ 3000, 40);
        let reach = reached(&entries);
        let apart = |a: &Entry, b: &Entry| {
            a.id() != b.id()
                && a.key() == b.key()
                && !reach[&a.id()].contains(&b.id())
                && !reach[&b.id()].contains(&a.id())
        };
        let split: Vec<&Entry> = entries.iter().filter(|a| entries.iter().any(|b| apart(a, b))).collect();
        let mut expected: BTreeMap<KeyId, BTreeSet<EntryId>> = BTreeMap::new();
        for entry in &split {
            let earlier =
                |other: &&Entry| other.key() == entry.key() && reach[&entry.id()].contains(&other.id());
            if !split.iter().any(earlier) {
                expected.entry(entry.key()).or_default().insert(entry.id());
            }
        }
        assert_eq!(log_of(&entries).forks(), expected, "seed {seed}");
    }
}

#[test]
fn a_key_with_one_device_never_forks() {
    let by = author(1);
    let mut entries: Vec<Entry> = Vec::new();
    for number in 0..10 {
        let after = entries.last().map(Entry::id);
        entries.push(note(&by, &number.to_string(), after));
    }
    let log = log_of(entries.iter().rev());
    assert!(!log.is_forked(by.key()));
    assert!(log.forks().is_empty());
}

#[test]
fn inserting_twice_changes_nothing_and_counts_nothing() {
    let entries = graph(5, 20);
    let mut log = log_of(&entries);
    let before = told(&log);
    let again: usize = entries.iter().map(|entry| log.insert(entry)).sum();
    assert_eq!(again, 0);
    assert_eq!(told(&log), before);
}

#[test]
fn insert_says_how_many_it_let_in() {
    let (first, other) = (note(&author(1), "first", []), note(&author(2), "other", []));
    let middle = note(&author(1), "middle", [first.id(), other.id()]);
    let last = note(&author(2), "last", [middle.id(), first.id()]);
    let mut log = Log::new(DOCUMENT);
    let counts: Vec<usize> = [&last, &middle, &first, &other].into_iter().map(|e| log.insert(e)).collect();
    assert_eq!(counts, [0, 0, 1, 3]);
    assert_eq!(log.wanted().count(), 0);
}

#[test]
fn after_names_every_head_while_they_fit() {
    let entries: Vec<Entry> = (0..MAX_AFTER).map(|n| note(&author(2), &n.to_string(), [])).collect();
    let log = log_of(&entries);
    assert_eq!(log.after(author(1).key()), log.heads().collect::<Vec<_>>());
}

/// Own entries at the front: with 41 heads, a device's own last entry, known only to one
/// of them, must be in `after` or the device would not know itself.
#[test]
fn after_always_knows_the_devices_own_last_entry() {
    let mine = author(1);
    for seed in 0..20 {
        let own = note(&mine, &format!("own {seed}"), []);
        let over = note(&author(2), &format!("over {seed}"), [own.id()]);
        let rest = (0..40).map(|n| note(&author(3), &format!("{seed}/{n}"), []));
        let mut entries: Vec<Entry> = rest.collect();
        entries.extend([own.clone(), over]);
        let mut log = log_of(&entries);
        let after = log.after(mine.key());
        assert_eq!(after.len(), MAX_AFTER);
        assert!(after.contains(&own.id()) && after.is_sorted());
        let next = note(&mine, "next", after);
        log.insert(&next);
        assert!(!log.is_forked(mine.key()));
    }
}

#[test]
fn reaches_walks_over_entries_that_still_wait() {
    let (mine, other) = (author(1), author(2));
    let first = note(&mine, "first", []);
    let aside = note(&mine, "aside", []);
    let missing = note(&other, "missing", []);
    let second = note(&mine, "second", [first.id(), missing.id()]);
    let third = note(&mine, "third", [second.id()]);
    let mut log = log_of([&first, &aside, &second, &third]);
    let (at_first, at_aside) = (log.place(&first.id()).unwrap(), log.place(&aside.id()).unwrap());
    assert!(log.place(&third.id()).is_none() && log.held(&third.id()).is_some());
    assert!(log.reaches(&third.id(), at_first) && log.reaches(&first.id(), at_first));
    assert!(!log.reaches(&third.id(), at_aside) && !log.reaches(&missing.id(), at_first));
    log.insert(&missing);
    assert!(log.reaches(&third.id(), at_first) && !log.reaches(&third.id(), at_aside));
}
