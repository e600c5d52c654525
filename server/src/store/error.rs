//! What is wrong with a store, and the way out.

use std::fmt::Display;

/// What sort of trouble a store has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// No room is left on the device.
    Full,
    /// What is there is not what was written.
    Damaged,
    /// Another process has the store open.
    InUse,
    /// A later version of this program wrote it.
    Newer,
    /// What was to be written does not fit: a position that another change has, one past the
    /// next free one, a value larger than its place.
    Unfit,
    /// Anything else the device or the system says.
    Device,
}

/// A store that does not read or write, with what was said to it.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{doing}: {said}")]
pub struct StoreError {
    trouble: Trouble,
    doing: &'static str,
    said: String,
}

impl StoreError {
    /// What was being done, and what was said to it.
    #[must_use]
    pub fn new(trouble: Trouble, doing: &'static str, said: impl Display) -> Self {
        Self { trouble, doing, said: said.to_string() }
    }

    pub(super) fn io(doing: &'static str, error: &std::io::Error) -> Self {
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
            Trouble::Full => {
                "free some room on this device; what was acknowledged before is safe, and the phones keep \
                 the rest until they are answered"
            }
            Trouble::Damaged => {
                "keep this directory as it is and start with a new one: restore a backup into it, or leave \
                 it empty and the phones fill it again"
            }
            Trouble::InUse => "stop the other relay that has this directory open, or give each its own",
            Trouble::Newer => {
                "start the version that wrote this directory, or a later one; nothing was changed"
            }
            Trouble::Unfit => {
                "this is a fault of the relay, not of the device: load the document anew, then go on"
            }
            Trouble::Device => {
                "look at the device, its rights and its cables, then start the relay again; what was \
                 acknowledged before is safe"
            }
        }
    }
}

/// What sort of trouble an error of the system is.
pub(super) fn trouble_of(error: &std::io::Error) -> Trouble {
    use std::io::ErrorKind::{FileTooLarge, QuotaExceeded, StorageFull};
    let full = [StorageFull, QuotaExceeded, FileTooLarge];
    if full.contains(&error.kind()) { Trouble::Full } else { Trouble::Device }
}
