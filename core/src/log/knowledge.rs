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
    tails: Vec<Ix>,
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
        Self { chains: BTreeMap::new(), tails: Vec::new(), places: Vec::new() }
    }

    /// Adds the next entry; all of `after` must be folded already.
    pub(super) fn push(&mut self, key: KeyId, after: &[Ix]) {
        let mut clock = self.join(after);
        let known = |chain: u32, tails: &[Ix], places: &[Place]| {
            let tail = &places[tails[chain as usize] as usize];
            clock.get(chain as usize).is_some_and(|n| *n >= tail.position)
        };
        let own = self.chains.entry(key).or_default();
        let chain = own.iter().copied().find(|chain| known(*chain, &self.tails, &self.places));
        let ix = Ix::try_from(self.places.len()).unwrap_or(Ix::MAX);
        let (chain, position) = match chain {
            Some(chain) => {
                let tail = &mut self.tails[chain as usize];
                let position = self.places[*tail as usize].position + 1;
                *tail = ix;
                (chain, position)
            }
            None => {
                let chain = u32::try_from(self.tails.len()).unwrap_or(u32::MAX);
                own.push(chain);
                self.tails.push(ix);
                (chain, 1)
            }
        };
        if clock.len() <= chain as usize {
            clock.resize(chain as usize + 1, 0);
        }
        clock[chain as usize] = position;
        self.places.push(Place { chain, position, clock: clock.into_boxed_slice() });
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
