//! Documents to and from the rows of the store.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};

use gudgeon_core::document::{Document, Put, Received, Refusal};
use gudgeon_core::entry::{self, DocumentId, Entry, EntryId};
use gudgeon_core::log::Log;
use sha2::{Digest as _, Sha256};

use super::{Home, Shelf};
use crate::error::{HomeError, Kind};
use crate::store::{Batch, Store, Table};

/// A document as it is worked with.
pub(super) struct Held {
    pub(super) document: Document,
    pub(super) log: Log,
}

impl Held {
    pub(super) fn empty(document: DocumentId) -> Self {
        Self { document: Document::new(), log: Log::new(document) }
    }
}

/// SHA-256 of whole values whose signature was checked.
pub(super) type Checked = BTreeSet<[u8; 32]>;

/// The gate of core, remembering what it read so that nothing is read twice.
pub(super) struct Gate {
    document: DocumentId,
    checked: Checked,
    pub(super) read: BTreeMap<EntryId, Entry>,
}

impl Gate {
    pub(super) const fn new(document: DocumentId, checked: Checked) -> Self {
        Self { document, checked, read: BTreeMap::new() }
    }

    /// Asks the gate, or, for a remembered value, all of it but the signature.
    pub(super) fn pass(&mut self, id: EntryId, value: &[u8]) -> Result<(), Refusal> {
        let remembered = !self.checked.is_empty() && self.checked.contains(&digest(value));
        let check = if remembered { entry::read_checked } else { entry::check };
        let entry = check(id, value, self.document)?;
        self.read.insert(id, entry);
        Ok(())
    }

    /// Gives the log what is in `ids` and was read here.
    pub(super) fn fill(&self, log: &mut Log, ids: &[EntryId]) {
        for entry in ids.iter().filter_map(|id| self.read.get(id)) {
            log.insert(entry);
        }
    }
}

pub(super) fn digest(value: &[u8]) -> [u8; 32] {
    Sha256::digest(value).into()
}

/// The documents of a store, none of them read yet.
pub(super) fn shelves(store: &dyn Store) -> Result<BTreeMap<DocumentId, Shelf>, HomeError> {
    let rows = store.scan(Table::Documents, &[]).map_err(Kind::Unread)?;
    let read = |(key, value): (Vec<u8>, Vec<u8>)| {
        let number = u32::from_be_bytes(value.try_into().ok()?);
        Some((DocumentId::from_slice(&key)?, Shelf { number, held: OnceCell::new() }))
    };
    let shelves = rows.into_iter().map(read).collect::<Option<_>>();
    Ok(shelves.ok_or(Kind::DamagedSetting("documents"))?)
}

/// Key of the row of a change.
fn change_key(number: u32, position: usize) -> [u8; 8] {
    let position = u32::try_from(position).unwrap_or(u32::MAX);
    let mut key = [0; 8];
    key[..4].copy_from_slice(&number.to_be_bytes());
    key[4..].copy_from_slice(&position.to_be_bytes());
    key
}

/// Rows of the changes from a position on, all of whose entries have passed the gate.
pub(super) fn stage_changes(batch: &mut Batch, number: u32, document: &Document, from: usize) {
    for (change, position) in document.changes_from(from).iter().zip(from..) {
        let key = change_key(number, position);
        let digests: Vec<u8> = change.puts().flat_map(|Put { value, .. }| digest(value)).collect();
        batch.put(Table::Changes, &key, change.raw());
        batch.put(Table::Checked, &key, &digests);
    }
}

/// Rows of a document that is written anew as a whole.
pub(super) fn stage_anew(batch: &mut Batch, number: u32, document: &Document) {
    batch.remove_all(Table::Changes, &number.to_be_bytes());
    batch.remove_all(Table::Checked, &number.to_be_bytes());
    stage_changes(batch, number, document, 0);
}

impl Home {
    /// A document, read from the store when first asked for.
    pub(super) fn held(&self, document: DocumentId) -> Result<&Held, HomeError> {
        let shelf = self.shelf(document)?;
        if let Some(held) = shelf.held.get() {
            return Ok(held);
        }
        let held = self.load(document, shelf.number)?;
        Ok(shelf.held.get_or_init(|| Box::new(held)))
    }

    fn load(&self, document: DocumentId, number: u32) -> Result<Held, HomeError> {
        let scan = |table| self.store.scan(table, &number.to_be_bytes()).map_err(Kind::Unread);
        let raws: Vec<Vec<u8>> = scan(Table::Changes)?.into_iter().map(|(_, raw)| raw).collect();
        let digests = scan(Table::Checked)?;
        let checked = digests.iter().flat_map(|(_, row)| row.chunks_exact(32));
        let mut gate = Gate::new(document, checked.filter_map(|bytes| bytes.try_into().ok()).collect());
        let mut held = Held::empty(document);
        let received = held.document.receive(&raws, &mut |id, value| gate.pass(id, value));
        must_be_whole(document, &received, raws.len())?;
        gate.fill(&mut held.log, &received.new_entries);
        tracing::debug!(document = %document.short(), changes = raws.len(), "document read");
        Ok(held)
    }
}

/// What was taken before is taken again, or the store is not what was written.
fn must_be_whole(document: DocumentId, received: &Received, rows: usize) -> Result<(), HomeError> {
    let what = match received.refused.first() {
        Some(refused) => format!("a change in it is no longer taken ({})", refused.rule),
        None if received.accepted.len() != rows => "a change in it is missing".to_owned(),
        None => return Ok(()),
    };
    tracing::error!(document = %document.short(), %what, "a stored document is damaged");
    Err(Kind::Damaged { document, what }.into())
}
