//! What a person should look at in the workshop itself.

use std::collections::{BTreeMap, BTreeSet};

use super::authority::judged;
use super::{Roles, Roster, join_signature_stands};
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
type Rule = (&'static str, &'static str);

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
const ASKS_TO_JOIN: Rule = (
    "asks-to-join",
    "the lead who invited syncs; or `let-in` with the first digits of its key, and `remove` with them ends it",
);
/// Name of the rule for several keys that ask by one invite.
pub const TWO_ASK_RULE: &str = "two-ask-by-one-invite";
const TWO_ASK: Rule = (
    TWO_ASK_RULE,
    "ask whose they are: `let-in` with the first digits of the right key, `remove` with those of the others",
);
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

fn finding(
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
    let asks: Vec<(EntryId, EntryId, &Device)> = workshop
        .folded()
        .iter()
        .filter_map(|statement| {
            ask_in(roster, statement).map(|(invite, device)| (statement.id, invite, device))
        })
        .collect();
    for (ix, statement) in (0..).zip(workshop.folded()) {
        if asks.iter().all(|(id, ..)| *id != statement.id) && !is_answered(roster, statement) {
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
    found.extend(asking(roster, &asks));
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

/// The device entry by which a key speaks of itself under an invite that counts.
fn of_itself<'s>(roster: &Roster, statement: &'s Statement) -> Option<(EntryId, &'s Device)> {
    let Ok(Payload::Device(device)) = &statement.payload else { return None };
    let invite = device.invite.filter(|invite| roster.invites().contains_key(invite))?;
    (device.key == statement.key).then_some((invite, device))
}

/// What asks to be let in: a device entry by the very key it names, under an invite that counts, with
/// the signature by which it asks, while the key is nobody's and no removal ends it. It counts for nothing.
///
/// A signature costs as much as an entry at the gate: it is checked last, and of open asks only.
pub fn ask_in<'s>(roster: &Roster, statement: &'s Statement) -> Option<(EntryId, &'s Device)> {
    let (invite, device) = of_itself(roster, statement)?;
    let open = roster.is_unknown(device.key);
    let asks = open && join_signature_stands(&device.key, roster.workshop(), invite, &device.join_signature);
    asks.then_some((invite, device))
}

/// Whether an entry asked, and its key has been let in or ended since: nothing is left to be done.
fn is_answered(roster: &Roster, statement: &Statement) -> bool {
    of_itself(roster, statement).is_some_and(|(_, device)| !roster.is_unknown(device.key))
}

/// Keys that ask and are neither let in nor removed, by invite.
fn asking(roster: &Roster, asks: &[(EntryId, EntryId, &Device)]) -> Vec<RosterFinding> {
    let mut by_invite: BTreeMap<EntryId, BTreeMap<KeyId, (EntryId, &str)>> = BTreeMap::new();
    for (id, invite, device) in asks {
        by_invite.entry(*invite).or_default().entry(device.key).or_insert((*id, &device.label));
    }
    by_invite.into_iter().map(|(invite, asks)| tell_asking(roster, invite, &asks)).collect()
}

fn tell_asking(roster: &Roster, invite: EntryId, asks: &BTreeMap<KeyId, (EntryId, &str)>) -> RosterFinding {
    let used = roster.invites().get(&invite);
    let whose = used.map_or("", |used| roster.invited_name(&used.offer));
    let taken = used.is_some_and(|used| !used.used_by.is_empty());
    let listed: Vec<String> =
        asks.iter().map(|(key, (_, label))| format!("{label} (key {})", key.short())).collect();
    let listed = listed.join(", ");
    let (rule, words) = match (asks.len(), taken) {
        (1, false) => (ASKS_TO_JOIN, format!("{listed} asks to be let in as {whose}")),
        (1, true) => (
            ASKS_TO_JOIN,
            format!("{listed} asks to be let in as {whose}, by an invite that was taken up already"),
        ),
        (count, _) => (
            TWO_ASK,
            format!(
                "{count} devices ask by the one invite for {whose}, so none is let in by itself: {listed}"
            ),
        ),
    };
    finding(rule, asks.values().map(|(id, _)| *id).chain([invite]), asks.keys().copied(), words)
}
