//! A legal change, read once.

use std::fmt;
use std::ops::Range;
use std::sync::Arc;

use super::genesis::GENESIS_OP;
use super::hash::{Actor, ChangeHash};
use crate::entry::EntryId;

/// One entry in a change.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Put<'a> {
    /// The key under which it is stored: the id the entry claims.
    pub id: EntryId,
    /// The bytes of the entry.
    pub value: &'a [u8],
}

/// A legal change: its bytes are exactly what [`encode`](super::encode) writes.
///
/// Cheap to clone: the bytes are shared.
#[derive(Clone, PartialEq, Eq)]
pub struct Change {
    pub(super) hash: ChangeHash,
    pub(super) actor: Actor,
    pub(super) seq: u64,
    pub(super) start_op: u64,
    pub(super) deps: Arc<[ChangeHash]>,
    pub(super) puts: Arc<[(EntryId, Range<usize>)]>,
    pub(super) raw: Arc<[u8]>,
}

impl Change {
    /// Its name.
    #[must_use]
    pub const fn hash(&self) -> ChangeHash {
        self.hash
    }

    /// Who wrote it, as Automerge sees it.
    #[must_use]
    pub const fn actor(&self) -> Actor {
        self.actor
    }

    /// Its number among the actor's changes, from 1.
    #[must_use]
    pub const fn seq(&self) -> u64 {
        self.seq
    }

    /// The number of its first operation.
    #[must_use]
    pub const fn start_op(&self) -> u64 {
        self.start_op
    }

    /// The number of its last operation.
    #[must_use]
    pub fn max_op(&self) -> u64 {
        let puts = u64::try_from(self.puts.len()).unwrap_or(u64::MAX);
        self.start_op.saturating_add(puts).saturating_sub(GENESIS_OP)
    }

    /// The earlier changes it names, sorted.
    #[must_use]
    pub fn deps(&self) -> &[ChangeHash] {
        &self.deps
    }

    /// The entries it puts, sorted by id.
    pub fn puts(&self) -> impl ExactSizeIterator<Item = Put<'_>> {
        self.puts.iter().map(|(id, at)| Put { id: *id, value: self.slice(at) })
    }

    /// The bytes as stored and sent.
    #[must_use]
    pub fn raw(&self) -> &[u8] {
        &self.raw
    }

    /// The value at a place that the parser found in these bytes.
    pub(super) fn slice(&self, at: &Range<usize>) -> &[u8] {
        self.raw.get(at.clone()).unwrap_or_default()
    }
}

impl fmt::Debug for Change {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Change")
            .field("hash", &self.hash)
            .field("actor", &self.actor)
            .field("seq", &self.seq)
            .field("start_op", &self.start_op)
            .field("deps", &self.deps)
            .field("puts", &self.puts.len())
            .finish_non_exhaustive()
    }
}
