//! All entries of one document that passed the gate, and what each author knew.
//!
//! An entry is held at once, but *folded* only when everything it reaches through `after`
//! is held; until then it is missing its ground. Places ([`Ix`]) follow the order of
//! arrival: use them to look things up, never to decide or to show.

mod knowledge;
#[cfg(test)]
mod tests;

use std::collections::{BTreeMap, BTreeSet};

use crate::entry::{DocumentId, Entry, EntryId, KeyId, Kind, MAX_AFTER, Payload, Unreadable};

pub use knowledge::Ix;
use knowledge::Knowledge;

/// A folded or waiting entry, read: what the fold needs of it.
#[derive(Clone, Debug)]
pub struct Statement {
    /// Name of the entry.
    pub id: EntryId,
    /// Key that signed it.
    pub key: KeyId,
    /// Number of its kind.
    pub kind_code: u32,
    /// Milliseconds since 1970 by its author's device.
    pub device_time: i64,
    /// Oldest reader that may judge it.
    pub min_reader: u32,
    /// Newest entries its author held.
    pub after: Vec<EntryId>,
    /// What it says, or why that cannot be read.
    pub payload: Result<Payload, Unreadable>,
}

impl Statement {
    /// Its kind, if known to this version.
    #[must_use]
    pub fn kind(&self) -> Option<Kind> {
        Kind::from_code(self.kind_code)
    }

    fn read(entry: &Entry) -> Self {
        let envelope = entry.envelope();
        Self {
            id: entry.id(),
            key: entry.key(),
            kind_code: envelope.kind_code,
            device_time: envelope.device_time,
            min_reader: envelope.min_reader,
            after: envelope.after.clone(),
            payload: Payload::read(envelope.kind_code, &envelope.payload),
        }
    }
}

/// The entries of one document.
#[derive(Clone, Debug)]
pub struct Log {
    document: DocumentId,
    folded: Vec<Statement>,
    places: BTreeMap<EntryId, Ix>,
    knowledge: Knowledge,
    waiting: BTreeMap<EntryId, Statement>,
    /// Missing entry -> entries that name it.
    wanted: BTreeMap<EntryId, BTreeSet<EntryId>>,
    /// Folded entries that no folded entry names: the newest.
    heads: BTreeSet<EntryId>,
    /// Place of the entry whose id is the document's, asked for every entry's authority.
    founding: Option<Ix>,
}

impl Log {
    /// An empty log of a document.
    #[must_use]
    pub const fn new(document: DocumentId) -> Self {
        Self {
            document,
            folded: Vec::new(),
            places: BTreeMap::new(),
            knowledge: Knowledge::new(),
            waiting: BTreeMap::new(),
            wanted: BTreeMap::new(),
            heads: BTreeSet::new(),
            founding: None,
        }
    }

    /// The document.
    #[must_use]
    pub const fn document(&self) -> DocumentId {
        self.document
    }

    /// Adds an entry; again is a no-op. Returns how many entries could be folded by it.
    pub fn insert(&mut self, entry: &Entry) -> usize {
        let id = entry.id();
        if self.places.contains_key(&id) || self.waiting.contains_key(&id) {
            return 0;
        }
        let statement = Statement::read(entry);
        let missing: Vec<EntryId> =
            statement.after.iter().copied().filter(|id| !self.places.contains_key(id)).collect();
        if missing.is_empty() {
            return self.fold(statement);
        }
        for wanted in missing {
            self.wanted.entry(wanted).or_default().insert(id);
        }
        self.waiting.insert(id, statement);
        0
    }

    /// The folded entries, in an order in which each follows all that it knows.
    #[must_use]
    pub fn folded(&self) -> &[Statement] {
        &self.folded
    }

    /// A folded entry by place.
    #[must_use]
    pub fn at(&self, ix: Ix) -> &Statement {
        &self.folded[ix as usize]
    }

    /// Place of a folded entry.
    #[must_use]
    pub fn place(&self, id: &EntryId) -> Option<Ix> {
        self.places.get(id).copied()
    }

    /// A folded entry by name.
    #[must_use]
    pub fn get(&self, id: &EntryId) -> Option<&Statement> {
        self.place(id).map(|ix| self.at(ix))
    }

    /// The folded entry whose id is the document's: what founded it.
    #[must_use]
    pub fn founding(&self) -> Option<&Statement> {
        self.founding.map(|ix| self.at(ix))
    }

    /// A held entry by name, folded or waiting.
    #[must_use]
    pub fn held(&self, id: &EntryId) -> Option<&Statement> {
        self.get(id).or_else(|| self.waiting.get(id))
    }

    /// Whether the entry is held, folded or waiting.
    #[must_use]
    pub fn holds(&self, id: &EntryId) -> bool {
        self.places.contains_key(id) || self.waiting.contains_key(id)
    }

    /// Entries that miss their ground, by id.
    pub fn waiting(&self) -> impl Iterator<Item = &Statement> {
        self.waiting.values()
    }

    /// Entries that are named but not held.
    pub fn wanted(&self) -> impl Iterator<Item = EntryId> + '_ {
        self.wanted.keys().copied().filter(|id| !self.waiting.contains_key(id))
    }

    /// Whether the author of `later` held `earlier`.
    #[must_use]
    pub fn knows(&self, later: Ix, earlier: Ix) -> bool {
        self.knowledge.knows(later, earlier)
    }

    /// Whether the held entry named `from` is the one at `ix` or reaches it.
    ///
    /// Also asked of entries that miss their ground: what they do reach, they reach.
    #[must_use]
    pub fn reaches(&self, from: &EntryId, ix: Ix) -> bool {
        let (mut open, mut seen) = (vec![*from], BTreeSet::new());
        while let Some(id) = open.pop() {
            if let Some(place) = self.place(&id) {
                if place == ix || self.knows(place, ix) {
                    return true;
                }
            } else if let Some(waiting) = self.waiting.get(&id)
                && seen.insert(id)
            {
                open.extend(&waiting.after);
            }
        }
        false
    }

    /// Whether neither author held the other's entry.
    #[must_use]
    pub fn concurrent(&self, a: Ix, b: Ix) -> bool {
        a != b && !self.knows(a, b) && !self.knows(b, a)
    }

    /// Whether some two entries of this key know nothing of each other.
    #[must_use]
    pub fn is_forked(&self, key: KeyId) -> bool {
        self.knowledge.is_forked(key)
    }

    /// Keys of copied or restored devices: some two of their entries know nothing of each other.
    pub fn forked_keys(&self) -> impl Iterator<Item = KeyId> + '_ {
        self.knowledge.forked_keys()
    }

    /// For each key of a copied or restored device, the entries where its ways part: those
    /// that have a concurrent entry of the same key and know no other such entry.
    #[must_use]
    pub fn forks(&self) -> BTreeMap<KeyId, BTreeSet<EntryId>> {
        let ids = |key| self.knowledge.splits_of(key).into_iter().map(|ix| self.at(ix).id).collect();
        self.forked_keys().map(|key| (key, ids(key))).collect()
    }

    /// The newest entries: at most [`crate::entry::MAX_AFTER`] of them, ascending, for `after`.
    ///
    /// With more heads than that, `key`'s own newest come first, heads or not (somebody may
    /// know them already, but that head may be left out, and a device must always know
    /// itself); then the heads with the smallest ids.
    #[must_use]
    pub fn after(&self, key: KeyId) -> Vec<EntryId> {
        if self.heads.len() <= MAX_AFTER {
            return self.heads.iter().copied().collect();
        }
        let mut own: Vec<EntryId> =
            self.knowledge.newest_of(key).into_iter().map(|ix| self.at(ix).id).collect();
        own.sort_unstable();
        let others = self.heads.iter().copied().filter(|id| !own.contains(id));
        let mut ids: Vec<EntryId> = own.iter().copied().chain(others).take(MAX_AFTER).collect();
        ids.sort_unstable();
        ids
    }

    /// The newest entries, all of them: those that no folded entry names.
    pub fn heads(&self) -> impl Iterator<Item = EntryId> + '_ {
        self.heads.iter().copied()
    }

    fn fold(&mut self, statement: Statement) -> usize {
        let mut ready = vec![statement];
        let mut count = 0;
        while let Some(statement) = ready.pop() {
            let id = statement.id;
            self.fold_one(statement);
            count += 1;
            for waiter in self.wanted.remove(&id).unwrap_or_default() {
                let grounded = |s: &Statement| s.after.iter().all(|id| self.places.contains_key(id));
                if self.waiting.get(&waiter).is_some_and(grounded) {
                    ready.extend(self.waiting.remove(&waiter));
                }
            }
        }
        count
    }

    fn fold_one(&mut self, statement: Statement) {
        let after: Vec<Ix> = statement.after.iter().filter_map(|id| self.place(id)).collect();
        self.knowledge.push(statement.key, &after);
        for id in &statement.after {
            self.heads.remove(id);
        }
        self.heads.insert(statement.id);
        let place = Ix::try_from(self.folded.len()).unwrap_or(Ix::MAX);
        if statement.id.bytes() == self.document.bytes() {
            self.founding = Some(place);
        }
        self.places.insert(statement.id, place);
        self.folded.push(statement);
    }
}
