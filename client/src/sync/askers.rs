//! Keys that ask to be let in, and the letting in.
//!
//! Whoever holds an invite writes a `device` entry for their own key into the workshop, with
//! the signature by which it asks. It counts for nothing, since the key is not of the
//! workshop; but it travels like any entry, and the lead who invited sees it.

use std::collections::BTreeMap;

use gudgeon_core::entry::payload::{Device, Invite, Person};
use gudgeon_core::entry::{Author, DocumentId, EntryId, KeyId, Payload};
use gudgeon_core::log::Log;
use gudgeon_core::roster::{self, Ask, Roster, asking, by_hand};

use crate::error::HomeError;
use crate::home::Home;

/// A key that asks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Asker {
    /// The invite.
    pub invite: EntryId,
    /// The key.
    pub key: KeyId,
    /// Which device, in its words.
    pub label: String,
    /// The signature by which it asks.
    pub signature: Vec<u8>,
    /// Name of the person the invite is for.
    pub person: String,
}

/// Who asks in a workshop and is neither let in yet nor removed, by invite.
#[must_use]
pub fn askers(log: &Log) -> BTreeMap<EntryId, Vec<Asker>> {
    let roster = Roster::read(log);
    by_invite(&roster, asking(&roster, log))
}

/// Who asked and was removed instead of being let in: a new invite is their way.
#[must_use]
pub fn turned_away(log: &Log) -> Vec<Asker> {
    let roster = Roster::read(log);
    by_invite(&roster, roster::turned_away(&roster, log)).into_values().flatten().collect()
}

/// Each key once.
fn by_invite(roster: &Roster, asks: Vec<Ask>) -> BTreeMap<EntryId, Vec<Asker>> {
    let mut found: BTreeMap<EntryId, Vec<Asker>> = BTreeMap::new();
    for Ask { invite, device, .. } in asks {
        let Some(used) = roster.invites().get(&invite) else { continue };
        let of_invite = found.entry(invite).or_default();
        if of_invite.iter().all(|other| other.key != device.key) {
            of_invite.push(Asker {
                invite,
                key: device.key,
                label: device.label.clone(),
                signature: device.join_signature.clone(),
                person: roster.invited_name(&used.offer).to_owned(),
            });
        }
    }
    found
}

/// Lets in whoever alone took up an invite of this lead's that is still open. Once two have asked by it,
/// whatever became of the other, a person says which is the right one. Answers who was let in; durable.
///
/// # Errors
/// [`HomeError`] if the workshop cannot be read or the device does not write.
pub(super) fn let_in(home: &mut Home, workshop: DocumentId, lead: &Author) -> Result<Vec<Asker>, HomeError> {
    let now = home.world().now();
    let log = home.log(workshop)?;
    let roster = Roster::read(log);
    if !roster.leads_now(lead.key()) {
        return Ok(Vec::new());
    }
    let mut let_in = Vec::new();
    for (id, asking) in by_invite(&roster, asking(&roster, log)) {
        if let (Some(invite), [asker]) = (roster.invites().get(&id), &asking[..])
            && roster.same_person(invite.by, lead.key())
            && by_hand(&roster, log, id, Some(now)).is_none()
        {
            let_in.push((asker.clone(), invite.offer.clone()));
        }
    }
    for (asker, offer) in &let_in {
        take_in(home, workshop, lead, asker, offer)?;
    }
    Ok(let_in.into_iter().map(|(asker, _)| asker).collect())
}

/// Lets in one key that asks, as its invite says; durable. Whether that is right is the lead's to judge.
///
/// # Errors
/// [`HomeError`] if the workshop cannot be read or the device does not write.
pub fn take_in(
    home: &mut Home,
    workshop: DocumentId,
    lead: &Author,
    asker: &Asker,
    offer: &Invite,
) -> Result<(), HomeError> {
    let person = match offer.person {
        Some(person) => person,
        None => {
            let name = offer.person_name.clone();
            let saved = home.state(workshop, lead, &[Payload::Person(Person { name })])?;
            let Some(person) = saved.entries.first() else { return Ok(()) };
            *person
        }
    };
    let device = Device {
        key: asker.key,
        person,
        roles: offer.roles.clone(),
        label: asker.label.clone(),
        invite: Some(asker.invite),
        join_signature: asker.signature.clone(),
    };
    home.state(workshop, lead, &[Payload::Device(device)])?;
    tracing::info!(key = %asker.key.short(), "let in by its invite");
    Ok(())
}
