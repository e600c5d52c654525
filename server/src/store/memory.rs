//! A store in memory: for tests, and for a relay that keeps nothing.

use std::collections::BTreeMap;
use std::sync::Arc;

use gudgeon_core::entry::DocumentId;

use super::placing::{Places, fresh};
use super::refused::by_arrival;
use super::{Append, MAX_REFUSED, RefusedRow, Store, StoreError, Visit, damaged, fits};

/// Changes of one document by position.
type Changes = BTreeMap<u64, Arc<[u8]>>;

/// Gone with the value; nothing it says is durable.
#[derive(Clone, Debug, Default)]
pub struct Memory {
    changes: BTreeMap<DocumentId, Changes>,
    settings: BTreeMap<String, Vec<u8>>,
    refused: BTreeMap<DocumentId, BTreeMap<Vec<u8>, RefusedRow>>,
}

impl Memory {
    /// An empty store.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Puts a change at its place, whatever is there or before it.
    pub(super) fn put(&mut self, row: &Append) {
        self.changes.entry(row.document).or_default().insert(row.at, Arc::clone(&row.raw));
    }

    /// Drops a document from its first missing change on; answers how many are left.
    pub(super) fn cut(&mut self, document: DocumentId) -> u64 {
        let whole = self.whole(document);
        if let Some(changes) = self.changes.get_mut(&document) {
            changes.retain(|at, _| *at < whole);
        }
        whole
    }

    /// Sets a setting, or takes it away.
    pub(super) fn set(&mut self, name: &str, value: Option<&[u8]>) {
        match value {
            Some(value) => self.settings.insert(name.to_owned(), value.to_vec()),
            None => self.settings.remove(name),
        };
    }

    /// Keeps something refused, unless it is there or the document has its fill.
    pub(super) fn keep(&mut self, document: DocumentId, row: &RefusedRow) -> bool {
        let rows = self.refused.entry(document).or_default();
        let keeps = rows.len() < MAX_REFUSED && !rows.contains_key(&row.key());
        if keeps {
            rows.insert(row.key(), row.clone());
        }
        keeps
    }

    /// Takes a change away; leaves the others where they are.
    #[cfg(test)]
    pub(super) fn lose(&mut self, document: DocumentId, at: u64) {
        self.changes.entry(document).or_default().remove(&at);
    }

    /// Positions of a document that are taken with none missing before them.
    fn whole(&self, document: DocumentId) -> u64 {
        let positions = self.changes.get(&document).into_iter().flat_map(Changes::keys);
        (0..)
            .zip(positions)
            .take_while(|(expected, at)| expected == *at)
            .map(|(at, _)| at + 1)
            .last()
            .unwrap_or(0)
    }
}

impl Places for Memory {
    fn next(&self, document: DocumentId) -> Result<u64, StoreError> {
        let last = self.changes.get(&document).and_then(Changes::last_key_value);
        Ok(last.map_or(0, |(at, _)| at + 1))
    }

    fn held(&self, document: DocumentId, at: u64) -> Result<Option<Arc<[u8]>>, StoreError> {
        Ok(self.changes.get(&document).and_then(|changes| changes.get(&at)).cloned())
    }
}

impl Store for Memory {
    fn documents(&self) -> Result<Vec<DocumentId>, StoreError> {
        let held = self.changes.iter().filter(|(_, changes)| !changes.is_empty());
        Ok(held.map(|(document, _)| *document).collect())
    }

    fn walk(&self, document: DocumentId, visit: &mut Visit<'_>) -> Result<(), StoreError> {
        let changes = self.changes.get(&document).into_iter().flatten();
        for (expected, (at, raw)) in (0..).zip(changes) {
            if *at != expected {
                return Err(damaged(document, expected, "it is missing"));
            }
            visit(*at, raw)?;
        }
        Ok(())
    }

    fn room_for(&self, _bytes: usize) -> Result<(), StoreError> {
        Ok(())
    }

    fn append(&mut self, rows: &[Append]) -> Result<(), StoreError> {
        let (rows, _) = fresh(self, rows)?;
        rows.into_iter().for_each(|row| self.put(row));
        Ok(())
    }

    fn cut_at_damage(&mut self, document: DocumentId) -> Result<u64, StoreError> {
        Ok(self.cut(document))
    }

    fn settings(&self) -> Result<Vec<(String, Vec<u8>)>, StoreError> {
        Ok(self.settings.iter().map(|(name, value)| (name.clone(), value.clone())).collect())
    }

    fn setting(&self, name: &str) -> Result<Option<Vec<u8>>, StoreError> {
        Ok(self.settings.get(name).cloned())
    }

    fn set_setting(&mut self, name: &str, value: &[u8]) -> Result<(), StoreError> {
        fits(name, value)?;
        self.set(name, Some(value));
        Ok(())
    }

    fn clear_setting(&mut self, name: &str) -> Result<(), StoreError> {
        self.set(name, None);
        Ok(())
    }

    fn keep_refused(&mut self, document: DocumentId, row: &RefusedRow) -> Result<bool, StoreError> {
        Ok(self.keep(document, row))
    }

    fn refused(&self, document: DocumentId) -> Result<Vec<RefusedRow>, StoreError> {
        let rows = self.refused.get(&document).into_iter().flat_map(BTreeMap::values);
        Ok(by_arrival(rows.cloned().collect()))
    }

    fn refused_documents(&self) -> Result<Vec<DocumentId>, StoreError> {
        Ok(self.refused.keys().copied().collect())
    }

    fn flush(&mut self) -> Result<(), StoreError> {
        Ok(())
    }

    fn size_on_disk(&self) -> Result<u64, StoreError> {
        let bytes = self.changes.values().flat_map(Changes::values).map(|raw| raw.len()).sum::<usize>();
        Ok(u64::try_from(bytes).unwrap_or(u64::MAX))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::store::suite;

    #[test]
    fn it_passes_the_suite() {
        suite::holds(&mut || Memory::new());
        let mut store = Memory::new();
        suite::fill(&mut store);
        suite::is_filled(&mut store);
        suite::bears_damage(&mut Memory::new(), &mut |store, document, at| store.lose(document, at));
    }
}
