//! Taking changes from others: causal order, admission, gate.

use std::collections::{BTreeMap, BTreeSet};

use sha2::{Digest, Sha256};

use super::change::Change;
use super::genesis::GENESIS;
use super::hash::ChangeHash;
use super::index::Document;
use super::parse::parse;
use super::rule::Rule;
use crate::entry::{self, EntryId};

/// Why the gate refuses an entry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// Short name of the rule that never changes.
    pub rule: &'static str,
    /// What is expected, and the way out.
    pub hint: String,
}

impl From<entry::Refusal> for Refusal {
    fn from(refusal: entry::Refusal) -> Self {
        Self { rule: refusal.rule(), hint: format!("{refusal}; {}", refusal.hint()) }
    }
}

/// Something of a batch that was not taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    /// Name of the change; of bytes too damaged to have one, their SHA-256.
    pub change: ChangeHash,
    /// The entry at fault, if it was an entry; its sound neighbours are not at fault.
    pub entry: Option<EntryId>,
    /// Short name of the rule.
    pub rule: &'static str,
    /// What is expected, and the way out.
    pub hint: String,
}

/// What became of a batch.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Received {
    /// Changes taken now, in the order they were appended.
    pub accepted: Vec<ChangeHash>,
    /// Entries first seen now, in that order.
    pub new_entries: Vec<EntryId>,
    /// Everything at fault in the batch.
    pub refused: Vec<Refused>,
    /// Named by changes of the batch, held by nobody here, sorted: send these as well.
    /// The changes that named them were not kept.
    pub unknown_deps: Vec<ChangeHash>,
}

/// Checks an entry before it is kept: shape, id, signature, record, size.
pub type Gate<'a> = dyn FnMut(EntryId, &[u8]) -> Result<(), Refusal> + 'a;

impl Document {
    /// Takes what is sound of a batch of raw changes, in any order.
    ///
    /// A change already held is passed over. One that breaks a rule, or holds an entry that
    /// the gate refuses, is refused with all that builds on it. One that names an unknown
    /// change is not kept, nor what builds on it. The rest is taken, each change whole.
    /// The gate sees every entry of a change that may be taken whose value is not held yet.
    pub fn receive<B: AsRef<[u8]>>(&mut self, batch: &[B], gate: &mut Gate<'_>) -> Received {
        let mut sorting = Sorting::default();
        for raw in batch {
            sorting.read(self, raw.as_ref());
        }
        sorting.link();
        while let Some(hash) = sorting.ready.pop_first() {
            if let Some(change) = sorting.pending.remove(&hash) {
                sorting.settle(self, change, gate);
            }
            sorting.release(hash);
        }
        sorting.received.unknown_deps = sorting.unknown.into_iter().collect();
        sorting.received
    }
}

/// A batch on its way through the checks. Sets and maps are ordered by name, so the
/// outcome does not hang on the order of arrival.
#[derive(Default)]
struct Sorting {
    /// Read, and not yet settled.
    pending: BTreeMap<ChangeHash, Change>,
    /// How many changes of the batch each pending change still waits for.
    waits: BTreeMap<ChangeHash, usize>,
    /// Changes of the batch that name the key.
    followers: BTreeMap<ChangeHash, Vec<ChangeHash>>,
    /// Waiting for nothing in the batch.
    ready: BTreeSet<ChangeHash>,
    refused: BTreeSet<ChangeHash>,
    /// Not kept because something before them is unknown.
    orphans: BTreeSet<ChangeHash>,
    unknown: BTreeSet<ChangeHash>,
    received: Received,
}

impl Sorting {
    fn read(&mut self, document: &Document, raw: &[u8]) {
        if raw == GENESIS {
            return;
        }
        match parse(raw) {
            Ok(change) if document.contains(&change.hash()) => {}
            Ok(change) => {
                self.pending.insert(change.hash(), change);
            }
            Err(illegal) => {
                let digest = || ChangeHash(Sha256::digest(raw).into());
                let name = illegal.hash().unwrap_or_else(digest);
                if self.refused.insert(name) {
                    self.refuse(name, None, illegal.rule().name(), illegal.hint());
                }
            }
        }
    }

    /// Finds who waits for whom.
    fn link(&mut self) {
        for (hash, change) in &self.pending {
            let within = change.deps().iter().filter(|dep| self.pending.contains_key(*dep));
            let mut count = 0;
            for dep in within {
                self.followers.entry(*dep).or_default().push(*hash);
                count += 1;
            }
            if count == 0 {
                self.ready.insert(*hash);
            } else {
                self.waits.insert(*hash, count);
            }
        }
    }

    fn release(&mut self, hash: ChangeHash) {
        for follower in self.followers.remove(&hash).unwrap_or_default() {
            if let Some(count) = self.waits.get_mut(&follower) {
                *count -= 1;
                if *count == 0 {
                    self.ready.insert(follower);
                }
            }
        }
    }

    /// Decides on a change all of whose deps are decided.
    fn settle(&mut self, document: &mut Document, change: Change, gate: &mut Gate<'_>) {
        if change.deps().iter().any(|dep| self.refused.contains(dep)) {
            return self.break_rule(&change, Rule::FollowsRefused);
        }
        if self.is_orphan(document, &change) {
            self.orphans.insert(change.hash());
            return;
        }
        if let Err(rule) = admit(document, &change) {
            return self.break_rule(&change, rule);
        }
        let faults = faults(document, &change, gate);
        if faults.is_empty() {
            self.received.accepted.push(change.hash());
            self.received.new_entries.extend(document.append(change));
            return;
        }
        self.refused.insert(change.hash());
        for (entry, refusal) in faults {
            self.refuse(change.hash(), Some(entry), refusal.rule, refusal.hint);
        }
    }

    /// Whether something before the change is unknown; notes what.
    fn is_orphan(&mut self, document: &Document, change: &Change) -> bool {
        let mut orphan = false;
        for dep in change.deps().iter().filter(|dep| !document.contains(dep)) {
            orphan = true;
            if !self.orphans.contains(dep) {
                self.unknown.insert(*dep);
            }
        }
        orphan
    }

    fn break_rule(&mut self, change: &Change, rule: Rule) {
        self.refused.insert(change.hash());
        self.refuse(change.hash(), None, rule.name(), rule.hint().to_owned());
    }

    fn refuse(&mut self, change: ChangeHash, entry: Option<EntryId>, rule: &'static str, hint: String) {
        self.received.refused.push(Refused { change, entry, rule, hint });
    }
}

/// The rules that need the document; all deps of the change are held.
///
/// With its predecessor named and held, a change that is not taken yet is the actor's next.
/// Naming it is not a formality. Were a change free to leave it out, it could number its
/// operations as that one did, and two operations of one name spoil the document for good.
/// Automerge itself always names it.
fn admit(document: &Document, change: &Change) -> Result<(), Rule> {
    let before = change.seq().saturating_sub(1);
    let is_before = |dep: &Change| dep.actor() == change.actor() && dep.seq() == before;
    if before > 0 && !change.deps().iter().filter_map(|dep| document.change(dep)).any(is_before) {
        return Err(Rule::OwnLast);
    }
    if document.seq_of(&change.actor()).unwrap_or(0) > before {
        return Err(Rule::ActorTaken);
    }
    if change.start_op() != document.max_op(change.deps()) + 1 {
        return Err(Rule::StartOpFollows);
    }
    Ok(())
}

/// Everything that the gate has against the entries of a change.
fn faults(document: &Document, change: &Change, gate: &mut Gate<'_>) -> Vec<(EntryId, Refusal)> {
    let new = change.puts().filter(|put| !document.holds(&put.id, put.value));
    new.filter_map(|put| gate(put.id, put.value).err().map(|refusal| (put.id, refusal))).collect()
}
