//! How entries travel: a copy of a document (changes and the entries in them), the relay, the exchange, the bundle
//! carried by hand, and the repack.
//!
//! Nothing here knows who counts. The gate looks at signatures and at the bookkeeping of changes, and at nothing else.

use std::collections::{BTreeMap, BTreeSet};

use super::Bug;
use super::rng::Rng;
use super::who::{Document, Entries, Entry, Id, Key, Verdict, counts_with, digest};

/// Names a change: a hash of all it holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Digest(pub u64);

/// Who a change says it comes from. Bound to nobody: anyone may write any actor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Actor(pub u64);

/// An entry inside a change, with or without the signature that makes it one.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Put {
    /// The entry.
    pub entry: Entry,
    /// Whether the signature is its author's.
    pub genuine: bool,
}

/// The unit of packaging: one or more entries, ordered by actor and seq, resting on other changes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// The document it belongs to.
    pub document: Document,
    /// Whom it claims to come from.
    pub actor: Actor,
    /// 1, 2, 3, .. for each actor.
    pub seq: u32,
    /// The changes it rests on.
    pub deps: BTreeSet<Digest>,
    /// What it carries.
    pub puts: Vec<Put>,
    /// Its name: of all the above.
    digest: Digest,
}

impl Change {
    /// A change named by what it holds.
    #[must_use]
    pub fn new(document: Document, actor: Actor, seq: u32, deps: BTreeSet<Digest>, puts: Vec<Put>) -> Self {
        let digest = Digest(digest(&(document, actor, seq, &deps, &puts)));
        Self { document, actor, seq, deps, puts, digest }
    }
}

/// Why a change was not taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// These entries do not pass the gate; the change goes with them, not its other entries.
    Gate(BTreeSet<Id>),
    /// A change it rests on is not here.
    Ground,
    /// Another change has this actor and seq, or one before it is missing.
    Sequence,
}

/// One party's copy of one document.
#[derive(Clone, Debug, Default)]
pub struct Replica {
    changes: Vec<Change>,
    held: BTreeSet<Digest>,
    seqs: BTreeMap<Actor, u32>,
    entries: BTreeMap<Id, Entry>,
    arrived: Vec<Id>,
}

impl Replica {
    /// The changes in the order they came, each after what it rests on.
    #[must_use]
    pub fn changes(&self) -> &[Change] {
        &self.changes
    }

    /// The entries held, by id.
    #[must_use]
    pub fn entries(&self) -> &BTreeMap<Id, Entry> {
        &self.entries
    }

    /// The entries in the order they came.
    pub fn arrivals(&self) -> impl Iterator<Item = &Entry> {
        self.arrived.iter().filter_map(|id| self.entries.get(id))
    }

    /// The newest entries, which the next one names as known: those that are folded and that no folded one reaches.
    /// An entry that lacks its ground is never named, or it would take everything written later with it.
    #[must_use]
    pub fn newest(&self, root: Key, bug: Option<Bug>) -> BTreeSet<Id> {
        let folded = match bug {
            Some(Bug::NamesWhatLacksGround) => self.entries.keys().copied().collect(),
            _ => self.folded(root),
        };
        let known: BTreeSet<Id> = folded
            .iter()
            .filter_map(|id| self.entries.get(id))
            .flat_map(|entry| entry.after.clone())
            .collect();
        folded.difference(&known).copied().take(32).collect()
    }

    /// The entries whose ground is whole here.
    #[must_use]
    pub fn folded(&self, root: Key) -> BTreeSet<Id> {
        Entries::new(root, self.entries.values().cloned()).folded()
    }

    /// The changes nothing rests on yet.
    #[must_use]
    pub fn heads(&self) -> BTreeSet<Digest> {
        let under: BTreeSet<Digest> = self.changes.iter().flat_map(|change| change.deps.clone()).collect();
        self.held.difference(&under).copied().collect()
    }

    /// The seq the actor's next change has here.
    #[must_use]
    pub fn next_seq(&self, actor: Actor) -> u32 {
        self.seqs.get(&actor).copied().unwrap_or(0) + 1
    }

    /// The changes that are held and not at or below these heads, in their order.
    fn beyond(&self, heads: &BTreeSet<Digest>) -> Vec<Change> {
        let mut common = heads.clone();
        for change in self.changes.iter().rev() {
            if common.contains(&change.digest) {
                common.extend(&change.deps);
            }
        }
        self.changes.iter().filter(|change| !common.contains(&change.digest)).cloned().collect()
    }

    /// Takes a change if it passes, and names the entries that are new here. A change already held is taken again with
    /// no effect.
    ///
    /// # Errors
    ///
    /// The refusal; nothing was kept.
    pub fn take(&mut self, change: &Change, bug: Option<Bug>) -> Result<Vec<Id>, Refusal> {
        if self.held.contains(&change.digest) {
            return Ok(Vec::new());
        }
        let bad: BTreeSet<Id> =
            change.puts.iter().filter(|p| !self.passes(p, bug)).map(|p| p.entry.id).collect();
        if !bad.is_empty() {
            return Err(Refusal::Gate(bad));
        }
        if !change.deps.is_subset(&self.held) {
            return Err(Refusal::Ground);
        }
        if change.seq != self.next_seq(change.actor) {
            return Err(Refusal::Sequence);
        }
        Ok(self.append(change.clone(), |_| true))
    }

    /// The gate for one entry. What was checked is remembered by the whole value, never by the id alone.
    fn passes(&self, put: &Put, bug: Option<Bug>) -> bool {
        match bug {
            Some(Bug::NoGate) => true,
            Some(Bug::ChecksOncePerId) if self.entries.contains_key(&put.entry.id) => true,
            _ => put.genuine,
        }
    }

    /// Commits entries under an actor and names the new ones. Unchecked: a tampered phone can put anything here.
    pub fn commit(&mut self, document: Document, actor: Actor, puts: Vec<Put>) -> Vec<Id> {
        let change = Change::new(document, actor, self.next_seq(actor), self.heads(), puts);
        self.append(change, |put| put.genuine)
    }

    fn append(&mut self, change: Change, is_entry: impl Fn(&Put) -> bool) -> Vec<Id> {
        self.held.insert(change.digest);
        self.seqs.insert(change.actor, change.seq);
        let mut new = Vec::new();
        for put in change.puts.iter().filter(|put| is_entry(put)) {
            if self.entries.insert(put.entry.id, put.entry.clone()).is_none() {
                new.push(put.entry.id);
            }
        }
        self.arrived.extend(&new);
        self.changes.push(change);
        new
    }
}

/// What a phone asks of the relay, for one document.
#[derive(Clone, Debug)]
pub struct Request {
    /// The last relay heads the phone holds, and its own.
    pub heads: BTreeSet<Digest>,
    /// What it holds beyond the last relay heads.
    pub changes: Vec<Change>,
}

/// What the relay answers.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The relay's heads after taking what it could.
    pub heads: BTreeSet<Digest>,
    /// Changes the phone lacks, a few at a time, each after what it rests on.
    pub changes: Vec<Change>,
    /// Whether there are more.
    pub more: bool,
    /// What was not taken.
    pub refusals: Vec<(Digest, Refusal)>,
}

/// Changes in one answer, small so that `more` happens often.
const ANSWER: usize = 4;

/// The meeting place: a copy of every document and no other state.
#[derive(Clone, Debug, Default)]
pub struct Relay {
    /// Its copies.
    pub copies: BTreeMap<Document, Replica>,
}

impl Relay {
    /// One exchange: the answer, and the ids that are kept from now on (said only once they are).
    pub fn exchange(
        &mut self,
        document: Document,
        ask: &Request,
        bug: Option<Bug>,
        root: Key,
    ) -> (Answer, Vec<Id>) {
        let strangers = if bug == Some(Bug::RelayJudges) {
            self.not_counted(root, &ask.changes)
        } else {
            BTreeSet::new()
        };
        let copy = self.copies.entry(document).or_default();
        let (mut kept, mut refusals) = (Vec::new(), Vec::new());
        for change in &ask.changes {
            let bad: BTreeSet<Id> =
                change.puts.iter().map(|put| put.entry.id).filter(|id| strangers.contains(id)).collect();
            let taken = if bad.is_empty() { copy.take(change, bug) } else { Err(Refusal::Gate(bad)) };
            match taken {
                Ok(new) => kept.extend(new),
                Err(refusal) => refusals.push((change.digest, refusal)),
            }
        }
        let mut changes = copy.beyond(&ask.heads);
        let more = changes.len() > ANSWER;
        changes.truncate(ANSWER);
        (Answer { heads: copy.heads(), changes, more, refusals }, kept)
    }

    /// What a relay that judged would turn away; used by a broken rule only.
    fn not_counted(&self, root: Key, changes: &[Change]) -> BTreeSet<Id> {
        let held = self.copies.values().flat_map(Replica::arrivals).cloned();
        let sent = changes.iter().flat_map(|change| &change.puts).map(|put| put.entry.clone());
        counts_with(&Entries::new(root, held.chain(sent)), None).not_counted
    }
}

/// One phone: its copies, its keys and its actor.
#[derive(Clone, Debug)]
pub struct Home {
    /// The keys it can sign with.
    pub keys: Vec<Key>,
    /// The actor its changes bear.
    pub actor: Actor,
    /// Its copies.
    pub copies: BTreeMap<Document, Replica>,
    /// Per document, the relay's heads as last answered, as far as they are held here.
    pub relay_heads: BTreeMap<Document, BTreeSet<Digest>>,
    /// What did not pass the gate, kept aside and shown to the holder.
    pub aside: BTreeSet<Id>,
}

impl Home {
    /// An empty phone.
    pub fn new(keys: Vec<Key>, rng: &mut Rng) -> Self {
        let (copies, relay_heads, aside) = Default::default();
        Self { keys, actor: Actor(rng.bits()), copies, relay_heads, aside }
    }

    /// Its copy of a document.
    pub fn copy(&mut self, document: Document) -> &mut Replica {
        self.copies.entry(document).or_default()
    }

    /// All entries it holds.
    #[must_use]
    pub fn entries(&self) -> BTreeMap<Id, Entry> {
        self.copies.values().flat_map(Replica::arrivals).map(|entry| (entry.id, entry.clone())).collect()
    }

    /// What this phone shows.
    #[must_use]
    pub fn assess(&self, root: Key, bug: Option<Bug>) -> Verdict {
        let arrivals: Vec<&Entry> = self.copies.values().flat_map(Replica::arrivals).collect();
        assess(root, &arrivals, bug)
    }

    /// Asks the relay.
    pub fn ask(&mut self, document: Document) -> Request {
        let known = self.relay_heads.entry(document).or_default().clone();
        let copy = self.copy(document);
        Request { changes: copy.beyond(&known), heads: &known | &copy.heads() }
    }

    /// Hears the relay: the new entries now kept here, and whether something was not taken, there or here, so that a
    /// repack may be due. What only lacked its ground comes again with the next exchange.
    pub fn hear(&mut self, document: Document, answer: &Answer, bug: Option<Bug>) -> (Vec<Id>, bool) {
        let copy = self.copy(document);
        let (mut new, mut clash) = (Vec::new(), false);
        for change in &answer.changes {
            match copy.take(change, bug) {
                Ok(ids) => new.extend(ids),
                Err(Refusal::Sequence) => clash = true,
                Err(Refusal::Ground | Refusal::Gate(_)) => {}
            }
        }
        clash |=
            answer.refusals.iter().any(|(digest, why)| *why != Refusal::Ground && copy.held.contains(digest));
        let heads = copy.held.intersection(&answer.heads).copied().collect();
        let known = self.relay_heads.entry(document).or_default();
        if bug == Some(Bug::NeverForgetsRelay) {
            known.extend(&heads);
        } else {
            *known = heads;
        }
        (new, clash)
    }

    /// Starts again from the relay's copy: commits what is held and not there, whoever its author, under a fresh actor,
    /// and sets aside what cannot pass. Gives the entries new to this phone, or nothing if, asked again, the relay would
    /// take all that is held (a late answer may complain of what is long mended).
    pub fn repack(
        &mut self,
        document: Document,
        base: &Replica,
        rng: &mut Rng,
        bug: Option<Bug>,
    ) -> Option<Vec<Id>> {
        let own = self.copy(document).clone();
        let mut fresh = base.clone();
        let bad: Vec<&Change> =
            own.changes.iter().filter(|change| fresh.take(change, bug).is_err()).collect();
        if bad.is_empty() && bug != Some(Bug::RepacksOnOwnGround) {
            return None;
        }
        let aside =
            bad.iter().flat_map(|change| &change.puts).filter(|put| !put.genuine).map(|put| put.entry.id);
        self.aside.extend(aside);
        let dropped = |id: &Id| match bug {
            Some(Bug::DropsRefusedSiblings) => bad.iter().any(|change| {
                change.puts.iter().any(|put| !put.genuine)
                    && change.puts.iter().any(|put| put.entry.id == *id)
            }),
            Some(Bug::RepacksOwnOnly) => {
                own.entries.get(id).is_some_and(|entry| !self.keys.contains(&entry.author))
            }
            _ => false,
        };
        let mut fresh = base.clone();
        let lacking: Vec<Put> = own
            .arrivals()
            .filter(|entry| !fresh.entries.contains_key(&entry.id) && !dropped(&entry.id))
            .map(|entry| Put { entry: entry.clone(), genuine: true })
            .collect();
        self.actor = Actor(rng.bits());
        self.relay_heads.insert(document, base.heads());
        if !lacking.is_empty() {
            fresh.commit(document, self.actor, lacking);
        }
        let new = base.entries.keys().filter(|id| !own.entries.contains_key(*id)).copied().collect();
        self.copies.insert(document, fresh);
        Some(new)
    }

    /// Its own copy without what does not pass: the ground of a repack when there is no relay to start from.
    #[must_use]
    pub fn sound(&self, document: Document) -> Replica {
        let mut sound = Replica::default();
        for change in self.copies.get(&document).map_or(&[][..], Replica::changes) {
            // What does not pass is what this leaves out.
            let _refused = sound.take(change, None);
        }
        sound
    }

    /// Takes a bundle carried by hand. Changes that cannot be applied here (their actor and seq stand for something
    /// else, or they rest on such a change) still hold entries: those this phone commits itself. Gives the entries
    /// new here, and whether something failed the gate, which the giver is told on the spot.
    pub fn take_bundle(
        &mut self,
        document: Document,
        bundle: &[Change],
        bug: Option<Bug>,
    ) -> (Vec<Id>, bool) {
        let actor = self.actor;
        let copy = self.copy(document);
        let (mut new, mut loose, mut failed) = (Vec::new(), Vec::new(), false);
        for change in bundle {
            match copy.take(change, bug) {
                Ok(ids) => new.extend(ids),
                Err(refusal) => {
                    failed |= matches!(refusal, Refusal::Gate(_));
                    loose.extend(change.puts.iter().filter(|put| put.genuine).cloned());
                }
            }
        }
        let mut seen = BTreeSet::new();
        loose.retain(|put| !copy.entries.contains_key(&put.entry.id) && seen.insert(put.entry.id));
        if !loose.is_empty() {
            new.extend(copy.commit(document, actor, loose));
        }
        (new, failed)
    }
}

/// What a party shows that was given these entries in this order. The order must not matter.
#[must_use]
pub fn assess(root: Key, arrivals: &[&Entry], bug: Option<Bug>) -> Verdict {
    let whole = |n: usize| Entries::new(root, arrivals.iter().take(n).map(|entry| (*entry).clone()));
    let mut verdict = counts_with(&whole(arrivals.len()), bug);
    if bug == Some(Bug::JudgesOnArrival) {
        for (n, entry) in arrivals.iter().enumerate() {
            let counted = counts_with(&whole(n + 1), bug).counted.contains(&entry.id);
            let (to, from) = if counted {
                (&mut verdict.counted, &mut verdict.not_counted)
            } else {
                (&mut verdict.not_counted, &mut verdict.counted)
            };
            if from.remove(&entry.id) {
                to.insert(entry.id);
            }
        }
    }
    verdict
}
