//! Writing changes of one's own, and starting afresh from another's document.

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::change::Change;
use super::encode::{PutRef, encode};
use super::genesis::GENESIS_ACTOR;
use super::hash::{Actor, ChangeHash};
use super::index::Document;
use super::limits::{
    CHANGE_OVERHEAD, MAX_CHANGE, MAX_DEPS, MAX_ENTRY, MAX_OP, MAX_PUTS, MAX_SEQ, PUT_OVERHEAD,
};
use super::parse::parse;
use super::rule::Illegal;
use crate::entry::EntryId;

/// Why entries were not committed; nothing was.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CommitError {
    /// An entry without bytes.
    #[error("entry {0} has no bytes; leave it out")]
    EmptyEntry(EntryId),
    /// An entry larger than an entry may be.
    #[error("entry {id} has {size} bytes, more than {MAX_ENTRY}; make the photo smaller")]
    EntryTooLarge {
        /// The entry.
        id: EntryId,
        /// Its bytes.
        size: usize,
    },
    /// The genesis actor is not for commits.
    #[error("the genesis actor writes nothing more; commit under an actor of your own")]
    GenesisActor,
    /// The actor has written before.
    #[error("actor {0} has written in this document before; repack under a fresh one")]
    ActorNotFresh(Actor),
    /// The actor has no number left.
    #[error("actor {actor} has written {MAX_SEQ} changes; go on under a fresh one", actor = .0)]
    ActorFull(Actor),
    /// The document has no operation number left.
    #[error("the document has {MAX_OP} operations; go on in a new record")]
    DocumentFull,
    /// Not expected: the encoder and the checks before it disagree.
    #[error("the change written is not legal: {0}")]
    Illegal(#[from] Illegal),
}

impl Document {
    /// Commits entries under an actor: all of them or, on an error, none.
    ///
    /// The entries have passed the gate; ids already held with the same value are left
    /// out, so the answer may be empty. Large sets make several changes.
    ///
    /// # Errors
    /// [`CommitError`] if an entry, the actor or the document is out of bounds.
    pub fn commit<V: AsRef<[u8]>>(
        &mut self,
        actor: Actor,
        entries: &[(EntryId, V)],
    ) -> Result<Vec<Change>, CommitError> {
        let new: BTreeSet<PutRef<'_>> = entries
            .iter()
            .map(|(id, value)| (*id, value.as_ref()))
            .filter(|(id, value)| !self.holds(id, value))
            .collect();
        let groups = group(new);
        self.check_commit(actor, &groups)?;
        groups.iter().map(|puts| self.commit_one(actor, puts)).collect()
    }

    /// All that can go wrong, before the first change is written.
    fn check_commit(&self, actor: Actor, groups: &[Vec<PutRef<'_>>]) -> Result<(), CommitError> {
        if actor == GENESIS_ACTOR {
            return Err(CommitError::GenesisActor);
        }
        for &(id, value) in groups.iter().flatten() {
            if value.is_empty() {
                return Err(CommitError::EmptyEntry(id));
            }
            if value.len() > MAX_ENTRY {
                return Err(CommitError::EntryTooLarge { id, size: value.len() });
            }
        }
        let left = |limit: u64, used: u64| usize::try_from(limit.saturating_sub(used)).unwrap_or(usize::MAX);
        if groups.len() > left(MAX_SEQ, self.seq_of(&actor).unwrap_or(0)) {
            return Err(CommitError::ActorFull(actor));
        }
        let puts: usize = groups.iter().map(Vec::len).sum();
        if puts > left(MAX_OP, self.max_op(&self.heads())) {
            return Err(CommitError::DocumentFull);
        }
        Ok(())
    }

    fn commit_one(&mut self, actor: Actor, puts: &[PutRef<'_>]) -> Result<Change, CommitError> {
        let deps = self.next_deps(actor);
        let seq = self.seq_of(&actor).unwrap_or(0) + 1;
        let start_op = self.max_op(&deps) + 1;
        let change = parse(&encode(actor, seq, start_op, &deps, puts)?)?;
        self.append(change.clone());
        Ok(change)
    }

    /// The heads, and the actor's own last change whether it is a head or not; with too
    /// many heads, the first of them by name. The rest are named by later commits.
    fn next_deps(&self, actor: Actor) -> Vec<ChangeHash> {
        let own = self.last(&actor).map(|last| last.hash);
        let others = self.heads().into_iter().filter(|head| Some(*head) != own);
        let mut deps: Vec<_> = own.into_iter().chain(others).take(MAX_DEPS).collect();
        deps.sort_unstable();
        deps
    }
}

/// Splits entries into changes that keep the limits, each with distinct ids. Of two
/// values under one id the second goes into a later change.
fn group(entries: BTreeSet<PutRef<'_>>) -> Vec<Vec<PutRef<'_>>> {
    let mut rest: VecDeque<_> = entries.into_iter().collect();
    let mut groups = Vec::new();
    while !rest.is_empty() {
        groups.push(take_group(&mut rest));
    }
    groups
}

fn take_group<'a>(rest: &mut VecDeque<PutRef<'a>>) -> Vec<PutRef<'a>> {
    let mut group = BTreeMap::new();
    let mut later = VecDeque::new();
    let mut size = CHANGE_OVERHEAD;
    while let Some((id, value)) = rest.pop_front() {
        let grown = size + PUT_OVERHEAD + value.len();
        let full = group.len() == MAX_PUTS || (!group.is_empty() && grown > MAX_CHANGE);
        if full {
            rest.push_front((id, value));
            break;
        }
        match group.entry(id) {
            Entry::Vacant(slot) => {
                slot.insert(value);
                size = grown;
            }
            Entry::Occupied(_) => later.push_back((id, value)),
        }
    }
    rest.extend(later);
    group.into_iter().collect()
}

/// Starts from another's document and commits there, under a fresh actor, every entry of
/// one's own that it lacks, whoever wrote it.
///
/// For a client whose changes are not taken: a squatted or mismatched actor and number, a
/// restored backup. The old document is then done with.
///
/// # Errors
/// [`CommitError::ActorNotFresh`] if either document knows the actor.
pub fn repack(
    old: &Document,
    from: Document,
    fresh_actor: Actor,
) -> Result<(Document, Vec<Change>), CommitError> {
    let known = |document: &Document| document.seq_of(&fresh_actor).is_some();
    if known(old) || known(&from) {
        return Err(CommitError::ActorNotFresh(fresh_actor));
    }
    let entries: Vec<_> = old.entries().map(|put| (put.id, put.value)).collect();
    let mut document = from;
    let changes = document.commit(fresh_actor, &entries)?;
    Ok((document, changes))
}
