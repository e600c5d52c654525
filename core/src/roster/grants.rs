//! Which device entries count, and what they add up to for each key.
//!
//! A grant counts when its signer is a lead, and the signer is a lead by a grant that
//! counts: from the root outwards. But a second grant, to another person or without the
//! role, takes authority away, and it may have been signed on that very authority. So two
//! sets are kept: grants that *possibly* count (as if nothing that is not yet sure spoke
//! against their signers) and grants that *surely* do (as if everything possible did).
//! The first shrinks, the second grows, until both rest. Who is caught between them has
//! no authority: nobody gains a right by a statement that would take it away again.

use std::collections::BTreeMap;

use super::Roles;
use crate::entry::payload::Role;
use crate::entry::{EntryId, KeyId};

/// A device entry, as far as authority goes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Grant {
    pub(super) by: KeyId,
    pub(super) by_root: bool,
    pub(super) key: KeyId,
    pub(super) person: EntryId,
    pub(super) roles: Roles,
}

/// What grants say of each key, person by person.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Claims(BTreeMap<KeyId, BTreeMap<EntryId, Claim>>);

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Claim {
    /// In some grant.
    some: Roles,
    /// In every grant.
    every: Roles,
}

impl Claims {
    fn add(&mut self, grant: &Grant) {
        let persons = self.0.entry(grant.key).or_default();
        persons
            .entry(grant.person)
            .and_modify(|claim| {
                claim.some = claim.some.or(grant.roles);
                claim.every = claim.every.and(grant.roles);
            })
            .or_insert(Claim { some: grant.roles, every: grant.roles });
    }

    fn of(&self, key: KeyId) -> impl Iterator<Item = (&EntryId, &Claim)> {
        self.0.get(&key).into_iter().flatten()
    }

    /// Whether some grant here gives the key the role, and none of `against` gives the key
    /// to another person, or without the role.
    fn give(&self, key: KeyId, role: Role, against: &Self) -> bool {
        self.of(key).any(|(person, claim)| {
            claim.some.has(role) && against.of(key).all(|(other, c)| other == person && c.every.has(role))
        })
    }
}

/// What a key is on the roster.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Standing {
    /// No grant of it counts.
    Unknown,
    /// Granted to different persons.
    Contradicted,
    /// Somebody's, with the roles that all its grants give.
    Held(EntryId, Roles),
}

/// Grants, settled.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Settled(BTreeMap<KeyId, Standing>);

impl Settled {
    /// Settles these grants; their order does not matter.
    pub(super) fn new(grants: &[Grant]) -> Self {
        let (mut sure, mut count) = (Claims::default(), 0);
        loop {
            let (possible, _) = given(grants, &sure);
            let (surer, counted) = given(grants, &possible);
            if counted == count {
                let standing = |key: &KeyId| (*key, standing(*key, &sure, &possible));
                return Self(possible.0.keys().map(standing).collect());
            }
            (sure, count) = (surer, counted);
        }
    }

    /// What the key is.
    pub(super) fn standing(&self, key: KeyId) -> Standing {
        self.0.get(&key).copied().unwrap_or(Standing::Unknown)
    }

    /// Keys that a grant speaks of which counts, or may.
    pub(super) fn keys(&self) -> impl Iterator<Item = KeyId> + '_ {
        self.0.keys().copied()
    }
}

fn standing(key: KeyId, sure: &Claims, possible: &Claims) -> Standing {
    match sure.of(key).next() {
        _ if possible.of(key).count() > 1 => Standing::Contradicted,
        None => Standing::Unknown,
        Some((person, _)) => {
            let has = |role| sure.give(key, role, possible);
            let roles = Roles { member: has(Role::Member), lead: has(Role::Lead), viewer: has(Role::Viewer) };
            Standing::Held(*person, roles)
        }
    }
}

/// The grants that count when `against` is all that could speak against their signers, and
/// how many they are.
fn given(grants: &[Grant], against: &Claims) -> (Claims, usize) {
    let mut given = Claims::default();
    let (from_root, mut rest): (Vec<&Grant>, Vec<&Grant>) = grants.iter().partition(|grant| grant.by_root);
    let mut next = from_root;
    let mut count = 0;
    while !next.is_empty() {
        count += next.len();
        next.iter().for_each(|grant| given.add(grant));
        (next, rest) = rest.into_iter().partition(|grant| given.give(grant.by, Role::Lead, against));
    }
    (given, count)
}
