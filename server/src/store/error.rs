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
    /// What was asked for cannot be done with what is there, or is not there.
    Asked,
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
    /// The way out of this one, where that of its sort does not tell.
    way_out: Option<&'static str>,
}

impl StoreError {
    /// What was being done, and what was said to it.
    #[must_use]
    pub fn new(trouble: Trouble, doing: &'static str, said: impl Display) -> Self {
        Self { trouble, doing, said: said.to_string(), way_out: None }
    }

    /// The same with a way out of its own.
    pub(super) fn with_way_out(self, way_out: &'static str) -> Self {
        Self { way_out: Some(way_out), ..self }
    }

    /// A store that is not what was written.
    pub(super) fn damaged(doing: &'static str, said: impl Display) -> Self {
        Self::new(Trouble::Damaged, doing, format!("the store is damaged: {said}"))
    }

    pub(super) fn io(doing: &'static str, error: &std::io::Error) -> Self {
        Self::new(trouble_of(error), doing, error)
    }

    /// What sort of trouble.
    #[must_use]
    pub const fn trouble(&self) -> Trouble {
        self.trouble
    }

    /// The way out: its own, else that of its sort.
    #[must_use]
    pub const fn hint(&self) -> &'static str {
        if let Some(way_out) = self.way_out {
            return way_out;
        }
        match self.trouble {
            Trouble::Full => {
                "free some room on this device; what was acknowledged before is safe, and the phones keep \
                 the rest until they are answered"
            }
            Trouble::Damaged => {
                "keep this directory as it is and go on with an empty one: restore a backup there, or \
                 start the relay there and the phones fill it again"
            }
            Trouble::InUse => "stop the other relay that has this directory open, or give each its own",
            Trouble::Newer => {
                "start the version that wrote this directory, or a later one; nothing was changed"
            }
            Trouble::Unfit => {
                "this is a fault of the relay, not of the device: load the document anew, then go on"
            }
            Trouble::Asked => "look at what is there, and ask for it another way",
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
