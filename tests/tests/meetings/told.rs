//! What was said in a play, in the plain model's language as well; and what both make of it.

use std::collections::{BTreeMap, BTreeSet};

use gudgeon_core::assess::{Record, Workshop, assess};
use gudgeon_core::entry::payload::{self, Payload};
use gudgeon_core::entry::{DocumentId, EntryId, KeyId};
use gudgeon_core::log::{Log, Statement};
use gudgeon_core::roster::Roster;
use gudgeon_tests::model::who::{self, Document, Entries, Entry, Id, Key, Kind, Person, Role, Roles};

/// The root's key in the model.
const ROOT: Key = Key(0);

/// Everything said, in both languages. The model knows no founding: none of its rules look at it.
pub(crate) struct Both {
    workshop: DocumentId,
    keys: Vec<KeyId>,
    persons: Vec<EntryId>,
    said: BTreeMap<EntryId, Entry>,
    back: BTreeMap<Id, EntryId>,
}

/// What either says of a set of entries, in the roster's names.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Told {
    pub(crate) counted: BTreeSet<EntryId>,
    pub(crate) not_counted: BTreeSet<EntryId>,
    pub(crate) missing_ground: BTreeSet<EntryId>,
    pub(crate) forks: BTreeSet<EntryId>,
    pub(crate) in_force: BTreeSet<EntryId>,
    roster: BTreeMap<KeyId, (EntryId, bool, bool)>,
}

impl Both {
    /// Nothing yet; `root` is the first of the keys.
    pub(crate) const fn new(workshop: DocumentId, keys: Vec<KeyId>) -> Self {
        Self { workshop, keys, persons: Vec::new(), said: BTreeMap::new(), back: BTreeMap::new() }
    }

    /// Takes down what somebody holds and was not taken down before; what was new, in the
    /// model's language.
    pub(crate) fn hear(&mut self, log: &Log) -> Vec<Entry> {
        let document = if log.document() == self.workshop { Document::Workshop } else { Document::Record(0) };
        let mut new = Vec::new();
        for statement in log.folded() {
            if is_founding(statement, log) || self.said.contains_key(&statement.id) {
                continue;
            }
            let after = statement.after.iter().filter_map(|id| Some(self.said.get(id)?.id)).collect();
            let kind = self.kind(statement);
            let entry = Entry::new(self.key(statement.key), document, kind, after);
            self.back.insert(entry.id, statement.id);
            self.said.insert(statement.id, entry.clone());
            new.push(entry);
        }
        new
    }

    fn key(&self, key: KeyId) -> Key {
        Key(u32::try_from(self.keys.iter().position(|known| *known == key).unwrap()).unwrap())
    }

    fn person(&self, person: EntryId) -> Person {
        Person(u32::try_from(self.persons.iter().position(|known| *known == person).unwrap()).unwrap())
    }

    /// The model's names of entries that were taken down; foundings have none.
    pub(crate) fn ids<'a>(&self, ids: impl IntoIterator<Item = &'a EntryId>) -> BTreeSet<Id> {
        ids.into_iter().filter_map(|id| Some(self.said.get(id)?.id)).collect()
    }

    #[allow(clippy::wildcard_enum_match_arm)] // whatever else is drawn here is a lead's work
    fn kind(&mut self, statement: &Statement) -> Kind {
        let text = u64::try_from(self.said.len()).unwrap();
        match statement.payload.as_ref().unwrap() {
            Payload::Device(says) => Kind::Grant {
                key: self.key(says.key),
                person: self.person(says.person),
                roles: roles(&says.roles),
            },
            Payload::Removal(says) => {
                let last = says.accepted.iter().map(|(document, ids)| {
                    let named =
                        if *document == self.workshop { Document::Workshop } else { Document::Record(0) };
                    (named, self.ids(ids))
                });
                Kind::Removal { key: self.key(says.key), last: last.collect() }
            }
            Payload::Admit(says) => Kind::Admit { ids: self.ids(&says.entries) },
            Payload::Check(_) | Payload::Reading(_) => Kind::Work { needs: Role::Member, text },
            Payload::Person(_) => {
                self.persons.push(statement.id);
                Kind::Work { needs: Role::Lead, text }
            }
            _ => Kind::Work { needs: Role::Lead, text },
        }
    }

    fn core_ids<'a>(&self, ids: impl IntoIterator<Item = &'a Id>) -> BTreeSet<EntryId> {
        ids.into_iter().map(|id| self.back[id]).collect()
    }

    /// What the plain model says of these entries.
    pub(crate) fn by_model(&self, held: &BTreeSet<Id>) -> Told {
        let said = self.said.values().filter(|entry| held.contains(&entry.id));
        let entries = Entries::new(ROOT, said.cloned());
        let verdict = who::counts(&entries);
        let split: BTreeSet<Id> = verdict.forks.iter().flat_map(|(a, b)| [*a, *b]).collect();
        // Where the ways of a key part: the model names every pair, the log the first of each way.
        let first = |id: &Id| {
            let entry = entries.get(*id).unwrap();
            let known = entries.reach(entry.document, &entry.after).0;
            let own = |other: &Id| entries.get(*other).unwrap().author == entry.author;
            !split.iter().any(|other| known.contains(other) && own(other))
        };
        let forks: BTreeSet<Id> = split.iter().copied().filter(first).collect();
        let roster = verdict.roster.iter().map(|(key, (person, roles))| {
            let person = self.persons[usize::try_from(person.0).unwrap()];
            (self.keys[usize::try_from(key.0).unwrap()], (person, roles.member, roles.lead))
        });
        Told {
            counted: self.core_ids(&verdict.counted),
            not_counted: self.core_ids(&verdict.not_counted),
            missing_ground: self.core_ids(&verdict.missing_ground),
            forks: self.core_ids(&forks),
            in_force: self.core_ids(&verdict.in_force),
            roster: roster.collect(),
        }
    }

    /// What the roster says of what somebody holds.
    pub(crate) fn by_roster(&self, workshop: &Log, record: &Log) -> Told {
        let roster = Roster::read(workshop);
        let (mut counted, mut not_counted) = (BTreeSet::new(), BTreeSet::new());
        for log in [workshop, record] {
            for (ix, statement) in (0..).zip(log.folded()).filter(|(_, said)| !is_founding(said, log)) {
                let set = if roster.counts(log, ix).is_ok() { &mut counted } else { &mut not_counted };
                set.insert(statement.id);
            }
        }
        let keys = || self.keys.iter().copied();
        let holder = |key| {
            let (person, roles) = (roster.person_of(key)?, roster.roles_of(key));
            Some((key, (person, roles.member, roles.lead)))
        };
        Told {
            counted,
            not_counted,
            missing_ground: [workshop, record].into_iter().flat_map(Log::waiting).map(|s| s.id).collect(),
            forks: [workshop, record]
                .into_iter()
                .flat_map(|log| log.forks().into_values().flatten())
                .collect(),
            in_force: keys()
                .flat_map(|key| roster.removals_of(key).iter().map(|r| r.id))
                .collect::<BTreeSet<_>>(),
            roster: keys().filter_map(holder).collect(),
        }
    }
}

fn is_founding(statement: &Statement, log: &Log) -> bool {
    DocumentId::from(statement.id) == log.document()
}

fn roles(given: &[payload::Role]) -> Roles {
    Roles { member: given.contains(&payload::Role::Member), lead: given.contains(&payload::Role::Lead) }
}

/// All that follows from what somebody holds, as bytes.
pub(crate) fn assessment(workshop: &Log, record: &Log) -> Vec<u8> {
    let (record, workshop) = (Record::read(record.clone()), Workshop::read(workshop.clone()));
    assess(&record, &workshop).to_bytes(&record, &workshop)
}
