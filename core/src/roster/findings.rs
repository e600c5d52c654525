//! What a person should look at in the workshop itself.

use std::collections::{BTreeMap, BTreeSet};

use super::authority::judged;
use super::{Roles, Roster, asking, join_signature_stands};
use crate::entry::payload::Device;
use crate::entry::{EntryId, KeyId, Payload, READER};
use crate::log::{Ix, Log, Statement};

/// Something to look at: plain data.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct RosterFinding {
    /// Stable short name of the rule.
    pub rule: &'static str,
    /// The entries it rests on, ascending.
    pub entries: Vec<EntryId>,
    /// The keys it speaks of, ascending.
    pub keys: Vec<KeyId>,
    /// What is the matter.
    pub words: String,
    /// The way out.
    pub way_out: &'static str,
}

/// Name of a rule and the way out.
pub(super) type Rule = (&'static str, &'static str);

const CONFLICTING_PERSONS: Rule = (
    "conflicting-persons",
    "give the person a new key, or have the root remove the key that made the wrong grant, leaving that grant out",
);
const CONFLICTING_ROLES: Rule =
    ("conflicting-roles", "only what all its grants have in common holds; a new role is a new key");
const UNKNOWN_PERSON: Rule = ("unknown-person", "enter the person and give them a new key");
const UNKNOWN_INVITE: Rule =
    ("unknown-invite", "ask the lead who admitted the key whether it is the right one");
const INVITE_DIFFERS: Rule = ("invite-differs", "ask the lead who admitted the key whether that was meant");
const INVITE_EXPIRED: Rule = ("invite-expired", "ask the lead who admitted the key whether that was meant");
const INVITE_USED_TWICE: Rule =
    ("invite-used-twice", "ask both people; remove the key that nobody owns up to, with what it entered");
const JOIN_SIGNATURE: Rule =
    ("join-signature", "ask the person to show the key on their device; remove it if it is another one");
const ROOT_KEY_GRANTED: Rule =
    ("root-key-granted", "the root key is nobody's; enrol a key of the person's own");
const ROOT_KEY_REMOVED: Rule = ("root-key-removed", "the root key cannot be removed; found another workshop");
const REMOVAL_BINDS: Rule = (
    "removal-binds",
    "it removes all the same; if it was wrong, the root removes its signer and leaves it out",
);
const WITHOUT_EFFECT: Rule = ("without-effect", "a lead who is not removed, or the root, enters it again");
const UNREADABLE: Rule = ("unreadable", "its author enters it again");
const CANNOT_JUDGE: Rule = ("cannot-judge", "bring this program up to date");

pub(super) fn finding(
    rule: Rule,
    entries: impl IntoIterator<Item = EntryId>,
    keys: impl IntoIterator<Item = KeyId>,
    words: String,
) -> RosterFinding {
    let entries: BTreeSet<EntryId> = entries.into_iter().collect();
    let keys: BTreeSet<KeyId> = keys.into_iter().collect();
    RosterFinding {
        rule: rule.0,
        entries: entries.into_iter().collect(),
        keys: keys.into_iter().collect(),
        words,
        way_out: rule.1,
    }
}

/// All but the join signatures, sorted.
pub(super) fn all(roster: &Roster, workshop: &Log) -> Vec<RosterFinding> {
    let mut found = Vec::new();
    let mut devices: BTreeMap<KeyId, Vec<(EntryId, &Device)>> = BTreeMap::new();
    let asks = asking::asking(roster, workshop);
    for (ix, statement) in (0..).zip(workshop.folded()) {
        if asks.iter().all(|ask| ask.id != statement.id) && !asking::is_answered(roster, statement) {
            found.extend(of_statement(roster, workshop, ix, statement));
        }
    }
    for (ix, statement) in judged(workshop).filter(|(ix, _)| roster.counts(workshop, *ix).is_ok()) {
        found.extend(of_roots_key(roster, statement));
        found.extend(without_effect(roster, statement));
        if let Some(device) = roster.device_at(workshop, ix) {
            devices.entry(device.key).or_default().push((statement.id, device));
            found.extend(of_device(roster, statement, device));
        }
    }
    found.extend(devices.iter().flat_map(|(key, grants)| conflicts(*key, grants)));
    found.extend(used_twice(roster, &devices));
    found.extend(asking::findings(roster, workshop, &asks));
    found.sort();
    found
}

/// Join signatures that do not stand, sorted.
pub(super) fn joins(roster: &Roster) -> Vec<RosterFinding> {
    let mut found = Vec::new();
    for (key, devices) in &roster.devices {
        for join in &devices.joins {
            let stands = |invite| join_signature_stands(key, roster.workshop(), invite, &join.signature);
            if !join.invite.is_some_and(stands) {
                let words = format!(
                    "key {} did not sign that it asks to join by this invite; the lead's word alone holds",
                    key.short()
                );
                found.push(finding(
                    JOIN_SIGNATURE,
                    join.invite.into_iter().chain([join.device]),
                    [*key],
                    words,
                ));
            }
        }
    }
    found.sort();
    found
}

/// Not counted, not readable, or not to be judged.
fn of_statement(roster: &Roster, workshop: &Log, ix: Ix, statement: &Statement) -> Option<RosterFinding> {
    let (ids, keys) = ([statement.id], [statement.key]);
    if let Err(reason) = roster.counts(workshop, ix) {
        if roster.authority.cuts.holds(statement.id) {
            if is_cut_by_own_key(roster, workshop, ix) {
                return None;
            }
            let words = format!("this removal binds, although its signer is removed too: {reason}");
            return Some(finding(REMOVAL_BINDS, ids, keys, words));
        }
        return Some(finding(("not-counted", reason.way_out()), ids, keys, reason.to_string()));
    }
    if statement.min_reader > READER || statement.kind().is_none() {
        let words = format!(
            "a later version wrote this (kind {}, reader {}; this one reads {READER})",
            statement.kind_code, statement.min_reader
        );
        return Some(finding(CANNOT_JUDGE, ids, keys, words));
    }
    statement.payload.as_ref().err().map(|error| finding(UNREADABLE, ids, keys, error.to_string()))
}

/// Whether nobody else than its own key cuts the entry off: who leaves removes their key, and the entry by
/// which they do so cannot be among those it leaves standing.
fn is_cut_by_own_key(roster: &Roster, workshop: &Log, ix: Ix) -> bool {
    let key = workshop.at(ix).key;
    roster.authority.cuts.cutting(workshop, ix).all(|removal| removal.by == key)
}

/// Statements that try to make the root key somebody's, or to end it.
fn of_roots_key(roster: &Roster, statement: &Statement) -> Option<RosterFinding> {
    let root = roster.root()?;
    let (rule, words) = match &statement.payload {
        Ok(Payload::Device(device)) if device.key == root => {
            (ROOT_KEY_GRANTED, "a device entry names the root key; it has no effect")
        }
        Ok(Payload::Removal(removal)) if removal.key == root => {
            (ROOT_KEY_REMOVED, "a removal names the root key; it has no effect")
        }
        _ => return None,
    };
    Some(finding(rule, [statement.id], [statement.key, root], words.to_owned()))
}

/// Removals and admits that count only because somebody admitted them: they bind nothing.
fn without_effect(roster: &Roster, statement: &Statement) -> Option<RosterFinding> {
    let binds = match &statement.payload {
        Ok(Payload::Removal(_)) => roster.authority.cuts.holds(statement.id),
        Ok(Payload::Admit(_)) => roster.authority.admitted.by.contains(&statement.id),
        _ => true,
    };
    let words = "it counts only because it was admitted, and so removes or admits nothing itself";
    (!binds).then(|| finding(WITHOUT_EFFECT, [statement.id], [statement.key], words.to_owned()))
}

fn of_device(roster: &Roster, statement: &Statement, device: &Device) -> Vec<RosterFinding> {
    let (id, key) = (statement.id, device.key);
    let mut found = Vec::new();
    let mut tell = |rule, other: Option<EntryId>, words: String| {
        found.push(finding(rule, other.into_iter().chain([id]), [key], words));
    };
    if roster.name_of(device.person).is_none() {
        let words = format!("key {} is given to {}, who is not entered", key.short(), device.person.short());
        tell(UNKNOWN_PERSON, None, words);
    }
    let Some(invite) = device.invite else { return found };
    let Some(used) = roster.invites().get(&invite) else {
        let words = format!("key {} came by {}, which is no invite that counts", key.short(), invite.short());
        tell(UNKNOWN_INVITE, None, words);
        return found;
    };
    if statement.device_time > used.offer.expires {
        let words = format!("key {} was admitted after its invite had expired", key.short());
        tell(INVITE_EXPIRED, Some(invite), words);
    }
    let other_person = used.offer.person.is_some_and(|person| person != device.person);
    if other_person || Roles::of(&used.offer.roles) != Roles::of(&device.roles) {
        let words = format!("key {} was admitted as somebody else than its invite says", key.short());
        tell(INVITE_DIFFERS, Some(invite), words);
    }
    found
}

/// Grants of one key that contradict each other.
fn conflicts(key: KeyId, grants: &[(EntryId, &Device)]) -> Option<RosterFinding> {
    let persons: BTreeSet<EntryId> = grants.iter().map(|(_, device)| device.person).collect();
    let roles: BTreeSet<Roles> = grants.iter().map(|(_, device)| Roles::of(&device.roles)).collect();
    let (rule, words) = if persons.len() > 1 {
        let words = format!("key {} is given to {} persons and counts for none", key.short(), persons.len());
        (CONFLICTING_PERSONS, words)
    } else if roles.len() > 1 {
        let words = format!("key {} is given {} different sets of roles", key.short(), roles.len());
        (CONFLICTING_ROLES, words)
    } else {
        return None;
    };
    Some(finding(rule, grants.iter().map(|(id, _)| *id), [key], words))
}

fn used_twice(roster: &Roster, devices: &BTreeMap<KeyId, Vec<(EntryId, &Device)>>) -> Vec<RosterFinding> {
    let twice = roster.invites().iter().filter(|(_, used)| used.used_by.len() > 1);
    let tell = |(invite, used): (&EntryId, &super::InviteUse)| {
        let by_it = devices.values().flatten().filter(|(_, device)| device.invite == Some(*invite));
        let words = format!("{} keys came by one invite", used.used_by.len());
        let ids = by_it.map(|(id, _)| *id).chain([*invite]);
        finding(INVITE_USED_TWICE, ids, used.used_by.iter().copied(), words)
    };
    twice.map(tell).collect()
}
