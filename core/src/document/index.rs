//! The document's own index: all that admission needs, with no Automerge inside.

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use super::change::{Change, Put};
use super::genesis::{GENESIS_OP, genesis_hash};
use super::hash::{Actor, ChangeHash};
use crate::entry::EntryId;

/// A record or a workshop: legal changes in the order they were taken, and their entries.
///
/// The genesis change is always held and never listed.
#[derive(Clone, Debug, Default)]
pub struct Document {
    pub(super) changes: Vec<Change>,
    positions: BTreeMap<ChangeHash, usize>,
    actors: BTreeMap<Actor, Last>,
    /// Changes that no other names; empty while only the genesis is held.
    heads: BTreeSet<ChangeHash>,
    entries: BTreeMap<EntryId, Values>,
}

/// The newest change of an actor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Last {
    pub(super) seq: u64,
    pub(super) hash: ChangeHash,
}

/// Where the bytes of a value lie.
#[derive(Clone, Debug)]
struct Place {
    change: usize,
    bytes: Range<usize>,
}

/// The differing values put under one id, by their bytes; nearly always one.
type Values = Vec<Place>;

impl Document {
    /// A document that holds the genesis change and no entry.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// The changes that no other change names, sorted; the genesis in an empty document.
    #[must_use]
    pub fn heads(&self) -> Vec<ChangeHash> {
        if self.heads.is_empty() {
            return vec![genesis_hash()];
        }
        self.heads.iter().copied().collect()
    }

    /// Whether this change is held.
    #[must_use]
    pub fn contains(&self, hash: &ChangeHash) -> bool {
        *hash == genesis_hash() || self.positions.contains_key(hash)
    }

    /// A change by its name; none for the genesis.
    #[must_use]
    pub fn change(&self, hash: &ChangeHash) -> Option<&Change> {
        self.positions.get(hash).and_then(|at| self.changes.get(*at))
    }

    /// How many changes are held beside the genesis: the position of the next.
    #[must_use]
    pub fn len(&self) -> usize {
        self.changes.len()
    }

    /// Whether only the genesis is held.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.changes.is_empty()
    }

    /// The changes taken since `position`, each after those it names.
    #[must_use]
    pub fn changes_from(&self, position: usize) -> &[Change] {
        self.changes.get(position..).unwrap_or_default()
    }

    /// All entries by id. Of several values under one id, the bytewise smallest.
    pub fn entries(&self) -> impl ExactSizeIterator<Item = Put<'_>> {
        self.entries.iter().map(|(id, values)| Put { id: *id, value: self.smallest(values) })
    }

    /// The entry with this id.
    #[must_use]
    pub fn entry(&self, id: &EntryId) -> Option<&[u8]> {
        self.entries.get(id).map(|values| self.smallest(values))
    }

    /// Whether exactly this value is held under this id.
    #[must_use]
    pub fn holds(&self, id: &EntryId, value: &[u8]) -> bool {
        self.entries.get(id).is_some_and(|values| find(&self.changes, values, value).is_ok())
    }

    /// The number of the actor's last change; none if it has none.
    #[must_use]
    pub fn seq_of(&self, actor: &Actor) -> Option<u64> {
        self.last(actor).map(|last| last.seq)
    }

    pub(super) fn last(&self, actor: &Actor) -> Option<Last> {
        self.actors.get(actor).copied()
    }

    /// Position of a held change; none for the genesis and for the unknown.
    pub(super) fn position(&self, hash: &ChangeHash) -> Option<usize> {
        self.positions.get(hash).copied()
    }

    /// The highest operation number that these changes know of; unknown ones say nothing.
    pub(super) fn max_op(&self, deps: &[ChangeHash]) -> u64 {
        let known = deps.iter().filter_map(|dep| self.change(dep)).map(Change::max_op);
        known.max().unwrap_or(GENESIS_OP)
    }

    /// Takes a change that has passed every check. Returns the ids that are new here.
    pub(super) fn append(&mut self, change: Change) -> Vec<EntryId> {
        let at = self.changes.len();
        for dep in change.deps() {
            self.heads.remove(dep);
        }
        self.heads.insert(change.hash());
        self.positions.insert(change.hash(), at);
        let last = Last { seq: change.seq(), hash: change.hash() };
        self.actors.insert(change.actor(), last);
        let puts = change.puts.clone();
        self.changes.push(change);
        let new = puts.iter().filter(|(id, bytes)| self.index_value(*id, at, bytes));
        new.map(|(id, _)| *id).collect()
    }

    /// Notes a value under its id; true if the id had none.
    fn index_value(&mut self, id: EntryId, change: usize, bytes: &Range<usize>) -> bool {
        let place = Place { change, bytes: bytes.clone() };
        let values = match self.entries.entry(id) {
            Entry::Vacant(slot) => {
                slot.insert(vec![place]);
                return true;
            }
            Entry::Occupied(slot) => slot.into_mut(),
        };
        if let Err(at) = find(&self.changes, values, value_at(&self.changes, &place)) {
            values.insert(at, place);
        }
        false
    }

    fn smallest(&self, values: &Values) -> &[u8] {
        values.first().map_or(&[], |place| value_at(&self.changes, place))
    }
}

/// Where this value stands among those of its id, or where it would.
fn find(changes: &[Change], values: &Values, value: &[u8]) -> Result<usize, usize> {
    values.binary_search_by(|place| value_at(changes, place).cmp(value))
}

fn value_at<'a>(changes: &'a [Change], place: &Place) -> &'a [u8] {
    changes.get(place.change).map_or(&[], |change| change.slice(&place.bytes))
}
