//! One order of telling: what an author knew comes first; among what is free, by device
//! time, then by id. It depends on the entries alone, never on their arrival.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use crate::entry::EntryId;
use crate::log::{Ix, Log};

/// The folded entries in the order of telling.
pub(super) fn chronology(log: &Log) -> Vec<Ix> {
    let all = || (0..).zip(log.folded());
    let mut followers: Vec<Vec<Ix>> = vec![Vec::new(); log.folded().len()];
    let mut waits: Vec<usize> = vec![0; log.folded().len()];
    for (ix, statement) in all() {
        for before in statement.after.iter().filter_map(|id| log.place(id)) {
            followers[before as usize].push(ix);
            waits[ix as usize] += 1;
        }
    }
    let key = |ix: Ix| -> Reverse<(i64, EntryId, Ix)> {
        let statement = log.at(ix);
        Reverse((statement.device_time, statement.id, ix))
    };
    let mut free: BinaryHeap<_> =
        all().filter(|(ix, _)| waits[*ix as usize] == 0).map(|(ix, _)| key(ix)).collect();
    let mut told = Vec::with_capacity(waits.len());
    while let Some(Reverse((_, _, ix))) = free.pop() {
        told.push(ix);
        for follower in &followers[ix as usize] {
            waits[*follower as usize] -= 1;
            if waits[*follower as usize] == 0 {
                free.push(key(*follower));
            }
        }
    }
    told
}
