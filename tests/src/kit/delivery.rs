//! The same entries in every order of delivery, at once and one at a time: the same bytes.

use std::collections::BTreeMap;

use gudgeon_core::assess::{Assessment, Record, Workshop, assess};
use gudgeon_core::entry::{Entry, EntryId};
use gudgeon_core::log::Log;

use super::seen::Seen;
use super::world::World;
use crate::model::rng::Rng;

/// Most entries that are delivered in every order.
const EVERY_ORDER: usize = 6;
/// Random orders of everything, the founding and the definition among them.
const SHUFFLES: u64 = 4;
/// One look in so many updates, when delivering one at a time.
const LOOKS: usize = 4;
/// Random orders in which the workshop's entries arrive among the record's.
const INTERLEAVED: u64 = 2;

/// Delivers the base, then these, in many orders; says what they come to.
pub(super) fn check(world: &World, said: &[Entry]) -> Seen {
    let mut base = world.fresh_view();
    let fixed = said.len().saturating_sub(EVERY_ORDER);
    said[..fixed].iter().for_each(|entry| base.insert(entry));
    let mut tree = Tree { workshop: &world.workshop, full: BTreeMap::new(), expected: None };
    let begun = assess(&base, &world.workshop);
    tree.walk(&base, &begun, &said[fixed..]);
    let expected = tree.expected.clone().expect("at least one order");
    let seen = check_lightly(world, said);
    same("in the order it was said", &expected, &seen.bytes());
    seen
}

/// Delivers once, in the order given.
pub(super) fn in_order(world: &World, said: &[Entry]) -> Seen {
    let mut record = world.fresh_view();
    said.iter().for_each(|entry| record.insert(entry));
    let assessment = assess(&record, &world.workshop);
    Seen::new(record, world.workshop.clone(), assessment)
}

/// Delivers in a few random orders only.
pub(super) fn check_lightly(world: &World, said: &[Entry]) -> Seen {
    let seen = in_order(world, said);
    let expected = seen.bytes();
    let all: Vec<&Entry> = world.base.iter().chain(said).collect();
    for seed in 0..SHUFFLES {
        let (record, assessment) = piecewise(world, all.clone(), seed);
        let bytes = assessment.to_bytes(&record, &world.workshop);
        same("shuffled, one at a time", &expected, &bytes);
        let full = assess(&record, &world.workshop).to_bytes(&record, &world.workshop);
        same("shuffled, all at once", &expected, &full);
    }
    for seed in 0..INTERLEAVED {
        same("the workshop in between", &expected, &interleaved(world, all.clone(), seed));
    }
    seen
}

/// Everything in a random order, one at a time.
fn piecewise(world: &World, mut all: Vec<&Entry>, seed: u64) -> (Record, Assessment) {
    let mut rng = Rng::new(seed);
    rng.shuffle(&mut all);
    let mut record = Record::new(world.record);
    let mut assessment = assess(&record, &world.workshop);
    for entry in all {
        record.insert(entry);
        assessment.update(&record, &world.workshop);
        // On the way, too: what one update leaves out the next may make good.
        if rng.one_in(LOOKS) {
            let full = assess(&record, &world.workshop).to_bytes(&record, &world.workshop);
            same("on the way", &full, &assessment.to_bytes(&record, &world.workshop));
        }
    }
    (record, assessment)
}

/// Record and workshop arrive mixed and shuffled, the workshop's founding first.
fn interleaved(world: &World, mut all: Vec<&Entry>, seed: u64) -> Vec<u8> {
    let mut rng = Rng::new(seed);
    rng.shuffle(&mut all);
    let (founding, rest) = world.workshop_entries.split_first().expect("a founded workshop");
    let mut log = Log::new(world.workshop.log().document());
    log.insert(founding);
    let mut workshop = Workshop::read(log);
    let mut ruled: Vec<&Entry> = rest.iter().collect();
    rng.shuffle(&mut ruled);
    let mut record = Record::new(world.record);
    let mut assessment = assess(&record, &workshop);
    while !(all.is_empty() && ruled.is_empty()) {
        match if rng.below(all.len() + ruled.len()) < all.len() { all.pop() } else { None } {
            Some(entry) => record.insert(entry),
            None => workshop = ruled.pop().map_or(workshop.clone(), |entry| workshop.with(entry)),
        }
        assessment.update(&record, &workshop);
    }
    assessment.to_bytes(&record, &workshop)
}

/// The tree of all orders; what two orders have in common is computed once.
struct Tree<'w> {
    workshop: &'w Workshop,
    /// By the order in which entries came to be folded.
    full: BTreeMap<Vec<EntryId>, ()>,
    expected: Option<Vec<u8>>,
}

impl Tree<'_> {
    fn walk(&mut self, record: &Record, assessment: &Assessment, rest: &[Entry]) {
        if rest.is_empty() {
            return self.arrive(record, assessment);
        }
        for at in 0..rest.len() {
            let mut others = rest.to_vec();
            let next = others.remove(at);
            let (mut record, mut assessment) = (record.clone(), assessment.clone());
            record.insert(&next);
            assessment.update(&record, self.workshop);
            self.walk(&record, &assessment, &others);
        }
    }

    fn arrive(&mut self, record: &Record, assessment: &Assessment) {
        let bytes = assessment.to_bytes(record, self.workshop);
        let expected = self.expected.get_or_insert_with(|| bytes.clone());
        same("one at a time", expected, &bytes);
        let order = record.log().folded().iter().map(|statement| statement.id).collect();
        if self.full.insert(order, ()).is_none() {
            let full = assess(record, self.workshop).to_bytes(record, self.workshop);
            same("all at once", expected, &full);
        }
    }
}

/// Fails with the first place where two assessments differ.
fn same(how: &str, expected: &[u8], found: &[u8]) {
    if expected == found {
        return;
    }
    let at = expected.iter().zip(found).take_while(|(a, b)| a == b).count();
    let around = |bytes: &[u8]| {
        let (from, to) = (at.saturating_sub(400), (at + 300).min(bytes.len()));
        String::from_utf8_lossy(&bytes[from..to]).into_owned()
    };
    panic!("{how}, the bytes differ at {at}:\n--- {}\n+++ {}", around(expected), around(found));
}
