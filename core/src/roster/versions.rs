//! Statements that replace one another: the latest known stands.

use crate::entry::{EntryId, KeyId};
use crate::log::{Ix, Log};

/// One counted statement about a thing that may be stated again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Version<T> {
    /// Name of the entry; its place is the workshop log's affair.
    pub id: EntryId,
    /// Key that signed it.
    pub by: KeyId,
    /// Whether a lead or the root stated it.
    pub by_lead: bool,
    /// What it says.
    pub says: T,
}

/// All counted statements about one thing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Versions<T> {
    /// In order of id.
    all: Vec<Version<T>>,
    /// Those that no other one's author held, in order of id.
    newest: Vec<EntryId>,
}

impl<T: PartialEq> Versions<T> {
    pub(super) fn new(log: &Log, mut versions: Vec<Version<T>>) -> Self {
        versions.sort_by_key(|version| version.id);
        let places: Vec<Ix> = versions.iter().filter_map(|version| log.place(&version.id)).collect();
        let newest = newest(log, &places).into_iter().map(|ix| log.at(ix).id).collect();
        Self { all: versions, newest }
    }

    /// All of them, in order of id.
    #[must_use]
    pub fn all(&self) -> &[Version<T>] {
        &self.all
    }

    /// Those that no other one's author held, in order of id: one, or concurrent ones.
    pub fn newest(&self) -> impl Iterator<Item = &Version<T>> {
        self.all.iter().filter(|version| self.newest.contains(&version.id))
    }

    /// The one that stands; none where concurrent ones differ. Of concurrent ones that say
    /// the same, a lead's is shown, then the one with the smallest id.
    #[must_use]
    pub fn latest(&self) -> Option<&Version<T>> {
        let first = self.newest().find(|version| version.by_lead).or_else(|| self.newest().next())?;
        self.newest().all(|version| version.says == first.says).then_some(first)
    }
}

/// The places that no other one of them knows, in the order given.
pub(super) fn newest(log: &Log, places: &[Ix]) -> Vec<Ix> {
    places.iter().copied().filter(|ix| !places.iter().any(|other| log.knows(*other, *ix))).collect()
}
