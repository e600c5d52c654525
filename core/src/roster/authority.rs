//! Who counts: removals first, then grants under them, then admits, then grants again.
//!
//! Each pass reads only what the one before has settled, so nothing depends on order:
//!
//! 1. *Ever lead*: the root, and every key made lead by a device entry of such a key that
//!    no removal of the root's cuts off.
//! 2. *In force*: removals by those keys, save those the root has cut off. Nothing else can
//!    undo a removal: two leads removing each other are both removed.
//! 3. Grants from entries that all removals in force accept; the admits that count by these
//!    grants alone.
//! 4. Grants from entries accepted or admitted: these decide what counts, in any document.

use std::collections::BTreeSet;

use super::grants::{Grant, Settled, Standing};
use super::removals::{Admitted, Cuts, Removal};
use super::{NotCounted, Roles};
use crate::entry::payload::Role;
use crate::entry::{DocumentId, KeyId, Kind, Needs, Payload, READER, Scope, payload};
use crate::log::{Ix, Log, Statement};

/// Statement and place, of entries this version can judge.
pub(super) fn judged(log: &Log) -> impl Iterator<Item = (Ix, &Statement)> {
    (0..).zip(log.folded()).filter(|(_, statement)| statement.min_reader <= READER)
}

/// Everything that decides whether an entry counts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Authority {
    pub(super) workshop: DocumentId,
    pub(super) root: Option<KeyId>,
    pub(super) cuts: Cuts,
    pub(super) admitted: Admitted,
    pub(super) grants: Settled,
}

impl Authority {
    pub(super) fn read(workshop: &Log) -> Self {
        let root = workshop.founding().map(|founding| founding.key);
        let mut authority = Self {
            workshop: workshop.document(),
            root,
            cuts: Cuts::default(),
            admitted: Admitted::default(),
            grants: Settled::default(),
        };
        authority.cuts = authority.removals_in_force(workshop);
        authority.grants = authority.settle(workshop);
        authority.admitted = authority.admits(workshop);
        if !authority.admitted.entries.is_empty() {
            authority.grants = authority.settle(workshop);
        }
        authority
    }

    /// Whether the entry at `ix` counts, and if not, why.
    pub(super) fn counts(&self, log: &Log, ix: Ix) -> Result<(), NotCounted> {
        let statement = log.at(ix);
        let in_workshop = log.document() == self.workshop;
        check_place(log, statement, in_workshop)?;
        if Some(statement.key) == self.root {
            return if in_workshop { Ok(()) } else { Err(NotCounted::RootInRecord) };
        }
        if !in_workshop {
            self.check_record(log)?;
        }
        self.check_role(statement)?;
        self.check_cut(log, ix)
    }

    /// What a key is; the root's own key is nobody's.
    pub(super) fn standing(&self, key: KeyId) -> Standing {
        self.grants.standing(key)
    }

    fn is_root(&self, key: KeyId) -> bool {
        self.root == Some(key)
    }

    fn check_record(&self, log: &Log) -> Result<(), NotCounted> {
        let founding = log.founding().map(|statement| &statement.payload);
        match founding {
            Some(Ok(Payload::Founding(f))) if f.workshop != Some(self.workshop) => {
                Err(NotCounted::OtherWorkshop(f.workshop))
            }
            _ => Ok(()),
        }
    }

    fn check_role(&self, statement: &Statement) -> Result<(), NotCounted> {
        self.may_make(statement.key, statement.kind())
    }

    /// Whether a key has the role that a kind needs.
    pub(super) fn may_make(&self, key: KeyId, kind: Option<Kind>) -> Result<(), NotCounted> {
        let roles = match self.standing(key) {
            Standing::Unknown => return Err(NotCounted::UnknownKey(key)),
            Standing::Contradicted => return Err(NotCounted::ConflictingGrants(key)),
            Standing::Held(_, roles) => roles,
        };
        allowed(kind, roles)
    }

    fn check_cut(&self, log: &Log, ix: Ix) -> Result<(), NotCounted> {
        match self.cuts.cut(log, ix) {
            Some(removal) if !self.admitted.hold(log, ix) => Err(match removal.awaited(log) {
                Some(last) => NotCounted::CutUntil { removal: removal.id, last },
                None => NotCounted::CutBy(removal.id),
            }),
            _ => Ok(()),
        }
    }

    fn removals_in_force(&self, workshop: &Log) -> Cuts {
        let mut cuts = Cuts::default();
        let removals: Vec<(Ix, Removal)> = judged(workshop).filter_map(removal_at).collect();
        for (_, removal) in removals.iter().filter(|(_, removal)| self.is_root(removal.by)) {
            cuts.add(removal.clone());
        }
        let leads = self.ever_lead(workshop, &cuts);
        let binds = |ix: Ix, removal: &Removal| {
            leads.contains(&removal.by) && !self.is_root(removal.by) && cuts.cut(workshop, ix).is_none()
        };
        let others: Vec<Removal> =
            removals.into_iter().filter(|(ix, removal)| binds(*ix, removal)).map(|(_, r)| r).collect();
        others.into_iter().for_each(|removal| cuts.add(removal));
        cuts
    }

    fn ever_lead(&self, workshop: &Log, by_root: &Cuts) -> BTreeSet<KeyId> {
        let stands = |ix: Ix, grant: &Grant| grant.by_root || by_root.cut(workshop, ix).is_none();
        let mut rest: Vec<Grant> = self
            .grants_in(workshop)
            .filter(|(ix, grant)| grant.roles.lead && stands(*ix, grant))
            .map(|(_, grant)| grant)
            .collect();
        let mut leads: BTreeSet<KeyId> = self.root.into_iter().collect();
        loop {
            let (more, left): (Vec<Grant>, Vec<Grant>) =
                rest.into_iter().partition(|grant| leads.contains(&grant.by));
            if more.is_empty() {
                return leads;
            }
            leads.extend(more.iter().map(|grant| grant.key));
            rest = left;
        }
    }

    /// Grants from entries that are accepted, or admitted so far.
    fn settle(&self, workshop: &Log) -> Settled {
        let eligible = |ix: Ix, grant: &Grant| grant.by_root || self.check_cut(workshop, ix).is_ok();
        let grants: Vec<Grant> =
            self.grants_in(workshop).filter(|(ix, grant)| eligible(*ix, grant)).map(|(_, g)| g).collect();
        Settled::new(&grants)
    }

    /// The admits that count while nothing is admitted yet.
    fn admits(&self, workshop: &Log) -> Admitted {
        let mut admitted = Admitted::default();
        for (ix, statement) in judged(workshop) {
            if let Ok(Payload::Admit(admit)) = &statement.payload
                && self.counts(workshop, ix).is_ok()
            {
                admitted.entries.extend(&admit.entries);
                admitted.by.insert(statement.id);
            }
        }
        admitted
    }

    /// All grants, whoever signed them, save of the root's own key: it is nobody's.
    fn grants_in<'a>(&'a self, workshop: &'a Log) -> impl Iterator<Item = (Ix, Grant)> + 'a {
        judged(workshop).filter_map(|(ix, statement)| {
            let device = device_in(statement)?;
            let grant = Grant {
                by: statement.key,
                by_root: self.is_root(statement.key),
                key: device.key,
                person: device.person,
                roles: Roles::of(&device.roles),
            };
            (!self.is_root(device.key)).then_some((ix, grant))
        })
    }
}

/// What a device entry gives. One by the very key it names, under an invite, asks and gives nothing: once a
/// lead has let that key in as a lead, its asking must not speak against the grant.
pub(super) fn device_in(statement: &Statement) -> Option<&payload::Device> {
    let asks = |device: &payload::Device| device.key == statement.key && device.invite.is_some();
    match &statement.payload {
        Ok(Payload::Device(device)) if !asks(device) => Some(device),
        _ => None,
    }
}

fn removal_at((ix, statement): (Ix, &Statement)) -> Option<(Ix, Removal)> {
    match &statement.payload {
        Ok(Payload::Removal(says)) => Some((ix, Removal::read(statement.id, statement.key, says))),
        _ => None,
    }
}

/// Whether the kind belongs in this document, and a founding is this document's own.
fn check_place(log: &Log, statement: &Statement, in_workshop: bool) -> Result<(), NotCounted> {
    let Some(kind) = statement.kind() else { return Ok(()) };
    let misplaced = match kind.row().scope {
        Scope::Workshop => !in_workshop,
        Scope::Record => in_workshop,
        Scope::Both => false,
    };
    if misplaced {
        return Err(NotCounted::WrongDocument(kind));
    }
    if kind == Kind::Founding && DocumentId::from(statement.id) != log.document() {
        return Err(NotCounted::SecondFounding);
    }
    Ok(())
}

/// Whether the roles suffice; a kind of a later version needs a key that may enter anything at all.
fn allowed(kind: Option<Kind>, roles: Roles) -> Result<(), NotCounted> {
    if !roles.may_enter() {
        return Err(NotCounted::Viewer);
    }
    let Some(kind) = kind else { return Ok(()) };
    match kind.row().needs {
        Needs::Founder | Needs::Lead if !roles.has(Role::Lead) => Err(NotCounted::NeedsLead(kind)),
        Needs::Member if !roles.has(Role::Member) => Err(NotCounted::NeedsMember(kind)),
        Needs::Founder | Needs::Lead | Needs::Member | Needs::MemberOwnElseLead | Needs::MemberOrLead => {
            Ok(())
        }
    }
}
