//! `gudgeon-relay check`: reads everything that is kept and checks it from the ground.
//!
//! Every change is parsed and admitted as if it had come just now, every signature is
//! checked, and Automerge applies, saves and reads back each document: what is kept can be
//! carried away by anybody.

use gudgeon_core::document::Document;
use gudgeon_core::entry::{DocumentId, EntryId, check};

use crate::store::{Store, StoreError};

/// What was found of one document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// The document.
    pub document: DocumentId,
    /// Changes that are sound, from the first.
    pub changes: usize,
    /// Entries in them.
    pub entries: usize,
    /// What is wrong with it; nothing where it is sound.
    pub faults: Vec<String>,
}

/// Checks every document of a store.
///
/// # Errors
/// [`StoreError`] if the store does not read at all; a damaged document is in what was found.
pub fn verify(store: &dyn Store) -> Result<Vec<Found>, StoreError> {
    Ok(store.documents()?.into_iter().map(|document| one(store, document)).collect())
}

fn one(store: &dyn Store, id: DocumentId) -> Found {
    let mut raws: Vec<Vec<u8>> = Vec::new();
    let walked = store.walk(id, &mut |_, raw| {
        raws.push(raw.to_vec());
        Ok(())
    });
    let mut faults: Vec<String> = walked.err().iter().map(ToString::to_string).collect();
    let mut document = Document::new();
    let received =
        document.receive(&raws, &mut |entry, value| check(entry, value, id).map(drop).map_err(Into::into));
    faults.extend(received.refused.iter().map(|refused| {
        let entry = refused.entry.map(|entry| format!(", entry {}", entry.short())).unwrap_or_default();
        format!("change {}{entry}: {}: {}", refused.change, refused.rule, refused.hint)
    }));
    if !received.unknown_deps.is_empty() {
        faults.push(format!("{} changes that others build on are missing", received.unknown_deps.len()));
    }
    if !raws.is_empty() && document.entry(&EntryId::new(*id.bytes())).is_none() {
        faults.push("its founding is missing".to_owned());
    }
    if let Err(disagreement) = document.check() {
        faults.push(format!("Automerge does not agree: {disagreement}"));
    }
    Found { document: id, changes: document.len(), entries: document.entries().len(), faults }
}
