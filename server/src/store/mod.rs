//! What the relay keeps, behind one small trait.
//!
//! A store holds raw changes by document, each at its position in the order in which the
//! relay took them (0, 1, 2 ...); the relay's own settings; and what was refused. It is
//! written in two steps: [`Store::append`] and its like put things in, visible to this
//! process at once, and [`Store::flush`] makes them durable. **When `flush` answers `Ok`,
//! everything put in before it survives a kill and a power cut.** Only then is anything
//! acknowledged, or shown to anybody else.
//!
//! **After an error of `append` or `flush`** whatever was put in since the last `flush` that
//! answered `Ok` may be there, in part or not at all. Load the documents concerned anew before
//! writing to them: their next free position may not be the one you think.
//!
//! The raw changes are the truth. Everything else the relay knows of a document is computed
//! from them.
//!
//! Calls block; one committer owns the store. Every store passes one suite, `suite.rs`.

pub(crate) mod directory;
mod error;
mod forgetful;
mod memory;
mod pieces;
mod placing;
mod refused;
mod sled;
pub mod snapshot;
#[cfg(test)]
mod suite;

use std::sync::Arc;

use gudgeon_core::entry::DocumentId;

pub use error::{StoreError, Trouble};
pub use forgetful::{Call, Failure, Forgetful};
pub use memory::Memory;
pub use refused::{MAX_REFUSED, RefusedRow};
pub use sled::{OnDisk, Options};

/// Setting: the secret that sessions hang on. It stays out of a backup, so that whoever
/// finds one cannot pose as anybody.
pub const SESSION_SECRET: &str = "session-secret";

/// Setting: a restore into this store has begun and not ended.
const UNFINISHED: &str = "restore-unfinished";

/// Most bytes of a setting, its name included.
pub const MAX_SETTING: usize = 4 * 1024;

/// One change on its way into the store.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Append {
    /// The document.
    pub document: DocumentId,
    /// Its position among the changes of the document, counted from 0.
    pub at: u64,
    /// The raw change.
    pub raw: Arc<[u8]>,
}

/// What is called with each change of a document; an error ends the walk.
pub type Visit<'a> = dyn FnMut(u64, &[u8]) -> Result<(), StoreError> + 'a;

/// A place that keeps what the relay was given.
pub trait Store: Send {
    /// All documents of which any change is held, sorted.
    ///
    /// # Errors
    /// [`StoreError`] if the device does not read.
    fn documents(&self) -> Result<Vec<DocumentId>, StoreError>;

    /// Shows the changes of a document in append order, one at a time: a document need not
    /// fit into memory. An unknown document has none.
    ///
    /// # Errors
    /// [`Trouble::Damaged`] if a change or a part of one is missing, after all changes before
    /// the damage were shown. Other documents are not concerned. Otherwise [`StoreError`] if
    /// the device does not read, or whatever `visit` answers.
    fn walk(&self, document: DocumentId, visit: &mut Visit<'_>) -> Result<(), StoreError>;

    /// The raw changes of a document in append order.
    ///
    /// # Errors
    /// As [`Store::walk`].
    fn load(&self, document: DocumentId) -> Result<Vec<Vec<u8>>, StoreError> {
        let mut changes = Vec::new();
        self.walk(document, &mut |_, raw| {
            changes.push(raw.to_vec());
            Ok(())
        })?;
        Ok(changes)
    }

    /// Whether changes of so many bytes may be put in: asked before anything is taken, since a
    /// store that fails while it writes must be opened again, and a full device may have no
    /// room even for that.
    ///
    /// # Errors
    /// [`Trouble::Full`] if there is no room, or [`StoreError`] if the device does not tell.
    fn room_for(&self, bytes: usize) -> Result<(), StoreError>;

    /// Puts changes in, in order; not durable yet. The same bytes at the same position again
    /// change nothing.
    ///
    /// # Errors
    /// [`Trouble::Unfit`] if a position is taken by other bytes or lies past the next
    /// free one: then none of `rows` is put in. Otherwise [`StoreError`] if the device does
    /// not write.
    fn append(&mut self, rows: &[Append]) -> Result<(), StoreError>;

    /// Drops everything of a damaged document from the damage on, and answers how many
    /// changes are left. The phones bring the rest again. Not durable yet; leaves a sound
    /// document alone.
    ///
    /// # Errors
    /// [`StoreError`] if the device does not read or write.
    fn cut_at_damage(&mut self, document: DocumentId) -> Result<u64, StoreError>;

    /// All settings, in order of name.
    ///
    /// # Errors
    /// [`StoreError`] if the device does not read.
    fn settings(&self) -> Result<Vec<(String, Vec<u8>)>, StoreError>;

    /// The value of a setting.
    ///
    /// # Errors
    /// [`StoreError`] if the device does not read.
    fn setting(&self, name: &str) -> Result<Option<Vec<u8>>, StoreError>;

    /// Sets a value of at most [`MAX_SETTING`] bytes, whether there was one or not; not
    /// durable yet.
    ///
    /// # Errors
    /// [`StoreError`] if the value is too large or the device does not write.
    fn set_setting(&mut self, name: &str, value: &[u8]) -> Result<(), StoreError>;

    /// Takes a setting away, whether there was one or not; not durable yet.
    ///
    /// # Errors
    /// [`StoreError`] if the device does not write.
    fn clear_setting(&mut self, name: &str) -> Result<(), StoreError>;

    /// Keeps something refused, unless it is kept already or the document has
    /// [`MAX_REFUSED`] rows; answers whether it was put in. Not durable yet, and nothing
    /// need wait for it to be.
    ///
    /// # Errors
    /// [`StoreError`] if the device does not write.
    fn keep_refused(&mut self, document: DocumentId, row: &RefusedRow) -> Result<bool, StoreError>;

    /// What was refused of a document, in order of arrival.
    ///
    /// # Errors
    /// [`StoreError`] if the device does not read.
    fn refused(&self, document: DocumentId) -> Result<Vec<RefusedRow>, StoreError>;

    /// All documents of which anything refused is kept, sorted; held or not.
    ///
    /// # Errors
    /// [`StoreError`] if the device does not read.
    fn refused_documents(&self) -> Result<Vec<DocumentId>, StoreError>;

    /// Makes everything put in so far durable.
    ///
    /// # Errors
    /// [`StoreError`] if the device does not say so: then nothing since the last `Ok` counts
    /// as kept.
    fn flush(&mut self) -> Result<(), StoreError>;

    /// Bytes that the store takes up where it lives.
    ///
    /// # Errors
    /// [`StoreError`] if the device does not tell.
    fn size_on_disk(&self) -> Result<u64, StoreError>;
}

/// A change or a part of one is missing.
fn damaged(document: DocumentId, at: u64, said: &str) -> StoreError {
    let said = format!("change {at} of document {}: {said}", document.short());
    StoreError::new(Trouble::Damaged, "reading a document", said)
}

/// Refuses a setting that is too large.
fn fits(name: &str, value: &[u8]) -> Result<(), StoreError> {
    let length = name.len().saturating_add(value.len());
    if length <= MAX_SETTING {
        return Ok(());
    }
    let said = format!("`{name}` has {length} bytes with its name; at most {MAX_SETTING} fit");
    Err(StoreError::new(Trouble::Unfit, "writing a setting", said))
}
