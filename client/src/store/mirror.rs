//! A store in memory beside a slower one that answers later, such as a browser's database.
//!
//! [`Store::write`] takes a batch into memory and puts it on a pile. Whoever holds the other
//! handle takes the pile away ([`Mirror::take`]), writes it there in one go, and only when that
//! is durable says that anything is saved: with this store alone an `Ok` is *not* yet durable.
//! Where the slower store fails, the home on this one has run ahead of the truth: it is thrown
//! away and opened again on what is really there.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::{Batch, Memory, Row, Store, StoreError, Table};

/// A handle on the rows in memory; clones are handles on the same.
#[derive(Clone, Debug, Default)]
pub struct Mirror(Arc<Mutex<Inner>>);

#[derive(Debug, Default)]
struct Inner {
    rows: Memory,
    pile: Vec<Batch>,
}

impl Mirror {
    /// On the rows that the slower store holds.
    #[must_use]
    pub fn of(rows: impl IntoIterator<Item = (Table, Row)>) -> Self {
        let mut memory = Memory::default();
        memory.fill(rows);
        Self(Arc::new(Mutex::new(Inner { rows: memory, pile: Vec::new() })))
    }

    /// The batches written since they were last taken, oldest first: to be written to the slower
    /// store in this order, before any that are taken later.
    #[must_use]
    pub fn take(&self) -> Vec<Batch> {
        std::mem::take(&mut self.inner().pile)
    }

    /// A panic elsewhere leaves rows and pile as they were before or after one whole batch.
    fn inner(&self) -> MutexGuard<'_, Inner> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Store for Mirror {
    fn get(&self, table: Table, key: &[u8]) -> Result<Option<Vec<u8>>, StoreError> {
        self.inner().rows.get(table, key)
    }

    fn scan(&self, table: Table, prefix: &[u8]) -> Result<Vec<Row>, StoreError> {
        self.inner().rows.scan(table, prefix)
    }

    fn write(&mut self, batch: &Batch) -> Result<(), StoreError> {
        let mut inner = self.inner();
        inner.rows.write(batch)?;
        if !batch.steps().is_empty() {
            inner.pile.push(batch.clone());
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::super::suite;
    use super::*;

    fn rows(store: &dyn Store) -> Vec<(Table, Row)> {
        let of = |table: Table| store.scan(table, b"").unwrap().into_iter().map(move |row| (table, row));
        Table::ALL.iter().copied().flat_map(of).collect()
    }

    #[test]
    fn the_mirror_passes_the_suite() {
        let mut mirror = Mirror::default();
        suite::holds(&mut mirror);
        suite::fill(&mut mirror);
        suite::is_filled(&mirror);
        suite::is_filled(&Mirror::of(rows(&mirror)));
    }

    #[test]
    fn what_is_taken_brings_the_slower_store_to_the_same_rows() {
        let (mut mirror, mut slower) = (Mirror::default(), Memory::default());
        suite::fill(&mut mirror);
        for batch in mirror.take() {
            slower.write(&batch).unwrap();
        }
        suite::is_filled(&slower);
        assert_eq!(mirror.take(), [], "each batch is taken once");
        let mut batch = Batch::new();
        batch.remove_all(Table::Keys, b"k");
        batch.put(Table::Keys, b"kept", b"2");
        mirror.clone().write(&batch).unwrap();
        mirror.write(&Batch::new()).unwrap();
        assert_eq!(mirror.take(), [batch.clone()], "in order, and nothing for nothing");
        slower.write(&batch).unwrap();
        assert_eq!(rows(&slower), rows(&mirror));
    }
}
