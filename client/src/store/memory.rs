//! A store that forgets: for tests, rehearsals and where nothing may stay on the device.

use std::collections::BTreeMap;

use super::{Batch, Row, Step, Store, StoreError, Table};

/// Tables in memory; gone with the value.
#[derive(Clone, Debug, Default)]
pub struct Memory {
    rows: BTreeMap<(Table, Vec<u8>), Vec<u8>>,
}

impl Memory {
    pub(super) fn fill(&mut self, rows: impl IntoIterator<Item = (Table, Row)>) {
        self.rows.extend(rows.into_iter().map(|(table, (key, value))| ((table, key), value)));
    }

    fn range(&self, table: Table, prefix: &[u8]) -> impl Iterator<Item = (&[u8], &[u8])> {
        let within = move |key: &(Table, Vec<u8>)| key.0 == table && key.1.starts_with(prefix);
        self.rows
            .range((table, prefix.to_vec())..)
            .take_while(move |(key, _)| within(key))
            .map(|((_, key), value)| (key.as_slice(), value.as_slice()))
    }

    fn step(&mut self, step: &Step) {
        match step {
            Step::Put(table, key, value) => {
                self.rows.insert((*table, key.clone()), value.clone());
            }
            Step::Remove(table, key) => {
                self.rows.remove(&(*table, key.clone()));
            }
            Step::RemoveAll(table, prefix) => {
                self.rows.retain(|(other, key), _| other != table || !key.starts_with(prefix));
            }
        }
    }
}

impl Store for Memory {
    fn get(&self, table: Table, key: &[u8]) -> Result<Option<Vec<u8>>, StoreError> {
        Ok(self.rows.get(&(table, key.to_vec())).cloned())
    }

    fn scan(&self, table: Table, prefix: &[u8]) -> Result<Vec<Row>, StoreError> {
        Ok(self.range(table, prefix).map(|(key, value)| (key.to_vec(), value.to_vec())).collect())
    }

    fn write(&mut self, batch: &Batch) -> Result<(), StoreError> {
        batch.steps().iter().for_each(|step| self.step(step));
        Ok(())
    }
}
