//! Which of two entries came first: by knowledge, unless somebody settled the pair.

use std::collections::BTreeMap;

use crate::log::{Ix, Log};

/// How two entries follow each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sequence {
    /// The first came first.
    Before,
    /// The second came first.
    After,
    /// Neither knew of the other, and nobody has settled it.
    Unsettled,
}

/// The pairs that somebody has settled. One pair, no closure.
#[derive(Clone, Debug, Default)]
pub(super) struct Orders {
    /// (smaller place, larger place) -> the order entries about them.
    pairs: BTreeMap<(Ix, Ix), Vec<Stated>>,
}

/// One order entry about a pair.
#[derive(Clone, Copy, Debug)]
struct Stated {
    by: Ix,
    smaller_first: bool,
}

impl Orders {
    /// Takes in the statement `by` that `first` came before `second`.
    pub(super) fn state(&mut self, by: Ix, first: Ix, second: Ix) {
        let pair = (first.min(second), first.max(second));
        self.pairs.entry(pair).or_default().push(Stated { by, smaller_first: first < second });
    }

    /// How `a` and `b` follow each other.
    pub(super) fn sequence(&self, log: &Log, a: Ix, b: Ix) -> Sequence {
        match self.settled(log, a, b) {
            Some(Ok(a_first)) => by(a_first),
            Some(Err(_)) => Sequence::Unsettled,
            None if log.knows(b, a) => Sequence::Before,
            None if log.knows(a, b) => Sequence::After,
            None => Sequence::Unsettled,
        }
    }

    /// What some work did to an entry.
    ///
    /// `Ok`: it stands, but for the work listed, of which it is not known whether it came
    /// before or after; by id. `Err`: ended, by the earliest of what came after it, the one
    /// that took the ground away; by id where concurrent.
    pub(super) fn after_work(
        &self,
        log: &Log,
        ix: Ix,
        work: impl Iterator<Item = Ix>,
    ) -> Result<Vec<Ix>, Ix> {
        // The earliest so far; several only where some knew nothing of each other.
        let mut ended: Vec<Ix> = Vec::new();
        let mut unsettled = Vec::new();
        for by in work {
            match self.sequence(log, ix, by) {
                Sequence::Before if ended.iter().any(|earlier| log.knows(by, *earlier)) => {}
                Sequence::Before => {
                    ended.retain(|later| !log.knows(*later, by));
                    ended.push(by);
                }
                Sequence::After => {}
                Sequence::Unsettled => unsettled.push(by),
            }
        }
        match ended.into_iter().min_by_key(|ix| log.at(*ix).id) {
            Some(by) => Err(by),
            None => {
                unsettled.sort_unstable_by_key(|ix| log.at(*ix).id);
                Ok(unsettled)
            }
        }
    }

    /// The order entries on this pair that contradict each other, if any.
    pub(super) fn disputed(&self, log: &Log, a: Ix, b: Ix) -> Option<Vec<Ix>> {
        self.settled(log, a, b)?.err()
    }

    /// The pairs about which somebody said something.
    pub(super) fn pairs(&self) -> impl Iterator<Item = (Ix, Ix)> + '_ {
        self.pairs.keys().copied()
    }

    /// Of several statements on a pair the latest known stands; concurrent ones must agree.
    fn settled(&self, log: &Log, a: Ix, b: Ix) -> Option<Result<bool, Vec<Ix>>> {
        let stated = self.pairs.get(&(a.min(b), a.max(b)))?;
        let latest = latest(log, stated.iter().map(|s| s.by));
        let mut words = stated.iter().filter(|s| latest.contains(&s.by)).map(|s| s.smaller_first);
        let first = words.next()?;
        if words.all(|word| word == first) { Some(Ok(first == (a < b))) } else { Some(Err(latest)) }
    }
}

const fn by(a_first: bool) -> Sequence {
    if a_first { Sequence::Before } else { Sequence::After }
}

/// Those of the entries that none of the others knew, by id: one, unless some are concurrent.
pub(super) fn latest(log: &Log, entries: impl Iterator<Item = Ix>) -> Vec<Ix> {
    let mut latest: Vec<Ix> = Vec::new();
    for ix in entries {
        if !latest.iter().any(|other| log.knows(*other, ix)) {
            latest.retain(|other| !log.knows(ix, *other));
            latest.push(ix);
        }
    }
    if latest.len() > 1 {
        latest.sort_unstable_by_key(|ix| log.at(*ix).id);
    }
    latest
}
