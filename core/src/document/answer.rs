//! What another party lacks, from the heads it names.

use std::collections::{BTreeMap, BTreeSet};

use super::change::Change;
use super::hash::ChangeHash;
use super::index::Document;
use crate::entry::EntryId;

/// The answer to a party that named its heads.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer<'a> {
    /// Changes it lacks, each after those it names.
    pub changes: Vec<&'a Change>,
    /// Whether it lacks more than the budget allowed; ask again with the new heads.
    pub more: bool,
    /// Heads it named that are not held here, sorted: it should send from these.
    pub unknown_heads: Vec<ChangeHash>,
}

impl Document {
    /// The changes that are not among the ancestors of these heads, oldest first, up to
    /// `budget` bytes but at least one. An unknown head has no ancestors here, so a party
    /// that names nothing known gets everything.
    ///
    /// The walk goes back in append order only until all that is left is common.
    #[must_use]
    pub fn answer(&self, heads: &[ChangeHash], budget: usize) -> Answer<'_> {
        let unknown: BTreeSet<_> = heads.iter().filter(|head| !self.contains(head)).collect();
        let lacking = self.lacking(heads);
        let changes = self.within(&lacking, budget);
        Answer {
            more: changes.len() < lacking.len(),
            changes,
            unknown_heads: unknown.into_iter().copied().collect(),
        }
    }

    /// The entries that no ancestor of these heads holds, sorted: with the last heads of the
    /// relay, those that are not at the office yet. Unknown heads count for nothing.
    #[must_use]
    pub fn entries_beyond(&self, heads: &[ChangeHash]) -> Vec<EntryId> {
        let lacking = self.lacking(heads);
        let of = |at: &usize| self.changes.get(*at).into_iter().flat_map(Change::puts).map(|put| put.id);
        let mut beyond: BTreeSet<EntryId> = lacking.iter().flat_map(of).collect();
        if beyond.is_empty() {
            return Vec::new();
        }
        // What another change has brought as well is there.
        let mut lacking = lacking.into_iter().peekable();
        for (at, change) in self.changes.iter().enumerate() {
            if lacking.next_if_eq(&at).is_none() {
                for put in change.puts() {
                    beyond.remove(&put.id);
                }
            }
        }
        beyond.into_iter().collect()
    }

    /// Positions of the changes that are no ancestors of the heads, oldest first.
    fn lacking(&self, heads: &[ChangeHash]) -> Vec<usize> {
        let mut walk = Walk::default();
        for head in self.heads() {
            walk.reach(self.position(&head), false);
        }
        for head in heads {
            walk.reach(self.position(head), true);
        }
        let mut lacking = Vec::new();
        while let Some((at, common)) = walk.next() {
            if !common {
                lacking.push(at);
            }
            for dep in self.changes.get(at).map_or(&[][..], Change::deps) {
                walk.reach(self.position(dep), common);
            }
        }
        lacking.reverse();
        lacking
    }

    fn within(&self, positions: &[usize], budget: usize) -> Vec<&Change> {
        let mut left = budget;
        let mut changes = Vec::new();
        for change in positions.iter().filter_map(|at| self.changes.get(*at)) {
            let size = change.raw().len();
            if size > left && !changes.is_empty() {
                break;
            }
            left = left.saturating_sub(size);
            changes.push(change);
        }
        changes
    }
}

/// Positions reached and not yet left, with whether the other party has them. Everything
/// that builds on a change stands after it, so whoever is left highest first is decided.
#[derive(Default)]
struct Walk {
    reached: BTreeMap<usize, bool>,
    lacking: usize,
}

impl Walk {
    /// The genesis has no position, and is common to all.
    fn reach(&mut self, position: Option<usize>, common: bool) {
        let Some(at) = position else { return };
        match self.reached.insert(at, common) {
            Some(true) => {
                self.reached.insert(at, true);
            }
            Some(false) if common => self.lacking -= 1,
            Some(false) => {}
            None if common => {}
            None => self.lacking += 1,
        }
    }

    /// The highest position, until only common ones are left.
    fn next(&mut self) -> Option<(usize, bool)> {
        if self.lacking == 0 {
            return None;
        }
        let (at, common) = self.reached.pop_last()?;
        if !common {
            self.lacking -= 1;
        }
        Some((at, common))
    }
}
