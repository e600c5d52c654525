//! Entries: one immutable, signed statement each.

mod id;

pub use id::{BadName, DocumentId, EntryId, KeyId};
