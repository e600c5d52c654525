//! Keys that ask to be let in, and whether one is let in by itself.

use std::collections::{BTreeMap, BTreeSet};

use super::findings::{RosterFinding, Rule, finding};
use super::grants::Standing;
use super::{InviteUse, Roster, join_signature_stands};
use crate::entry::payload::{Device, Millis};
use crate::entry::{EntryId, KeyId, Payload};
use crate::log::{Log, Statement};

/// Name of the rule for a key that asks by an invite.
pub const ASKS_RULE: &str = "asks-to-join";

/// Name of the rule for several keys that ask by one invite.
pub const TWO_ASK_RULE: &str = "two-ask-by-one-invite";

const ASKS: Rule = (
    ASKS_RULE,
    "the lead who invited syncs; or `let-in` with the first digits of its key, and `remove` with them ends it",
);
const ASKS_BY_HAND: Rule =
    (ASKS_RULE, "if it is theirs, `let-in` with the first digits of its key; `remove` with them ends it");
const TWO_ASK: Rule = (
    TWO_ASK_RULE,
    "ask whose they are: `let-in` with the first digits of the right key, `remove` with those of the others",
);

/// A device entry by the very key it names, under an invite that counts, with the signature by which it
/// asks. It counts for nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ask<'s> {
    /// The entry.
    pub id: EntryId,
    /// The invite.
    pub invite: EntryId,
    /// What it says of its key.
    pub device: &'s Device,
}

/// Why a lead says who it is that asks: by itself nobody is let in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ByHand {
    /// Another key came by the invite already.
    TakenUp,
    /// So many keys have asked by it, those that were removed since among them.
    SeveralAsked(usize),
    /// Whoever wrote the invite leads no more.
    InviterGone,
    /// The invite has run out.
    RunOut,
}

/// Asks of keys that are nobody's and that no removal ends. A signature costs as much as an entry at the
/// gate: it is checked last, and of these only.
#[must_use]
pub fn asking<'s>(roster: &'s Roster, workshop: &'s Log) -> Vec<Ask<'s>> {
    asks_of(roster, workshop, &|key| roster.is_unknown(key))
}

/// Asks of keys that a removal has ended, and that are nobody's.
#[must_use]
pub fn turned_away<'s>(roster: &'s Roster, workshop: &'s Log) -> Vec<Ask<'s>> {
    asks_of(roster, workshop, &|key| {
        matches!(roster.authority.standing(key), Standing::Unknown) && !roster.removals_of(key).is_empty()
    })
}

fn asks_of<'s>(roster: &'s Roster, workshop: &'s Log, of: &dyn Fn(KeyId) -> bool) -> Vec<Ask<'s>> {
    let asks = workshop.folded().iter().filter_map(|statement| of_itself(roster, statement));
    asks.filter(|ask| of(ask.device.key) && stands(roster, ask)).collect()
}

/// Whether a lead has to say who it is that asks by an invite, and why; none where the first meeting of the
/// lead who invited lets in whoever alone asked. Without `now` an invite does not run out.
#[must_use]
pub fn by_hand(roster: &Roster, workshop: &Log, invite: EntryId, now: Option<Millis>) -> Option<ByHand> {
    let used = roster.invites().get(&invite)?;
    if !used.used_by.is_empty() {
        return Some(ByHand::TakenUp);
    }
    let of_invite = workshop.folded().iter().filter_map(|statement| of_itself(roster, statement));
    let asks = of_invite.filter(|ask| ask.invite == invite && stands(roster, ask));
    // One that was removed counts: who is left is not thereby the right one.
    let keys: BTreeSet<KeyId> = asks.map(|ask| ask.device.key).collect();
    match keys.len() {
        0 | 1 if !inviter_leads(roster, used) => Some(ByHand::InviterGone),
        0 | 1 => now.filter(|now| !used.is_open_at(*now)).map(|_| ByHand::RunOut),
        several => Some(ByHand::SeveralAsked(several)),
    }
}

/// Whether whoever wrote the invite leads still, with this key or another of theirs.
fn inviter_leads(roster: &Roster, used: &InviteUse) -> bool {
    roster.keys().any(|key| roster.leads_now(key) && roster.same_person(key, used.by))
}

/// The device entry by which a key speaks of itself under an invite that counts.
fn of_itself<'s>(roster: &Roster, statement: &'s Statement) -> Option<Ask<'s>> {
    let Ok(Payload::Device(device)) = &statement.payload else { return None };
    let invite = device.invite.filter(|invite| roster.invites().contains_key(invite))?;
    (device.key == statement.key).then_some(Ask { id: statement.id, invite, device })
}

fn stands(roster: &Roster, ask: &Ask) -> bool {
    let device = ask.device;
    join_signature_stands(&device.key, roster.workshop(), ask.invite, &device.join_signature)
}

/// Whether an entry asked, and its key has been let in or ended since: nothing is left to be done.
pub(super) fn is_answered(roster: &Roster, statement: &Statement) -> bool {
    of_itself(roster, statement).is_some_and(|ask| !roster.is_unknown(ask.device.key))
}

/// What is to be done about open asks, by invite.
pub(super) fn findings(roster: &Roster, workshop: &Log, asks: &[Ask]) -> Vec<RosterFinding> {
    let mut by_invite: BTreeMap<EntryId, BTreeMap<KeyId, &Ask>> = BTreeMap::new();
    for ask in asks {
        by_invite.entry(ask.invite).or_default().entry(ask.device.key).or_insert(ask);
    }
    by_invite.into_iter().map(|(invite, asks)| tell(roster, workshop, invite, &asks)).collect()
}

fn tell(roster: &Roster, workshop: &Log, invite: EntryId, asks: &BTreeMap<KeyId, &Ask>) -> RosterFinding {
    let used = roster.invites().get(&invite);
    let whose = used.map_or("", |used| roster.invited_name(&used.offer));
    let listed: Vec<String> =
        asks.iter().map(|(key, ask)| format!("{} (key {})", ask.device.label, key.short())).collect();
    let listed = listed.join(", ");
    let (rule, words) = if asks.len() > 1 {
        let count = asks.len();
        let words = format!(
            "{count} devices ask by the one invite for {whose}, so none is let in by itself: {listed}"
        );
        (TWO_ASK, words)
    } else {
        let asks = format!("{listed} asks to be let in as {whose}");
        match by_hand(roster, workshop, invite, None) {
            None => (ASKS, asks),
            Some(why) => (ASKS_BY_HAND, format!("{asks}, {}", why.words())),
        }
    };
    finding(rule, asks.values().map(|ask| ask.id).chain([invite]), asks.keys().copied(), words)
}

impl ByHand {
    /// The reason, to be added to who asks.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::TakenUp => "by an invite that was taken up already".to_owned(),
            Self::SeveralAsked(count) => {
                format!("by an invite by which {count} devices asked, so it is not let in by itself")
            }
            Self::InviterGone => {
                "by an invite of somebody who leads no more, so it is not let in by itself".to_owned()
            }
            Self::RunOut => "by an invite that has run out".to_owned(),
        }
    }
}
