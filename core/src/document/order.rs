//! The causal order of a batch, the same whatever the order of arrival.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::change::Change;
use super::hash::ChangeHash;

/// Sorts changes so that each stands after those of the batch it names; of those that may
/// stand next, the smallest name is first. Of equal changes one is kept.
pub(super) fn in_causal_order(mut batch: Vec<Change>) -> Vec<Change> {
    batch.sort_unstable_by_key(Change::hash);
    batch.dedup_by_key(|change| change.hash());
    let order = Waiting::new(&batch).order();
    // names are digests over the deps: no circle can be made, so all of them come out
    order.into_iter().filter_map(|at| batch.get(at).cloned()).collect()
}

/// Places in the sorted batch, and who waits for whom.
struct Waiting {
    /// A change, and one that names it; sorted.
    links: Vec<(usize, usize)>,
    /// How many changes of the batch each still waits for.
    counts: Vec<usize>,
    /// Those that wait for none.
    ready: BinaryHeap<Reverse<usize>>,
}

impl Waiting {
    fn new(batch: &[Change]) -> Self {
        let mut links = Vec::with_capacity(batch.len());
        let mut counts = Vec::with_capacity(batch.len());
        for (at, change) in batch.iter().enumerate() {
            let before = links.len();
            links.extend(change.deps().iter().filter_map(|dep| Some((find(batch, dep)?, at))));
            counts.push(links.len() - before);
        }
        links.sort_unstable();
        let ready = counts.iter().enumerate().filter(|(_, count)| **count == 0);
        let ready = ready.map(|(at, _)| Reverse(at)).collect();
        Self { links, counts, ready }
    }

    fn order(mut self) -> Vec<usize> {
        let mut order = Vec::with_capacity(self.counts.len());
        while let Some(Reverse(at)) = self.ready.pop() {
            order.push(at);
            self.release(at);
        }
        order
    }

    fn release(&mut self, at: usize) {
        let first = self.links.partition_point(|link| link.0 < at);
        let followers = self.links.iter().skip(first).take_while(|link| link.0 == at);
        for (_, follower) in followers {
            let Some(count) = self.counts.get_mut(*follower) else { continue };
            *count -= 1;
            if *count == 0 {
                self.ready.push(Reverse(*follower));
            }
        }
    }
}

fn find(batch: &[Change], hash: &ChangeHash) -> Option<usize> {
    batch.binary_search_by_key(hash, Change::hash).ok()
}
