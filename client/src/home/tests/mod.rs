#![allow(clippy::unwrap_used)]
//! Homes in memory, with stores that fail on purpose; real processes are tested from outside.

mod ahead;
mod carrying;
mod refusals;
mod saving;

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU8, Ordering};
use std::sync::{Arc, Mutex};

use gudgeon_core::document::{Bundle, Document};
use gudgeon_core::entry::payload::{Founding, Note};
use gudgeon_core::entry::{Author, DocumentId, EntryId, KeyId, Payload};

use super::Home;
use crate::store::{Batch, Memory, Row, Store, StoreError, Table, Trouble};
use crate::world::test::Rehearsed;

/// A device: its content outlives the home on it, and it can be made to fail.
#[derive(Clone, Default)]
struct Device {
    memory: Arc<Mutex<Memory>>,
    fails: Arc<AtomicU8>,
}

const SOUND: u8 = 0;
/// Writes nothing and says so.
const FULL: u8 = 1;
/// Writes and says it did not: a flush that failed after the bytes had landed.
const UNSURE: u8 = 2;
/// Does not read either.
const DEAD: u8 = 3;

impl Device {
    fn set(&self, how: u8) {
        self.fails.store(how, Ordering::SeqCst);
    }

    fn home(&self, seed: u64) -> Home {
        Home::within(Box::new(self.clone()), Rehearsed::new(seed)).unwrap()
    }

    /// An older copy of the device, as a backup holds it.
    fn copy(&self) -> Self {
        let memory = self.memory.lock().unwrap().clone();
        Self { memory: Arc::new(Mutex::new(memory)), fails: Arc::default() }
    }

    fn error(trouble: Trouble) -> StoreError {
        StoreError::new(trouble, "writing to the store", "no space left on device")
    }
}

impl Store for Device {
    fn get(&self, table: Table, key: &[u8]) -> Result<Option<Vec<u8>>, StoreError> {
        match self.fails.load(Ordering::SeqCst) {
            DEAD => Err(Self::error(Trouble::Device)),
            _ => self.memory.lock().unwrap().get(table, key),
        }
    }

    fn scan(&self, table: Table, prefix: &[u8]) -> Result<Vec<Row>, StoreError> {
        match self.fails.load(Ordering::SeqCst) {
            DEAD => Err(Self::error(Trouble::Device)),
            _ => self.memory.lock().unwrap().scan(table, prefix),
        }
    }

    fn write(&mut self, batch: &Batch) -> Result<(), StoreError> {
        match self.fails.load(Ordering::SeqCst) {
            SOUND => self.memory.lock().unwrap().write(batch),
            UNSURE => {
                self.memory.lock().unwrap().write(batch)?;
                Err(Self::error(Trouble::Device))
            }
            _ => Err(Self::error(Trouble::Full)),
        }
    }
}

fn root() -> Author {
    Author::from_secret(&[1; 32])
}

fn ada() -> Author {
    Author::from_secret(&[2; 32])
}

fn ben() -> Author {
    Author::from_secret(&[3; 32])
}

fn note(text: &str) -> Payload {
    Payload::Note(Note { feature: String::new(), text: text.to_owned() })
}

fn founding(name: &str, workshop: Option<DocumentId>) -> Founding {
    Founding {
        name: name.to_owned(),
        workshop,
        definition_digest: workshop.map(|_| [0; 32]),
        nonce: name.as_bytes().to_vec(),
    }
}

/// Founds a workshop and a record in it; answers the record.
fn founded(home: &mut Home) -> DocumentId {
    let workshop = home.found(&root(), founding("Bench Row", None), &[]).unwrap().document;
    home.found(&ada(), founding("Test engine", Some(workshop)), &[]).unwrap().document
}

/// States one note; answers its id.
fn says(home: &mut Home, record: DocumentId, author: &Author, text: &str) -> EntryId {
    home.state(record, author, &[note(text)]).unwrap().entries[0]
}

fn ids(home: &Home, document: DocumentId) -> Vec<EntryId> {
    home.document(document).unwrap().entries().map(|put| put.id).collect()
}

fn texts(home: &Home, record: DocumentId) -> Vec<String> {
    let folded = home.log(record).unwrap().folded().iter();
    let mut texts: Vec<String> = folded
        .filter_map(|statement| match &statement.payload {
            Ok(Payload::Note(note)) => Some(note.text.clone()),
            Ok(_) | Err(_) => None,
        })
        .collect();
    texts.sort_unstable();
    texts
}

/// A directory for files, gone with the value.
struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    fn file(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }
}

/// Carries everything of `from` to `to`.
fn carry(from: &Home, to: &mut Home) -> super::CarriedIn {
    let folder = Folder::new();
    let file = folder.file("carried.gudgeon");
    let records: Vec<DocumentId> = from.records().collect();
    from.carry_out(&records, &file).unwrap();
    to.carry_in(&file, Some(root().key())).unwrap()
}

/// Writes a bundle of these very documents.
fn write(root: KeyId, documents: &[(DocumentId, &Document)], file: &Path) {
    let mut bundle = Bundle::new(root);
    documents.iter().for_each(|(id, document)| bundle.add(*id, document));
    super::file::write_bundle(&bundle, file).unwrap();
}
