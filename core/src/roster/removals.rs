//! Removals and admits: which entries of a removed key still stand.

use std::collections::{BTreeMap, BTreeSet};

use crate::entry::{DocumentId, EntryId, KeyId, payload};
use crate::log::{Ix, Log};

/// A removal that binds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Removal {
    /// Name of the removal entry.
    pub id: EntryId,
    /// Key that signed it.
    pub by: KeyId,
    /// The removed key.
    pub key: KeyId,
    /// Per document, the key's last accepted entries; a document that is not named keeps nothing.
    pub accepted: BTreeMap<DocumentId, BTreeSet<EntryId>>,
    /// Why.
    pub reason: String,
    /// The device is lost.
    pub lost_device: bool,
}

impl Removal {
    pub(super) fn read(id: EntryId, by: KeyId, says: &payload::Removal) -> Self {
        let mut accepted: BTreeMap<DocumentId, BTreeSet<EntryId>> = BTreeMap::new();
        for (document, ids) in &says.accepted {
            accepted.entry(*document).or_default().extend(ids);
        }
        let (reason, lost_device) = (says.reason.clone(), says.lost_device);
        Self { id, by, key: says.key, accepted, reason, lost_device }
    }

    /// Whether it leaves the entry at `ix`, of the removed key, standing.
    fn keeps(&self, log: &Log, ix: Ix) -> bool {
        reached_by_own(log, ix, self.listed(log))
    }

    /// An entry it leaves standing in this document and that is not here.
    pub(super) fn awaited(&self, log: &Log) -> Option<EntryId> {
        self.listed(log).find(|id| !log.holds(id)).copied()
    }

    fn listed<'a>(&'a self, log: &Log) -> impl Iterator<Item = &'a EntryId> {
        self.accepted.get(&log.document()).into_iter().flatten()
    }
}

/// Whether one of the named entries is of the same key as that at `ix` and is it or reaches it.
fn reached_by_own<'a>(log: &Log, ix: Ix, ids: impl IntoIterator<Item = &'a EntryId>) -> bool {
    let key = log.at(ix).key;
    ids.into_iter().any(|id| log.held(id).is_some_and(|s| s.key == key) && log.reaches(id, ix))
}

/// Removals in force, by the key they remove, each list in order of id.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Cuts(BTreeMap<KeyId, Vec<Removal>>);

impl Cuts {
    pub(super) fn add(&mut self, removal: Removal) {
        let list = self.0.entry(removal.key).or_default();
        list.insert(list.partition_point(|other| other.id < removal.id), removal);
    }

    pub(super) fn of(&self, key: KeyId) -> &[Removal] {
        self.0.get(&key).map_or(&[], Vec::as_slice)
    }

    pub(super) fn holds(&self, removal: EntryId) -> bool {
        self.0.values().flatten().any(|other| other.id == removal)
    }

    /// The first removal that cuts the entry off.
    pub(super) fn cut(&self, log: &Log, ix: Ix) -> Option<&Removal> {
        self.cutting(log, ix).next()
    }

    /// All removals that cut the entry off.
    pub(super) fn cutting<'a, 'l>(
        &'a self,
        log: &'l Log,
        ix: Ix,
    ) -> impl Iterator<Item = &'a Removal> + use<'a, 'l> {
        self.of(log.at(ix).key).iter().filter(move |removal| !removal.keeps(log, ix))
    }
}

/// What the admits that bind name.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Admitted {
    pub(super) entries: BTreeSet<EntryId>,
    /// The admits themselves.
    pub(super) by: BTreeSet<EntryId>,
}

impl Admitted {
    pub(super) fn hold(&self, log: &Log, ix: Ix) -> bool {
        reached_by_own(log, ix, &self.entries)
    }
}
