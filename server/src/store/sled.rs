//! The store on disk, in the embedded database sled; the only file that names it.
//!
//! sled's own `flush` asks the system to begin writing and does not wait for the device: a
//! power cut took acknowledged rows, measured. So the database's file is opened here once
//! more, and every flush ends with `fdatasync` on it; the directory is synced when the store
//! is made. sled never syncs large values and never shrinks its file: changes are cut up
//! ([`super::pieces`]), and a backup restored into a new directory is the way to a small one.
//!
//! One tree, told apart by the first byte of a key, numbers big-endian:
//!
//! | key | value |
//! | --- | --- |
//! | `c`, document (32), position (8), piece (2) | piece of a change |
//! | `r`, document (32), change (32), entry (32) or nothing | what was refused |
//! | `s`, name | setting |
//! | `f` | form of the store |

use std::fs::File;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use gudgeon_core::entry::DocumentId;

use super::pieces::{Assembly, pieces};
use super::placing::{Nexts, Places, fresh};
use super::refused::by_arrival;
use super::{
    Append, MAX_REFUSED, RefusedRow, Store, StoreError, Trouble, UNFINISHED, Visit, directory, fits,
};

/// Form of what is written here; a later form is refused.
const FORM: u32 = 1;

const CHANGE: u8 = b'c';
const REFUSED: u8 = b'r';
const SETTING: u8 = b's';
const FORM_KEY: &[u8] = b"f";

/// Most bytes given to the database in one step, which is there whole or not at all.
const STEP: usize = 1024 * 1024;

/// What may be chosen about a store on disk.
#[derive(Clone, Copy, Debug)]
pub struct Options {
    /// Bytes of pages kept in memory.
    pub cache_bytes: u64,
    /// Bytes left free on the device. Nothing is appended that would take them, since the
    /// database cannot go on after a write that failed for want of room.
    pub spare_bytes: u64,
}

impl Default for Options {
    fn default() -> Self {
        Self { cache_bytes: 64 * 1024 * 1024, spare_bytes: 32 * 1024 * 1024 }
    }
}

/// A store in one directory of its own.
pub struct OnDisk {
    path: PathBuf,
    options: Options,
    database: sled::Db,
    /// The database's file once more, to sync it.
    file: File,
    /// Next free positions, as far as they were asked for.
    nexts: Nexts,
    /// A write failed: nobody knows what is there until the store is opened again.
    failed: bool,
    /// Held until the store is dropped, after the database.
    _lock: File,
}

impl std::fmt::Debug for OnDisk {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("OnDisk").field("path", &self.path).finish_non_exhaustive()
    }
}

impl OnDisk {
    /// Opens the store in a directory, making both if there is none.
    ///
    /// # Errors
    /// [`Trouble::InUse`] if another process has it open, [`Trouble::Newer`] if a later
    /// version wrote it, [`Trouble::Damaged`] if it is not what was written or a restore
    /// into it did not end; otherwise [`StoreError`] if the device does not read or write.
    pub fn open(path: &Path, options: Options) -> Result<Self, StoreError> {
        directory::make(path)?;
        let lock = directory::lock(path)?;
        let form = directory::form(path)?;
        if form.is_some_and(|form| form > FORM) {
            let said = format!("it has form {}; this version knows form {FORM}", form.unwrap_or_default());
            return Err(StoreError::new(Trouble::Newer, "opening the store", said));
        }
        let database = open(path, options)?;
        let file = File::options().read(true).write(true).open(path.join("db"));
        let file = file.map_err(|e| StoreError::io("opening the store", &e))?;
        let nexts = Nexts::new();
        let path = path.to_owned();
        let mut store = Self { path, options, database, file, nexts, failed: false, _lock: lock };
        store.settle_form(form)?;
        Ok(store)
    }

    /// Sees to it that the store is one, whole; a creation that was cut short is done again.
    fn settle_form(&mut self, form: Option<u32>) -> Result<(), StoreError> {
        let written = self.database.get(FORM_KEY).map_err(|e| said("opening the store", &e))?;
        let damage = |said| Err(StoreError::damaged("opening the store", said));
        match (form, written) {
            (None, _) if self.database.iter().any(|row| row.is_ok_and(|(key, _)| key != FORM_KEY)) => {
                damage("the file `form` is missing")
            }
            (None, _) => self.create(),
            (Some(_), None) => damage("what was written into it is not there"),
            (Some(form), Some(written)) if written != form.to_be_bytes() => {
                damage("the file `form` is of another store")
            }
            (Some(_), Some(_)) if self.setting(UNFINISHED)?.is_some() => {
                let said = "a restore into it did not end";
                let error = StoreError::new(Trouble::Damaged, "opening the store", said);
                Err(error.with_way_out("restore the backup into an empty directory; this one is of no use"))
            }
            (Some(_), Some(_)) => Ok(()),
        }
    }

    fn create(&mut self) -> Result<(), StoreError> {
        self.insert(FORM_KEY, &FORM.to_be_bytes())?;
        self.flush()?;
        directory::sync_all_in(&self.path)?;
        directory::write_form(&self.path, FORM)
    }

    /// The database, unless a write failed.
    fn sound(&self) -> Result<&sled::Db, StoreError> {
        if self.failed {
            let said = "it is closed since a write failed";
            return Err(StoreError::new(Trouble::Device, "using the store", said));
        }
        Ok(&self.database)
    }

    /// Notes a failed write.
    fn written<T>(&mut self, doing: &'static str, outcome: Result<T, sled::Error>) -> Result<T, StoreError> {
        outcome.map_err(|error| {
            self.failed = true;
            said(doing, &error)
        })
    }

    fn insert(&mut self, key: &[u8], value: &[u8]) -> Result<(), StoreError> {
        let outcome = self.sound()?.insert(key, value);
        self.written("writing to the store", outcome).map(drop)
    }

    fn apply(&mut self, batch: sled::Batch) -> Result<(), StoreError> {
        let outcome = self.sound()?.apply_batch(batch);
        self.written("writing to the store", outcome)
    }

    /// Refuses to take what the device has no room for.
    fn has_room(&self, bytes: usize) -> Result<(), StoreError> {
        let Some(free) = directory::free_bytes(&self.path)? else { return Ok(()) };
        // twice, for what the database writes again when a node grows
        let bytes = u64::try_from(bytes).unwrap_or(u64::MAX).saturating_mul(2);
        let wanted = self.options.spare_bytes.saturating_add(bytes);
        if free >= wanted {
            return Ok(());
        }
        let said = format!("{free} bytes are free on the device; {wanted} are wanted");
        Err(StoreError::new(Trouble::Full, "writing to the store", said))
    }

    /// Puts rows in, in order, in steps of which each is there whole or not at all.
    fn put(&mut self, rows: &[&Append]) -> Result<(), StoreError> {
        let (mut batch, mut bytes) = (sled::Batch::default(), 0);
        for row in rows {
            if bytes > 0 && bytes + row.raw.len() > STEP {
                self.apply(std::mem::take(&mut batch))?;
                bytes = 0;
            }
            for (piece, value) in pieces(&row.raw)? {
                batch.insert(piece_key(row.document, row.at, piece), value);
            }
            bytes += row.raw.len().max(1);
        }
        self.apply(batch)
    }

    /// Documents named by keys of one kind.
    fn named(&self, kind: u8) -> Result<Vec<DocumentId>, StoreError> {
        let (mut documents, mut from) = (Vec::new(), vec![kind]);
        while let Some(row) = self.sound()?.range(from.as_slice()..[kind + 1].as_slice()).next() {
            let (key, _) = row.map_err(|e| said("reading the store", &e))?;
            let document = key.get(1..33).and_then(DocumentId::from_slice).ok_or_else(strange)?;
            documents.push(document);
            from = [&[kind][..], document.bytes(), &[u8::MAX; 65]].concat();
        }
        Ok(documents)
    }

    fn rows(&self, prefix: &[u8]) -> impl Iterator<Item = Result<(sled::IVec, sled::IVec), StoreError>> {
        self.database.scan_prefix(prefix).map(|row| row.map_err(|e| said("reading the store", &e)))
    }

    /// Shows changes from `assembly` on, as far as `prefix` goes.
    fn assemble(
        &self,
        prefix: &[u8],
        assembly: &mut Assembly,
        visit: &mut Visit<'_>,
    ) -> Result<(), StoreError> {
        self.sound()?;
        for row in self.rows(prefix) {
            let (key, value) = row?;
            let (at, piece) = place_of(&key).ok_or_else(strange)?;
            if assembly.take(at, piece, &value)? {
                visit(at, assembly.whole())?;
                assembly.next();
            }
        }
        assembly.end()
    }

    /// Takes away a document's pieces from a position on, the last one first, so that what
    /// is left if this is cut short is damaged where it was.
    fn remove_from(&mut self, document: DocumentId, at: u64) -> Result<(), StoreError> {
        let first = piece_key(document, at, 0);
        loop {
            let rows = self.sound()?.range(first.as_slice()..=last_key(document).as_slice()).rev();
            let keys: Result<Vec<_>, _> = rows.take(1024).map(|row| row.map(|(key, _)| key)).collect();
            let keys = keys.map_err(|e| said("reading the store", &e))?;
            if keys.is_empty() {
                return Ok(());
            }
            let mut batch = sled::Batch::default();
            keys.into_iter().for_each(|key| batch.remove(key));
            self.apply(batch)?;
        }
    }
}

impl Places for OnDisk {
    fn next(&self, document: DocumentId) -> Result<u64, StoreError> {
        if let Some(next) = self.nexts.get(&document) {
            return Ok(*next);
        }
        let last = self.sound()?.range(piece_key(document, 0, 0)..=last_key(document)).next_back();
        let last = last.transpose().map_err(|e| said("reading the store", &e))?;
        let Some((key, _)) = last else { return Ok(0) };
        Ok(place_of(&key).ok_or_else(strange)?.0 + 1)
    }

    fn held(&self, document: DocumentId, at: u64) -> Result<Option<Arc<[u8]>>, StoreError> {
        let mut held = None;
        let mut keep = |_, raw: &[u8]| {
            held = Some(Arc::from(raw));
            Ok(())
        };
        let prefix = change_key(document, at);
        match self.assemble(&prefix, &mut Assembly::from(document, at), &mut keep) {
            Err(error) if error.trouble() != Trouble::Damaged => Err(error),
            Ok(()) | Err(_) => Ok(held),
        }
    }
}

impl Store for OnDisk {
    fn documents(&self) -> Result<Vec<DocumentId>, StoreError> {
        self.named(CHANGE)
    }

    fn walk(&self, document: DocumentId, visit: &mut Visit<'_>) -> Result<(), StoreError> {
        self.assemble(&document_key(CHANGE, document), &mut Assembly::from(document, 0), visit)
    }

    fn room_for(&self, bytes: usize) -> Result<(), StoreError> {
        self.has_room(bytes)
    }

    fn append(&mut self, rows: &[Append]) -> Result<(), StoreError> {
        let (rows, nexts) = fresh(self, rows)?;
        if rows.is_empty() {
            return self.sound().map(drop);
        }
        self.has_room(rows.iter().map(|row| row.raw.len()).sum())?;
        self.put(&rows)?;
        self.nexts.extend(nexts);
        Ok(())
    }

    fn cut_at_damage(&mut self, document: DocumentId) -> Result<u64, StoreError> {
        let mut assembly = Assembly::from(document, 0);
        match self.assemble(&document_key(CHANGE, document), &mut assembly, &mut |_, _| Ok(())) {
            Err(error) if error.trouble() != Trouble::Damaged => return Err(error),
            Ok(()) => return Ok(assembly.at()),
            Err(_) => {}
        }
        self.nexts.remove(&document);
        self.remove_from(document, assembly.at())?;
        Ok(assembly.at())
    }

    fn settings(&self) -> Result<Vec<(String, Vec<u8>)>, StoreError> {
        self.sound()?;
        let setting = |row: Result<(sled::IVec, sled::IVec), StoreError>| {
            let (key, value) = row?;
            let name = String::from_utf8(key[1..].to_vec()).map_err(|_| strange())?;
            Ok((name, value.to_vec()))
        };
        self.rows(&[SETTING]).map(setting).collect()
    }

    fn setting(&self, name: &str) -> Result<Option<Vec<u8>>, StoreError> {
        let value = self.sound()?.get(setting_key(name)).map_err(|e| said("reading the store", &e))?;
        Ok(value.map(|value| value.to_vec()))
    }

    fn set_setting(&mut self, name: &str, value: &[u8]) -> Result<(), StoreError> {
        fits(name, value)?;
        self.insert(&setting_key(name), value)
    }

    fn clear_setting(&mut self, name: &str) -> Result<(), StoreError> {
        let outcome = self.sound()?.remove(setting_key(name));
        self.written("writing to the store", outcome).map(drop)
    }

    fn keep_refused(&mut self, document: DocumentId, row: &RefusedRow) -> Result<bool, StoreError> {
        let prefix = document_key(REFUSED, document);
        let key = [&prefix[..], &row.key()].concat();
        let held = self.sound()?.contains_key(&key).map_err(|e| said("reading the store", &e))?;
        if held || self.rows(&prefix).take(MAX_REFUSED).count() == MAX_REFUSED {
            return Ok(false);
        }
        let value = row.value();
        self.has_room(value.len())?;
        self.insert(&key, &value)?;
        Ok(true)
    }

    fn refused(&self, document: DocumentId) -> Result<Vec<RefusedRow>, StoreError> {
        self.sound()?;
        let prefix = document_key(REFUSED, document);
        let read = |row: Result<(sled::IVec, sled::IVec), StoreError>| {
            let (key, value) = row?;
            RefusedRow::read(&key[prefix.len()..], &value).ok_or_else(strange)
        };
        Ok(by_arrival(self.rows(&prefix).map(read).collect::<Result<_, _>>()?))
    }

    fn refused_documents(&self) -> Result<Vec<DocumentId>, StoreError> {
        self.named(REFUSED)
    }

    fn flush(&mut self) -> Result<(), StoreError> {
        let outcome = self.sound()?.flush();
        self.written("flushing the store", outcome)?;
        self.file.sync_data().map_err(|error| {
            self.failed = true;
            StoreError::io("flushing the store", &error)
        })
    }

    fn size_on_disk(&self) -> Result<u64, StoreError> {
        directory::size(&self.path)
    }
}

/// What the database's own words for it do not tell to whoever looks after the relay.
const ALTERED: &str = "its files were altered or torn since they were written";

/// How often, and how long apart, a database is tried again that is still being closed.
const TRIES: u32 = 300;
const PAUSE: std::time::Duration = std::time::Duration::from_millis(10);

/// Our own lock is held, so no other process has the database. One that this process has
/// dropped may still be closing, on a thread of its own: then its file is locked a moment longer.
fn open(path: &Path, options: Options) -> Result<sled::Db, StoreError> {
    for _ in 1..TRIES {
        match open_once(path, options) {
            Err(sled::Error::Io(error)) if closing(&error) => std::thread::sleep(PAUSE),
            opened => return opened.map_err(|error| said("opening the store", &error)),
        }
    }
    open_once(path, options).map_err(|error| said("opening the store", &error))
}

/// The database tells the lock of its file in words only.
fn closing(error: &std::io::Error) -> bool {
    error.to_string().starts_with("could not acquire lock")
}

/// sled may panic on files that were altered from outside; that is damage, not a crash.
fn open_once(path: &Path, options: Options) -> sled::Result<sled::Db> {
    let config = sled::Config::new().path(path).cache_capacity(options.cache_bytes).flush_every_ms(None);
    match catch_unwind(AssertUnwindSafe(|| config.open())) {
        Ok(opened) => opened,
        Err(_) => Err(sled::Error::ReportableBug("the files were altered".to_owned())),
    }
}

fn document_key(kind: u8, document: DocumentId) -> Vec<u8> {
    [&[kind][..], document.bytes()].concat()
}

fn change_key(document: DocumentId, at: u64) -> Vec<u8> {
    [&[CHANGE][..], document.bytes(), &at.to_be_bytes()].concat()
}

fn piece_key(document: DocumentId, at: u64, piece: u16) -> Vec<u8> {
    [&change_key(document, at)[..], &piece.to_be_bytes()].concat()
}

fn last_key(document: DocumentId) -> Vec<u8> {
    piece_key(document, u64::MAX, u16::MAX)
}

fn setting_key(name: &str) -> Vec<u8> {
    [&[SETTING][..], name.as_bytes()].concat()
}

/// Position and piece that a key names.
fn place_of(key: &[u8]) -> Option<(u64, u16)> {
    let (at, piece) = key.get(33..)?.split_first_chunk()?;
    Some((u64::from_be_bytes(*at), u16::from_be_bytes(piece.try_into().ok()?)))
}

fn strange() -> StoreError {
    StoreError::damaged("reading the store", "a row is not of the form it should be")
}

fn said(doing: &'static str, error: &sled::Error) -> StoreError {
    match error {
        sled::Error::Io(error) => StoreError::io(doing, error),
        sled::Error::Unsupported(_) => StoreError::new(Trouble::Device, doing, error),
        sled::Error::Corruption { .. } => StoreError::damaged(doing, ALTERED),
        sled::Error::ReportableBug(_) | sled::Error::CollectionNotFound(_) => {
            StoreError::damaged(doing, format!("{ALTERED} ({error})"))
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::store::suite;

    fn open(path: &Path) -> Result<OnDisk, StoreError> {
        OnDisk::open(path, Options { cache_bytes: 8 << 20, ..Options::default() })
    }

    fn trouble(path: &Path) -> (Trouble, String) {
        let error = open(path).unwrap_err();
        (error.trouble(), error.to_string())
    }

    #[test]
    fn it_passes_the_suite() {
        let directory = tempfile::tempdir().unwrap();
        let mut number = 0;
        let mut new = || {
            number += 1;
            open(&directory.path().join(number.to_string())).unwrap()
        };
        suite::holds(&mut new);
    }

    #[test]
    fn it_holds_the_same_when_it_is_opened_again() {
        let directory = tempfile::tempdir().unwrap();
        let path = directory.path().join("deep/er/store");
        suite::fill(&mut open(&path).unwrap());
        suite::is_filled(&mut open(&path).unwrap());
    }

    #[test]
    fn a_missing_piece_damages_its_document_alone() {
        for lost in [0, 5, 12] {
            let directory = tempfile::tempdir().unwrap();
            let mut store = open(directory.path()).unwrap();
            suite::bears_damage(&mut store, &mut |store, document, at| {
                store.database.remove(piece_key(document, at, lost)).unwrap().unwrap();
            });
        }
    }

    #[test]
    fn a_torn_tail_is_damage_and_is_cut_off() {
        let directory = tempfile::tempdir().unwrap();
        let mut store = open(directory.path()).unwrap();
        store.append(&[suite::change(1, 0, 10), suite::change(1, 1, 50_000)]).unwrap();
        store.database.remove(piece_key(suite::document(1), 1, 12)).unwrap().unwrap();
        assert_eq!(store.load(suite::document(1)).unwrap_err().trouble(), Trouble::Damaged);
        assert_eq!(store.cut_at_damage(suite::document(1)).unwrap(), 1);
        assert_eq!(store.load(suite::document(1)).unwrap().len(), 1);
    }

    #[test]
    fn no_value_is_so_large_that_the_database_leaves_it_unsynced() {
        let directory = tempfile::tempdir().unwrap();
        let mut store = open(directory.path()).unwrap();
        for at in 0..40 {
            store.append(&[suite::change(1, at, 1 << 20), suite::change(2, at, 16 * 1024)]).unwrap();
            store.append(&[suite::change(3, at, 4_000), suite::change(4, at, 600_000)]).unwrap();
            store.flush().unwrap();
        }
        let mut inside = std::fs::read_dir(directory.path().join("blobs")).unwrap();
        assert!(inside.next().is_none(), "such files are never synced");
    }

    #[test]
    fn one_directory_is_opened_once() {
        let directory = tempfile::tempdir().unwrap();
        let store = open(directory.path()).unwrap();
        assert_eq!(trouble(directory.path()).0, Trouble::InUse);
        drop(store);
        open(directory.path()).unwrap();
    }

    #[test]
    fn a_later_form_is_left_alone() {
        let directory = tempfile::tempdir().unwrap();
        suite::fill(&mut open(directory.path()).unwrap());
        directory::write_form(directory.path(), FORM + 1).unwrap();
        let before = std::fs::read(directory.path().join("db")).unwrap();
        let (trouble, said) = trouble(directory.path());
        assert!(trouble == Trouble::Newer && said.contains("form 2"), "{said}");
        assert!(std::fs::read(directory.path().join("db")).unwrap() == before);
        directory::write_form(directory.path(), FORM).unwrap();
        suite::is_filled(&mut open(directory.path()).unwrap());
    }

    #[test]
    fn a_creation_cut_short_is_done_again_and_a_lost_file_is_damage() {
        let directory = tempfile::tempdir().unwrap();
        drop(open(directory.path()).unwrap());
        std::fs::remove_file(directory.path().join("form")).unwrap();
        suite::fill(&mut open(directory.path()).unwrap());
        std::fs::remove_file(directory.path().join("form")).unwrap();
        assert_eq!(trouble(directory.path()).0, Trouble::Damaged);
    }

    #[test]
    fn an_altered_file_is_damage_and_no_empty_store() {
        for fill in [0, b'x'] {
            let directory = tempfile::tempdir().unwrap();
            suite::fill(&mut open(directory.path()).unwrap());
            let length = std::fs::metadata(directory.path().join("db")).unwrap().len();
            let bytes = vec![fill; usize::try_from(length).unwrap()];
            std::fs::write(directory.path().join("db"), bytes).unwrap();
            let (trouble, said) = trouble(directory.path());
            assert_eq!(trouble, Trouble::Damaged, "{fill}");
            assert!(said.contains("the store is damaged") && !said.contains("None"), "{said}");
        }
    }

    #[test]
    fn what_the_device_has_no_room_for_is_refused_and_the_store_goes_on() {
        let directory = tempfile::tempdir().unwrap();
        let mut store = open(directory.path()).unwrap();
        store.append(&[suite::change(1, 0, 100)]).unwrap();
        store.options.spare_bytes = u64::MAX;
        let error = store.append(&[suite::change(1, 1, 100)]).unwrap_err();
        assert_eq!(error.trouble(), Trouble::Full);
        store.options.spare_bytes = 0;
        store.append(&[suite::change(1, 1, 200)]).unwrap();
        store.flush().unwrap();
        assert_eq!(store.load(suite::document(1)).unwrap().len(), 2);
    }
}
