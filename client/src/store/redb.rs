//! The store in one file of the embedded database redb; the only file that names it.
//!
//! Every batch is one transaction of durability "immediate": redb has fsynced it before
//! `commit` answers. Two-phase commit and the saved allocator state cost one more fsync and
//! make reopening after a kill a matter of milliseconds whatever the size.
//!
//! A new file is made beside its place and moved there whole, so a file in its place is
//! always complete. After a failed write redb refuses to go on; the file is then closed and
//! opened again, which reads back what is truly there.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

use redb::{Database, Durability, ReadableDatabase as _, TableDefinition};

use super::{Batch, Row, Step, Store, StoreError, Table, Trouble, sync_directory_of, trouble_of};

/// Bytes of pages kept in memory; a home's file is a few megabytes.
const CACHE: usize = 16 * 1024 * 1024;

/// A store in one file.
pub struct OnDisk {
    path: PathBuf,
    /// None after a failed write, until the file could be opened again.
    database: Option<Database>,
}

impl std::fmt::Debug for OnDisk {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("OnDisk").field("path", &self.path).finish_non_exhaustive()
    }
}

impl OnDisk {
    /// Makes a store with a first batch in it: either all of this is there afterwards, or
    /// no file.
    ///
    /// # Errors
    /// [`StoreError`] if the device does not write. The caller has seen to it that there is
    /// no file of this name.
    pub fn create(path: &Path, first: &Batch) -> Result<Self, StoreError> {
        let beside = path.with_extension("new");
        match std::fs::remove_file(&beside) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                return Err(StoreError::io("removing an unfinished store", &error));
            }
            Ok(()) | Err(_) => {}
        }
        let database =
            Database::builder().set_cache_size(CACHE).create(&beside).map_err(said("making the store"))?;
        write(&database, first)?;
        database.close().map_err(said("closing the new store"))?;
        std::fs::rename(&beside, path)
            .map_err(|e| StoreError::io("moving the new store to its place", &e))?;
        sync_directory_of(path).map_err(|e| StoreError::io("making the new store's name durable", &e))?;
        Self::open(path)
    }

    /// Opens the store in a file.
    ///
    /// # Errors
    /// [`StoreError`] if there is none, it is in use, or it is not what was written.
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        let database = open(path)?;
        Ok(Self { path: path.to_owned(), database: Some(database) })
    }

    fn database(&self) -> Result<&Database, StoreError> {
        self.database.as_ref().ok_or_else(|| {
            StoreError::new(Trouble::Device, "reading the store", "it is closed since a write failed")
        })
    }

    /// Gives up a database that refuses to go on; a new one says what is truly there.
    fn reopen(&mut self) {
        self.database = None;
        match open(&self.path) {
            Ok(database) => self.database = Some(database),
            Err(error) => tracing::warn!(%error, "the store does not open again yet"),
        }
    }
}

impl Store for OnDisk {
    fn get(&self, table: Table, key: &[u8]) -> Result<Option<Vec<u8>>, StoreError> {
        let reading = self.database()?.begin_read().map_err(said("reading the store"))?;
        let table = reading.open_table(definition(table)).map_err(said("reading the store"))?;
        let value = table.get(key).map_err(said("reading the store"))?;
        Ok(value.map(|value| value.value().to_vec()))
    }

    fn scan(&self, table: Table, prefix: &[u8]) -> Result<Vec<Row>, StoreError> {
        let reading = self.database()?.begin_read().map_err(said("reading the store"))?;
        let table = reading.open_table(definition(table)).map_err(said("reading the store"))?;
        let mut rows = Vec::new();
        for row in table.range(prefix..).map_err(said("reading the store"))? {
            let (key, value) = row.map_err(said("reading the store"))?;
            if !key.value().starts_with(prefix) {
                break;
            }
            rows.push((key.value().to_vec(), value.value().to_vec()));
        }
        Ok(rows)
    }

    fn write(&mut self, batch: &Batch) -> Result<(), StoreError> {
        if self.database.is_none() {
            self.reopen();
        }
        let outcome = write(self.database()?, batch);
        if outcome.is_err() {
            self.reopen();
        }
        outcome
    }
}

fn definition(table: Table) -> TableDefinition<'static, &'static [u8], &'static [u8]> {
    TableDefinition::new(table.name())
}

/// redb may panic on a file that was altered from outside; that is damage, not a crash.
fn open(path: &Path) -> Result<Database, StoreError> {
    let attempt = || Database::builder().set_cache_size(CACHE).open(path);
    match catch_unwind(AssertUnwindSafe(attempt)) {
        Ok(opened) => opened.map_err(said("opening the store")),
        Err(_) => Err(StoreError::new(Trouble::Damaged, "opening the store", "the file was altered")),
    }
}

fn write(database: &Database, batch: &Batch) -> Result<(), StoreError> {
    let mut writing = database.begin_write().map_err(said("writing to the store"))?;
    writing.set_durability(Durability::Immediate).map_err(said("writing to the store"))?;
    writing.set_quick_repair(true);
    for table in Table::ALL {
        // Opened each time so that a table added by a later version comes to be.
        writing.open_table(definition(*table)).map_err(said("writing to the store"))?;
    }
    for step in batch.steps() {
        do_step(&writing, step)?;
    }
    writing.commit().map_err(said("writing to the store"))
}

fn do_step(writing: &redb::WriteTransaction, step: &Step) -> Result<(), StoreError> {
    let say = said::<redb::StorageError>("writing to the store");
    let open = |table: &Table| writing.open_table(definition(*table)).map_err(said("writing to the store"));
    match step {
        Step::Put(table, key, value) => {
            open(table)?.insert(key.as_slice(), value.as_slice()).map_err(say)?;
        }
        Step::Remove(table, key) => {
            open(table)?.remove(key.as_slice()).map_err(say)?;
        }
        Step::RemoveAll(table, prefix) => {
            let begins = |key: &[u8], _: &[u8]| !key.starts_with(prefix);
            open(table)?.retain_in(prefix.as_slice().., begins).map_err(say)?;
        }
    }
    Ok(())
}

/// Turns any of redb's errors into ours.
fn said<E: Into<redb::Error>>(doing: &'static str) -> impl Fn(E) -> StoreError {
    move |error| {
        let error: redb::Error = error.into();
        StoreError::new(trouble(&error), doing, &error)
    }
}

#[allow(clippy::wildcard_enum_match_arm)] // redb's list may grow; all the rest is the device's
fn trouble(error: &redb::Error) -> Trouble {
    match error {
        redb::Error::Io(error) => match error.kind() {
            std::io::ErrorKind::InvalidData => Trouble::Damaged,
            _ => trouble_of(error),
        },
        redb::Error::Corrupted(_) | redb::Error::UpgradeRequired(_) | redb::Error::RepairAborted => {
            Trouble::Damaged
        }
        redb::Error::DatabaseAlreadyOpen => Trouble::Open,
        _ => Trouble::Device,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::store::suite;

    #[test]
    fn it_passes_the_suite() {
        let directory = tempfile::tempdir().unwrap();
        let path = directory.path().join("records.store");
        let mut store = OnDisk::create(&path, &Batch::new()).unwrap();
        suite::holds(&mut store);
        suite::fill(&mut store);
        drop(store);
        suite::is_filled(&OnDisk::open(&path).unwrap());
    }

    #[test]
    fn an_unfinished_creation_is_begun_anew() {
        let directory = tempfile::tempdir().unwrap();
        let path = directory.path().join("records.store");
        std::fs::write(path.with_extension("new"), b"half").unwrap();
        let mut first = Batch::new();
        first.put(Table::Settings, b"a", b"1");
        let store = OnDisk::create(&path, &first).unwrap();
        assert_eq!(store.get(Table::Settings, b"a").unwrap().unwrap(), b"1");
        assert!(!path.with_extension("new").exists());
    }

    #[test]
    fn what_is_not_a_store_is_damage_and_what_is_not_there_is_not() {
        let directory = tempfile::tempdir().unwrap();
        let path = directory.path().join("records.store");
        assert_eq!(OnDisk::open(&path).unwrap_err().trouble(), Trouble::Device);
        std::fs::write(&path, vec![b'x'; 10_000]).unwrap();
        assert_eq!(OnDisk::open(&path).unwrap_err().trouble(), Trouble::Damaged);
    }

    #[test]
    fn one_file_is_opened_once() {
        let directory = tempfile::tempdir().unwrap();
        let path = directory.path().join("records.store");
        let _store = OnDisk::create(&path, &Batch::new()).unwrap();
        let second = OnDisk::open(&path).unwrap_err();
        assert_eq!(second.trouble(), Trouble::Open);
        assert!(second.hint().contains("close the other program"));
    }
}
