//! Who works here: people, keys, roles, removals; and what the workshop lists.
//!
//! Read from the workshop's entries alone, in whatever order they came. No clock decides:
//! a removed key's entries count or not by what its removal names, never by when they
//! were made or arrived. Nothing here refuses to store an entry; what does not count has
//! no effect and is a finding.
//!
//! - Statements of the root key in the workshop always count. It signs nowhere else, and
//!   belongs to nobody: a device entry that names it has no effect.
//! - A key has the roles that all counted device entries for it have in common; granted to
//!   two persons it counts for neither (see `grants.rs` for grants that bite their own tail).
//! - An entry counts when every removal of its key accepts it, or a lead admitted it, and
//!   its key has the role its kind needs, at any time (see `authority.rs`).

mod asking;
mod authority;
mod findings;
mod grants;
mod join;
mod reason;
mod removals;
mod roles;
#[cfg(test)]
mod test_support;
#[cfg(test)]
mod tests;
mod versions;

use std::collections::{BTreeMap, BTreeSet};

use authority::{Authority, device_in};
use grants::Standing;

use crate::entry::payload::{Instrument, Invite, Millis};
use crate::entry::{DocumentId, EntryId, KeyId, Kind, Payload, READER};
use crate::log::{Ix, Log, Statement};

pub use asking::{ASKS_RULE, Ask, ByHand, TWO_ASK_RULE, asking, by_hand, turned_away};
pub use findings::RosterFinding;
pub use join::{JOIN_TAG, JoinRequest, join_request, join_signature_stands};
pub use reason::NotCounted;
pub use removals::Removal;
pub use roles::Roles;
pub use versions::{Version, Versions};

/// An invite that counts, and the device entries that name it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InviteUse {
    /// Key that signed the invite.
    pub by: KeyId,
    /// What it offers.
    pub offer: Invite,
    /// Keys that came by it.
    pub used_by: BTreeSet<KeyId>,
}

impl InviteUse {
    /// Whether it may be taken up at `now`: up to its last moment, and by nobody yet.
    #[must_use]
    pub fn is_open_at(&self, now: Millis) -> bool {
        now <= self.offer.expires && self.used_by.is_empty()
    }
}

/// The workshop as its entries tell it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Roster {
    authority: Authority,
    workshop_name: Option<String>,
    people: BTreeMap<EntryId, String>,
    devices: BTreeMap<KeyId, Devices>,
    records: BTreeMap<DocumentId, Versions<String>>,
    instruments: BTreeMap<String, Versions<Instrument>>,
    invites: BTreeMap<EntryId, InviteUse>,
    unjudged: BTreeSet<EntryId>,
    findings: Vec<RosterFinding>,
}

/// The counted device entries of a key.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Devices {
    label: String,
    joins: Vec<Join>,
}

/// A signature by which a key came in, still to be checked.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Join {
    device: EntryId,
    invite: Option<EntryId>,
    signature: Vec<u8>,
}

impl Roster {
    /// Reads the workshop's document.
    #[must_use]
    pub fn read(workshop: &Log) -> Self {
        let authority = Authority::read(workshop);
        let counted: Vec<Ix> = (0..)
            .zip(workshop.folded())
            .map(|(ix, _)| ix)
            .filter(|ix| authority.counts(workshop, *ix).is_ok())
            .collect();
        let mut roster = Self {
            workshop_name: workshop_name(workshop),
            authority,
            people: BTreeMap::new(),
            devices: BTreeMap::new(),
            records: BTreeMap::new(),
            instruments: BTreeMap::new(),
            invites: BTreeMap::new(),
            unjudged: BTreeSet::new(),
            findings: Vec::new(),
        };
        roster.list(workshop, &counted);
        roster.list_devices(workshop, &counted);
        roster.findings = findings::all(&roster, workshop);
        roster
    }

    /// The root key: that of the founding entry whose id is the document's.
    #[must_use]
    pub const fn root(&self) -> Option<KeyId> {
        self.authority.root
    }

    /// The workshop's document.
    #[must_use]
    pub const fn workshop(&self) -> DocumentId {
        self.authority.workshop
    }

    /// Name of the workshop.
    #[must_use]
    pub fn workshop_name(&self) -> Option<&str> {
        self.workshop_name.as_deref()
    }

    /// People and their names, by the id of their entry.
    pub fn people(&self) -> impl Iterator<Item = (EntryId, &str)> {
        self.people.iter().map(|(id, name)| (*id, name.as_str()))
    }

    /// Name of a person.
    #[must_use]
    pub fn name_of(&self, person: EntryId) -> Option<&str> {
        self.people.get(&person).map(String::as_str)
    }

    /// Keys that were given to somebody, ascending; removed ones and contradicted ones too.
    pub fn keys(&self) -> impl Iterator<Item = KeyId> + '_ {
        self.authority.grants.keys()
    }

    /// Whose key it is; none where nobody's, or given to different persons. A removed key
    /// stays its person's: its accepted entries are theirs.
    #[must_use]
    pub fn person_of(&self, key: KeyId) -> Option<EntryId> {
        match self.authority.standing(key) {
            Standing::Held(person, _) => Some(person),
            Standing::Unknown | Standing::Contradicted => None,
        }
    }

    /// A key in words: `key 1a2b3c4d5e`, and whose it is where it is somebody's.
    #[must_use]
    pub fn told(&self, key: KeyId) -> String {
        match self.person_of(key).and_then(|person| self.name_of(person)) {
            Some(name) => format!("key {} of {name}", key.short()),
            None => format!("key {}", key.short()),
        }
    }

    /// Whether nobody was given this key, and no removal ends it: it may still be let in.
    #[must_use]
    pub fn is_unknown(&self, key: KeyId) -> bool {
        matches!(self.authority.standing(key), Standing::Unknown) && self.removals_of(key).is_empty()
    }

    /// Name of the person an invite is for: as entered, else as it says.
    #[must_use]
    pub fn invited_name<'a>(&'a self, offer: &'a Invite) -> &'a str {
        offer.person.and_then(|person| self.name_of(person)).unwrap_or(&offer.person_name)
    }

    /// Its roles, for good; a removal does not change them.
    #[must_use]
    pub fn roles_of(&self, key: KeyId) -> Roles {
        match self.authority.standing(key) {
            Standing::Held(_, roles) => roles,
            Standing::Unknown | Standing::Contradicted => Roles::default(),
        }
    }

    /// Which device, in words; of several statements the latest known.
    #[must_use]
    pub fn label_of(&self, key: KeyId) -> Option<&str> {
        self.devices.get(&key).map(|devices| devices.label.as_str())
    }

    /// The removals that bind this key, in order of id.
    #[must_use]
    pub fn removals_of(&self, key: KeyId) -> &[Removal] {
        self.authority.cuts.of(key)
    }

    /// Whether both keys are one person's.
    #[must_use]
    pub fn same_person(&self, a: KeyId, b: KeyId) -> bool {
        a == b || self.person_of(a).is_some_and(|person| self.person_of(b) == Some(person))
    }

    /// Whether the key may open a session: somebody's, with some role, and not removed.
    #[must_use]
    pub fn may_connect(&self, key: KeyId) -> bool {
        self.roles_of(key) != Roles::default() && self.removals_of(key).is_empty()
    }

    /// Whether the key leads now: made lead, and not removed.
    #[must_use]
    pub fn leads_now(&self, key: KeyId) -> bool {
        self.roles_of(key).lead && self.removals_of(key).is_empty()
    }

    /// Records of the workshop and their names.
    #[must_use]
    pub const fn records(&self) -> &BTreeMap<DocumentId, Versions<String>> {
        &self.records
    }

    /// Instruments by the shop's mark.
    #[must_use]
    pub const fn instruments(&self) -> &BTreeMap<String, Versions<Instrument>> {
        &self.instruments
    }

    /// Invites that count, used or not.
    #[must_use]
    pub const fn invites(&self) -> &BTreeMap<EntryId, InviteUse> {
        &self.invites
    }

    /// Counted workshop entries that this version cannot judge: of a later kind, or meant for
    /// a later reader. While there is one, nothing in this workshop is proven.
    #[must_use]
    pub const fn unjudged(&self) -> &BTreeSet<EntryId> {
        &self.unjudged
    }

    /// Whether the folded entry at `ix` counts; of the workshop's log or of a record's.
    ///
    /// Costs a look-up where the key has no removal. That a void by a member reaches only
    /// their own entries is not asked here: use [`Roster::same_person`].
    ///
    /// # Errors
    /// Why it does not count.
    pub fn counts(&self, log: &Log, ix: Ix) -> Result<(), NotCounted> {
        self.authority.counts(log, ix)
    }

    /// What a person should look at in the workshop itself, sorted. Entries that miss their
    /// ground and copied devices are told by the log.
    #[must_use]
    pub fn findings(&self) -> &[RosterFinding] {
        &self.findings
    }

    /// Join signatures that do not stand, sorted. Apart from the other findings since every
    /// signature costs as much as an entry at the gate: ask when the workshop has changed.
    #[must_use]
    pub fn join_findings(&self) -> Vec<RosterFinding> {
        findings::joins(self)
    }

    /// Whether a key has the role that a kind needs: asked before an entry is made.
    ///
    /// # Errors
    /// Why an entry of this kind by this key does not count. Removals are not asked here.
    pub fn may_make(&self, key: KeyId, kind: Kind) -> Result<(), NotCounted> {
        self.authority.may_make(key, Some(kind))
    }

    fn list(&mut self, workshop: &Log, counted: &[Ix]) {
        let mut records: BTreeMap<DocumentId, Vec<Version<String>>> = BTreeMap::new();
        let mut instruments: BTreeMap<String, Vec<Version<Instrument>>> = BTreeMap::new();
        for statement in counted.iter().map(|ix| workshop.at(*ix)) {
            if statement.min_reader > READER || statement.kind().is_none() {
                self.unjudged.insert(statement.id);
                continue;
            }
            match &statement.payload {
                Ok(Payload::Person(person)) => {
                    self.people.insert(statement.id, person.name.clone());
                }
                Ok(Payload::RecordListed(listed)) => {
                    records.entry(listed.record).or_default().push(self.version(statement, &listed.name));
                }
                Ok(Payload::Instrument(i)) => {
                    instruments.entry(i.mark.clone()).or_default().push(self.version(statement, i.as_ref()));
                }
                Ok(Payload::Invite(offer)) => {
                    let (by, offer) = (statement.key, offer.clone());
                    self.invites.insert(statement.id, InviteUse { by, offer, used_by: BTreeSet::new() });
                }
                _ => {}
            }
        }
        self.records = records.into_iter().map(|(k, v)| (k, Versions::new(workshop, v))).collect();
        self.instruments = instruments.into_iter().map(|(k, v)| (k, Versions::new(workshop, v))).collect();
    }

    fn version<T: Clone>(&self, statement: &Statement, says: &T) -> Version<T> {
        let by_lead = self.root() == Some(statement.key) || self.roles_of(statement.key).lead;
        Version { id: statement.id, by: statement.key, by_lead, says: says.clone() }
    }

    fn list_devices(&mut self, workshop: &Log, counted: &[Ix]) {
        let mut by_key: BTreeMap<KeyId, Vec<Ix>> = BTreeMap::new();
        for ix in counted {
            if let Some(device) = self.device_at(workshop, *ix) {
                by_key.entry(device.key).or_default().push(*ix);
                if let Some(invite) = device.invite.and_then(|id| self.invites.get_mut(&id)) {
                    invite.used_by.insert(device.key);
                }
            }
        }
        for (key, mut places) in by_key {
            places.sort_by_key(|ix| workshop.at(*ix).id);
            let newest = versions::newest(workshop, &places);
            let label = newest.first().and_then(|ix| self.device_at(workshop, *ix)).map(|d| d.label.clone());
            let joins = places.iter().filter_map(|ix| join_in(workshop.at(*ix))).collect();
            self.devices.insert(key, Devices { label: label.unwrap_or_default(), joins });
        }
    }

    /// What the entry says of a device, unless it speaks of the root's key or to a later reader.
    fn device_at<'a>(&self, workshop: &'a Log, ix: Ix) -> Option<&'a crate::entry::payload::Device> {
        let statement = workshop.at(ix);
        let device = device_in(statement)?;
        (statement.min_reader <= READER && self.root() != Some(device.key)).then_some(device)
    }
}

/// The join signature of a device entry; none where it was enrolled by hand.
fn join_in(statement: &Statement) -> Option<Join> {
    let device = device_in(statement)?;
    let signature = device.join_signature.clone();
    let by_hand = device.invite.is_none() && signature.is_empty();
    (!by_hand).then_some(Join { device: statement.id, invite: device.invite, signature })
}

fn workshop_name(workshop: &Log) -> Option<String> {
    match &workshop.founding()?.payload {
        Ok(Payload::Founding(founding)) => Some(founding.name.clone()),
        _ => None,
    }
}
