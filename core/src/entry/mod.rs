//! Entries: one immutable, signed statement each; their kinds, bodies, ids and the gate.
//!
//! An entry's value is author key (32 bytes), signature (64 bytes), body. Its id is
//! SHA-256 over the tag [`ENTRY_TAG`], the key and the body; the signature covers the same
//! bytes as they stand. Nothing is ever encoded anew to be checked.

mod body;
mod gate;
mod id;
mod kind;
pub mod payload;
mod wire;

pub use body::{
    Author, ENTRY_TAG, Entry, Envelope, MAX_AFTER, MAX_ENTRY, READER, SESSION_TAG, claimed_id,
    tagged_signature_stands,
};
pub use gate::{Refusal, check, read_checked};
pub use id::{BadName, DocumentId, EntryId, KeyId};
pub use kind::{KINDS, Kind, KindRow, Needs, Scope};
pub use payload::Payload;
pub use wire::Unreadable;
