//! The signed value of an entry: author key, signature, body; and the frozen envelope.

use ed25519_dalek::{Signature, Signer as _, SigningKey, VerifyingKey};
use gudgeon_proto::v1;
use prost::Message as _;
use sha2::{Digest as _, Sha256};

use super::{DocumentId, EntryId, KeyId, Kind};

/// Tag under which entries are hashed and signed; no other signature uses it.
pub const ENTRY_TAG: &[u8] = b"gudgeon entry v1";

/// Tag under which sessions with a relay are signed; no other signature uses it.
pub const SESSION_TAG: &[u8] = b"gudgeon session v1";

/// The newest entry shape this version can judge.
pub const READER: u32 = 1;

const KEY_LEN: usize = 32;
const HEAD_LEN: usize = KEY_LEN + 64;

/// Most ids that `after` may hold.
pub const MAX_AFTER: usize = 32;

/// Largest value of an entry in bytes; a photo fits, a film does not.
pub const MAX_ENTRY: usize = 640 * 1024;

/// The frozen envelope: all that the gate reads of a body.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Envelope {
    /// The document it belongs to; none in a founding.
    pub document: Option<DocumentId>,
    /// Number of its kind; unknown numbers are kept.
    pub kind_code: u32,
    /// Milliseconds since 1970-01-01 UTC by the author's device: a hint, never an order.
    pub device_time: i64,
    /// The oldest reader that may judge it.
    pub min_reader: u32,
    /// The newest entries its author held, ascending.
    pub after: Vec<EntryId>,
    /// The message of its kind, encoded.
    pub payload: Vec<u8>,
}

impl Envelope {
    /// Its kind, if this version knows it.
    #[must_use]
    pub fn kind(&self) -> Option<Kind> {
        Kind::from_code(self.kind_code)
    }

    /// The body bytes: what is hashed and signed, with the tag and key before them.
    #[must_use]
    pub fn encode(&self) -> Vec<u8> {
        v1::Body {
            record: self.document.map_or_else(Vec::new, |id| id.bytes().to_vec()),
            kind: self.kind_code,
            device_time: self.device_time,
            min_reader: self.min_reader,
            after: self.after.iter().map(|id| id.bytes().to_vec()).collect(),
            payload: self.payload.clone(),
        }
        .encode_to_vec()
    }
}

/// An entry: its name, author key and envelope, beside the bytes as they were signed.
///
/// Made only by the gate, which checked it, or by [`Author::sign`], which signed it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    id: EntryId,
    key: KeyId,
    envelope: Envelope,
    value: Vec<u8>,
}

impl Entry {
    /// Name of the entry.
    #[must_use]
    pub const fn id(&self) -> EntryId {
        self.id
    }

    /// Key that signed it.
    #[must_use]
    pub const fn key(&self) -> KeyId {
        self.key
    }

    /// What the gate reads.
    #[must_use]
    pub const fn envelope(&self) -> &Envelope {
        &self.envelope
    }

    /// Author key, signature and body, as stored and carried.
    #[must_use]
    pub fn value(&self) -> &[u8] {
        &self.value
    }

    pub(super) const fn from_parts(id: EntryId, key: KeyId, envelope: Envelope, value: Vec<u8>) -> Self {
        Self { id, key, envelope, value }
    }
}

/// The three parts of a stored value, not yet looked into.
#[derive(Clone, Copy, Debug)]
pub(super) struct Parts<'a> {
    pub(super) key: KeyId,
    pub(super) signature: [u8; 64],
    pub(super) body: &'a [u8],
}

/// Splits a stored value; none where it is too short.
pub(super) fn split(value: &[u8]) -> Option<Parts<'_>> {
    let (key, rest) = value.split_at_checked(KEY_LEN)?;
    let (signature, body) = rest.split_at_checked(HEAD_LEN - KEY_LEN)?;
    Some(Parts { key: KeyId::from_slice(key)?, signature: signature.try_into().ok()?, body })
}

/// The bytes that are hashed and signed.
fn tagged(key: &KeyId, body: &[u8]) -> Vec<u8> {
    [ENTRY_TAG, key.bytes(), body].concat()
}

/// Id of the entry with this key and body: SHA-256 over tag, key and body.
#[must_use]
pub(super) fn id_of(key: &KeyId, body: &[u8]) -> EntryId {
    let digest = Sha256::new().chain_update(ENTRY_TAG).chain_update(key.bytes()).chain_update(body);
    EntryId::new(digest.finalize().into())
}

/// Id that a stored value claims, whatever its signature; none where it is too short.
#[must_use]
pub fn claimed_id(value: &[u8]) -> Option<EntryId> {
    split(value).map(|parts| id_of(&parts.key, parts.body))
}

/// Whether the signature stands, by the strict rule (no small-order keys, canonical scalars).
pub(super) fn signature_stands(parts: &Parts<'_>) -> bool {
    VerifyingKey::from_bytes(parts.key.bytes()).is_ok_and(|key| {
        let signature = Signature::from_bytes(&parts.signature);
        key.verify_strict(&tagged(&parts.key, parts.body), &signature).is_ok()
    })
}

/// A key pair that signs entries.
#[derive(Clone)]
pub struct Author(SigningKey);

impl Author {
    /// From the 32 secret bytes.
    #[must_use]
    pub fn from_secret(secret: &[u8; 32]) -> Self {
        Self(SigningKey::from_bytes(secret))
    }

    /// The secret bytes, to be sealed.
    #[must_use]
    pub fn secret(&self) -> [u8; 32] {
        self.0.to_bytes()
    }

    /// The public key.
    #[must_use]
    pub fn key(&self) -> KeyId {
        KeyId::new(self.0.verifying_key().to_bytes())
    }

    /// Signs a body as an entry.
    #[must_use]
    pub fn sign(&self, envelope: Envelope) -> Entry {
        let (key, body) = (self.key(), envelope.encode());
        let signature = self.0.sign(&tagged(&key, &body));
        let value = [key.bytes().as_slice(), &signature.to_bytes(), &body].concat();
        Entry::from_parts(id_of(&key, &body), key, envelope, value)
    }

    /// Signs under another tag; every signature in the system has its own.
    #[must_use]
    pub fn sign_tagged(&self, tag: &[u8], parts: &[&[u8]]) -> [u8; 64] {
        self.0.sign(&[tag, &parts.concat()].concat()).to_bytes()
    }
}

impl std::fmt::Debug for Author {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Author({})", self.key().short())
    }
}

/// Whether a signature under `tag` over `parts` by `key` stands, by the strict rule.
#[must_use]
pub fn tagged_signature_stands(key: &KeyId, tag: &[u8], parts: &[&[u8]], signature: &[u8; 64]) -> bool {
    VerifyingKey::from_bytes(key.bytes()).is_ok_and(|key| {
        key.verify_strict(&[tag, &parts.concat()].concat(), &Signature::from_bytes(signature)).is_ok()
    })
}
