//! Asking to join: the joiner's key signs that it asks, a lead's device entry admits it.

use super::Roles;
use crate::entry::payload::{Device, Role};
use crate::entry::{Author, DocumentId, EntryId, KeyId, tagged_signature_stands};

/// Tag under which joins are signed; no other signature uses it.
pub const JOIN_TAG: &[u8] = b"gudgeon join v1";

/// A key that asks to be taken into a workshop by an invite.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JoinRequest {
    /// The workshop.
    pub workshop: DocumentId,
    /// The invite.
    pub invite: EntryId,
    /// The asking key.
    pub key: KeyId,
    /// Its signature.
    pub signature: [u8; 64],
}

impl JoinRequest {
    /// Whether the signature is the asking key's.
    #[must_use]
    pub fn stands(&self) -> bool {
        join_signature_stands(&self.key, self.workshop, self.invite, &self.signature)
    }

    /// The device entry by which a lead admits it.
    #[must_use]
    pub fn device(&self, person: EntryId, roles: Roles, label: String) -> Device {
        let all = [Role::Member, Role::Lead, Role::Viewer];
        Device {
            key: self.key,
            person,
            roles: all.into_iter().filter(|role| roles.has(*role)).collect(),
            label,
            invite: Some(self.invite),
            join_signature: self.signature.to_vec(),
        }
    }
}

/// Asks: signs the workshop, the invite and the joiner's own key.
#[must_use]
pub fn join_request(joiner: &Author, workshop: DocumentId, invite: EntryId) -> JoinRequest {
    let key = joiner.key();
    let signature = joiner.sign_tagged(JOIN_TAG, &[workshop.bytes(), invite.bytes(), key.bytes()]);
    JoinRequest { workshop, invite, key, signature }
}

/// Whether a join signature stands, by the strict rule.
#[must_use]
pub fn join_signature_stands(key: &KeyId, workshop: DocumentId, invite: EntryId, signature: &[u8]) -> bool {
    signature.try_into().is_ok_and(|signature| {
        tagged_signature_stands(key, JOIN_TAG, &[workshop.bytes(), invite.bytes(), key.bytes()], signature)
    })
}
