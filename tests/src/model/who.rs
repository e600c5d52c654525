//! Who counts: the plain answer, from a set of entries and nothing else.
//!
//! The steps, each a function below, in this order:
//!
//! 1. **Folded**: an entry takes part only when all it reaches through `after` is held in its document. What is not folded
//!    has no effect at all and is "missing its ground".
//! 2. **Ever lead**: from the root, through grants of lead by keys already found, save grants the root has cut.
//! 3. **In force**: removals by keys that were ever lead, save those the root has cut. A removal in force binds even when
//!    its own author is removed by another lead: two leads removing each other are both removed.
//! 4. **Accepted**: by every removal in force of the author's key: listed by it for that document, or reached from a listed
//!    entry (walked over everything held).
//! 5. **Plain roster**: what accepted grants give. **Admits** that count under it admit their ids and, of the same key,
//!    all that those reach.
//! 6. **Roster**: the same again from accepted and admitted grants; an entry counts when the roster gives its key the role
//!    the act needs.
//!
//! Statements of the root in the workshop document always count. Roster acts stand in the workshop document only.
//!
//! One key granted to two persons counts for nobody, which could bite its own tail (a key that grants *itself* to another
//! person). So the roster holds two sets: grants that *surely* count, and grants that *possibly* do. Authority needs a
//! sure grant for it and no possible grant against it; the sure set grows and the possible one shrinks until both rest.

use std::collections::{BTreeMap, BTreeSet};
use std::hash::{DefaultHasher, Hash, Hasher};

use super::Bug;

/// Names an entry: a hash of all it says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Id(pub u64);

/// A signing key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Key(pub u32);

/// A person, who may hold several keys.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Person(pub u32);

/// The workshop's document, or one record.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Document {
    /// Where the roster lives.
    Workshop,
    /// The record of one engine.
    Record(u8),
}

/// What an act needs its author to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Measures, fits, tightens, signs off.
    Member,
    /// Decides, and keeps the roster.
    Lead,
}

/// The roles one grant gives; neither is a viewer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Roles {
    /// May do a member's work.
    pub member: bool,
    /// May do a lead's work.
    pub lead: bool,
}

impl Roles {
    /// Whether the role is among them.
    #[must_use]
    pub fn has(self, role: Role) -> bool {
        match role {
            Role::Member => self.member,
            Role::Lead => self.lead,
        }
    }
}

/// What an entry says, as far as counting goes.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// A reading, a fitting, a decision: anything outside the roster. The text tells two of them apart.
    Work {
        /// The role it needs.
        needs: Role,
        /// Stands for the content.
        text: u64,
    },
    /// A device: this key is this person's, with these roles.
    Grant {
        /// The key granted.
        key: Key,
        /// Its holder.
        person: Person,
        /// What it may do.
        roles: Roles,
    },
    /// Ends a key: of its entries only the listed ones and those they reach count.
    Removal {
        /// The key removed.
        key: Key,
        /// Per document, its last accepted entries. A document that is not named keeps nothing.
        last: BTreeMap<Document, BTreeSet<Id>>,
    },
    /// Lets these entries count, each with the same key's entries that it reaches, whatever removals say.
    Admit {
        /// The entries admitted.
        ids: BTreeSet<Id>,
    },
}

impl Kind {
    fn needs(&self) -> Role {
        match self {
            Kind::Work { needs, .. } => *needs,
            Kind::Grant { .. } | Kind::Removal { .. } | Kind::Admit { .. } => Role::Lead,
        }
    }

    fn is_roster(&self) -> bool {
        !matches!(self, Kind::Work { .. })
    }
}

/// One signed statement.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Entry {
    /// Its name.
    pub id: Id,
    /// The key that signed it.
    pub author: Key,
    /// Where it belongs.
    pub document: Document,
    /// What it says.
    pub kind: Kind,
    /// The newest entries of this document its author knew.
    pub after: BTreeSet<Id>,
}

impl Entry {
    /// An entry named by the hash of its content.
    #[must_use]
    pub fn new(author: Key, document: Document, kind: Kind, after: BTreeSet<Id>) -> Self {
        let id = Id(digest(&(author, document, &kind, &after)));
        Self { id, author, document, kind, after }
    }
}

/// A 64-bit name for a value: enough where nobody looks for collisions.
pub(super) fn digest(value: &impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    value.hash(&mut hasher);
    hasher.finish()
}

/// A set of entries of one workshop, all its documents together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entries {
    /// The workshop's root key.
    pub root: Key,
    held: BTreeMap<Id, Entry>,
}

impl Entries {
    /// These entries, under this root.
    pub fn new(root: Key, entries: impl IntoIterator<Item = Entry>) -> Self {
        Self { root, held: entries.into_iter().map(|entry| (entry.id, entry)).collect() }
    }

    /// The entries in id order.
    pub fn iter(&self) -> impl Iterator<Item = &Entry> {
        self.held.values()
    }

    /// The entry of that name, if held.
    #[must_use]
    pub fn get(&self, id: Id) -> Option<&Entry> {
        self.held.get(&id)
    }

    /// Those of the ids that are held in the document, all they reach through `after`, and whether nothing was wanting.
    pub fn reach<'a>(
        &self,
        document: Document,
        ids: impl IntoIterator<Item = &'a Id>,
    ) -> (BTreeSet<Id>, bool) {
        let mut open: Vec<Id> = ids.into_iter().copied().collect();
        let (mut reached, mut whole) = (BTreeSet::new(), true);
        while let Some(id) = open.pop() {
            match self.get(id).filter(|entry| entry.document == document) {
                Some(entry) if reached.insert(id) => open.extend(&entry.after),
                Some(_) => {}
                None => whole = false,
            }
        }
        (reached, whole)
    }

    /// The entries whose whole ground is held.
    #[must_use]
    pub fn folded(&self) -> BTreeSet<Id> {
        self.iter().filter(|entry| self.reach(entry.document, [&entry.id]).1).map(|entry| entry.id).collect()
    }

    fn is_root_statement(&self, entry: &Entry) -> bool {
        entry.author == self.root && entry.document == Document::Workshop
    }
}

/// What the rules say of a set of entries. The first three sets share out everything held.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verdict {
    /// Folded, and they count.
    pub counted: BTreeSet<Id>,
    /// Folded, and they do not count.
    pub not_counted: BTreeSet<Id>,
    /// Not folded: something they reach is not held.
    pub missing_ground: BTreeSet<Id>,
    /// Two folded entries of one key in one document, neither reaching the other; the smaller id first.
    pub forks: BTreeSet<(Id, Id)>,
    /// The removals that bind. One of them may itself be "not counted" (two leads removing each other), and still binds.
    pub in_force: BTreeSet<Id>,
    /// The keys that are somebody's, with their roles.
    pub roster: BTreeMap<Key, (Person, Roles)>,
}

/// Judges a set of entries: the oracle.
#[must_use]
pub fn counts(entries: &Entries) -> Verdict {
    counts_with(entries, None)
}

/// The same with one rule broken on purpose, for the tests of the laws.
pub(super) fn counts_with(entries: &Entries, bug: Option<Bug>) -> Verdict {
    let folded = match bug {
        Some(Bug::FoldsWithoutGround) => entries.iter().map(|entry| entry.id).collect(),
        _ => entries.folded(),
    };
    let bench = Bench { entries, folded, bug };
    let removals = bench.removals_in_force();
    let accepted: BTreeSet<Id> =
        bench.folded().filter(|e| !bench.is_cut(e, &removals)).map(|e| e.id).collect();
    let plain = Grants::settle(&bench, &accepted);
    let admitted = bench.admitted(&bench.counted(&accepted, &plain));
    let eligible = &accepted | &admitted;
    let grants = Grants::settle(&bench, &eligible);
    let counted = bench.counted(&eligible, &grants);
    Verdict {
        not_counted: &bench.folded - &counted,
        missing_ground: entries.iter().map(|e| e.id).filter(|id| !bench.folded.contains(id)).collect(),
        forks: bench.forks(),
        in_force: removals.iter().map(|removal| removal.id).collect(),
        roster: grants.roster(),
        counted,
    }
}

/// A removal, with everything it leaves standing of the removed key.
struct Removed {
    id: Id,
    author: Key,
    key: Key,
    keeps: BTreeSet<Id>,
}

struct Bench<'a> {
    entries: &'a Entries,
    folded: BTreeSet<Id>,
    bug: Option<Bug>,
}

impl<'a> Bench<'a> {
    fn folded(&self) -> impl Iterator<Item = &'a Entry> {
        self.folded.iter().filter_map(|id| self.entries.get(*id))
    }

    fn roster_acts(&self) -> impl Iterator<Item = &'a Entry> {
        self.folded().filter(|entry| entry.document == Document::Workshop && entry.kind.is_roster())
    }

    fn removals(&self) -> Vec<Removed> {
        let mut removals = Vec::new();
        for entry in self.roster_acts() {
            if let Kind::Removal { key, last } = &entry.kind {
                let keeps = last.iter().flat_map(|(document, ids)| match self.bug {
                    Some(Bug::OnlyListedCount) => ids.clone(),
                    _ => self.entries.reach(*document, ids).0,
                });
                removals.push(Removed {
                    id: entry.id,
                    author: entry.author,
                    key: *key,
                    keeps: keeps.collect(),
                });
            }
        }
        removals
    }

    fn is_cut(&self, entry: &Entry, removals: &[Removed]) -> bool {
        !self.entries.is_root_statement(entry)
            && removals
                .iter()
                .any(|removal| removal.key == entry.author && !removal.keeps.contains(&entry.id))
    }

    fn removals_in_force(&self) -> Vec<Removed> {
        let (by_root, by_others): (Vec<_>, Vec<_>) =
            self.removals().into_iter().partition(|removal| removal.author == self.entries.root);
        let leads = self.ever_lead(&by_root);
        let stands = |removal: &Removed| {
            leads.contains(&removal.author)
                && self.entries.get(removal.id).is_some_and(|entry| !self.is_cut(entry, &by_root))
        };
        let mut others: Vec<Removed> = by_others.into_iter().filter(stands).collect();
        if self.bug == Some(Bug::RemovedLeadsRemoveNobody) {
            let removed: BTreeSet<Key> = others.iter().map(|removal| removal.key).collect();
            others.retain(|removal| !removed.contains(&removal.author));
        }
        by_root.into_iter().chain(others).collect()
    }

    fn ever_lead(&self, by_root: &[Removed]) -> BTreeSet<Key> {
        let mut leads = BTreeSet::from([self.entries.root]);
        loop {
            let before = leads.len();
            for entry in self.roster_acts() {
                if let Kind::Grant { key, roles, .. } = &entry.kind
                    && roles.lead
                    && leads.contains(&entry.author)
                    && !self.is_cut(entry, by_root)
                {
                    leads.insert(*key);
                }
            }
            if leads.len() == before {
                return leads;
            }
        }
    }

    fn counted(&self, eligible: &BTreeSet<Id>, grants: &Grants) -> BTreeSet<Id> {
        let stands = |entry: &&Entry| {
            let in_place = entry.document == Document::Workshop || !entry.kind.is_roster();
            self.entries.is_root_statement(entry)
                || eligible.contains(&entry.id) && in_place && grants.may(entry.author, entry.kind.needs())
        };
        self.folded().filter(stands).map(|entry| entry.id).collect()
    }

    fn admitted(&self, counted: &BTreeSet<Id>) -> BTreeSet<Id> {
        let mut admitted = BTreeSet::new();
        for entry in self.folded().filter(|entry| counted.contains(&entry.id)) {
            if let Kind::Admit { ids } = &entry.kind {
                for named in ids.iter().filter_map(|id| self.entries.get(*id)) {
                    let reached = self.entries.reach(named.document, [&named.id]).0;
                    let same_key = |id: &Id| self.entries.get(*id).is_some_and(|e| e.author == named.author);
                    admitted.extend(reached.into_iter().filter(same_key));
                }
            }
        }
        admitted
    }

    fn forks(&self) -> BTreeSet<(Id, Id)> {
        let reach = |entry: &Entry| self.entries.reach(entry.document, [&entry.id]).0;
        let known: BTreeMap<Id, BTreeSet<Id>> = self.folded().map(|entry| (entry.id, reach(entry))).collect();
        let knows = |a: &Entry, b: &Entry| known.get(&a.id).is_some_and(|reached| reached.contains(&b.id));
        let mut forks = BTreeSet::new();
        for a in self.folded() {
            for b in self.folded().filter(|b| a.id < b.id && a.author == b.author && a.document == b.document)
            {
                if !knows(a, b) && !knows(b, a) {
                    forks.insert((a.id, b.id));
                }
            }
        }
        forks
    }
}

/// One grant, as plain values.
#[derive(Clone, Copy)]
struct Grant {
    by: Key,
    by_root: bool,
    key: Key,
    person: Person,
    roles: Roles,
}

/// The grants that surely count and those that possibly do (the sure ones among them).
#[derive(Default)]
struct Grants {
    sure: Vec<Grant>,
    possible: Vec<Grant>,
}

impl Grants {
    fn settle(bench: &Bench<'_>, eligible: &BTreeSet<Id>) -> Self {
        let mut all = Vec::new();
        for entry in bench.roster_acts().filter(|entry| eligible.contains(&entry.id)) {
            if let Kind::Grant { key, person, roles } = entry.kind {
                let by_root = bench.entries.is_root_statement(entry);
                all.push(Grant { by: entry.author, by_root, key, person, roles });
            }
        }
        let mut grants = Self::default();
        loop {
            grants.possible = Self::given(&all, &grants.sure);
            let sure = Self::given(&all, &grants.possible);
            if sure.len() == grants.sure.len() {
                return grants;
            }
            grants.sure = sure;
        }
    }

    /// The grants that count when `against` is all that could speak against their signers: the root's, then those of
    /// every key they make a lead.
    fn given(all: &[Grant], against: &[Grant]) -> Vec<Grant> {
        let (mut given, mut rest): (Vec<Grant>, Vec<Grant>) = all.iter().partition(|grant| grant.by_root);
        loop {
            let (more, left): (Vec<Grant>, Vec<Grant>) =
                rest.iter().partition(|grant| may(grant.by, Role::Lead, &given, against));
            if more.is_empty() {
                return given;
            }
            given.extend(more);
            rest = left;
        }
    }

    fn may(&self, key: Key, role: Role) -> bool {
        may(key, role, &self.sure, &self.possible)
    }

    fn roster(&self) -> BTreeMap<Key, (Person, Roles)> {
        let mut roster = BTreeMap::new();
        for grant in &self.sure {
            if self.possible.iter().all(|other| other.key != grant.key || other.person == grant.person) {
                let roles = Roles {
                    member: self.may(grant.key, Role::Member),
                    lead: self.may(grant.key, Role::Lead),
                };
                roster.insert(grant.key, (grant.person, roles));
            }
        }
        roster
    }
}

/// Whether some grant `given` gives the key that role and none `against` gives it to another person or without the role.
fn may(key: Key, role: Role, given: &[Grant], against: &[Grant]) -> bool {
    given.iter().filter(|grant| grant.key == key && grant.roles.has(role)).any(|grant| {
        against
            .iter()
            .filter(|other| other.key == key)
            .all(|other| other.person == grant.person && other.roles.has(role))
    })
}
