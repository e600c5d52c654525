//! Taking changes from others: causal order, admission, gate.

use std::collections::{BTreeMap, BTreeSet};

use sha2::{Digest, Sha256};

use super::change::Change;
use super::genesis::{GENESIS, GENESIS_OP, genesis_hash};
use super::hash::ChangeHash;
use super::index::Document;
use super::order::in_causal_order;
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
        let mut sifting = Sifting::default();
        let changes = sifting.read(self, batch);
        for change in in_causal_order(changes) {
            sifting.settle(self, change, gate);
        }
        sifting.received.unknown_deps = sifting.unknown.into_iter().collect();
        sifting.received
    }
}

/// A batch on its way through the checks. The sets are ordered by name, so the outcome does
/// not hang on the order of arrival.
#[derive(Default)]
struct Sifting {
    refused: BTreeSet<ChangeHash>,
    /// Not kept because something before them is unknown.
    orphans: BTreeSet<ChangeHash>,
    unknown: BTreeSet<ChangeHash>,
    received: Received,
}

impl Sifting {
    /// The legal changes that are not held yet.
    fn read<B: AsRef<[u8]>>(&mut self, document: &Document, batch: &[B]) -> Vec<Change> {
        let mut changes = Vec::with_capacity(batch.len());
        let mut illegal = BTreeMap::new();
        for raw in batch.iter().map(AsRef::as_ref).filter(|raw| *raw != GENESIS) {
            match parse(raw) {
                Ok(change) if document.contains(&change.hash()) => {}
                Ok(change) => changes.push(change),
                Err(error) => {
                    let digest = || ChangeHash(Sha256::digest(raw).into());
                    illegal.insert(error.hash().unwrap_or_else(digest), error);
                }
            }
        }
        for (name, error) in illegal {
            self.refuse(name, None, error.rule().name(), error.hint());
        }
        changes
    }

    /// Decides on a change all of whose deps are decided.
    fn settle(&mut self, document: &mut Document, change: Change, gate: &mut Gate<'_>) {
        let hash = change.hash();
        if change.deps().iter().any(|dep| self.refused.contains(dep)) {
            return self.break_rule(hash, Rule::FollowsRefused);
        }
        let Some(deps) = self.held(document, &change) else {
            self.orphans.insert(hash);
            return;
        };
        if let Err(rule) = admit(document, &change, &deps) {
            return self.break_rule(hash, rule);
        }
        let faults = faults(document, &change, gate);
        if faults.is_empty() {
            self.received.accepted.push(hash);
            self.received.new_entries.extend(document.append(change));
            return;
        }
        for (entry, refusal) in faults {
            self.refuse(hash, Some(entry), refusal.rule, refusal.hint);
        }
    }

    /// The changes it names, the genesis left out; if one is unknown none, and it is noted.
    fn held<'a>(&mut self, document: &'a Document, change: &Change) -> Option<Vec<&'a Change>> {
        let mut held = Vec::with_capacity(change.deps().len());
        let mut all = true;
        for dep in change.deps().iter().filter(|dep| **dep != genesis_hash()) {
            match document.change(dep) {
                Some(change) => held.push(change),
                None if self.orphans.contains(dep) => all = false,
                None => {
                    all = false;
                    self.unknown.insert(*dep);
                }
            }
        }
        all.then_some(held)
    }

    fn break_rule(&mut self, change: ChangeHash, rule: Rule) {
        self.refuse(change, None, rule.name(), rule.hint().to_owned());
    }

    fn refuse(&mut self, change: ChangeHash, entry: Option<EntryId>, rule: &'static str, hint: String) {
        self.refused.insert(change);
        self.received.refused.push(Refused { change, entry, rule, hint });
    }
}

/// The rules that need the document; all deps of the change are held, and given.
///
/// With its predecessor named and held, a change that is not taken yet is the actor's next.
/// Naming it is not a formality. Were a change free to leave it out, it could number its
/// operations as that one did, and on two operations of one name Automerge 0.12 panics, as it
/// applies them or as it loads what it saved. Automerge's own commits always name it.
fn admit(document: &Document, change: &Change, deps: &[&Change]) -> Result<(), Rule> {
    let before = change.seq().saturating_sub(1);
    let is_before = |dep: &&Change| dep.actor() == change.actor() && dep.seq() == before;
    if before > 0 && !deps.iter().any(is_before) {
        return Err(Rule::OwnLast);
    }
    if document.seq_of(&change.actor()).unwrap_or(0) > before {
        return Err(Rule::ActorTaken);
    }
    let known = deps.iter().map(|dep| dep.max_op()).max().unwrap_or(GENESIS_OP);
    if change.start_op() != known + 1 {
        return Err(Rule::StartOpFollows);
    }
    Ok(())
}

/// Everything that the gate has against the entries of a change.
fn faults(document: &Document, change: &Change, gate: &mut Gate<'_>) -> Vec<(EntryId, Refusal)> {
    let new = change.puts().filter(|put| !document.holds(&put.id, put.value));
    new.filter_map(|put| gate(put.id, put.value).err().map(|refusal| (put.id, refusal))).collect()
}
