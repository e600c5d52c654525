//! A backup: the whole store as one plain file, and back into an empty store.
//!
//! The file, numbers big-endian:
//!
//! | what | bytes |
//! | --- | --- |
//! | first line | `gudgeon relay backup, form 1` and a line feed |
//! | setting | `s`, length of the name (4), name, length (4), value |
//! | document | `d`, document (32); the changes and refusals after it are its own |
//! | change | `c`, length (4), raw change; in append order |
//! | refusal | `r`, length of the key (4), key, length (4), value |
//! | end | `e`, how many changes there were (8) |
//! | seal | SHA-256 of everything before it (32) |
//!
//! Nothing is held in memory but one change at a time. Writing: beside its place, synced,
//! moved there, its directory synced; so a backup in its place is whole. Reading: the seal is
//! checked first, over the whole file, and only then is anything put into a store.
//!
//! The [session secret](super::SESSION_SECRET) stays out of it. The relay's identity is in
//! it: the file is made for its owner alone, and is to be kept so.

use std::fs::File;
use std::io::{BufReader, BufWriter, Read, Seek as _, SeekFrom, Write};
use std::path::Path;

use gudgeon_core::document::MAX_CHANGE;
use gudgeon_core::entry::DocumentId;
use sha2::{Digest as _, Sha256};

use super::{Append, RefusedRow, SESSION_SECRET, Store, StoreError, Trouble, UNFINISHED, directory};

const FIRST_LINE: &[u8] = b"gudgeon relay backup, form 1\n";
const WRITING: &str = "writing the backup";
const READING: &str = "reading the backup";
const RESTORING: &str = "restoring the backup";

const NOT_WHOLE: &str = "take another backup: this file is none, or not a whole one";
const NAME_ANOTHER: &str = "name a backup that is there and that may be read";
const ELSEWHERE: &str = "restore it into an empty directory, and start the relay there";
const THERE_ALREADY: &str = "give the backup another name, or say --replace";

/// Bytes of changes put into the store between two flushes.
const STEP: usize = 4 * 1024 * 1024;

/// What a backup holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Summary {
    /// How many documents.
    pub documents: u64,
    /// How many changes.
    pub changes: u64,
    /// Documents that are damaged in the store; only what is before the damage was saved.
    pub damaged: Vec<StoreError>,
}

/// Writes everything of a store into one new file. It is there whole and durable when this
/// answers `Ok`; otherwise there is none.
///
/// # Errors
/// [`Trouble::Asked`] if there is a file of that name; otherwise [`StoreError`] if the store
/// does not read or the device does not write.
pub fn back_up(store: &dyn Store, path: &Path) -> Result<Summary, StoreError> {
    if path.symlink_metadata().is_ok() {
        let said = format!("{} is there already", path.display());
        return Err(StoreError::new(Trouble::Asked, WRITING, said).with_way_out(THERE_ALREADY));
    }
    back_up_over(store, path)
}

/// Writes everything of a store into one file, which replaces one of the same name. It is
/// there whole and durable when this answers `Ok`; otherwise what was there before is.
///
/// # Errors
/// [`StoreError`] if the store does not read or the device does not write.
pub fn back_up_over(store: &dyn Store, path: &Path) -> Result<Summary, StoreError> {
    directory::write_whole(path, |file| {
        let mut out = Sealing { out: BufWriter::new(file), seal: Sha256::new() };
        let summary = write_store(store, &mut out)?;
        let seal = out.seal.finalize();
        out.out.write_all(&seal)?;
        out.out.flush()?;
        Ok(summary)
    })
    .map_err(|failed: Failed| failed.into_error(WRITING))
}

/// Puts everything of a backup into an empty store, durably, after its seal was checked. A
/// store on disk whose restore did not end is not opened again.
///
/// # Errors
/// [`Trouble::Damaged`] if the file is not a whole backup: then the store is still empty.
/// [`Trouble::Asked`] if the store is not empty, or there is no such file. Otherwise [`StoreError`] if the device does
/// not read or write.
pub fn restore(path: &Path, store: &mut dyn Store) -> Result<Summary, StoreError> {
    refuse_full(store)?;
    let mut file = File::open(path).map_err(|e| unread(&e))?;
    let length = check_seal(&mut file)?;
    file.seek(SeekFrom::Start(0)).map_err(|e| unread(&e))?;
    store.set_setting(UNFINISHED, &[])?;
    store.flush()?;
    let mut reading = Reading { input: BufReader::new(file.take(length)) };
    let summary = read_store(&mut reading, store)?;
    store.flush()?;
    store.clear_setting(UNFINISHED)?;
    store.flush()?;
    Ok(summary)
}

/// Refuses a store that holds anything, saying what.
fn refuse_full(store: &dyn Store) -> Result<(), StoreError> {
    let holds = match (store.documents()?.len(), store.settings()?.is_empty()) {
        (0, true) => return Ok(()),
        (0, false) => "a relay was started on it already".to_owned(),
        (1, _) => "it holds 1 document".to_owned(),
        (several, _) => format!("it holds {several} documents"),
    };
    let said = format!("the store is not empty: {holds}; nothing was restored");
    Err(StoreError::new(Trouble::Asked, RESTORING, said).with_way_out(ELSEWHERE))
}

/// Checks a backup without a store: that it is whole, and what it holds.
///
/// # Errors
/// [`Trouble::Damaged`] if the file is not a whole backup, [`Trouble::Asked`] if there is no
/// such file or it may not be read; otherwise [`StoreError`] if the device does not read.
pub fn check(path: &Path) -> Result<Summary, StoreError> {
    let mut file = File::open(path).map_err(|e| unread(&e))?;
    let length = check_seal(&mut file)?;
    file.seek(SeekFrom::Start(0)).map_err(|e| unread(&e))?;
    let mut reading = Reading { input: BufReader::new(file.take(length)) };
    reading.each(&mut |_| Ok(()))
}

/// Either the store or the file does not do as it should.
enum Failed {
    Store(StoreError),
    File(std::io::Error),
}

impl From<StoreError> for Failed {
    fn from(error: StoreError) -> Self {
        Self::Store(error)
    }
}

impl From<std::io::Error> for Failed {
    fn from(error: std::io::Error) -> Self {
        Self::File(error)
    }
}

impl Failed {
    fn into_error(self, doing: &'static str) -> StoreError {
        match self {
            Self::Store(error) => error,
            Self::File(error) => StoreError::io(doing, &error),
        }
    }
}

/// Writes, and digests what it writes.
struct Sealing<W: Write> {
    out: W,
    seal: Sha256,
}

impl<W: Write> Sealing<W> {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<()> {
        self.seal.update(bytes);
        self.out.write_all(bytes)
    }

    /// The length of a value and the value.
    fn value(&mut self, bytes: &[u8]) -> std::io::Result<()> {
        let length = u32::try_from(bytes.len()).map_err(std::io::Error::other)?;
        self.write(&length.to_be_bytes())?;
        self.write(bytes)
    }
}

fn write_store<W: Write>(store: &dyn Store, out: &mut Sealing<W>) -> Result<Summary, Failed> {
    out.write(FIRST_LINE)?;
    for (name, value) in store.settings()? {
        if name != SESSION_SECRET {
            out.write(b"s")?;
            out.value(name.as_bytes())?;
            out.value(&value)?;
        }
    }
    let mut summary = Summary::default();
    let mut documents = store.documents()?;
    documents.extend(store.refused_documents()?);
    documents.sort_unstable();
    documents.dedup();
    for document in documents {
        out.write(b"d")?;
        out.write(document.bytes())?;
        write_changes(store, document, out, &mut summary)?;
        for row in store.refused(document)? {
            out.write(b"r")?;
            out.value(&row.key())?;
            out.value(&row.value())?;
        }
    }
    out.write(b"e")?;
    out.write(&summary.changes.to_be_bytes())?;
    Ok(summary)
}

fn write_changes<W: Write>(
    store: &dyn Store,
    document: DocumentId,
    out: &mut Sealing<W>,
    summary: &mut Summary,
) -> Result<(), Failed> {
    let mut written = 0;
    let outcome = store.walk(document, &mut |_, raw| {
        written += 1;
        let saved = out.write(b"c").and_then(|()| out.value(raw));
        saved.map_err(|error| StoreError::io(WRITING, &error))
    });
    summary.changes += written;
    summary.documents += u64::from(written > 0);
    match outcome {
        Err(error) if error.trouble() == Trouble::Damaged => summary.damaged.push(error),
        outcome => outcome?,
    }
    Ok(())
}

/// Reads the whole file; answers how many bytes are under the seal.
fn check_seal(file: &mut File) -> Result<u64, StoreError> {
    let io = |e: std::io::Error| unread(&e);
    let length = file.metadata().map_err(io)?.len().checked_sub(32).ok_or_else(cut_short)?;
    let mut input = BufReader::with_capacity(64 * 1024, &mut *file).take(length);
    let mut seal = Sha256::new();
    let mut buffer = vec![0; 64 * 1024];
    loop {
        match input.read(&mut buffer).map_err(io)? {
            0 => break,
            read => seal.update(&buffer[..read]),
        }
    }
    let mut found = [0; 32];
    input.into_inner().read_exact(&mut found).map_err(|e| of_reading(&e))?;
    if found != <[u8; 32]>::from(seal.finalize()) {
        return Err(damaged("its seal does not fit: it was altered or cut short"));
    }
    Ok(length)
}

/// One thing read from a backup.
enum Item {
    Setting(String, Vec<u8>),
    Change(Append),
    Refused(DocumentId, RefusedRow),
}

struct Reading<R: Read> {
    input: R,
}

impl<R: Read> Reading<R> {
    /// Hands over everything in order, one at a time.
    fn each(&mut self, take: &mut dyn FnMut(Item) -> Result<(), StoreError>) -> Result<Summary, StoreError> {
        if self.bytes(FIRST_LINE.len())? != FIRST_LINE {
            return Err(damaged("it does not begin as a backup of form 1 does"));
        }
        let mut summary = Summary::default();
        let (mut document, mut at) = (None, 0);
        loop {
            match self.array()? {
                [b's'] => take(self.setting()?)?,
                [b'd'] => (document, at) = (Some(DocumentId::new(self.array()?)), 0),
                [b'c'] => {
                    let document = document.ok_or_else(strange)?;
                    let raw = self.value(MAX_CHANGE)?.into();
                    take(Item::Change(Append { document, at, raw }))?;
                    summary.documents += u64::from(at == 0);
                    summary.changes += 1;
                    at += 1;
                }
                [b'r'] => take(self.refused(document.ok_or_else(strange)?)?)?,
                [b'e'] => return self.end(summary),
                _ => return Err(strange()),
            }
        }
    }

    fn setting(&mut self) -> Result<Item, StoreError> {
        let name = String::from_utf8(self.value(super::MAX_SETTING)?).map_err(|_| strange())?;
        Ok(Item::Setting(name, self.value(super::MAX_SETTING)?))
    }

    fn refused(&mut self, document: DocumentId) -> Result<Item, StoreError> {
        let (key, value) = (self.value(64)?, self.value(4096)?);
        let row = RefusedRow::read(&key, &value).ok_or_else(strange)?;
        Ok(Item::Refused(document, row))
    }

    fn end(&mut self, summary: Summary) -> Result<Summary, StoreError> {
        let counted = u64::from_be_bytes(self.array()?);
        let more = self.input.read(&mut [0]).map_err(|e| unread(&e))?;
        if counted != summary.changes || more != 0 {
            return Err(strange());
        }
        Ok(summary)
    }

    fn array<const N: usize>(&mut self) -> Result<[u8; N], StoreError> {
        let mut array = [0; N];
        self.input.read_exact(&mut array).map_err(|e| of_reading(&e))?;
        Ok(array)
    }

    fn value(&mut self, most: usize) -> Result<Vec<u8>, StoreError> {
        let length = usize::try_from(u32::from_be_bytes(self.array()?)).map_err(|_| strange())?;
        if length > most {
            return Err(strange());
        }
        self.bytes(length)
    }

    fn bytes(&mut self, length: usize) -> Result<Vec<u8>, StoreError> {
        let mut bytes = vec![0; length];
        self.input.read_exact(&mut bytes).map_err(|e| of_reading(&e))?;
        Ok(bytes)
    }
}

fn read_store<R: Read>(reading: &mut Reading<R>, store: &mut dyn Store) -> Result<Summary, StoreError> {
    let (mut rows, mut bytes) = (Vec::new(), 0);
    let summary = reading.each(&mut |item| match item {
        Item::Setting(name, value) => store.set_setting(&name, &value),
        Item::Refused(document, row) => store.keep_refused(document, &row).map(drop),
        Item::Change(row) => {
            bytes += row.raw.len();
            rows.push(row);
            if bytes < STEP && rows.len() < 4096 {
                return Ok(());
            }
            bytes = 0;
            store.append(&std::mem::take(&mut rows))?;
            store.flush()
        }
    })?;
    store.append(&rows)?;
    Ok(summary)
}

fn damaged(said: &str) -> StoreError {
    StoreError::new(Trouble::Damaged, READING, said).with_way_out(NOT_WHOLE)
}

fn cut_short() -> StoreError {
    damaged("it was cut short")
}

fn strange() -> StoreError {
    damaged("something in it is not of the form it should be")
}

fn of_reading(error: &std::io::Error) -> StoreError {
    let short = error.kind() == std::io::ErrorKind::UnexpectedEof;
    if short { cut_short() } else { unread(error) }
}

/// A backup that is not there or may not be read is the wrong one; else it is the device.
fn unread(error: &std::io::Error) -> StoreError {
    use std::io::ErrorKind::{IsADirectory, NotADirectory, NotFound, PermissionDenied};
    if [IsADirectory, NotADirectory, NotFound, PermissionDenied].contains(&error.kind()) {
        let said = format!("it cannot be read ({error})");
        return StoreError::new(Trouble::Asked, READING, said).with_way_out(NAME_ANOTHER);
    }
    StoreError::io(READING, error)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::store::{Memory, OnDisk, Options, suite};

    fn filled() -> Memory {
        let mut store = Memory::new();
        suite::fill(&mut store);
        store
    }

    #[test]
    fn a_store_comes_back_from_its_backup_into_any_other() {
        let directory = tempfile::tempdir().unwrap();
        let (first, second) = (directory.path().join("first"), directory.path().join("second"));
        let mut store = filled();
        store.set_setting(SESSION_SECRET, b"secret").unwrap();
        let summary = back_up(&store, &first).unwrap();
        assert_eq!((summary.documents, summary.changes), (2, 9));
        assert_eq!(check(&first).unwrap(), summary);
        let path = directory.path().join("store");
        let mut on_disk = OnDisk::open(&path, Options::default()).unwrap();
        assert_eq!(restore(&first, &mut on_disk).unwrap(), summary);
        drop(on_disk);
        let mut on_disk = OnDisk::open(&path, Options::default()).unwrap();
        back_up(&on_disk, &second).unwrap();
        assert!(std::fs::read(&first).unwrap() == std::fs::read(&second).unwrap());
        suite::is_filled(&mut on_disk);
        assert_eq!(on_disk.setting(SESSION_SECRET).unwrap(), None);
    }

    #[test]
    fn an_altered_or_shortened_backup_puts_nothing_in() {
        let directory = tempfile::tempdir().unwrap();
        let path = directory.path().join("backup");
        let mut store = Memory::new();
        store.append(&[suite::change(1, 0, 50), suite::change(2, 0, 7)]).unwrap();
        store.set_setting("relay-key", b"kept").unwrap();
        back_up(&store, &path).unwrap();
        let whole = std::fs::read(&path).unwrap();
        let shortened = (0..whole.len()).map(|length| whole[..length].to_vec());
        let altered = (0..whole.len()).map(|place| {
            let mut bytes = whole.clone();
            bytes[place] ^= 1;
            bytes
        });
        for bytes in shortened.chain(altered).chain([[&whole[..], &[0]].concat()]) {
            std::fs::write(&path, &bytes).unwrap();
            let mut empty = Memory::new();
            let error = restore(&path, &mut empty).unwrap_err();
            assert_eq!((error.trouble(), error.hint()), (Trouble::Damaged, NOT_WHOLE));
            assert_eq!(check(&path).unwrap_err(), error);
            assert!(empty.documents().unwrap().is_empty() && empty.settings().unwrap().is_empty());
        }
    }

    #[test]
    fn a_backup_goes_into_an_empty_store_only() {
        let directory = tempfile::tempdir().unwrap();
        let path = directory.path().join("backup");
        back_up(&filled(), &path).unwrap();
        let mut store = Memory::new();
        store.append(&[suite::change(9, 0, 1)]).unwrap();
        let error = restore(&path, &mut store).unwrap_err();
        assert_eq!((error.trouble(), error.hint()), (Trouble::Asked, ELSEWHERE));
        assert!(error.to_string().contains("it holds 1 document;"), "{error}");
        assert_eq!(store.documents().unwrap(), [suite::document(9)]);
        let mut begun = Memory::new();
        begun.set_setting("relay-key", b"kept").unwrap();
        let error = restore(&path, &mut begun).unwrap_err();
        assert!(error.to_string().contains("a relay was started on it"), "{error}");
    }

    #[test]
    fn a_backup_that_is_not_there_or_no_file_is_the_wrong_one() {
        let directory = tempfile::tempdir().unwrap();
        for path in [directory.path().join("nowhere"), directory.path().to_owned()] {
            let error = check(&path).unwrap_err();
            assert_eq!((error.trouble(), error.hint()), (Trouble::Asked, NAME_ANOTHER), "{error}");
            assert_eq!(restore(&path, &mut Memory::new()).unwrap_err(), error);
        }
    }

    #[test]
    fn a_backup_replaces_another_only_when_told_to() {
        let directory = tempfile::tempdir().unwrap();
        let path = directory.path().join("backup");
        back_up(&filled(), &path).unwrap();
        let before = std::fs::read(&path).unwrap();
        let error = back_up(&Memory::new(), &path).unwrap_err();
        assert_eq!((error.trouble(), error.hint()), (Trouble::Asked, THERE_ALREADY));
        assert!(error.to_string().contains(path.to_str().unwrap()), "{error}");
        assert!(std::fs::read(&path).unwrap() == before);
        back_up_over(&Memory::new(), &path).unwrap();
        assert_eq!(check(&path).unwrap(), Summary::default());
    }

    #[test]
    fn of_a_damaged_document_what_is_before_the_damage_is_saved() {
        let directory = tempfile::tempdir().unwrap();
        let path = directory.path().join("backup");
        let mut store = filled();
        store.lose(suite::document(1), 4);
        let summary = back_up(&store, &path).unwrap();
        assert_eq!((summary.changes, summary.damaged.len()), (5, 1));
        let mut other = Memory::new();
        restore(&path, &mut other).unwrap();
        assert_eq!(other.load(suite::document(1)).unwrap().len(), 4);
        assert_eq!(other.load(suite::document(2)).unwrap().len(), 1);
    }

    #[test]
    fn a_restore_that_did_not_end_is_no_store() {
        let directory = tempfile::tempdir().unwrap();
        let mut store = OnDisk::open(directory.path(), Options::default()).unwrap();
        store.set_setting(UNFINISHED, &[]).unwrap();
        store.flush().unwrap();
        drop(store);
        let error = OnDisk::open(directory.path(), Options::default()).unwrap_err();
        assert_eq!(error.trouble(), Trouble::Damaged);
        assert!(error.to_string().contains("restore") && error.hint().contains("empty"), "{error}");
    }

    #[test]
    fn a_backup_that_fails_leaves_the_one_before() {
        let directory = tempfile::tempdir().unwrap();
        let path = directory.path().join("backup");
        back_up(&filled(), &path).unwrap();
        let before = std::fs::read(&path).unwrap();
        std::fs::create_dir(directory::beside(&path)).unwrap();
        assert_eq!(back_up_over(&Memory::new(), &path).unwrap_err().trouble(), Trouble::Device);
        assert!(std::fs::read(&path).unwrap() == before);
    }
}
