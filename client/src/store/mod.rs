//! What a home keeps on its device, behind one small trait.
//!
//! A store is a few named tables of bytes by key, in order of key, and one way of writing:
//! a batch, whole or not at all. **When [`Store::write`] answers `Ok`, the batch survives a
//! kill and a power cut**; that is the only ground on which anything is called saved. On an
//! error the batch is not there, or, where the device failed to say, will be found whole or
//! not at all when the store is read again.
//!
//! Every store passes one suite, `suite.rs`.

mod memory;
mod mirror;
#[cfg(not(target_arch = "wasm32"))]
mod redb;
#[cfg(test)]
mod suite;

pub use self::memory::Memory;
pub use self::mirror::Mirror;
#[cfg(not(target_arch = "wasm32"))]
pub use self::redb::OnDisk;

macro_rules! tables {
    ($($(#[$doc:meta])* $table:ident $name:literal;)*) => {
        /// A table of a store.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Table {
            $($(#[$doc])* $table,)*
        }

        impl Table {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$table,)*];

            /// The table of that name.
            #[must_use]
            pub fn named(name: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|table| table.name() == name)
            }

            /// Its name, which never changes.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$table => $name,)*
                }
            }
        }
    };
}

tables! {
    /// Name of a setting -> its value.
    Settings "settings";
    /// Public key -> sealed key.
    Keys "keys";
    /// Document id -> its number in this store, 4 bytes, big-endian like all numbers here.
    Documents "documents";
    /// Number of document, position -> raw change. The truth; the rest can be made anew.
    Changes "changes";
    /// As `Changes` -> SHA-256 of each value of the change whose signature was checked.
    Checked "checked";
    /// Number of document -> heads of the relay when last met.
    RelayHeads "relay-heads";
    /// Number of document, SHA-256 -> something refused, with rule and hint.
    Aside "aside";
}

/// One step of a batch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Step {
    /// Sets a value, whether there was one or not.
    Put(Table, Vec<u8>, Vec<u8>),
    /// Takes a value away, whether there was one or not.
    Remove(Table, Vec<u8>),
    /// Takes away all values whose keys begin so.
    RemoveAll(Table, Vec<u8>),
}

/// Steps that are done in order, all or none.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Batch(Vec<Step>);

impl Batch {
    /// An empty batch.
    #[must_use]
    pub const fn new() -> Self {
        Self(Vec::new())
    }

    /// Sets a value.
    pub fn put(&mut self, table: Table, key: &[u8], value: &[u8]) {
        self.0.push(Step::Put(table, key.to_vec(), value.to_vec()));
    }

    /// Takes a value away.
    pub fn remove(&mut self, table: Table, key: &[u8]) {
        self.0.push(Step::Remove(table, key.to_vec()));
    }

    /// Takes away all values whose keys begin with `prefix`.
    pub fn remove_all(&mut self, table: Table, prefix: &[u8]) {
        self.0.push(Step::RemoveAll(table, prefix.to_vec()));
    }

    /// The steps in order.
    #[must_use]
    pub fn steps(&self) -> &[Step] {
        &self.0
    }
}

/// A key and its value.
pub type Row = (Vec<u8>, Vec<u8>);

/// A place that keeps bytes.
pub trait Store: Send + Sync {
    /// The value of a key.
    ///
    /// # Errors
    /// [`StoreError`] if the device does not read.
    fn get(&self, table: Table, key: &[u8]) -> Result<Option<Vec<u8>>, StoreError>;

    /// All rows whose keys begin with `prefix`, in order of key.
    ///
    /// # Errors
    /// [`StoreError`] if the device does not read.
    fn scan(&self, table: Table, prefix: &[u8]) -> Result<Vec<Row>, StoreError>;

    /// Does all steps or none; durable when it answers `Ok`.
    ///
    /// # Errors
    /// [`StoreError`] if the device does not write.
    fn write(&mut self, batch: &Batch) -> Result<(), StoreError>;
}

/// What is wrong with a store.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// No room is left on the device.
    Full,
    /// Another program has the file open.
    Open,
    /// The file is not what was written.
    Damaged,
    /// Anything else the device or the system says.
    Device,
}

/// A store that does not read or write, with what the device said.
#[derive(Debug, thiserror::Error)]
#[error("{doing}: {said}")]
pub struct StoreError {
    trouble: Trouble,
    doing: &'static str,
    said: String,
}

impl StoreError {
    /// What was being done, and what the device said to it.
    #[must_use]
    pub fn new(trouble: Trouble, doing: &'static str, said: impl std::fmt::Display) -> Self {
        Self { trouble, doing, said: said.to_string() }
    }

    #[cfg(not(target_arch = "wasm32"))]
    pub(crate) fn io(doing: &'static str, error: &std::io::Error) -> Self {
        Self::new(trouble_of(error), doing, error)
    }

    /// What sort of trouble.
    #[must_use]
    pub const fn trouble(&self) -> Trouble {
        self.trouble
    }

    /// The way out.
    #[must_use]
    pub const fn hint(&self) -> &'static str {
        match self.trouble {
            Trouble::Full => "free some room on this device and try again; what was saved before is safe",
            Trouble::Open => "close the other program that has this home open and try again",
            Trouble::Damaged => {
                "keep this directory as it is; make a new home and carry the records in from another \
                 phone or the office"
            }
            Trouble::Device => {
                "look at the device, its rights and its cables, then try again; what was saved before is safe"
            }
        }
    }
}

/// What sort of trouble an error of the system is.
pub(crate) fn trouble_of(error: &std::io::Error) -> Trouble {
    use std::io::ErrorKind::{FileTooLarge, QuotaExceeded, StorageFull};
    let full = [StorageFull, QuotaExceeded, FileTooLarge];
    if full.contains(&error.kind()) { Trouble::Full } else { Trouble::Device }
}

/// Makes a new name durable: the directory that holds it is a file too.
#[cfg(not(target_arch = "wasm32"))]
pub(crate) fn sync_directory_of(path: &std::path::Path) -> std::io::Result<()> {
    let directory = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        Some(_) | None => std::path::Path::new("."),
    };
    std::fs::File::open(directory)?.sync_all()
}
