//! Who knew what: which entries an entry's author held, asked in constant time.
//!
//! Every folded entry gets a place on a *chain*: a run of entries of one key, each knowing
//! the one before. Its clock says, chain by chain, how many entries it knows. A key whose
//! device was never copied has one chain, so clocks stay as short as the list of keys.
//! Chains depend on the order of arrival and are never shown; `knows` does not.

use std::collections::BTreeMap;

use crate::entry::KeyId;

/// Place of a folded entry; only good within one [`super::Log`].
pub type Ix = u32;

/// Reachability among folded entries.
#[derive(Clone, Debug)]
pub(super) struct Knowledge {
    chains: BTreeMap<KeyId, Vec<u32>>,
    /// The entries of each chain, oldest first; never empty.
    members: Vec<Vec<Ix>>,
    places: Vec<Place>,
}

#[derive(Clone, Debug)]
struct Place {
    chain: u32,
    /// Counted from 1.
    position: u32,
    /// Entry `c`: how many entries of chain `c` this one knows, itself included.
    clock: Box<[u32]>,
}

impl Knowledge {
    pub(super) const fn new() -> Self {
        Self { chains: BTreeMap::new(), members: Vec::new(), places: Vec::new() }
    }

    /// Adds the next entry; all of `after` must be folded already.
    pub(super) fn push(&mut self, key: KeyId, after: &[Ix]) {
        let mut clock = self.join(after);
        let chain = self.chain_for(key, &clock);
        let members = &mut self.members[chain as usize];
        members.push(Ix::try_from(self.places.len()).unwrap_or(Ix::MAX));
        let position = u32::try_from(members.len()).unwrap_or(u32::MAX);
        if clock.len() <= chain as usize {
            clock.resize(chain as usize + 1, 0);
        }
        clock[chain as usize] = position;
        self.places.push(Place { chain, position, clock: clock.into_boxed_slice() });
    }

    /// The first chain of the key whose newest entry is known, or a new one.
    fn chain_for(&mut self, key: KeyId, clock: &[u32]) -> u32 {
        let own = self.chains.entry(key).or_default();
        let known = |chain: &u32| {
            let length = self.members[*chain as usize].len();
            clock.get(*chain as usize).is_some_and(|n| *n as usize >= length)
        };
        if let Some(chain) = own.iter().copied().find(known) {
            return chain;
        }
        let chain = u32::try_from(self.members.len()).unwrap_or(u32::MAX);
        own.push(chain);
        self.members.push(Vec::new());
        chain
    }

    /// Whether the author of `later` held `earlier`; an entry does not know itself.
    pub(super) fn knows(&self, later: Ix, earlier: Ix) -> bool {
        let place = &self.places[earlier as usize];
        let clock = &self.places[later as usize].clock;
        later != earlier && clock.get(place.chain as usize).is_some_and(|n| *n >= place.position)
    }

    /// Whether some two entries of this key know nothing of each other.
    pub(super) fn is_forked(&self, key: KeyId) -> bool {
        self.chains.get(&key).is_some_and(|chains| chains.len() > 1)
    }

    /// Keys with two entries that know nothing of each other.
    pub(super) fn forked_keys(&self) -> impl Iterator<Item = KeyId> + '_ {
        self.chains.iter().filter(|(_, chains)| chains.len() > 1).map(|(key, _)| *key)
    }

    /// The key's entries that no other entry of the key knows.
    pub(super) fn newest_of(&self, key: KeyId) -> Vec<Ix> {
        let tails: Vec<Ix> = self.chains_of(key).filter_map(|chain| chain.last().copied()).collect();
        let newest = |ix: &Ix| !tails.iter().any(|other| self.knows(*other, *ix));
        tails.iter().copied().filter(newest).collect()
    }

    /// The key's oldest entries that have a concurrent entry of the same key: where it was copied.
    pub(super) fn splits_of(&self, key: KeyId) -> Vec<Ix> {
        let split = |ix: &&Ix| self.chains_of(key).any(|chain| self.leaves_out(**ix, chain));
        let firsts: Vec<Ix> =
            self.chains_of(key).filter_map(|chain| chain.iter().find(split).copied()).collect();
        let oldest = |ix: &Ix| !firsts.iter().any(|other| self.knows(*ix, *other));
        firsts.iter().copied().filter(oldest).collect()
    }

    /// Whether some entry of the chain neither knows the entry nor is known by it.
    ///
    /// What the entry knows is the chain's beginning and what knows it is its end, so the
    /// first unknown member tells for all.
    fn leaves_out(&self, ix: Ix, chain: &[Ix]) -> bool {
        let first_unknown = chain.partition_point(|member| *member == ix || self.knows(ix, *member));
        chain.get(first_unknown).is_some_and(|member| !self.knows(*member, ix))
    }

    fn chains_of(&self, key: KeyId) -> impl Iterator<Item = &Vec<Ix>> + '_ {
        let chains = self.chains.get(&key).into_iter().flatten();
        chains.filter_map(|chain| self.members.get(*chain as usize))
    }

    fn join(&self, after: &[Ix]) -> Vec<u32> {
        let clocks = || after.iter().map(|ix| &self.places[*ix as usize].clock);
        let mut joined = vec![0; clocks().map(|clock| clock.len()).max().unwrap_or(0)];
        for clock in clocks() {
            for (mine, theirs) in joined.iter_mut().zip(clock.iter()) {
                *mine = (*mine).max(*theirs);
            }
        }
        joined
    }
}
