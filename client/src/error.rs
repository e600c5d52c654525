//! One error for a home: what went wrong, a stable name, a class, and the way out.

use std::path::PathBuf;
use std::time::Duration;

use gudgeon_core::document::{BundleError, CommitError};
use gudgeon_core::entry::{DocumentId, EntryId, KeyId, Refusal};

use crate::home::fingerprint;
use crate::keys::KeyError;
use crate::store::{StoreError, Trouble, trouble_of};
use crate::world::NoRandomness;

/// What sort of error it is, for an exit code or a screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Class {
    /// What was asked cannot be meant so: no such home, record or key; already there.
    Asked,
    /// A PIN was wrong, too short, or is not tried yet.
    Pin,
    /// Somebody else has the home just now.
    Busy,
    /// A file or an entry that fails its checks, or belongs elsewhere.
    Refused,
    /// The device does not read or write; nothing was saved by this.
    Device,
    /// What is stored is not what was written.
    Damaged,
}

/// Something that did not work. Nothing was saved by what returned it, unless it says so.
#[derive(Debug, thiserror::Error)]
#[error(transparent)]
pub struct HomeError(Box<Kind>);

#[derive(Debug, thiserror::Error)]
#[cfg_attr(target_arch = "wasm32", allow(dead_code, reason = "a browser has no directories"))]
pub(crate) enum Kind {
    #[error("{} is in use{}; waited {} s", directory.display(), by(*.holder), waited.as_secs())]
    Busy { directory: PathBuf, holder: Option<u32>, waited: Duration },
    #[error("there is no home in {}", .0.display())]
    NoHome(PathBuf),
    #[error("there is a home in {} already", .0.display())]
    HomeExists(PathBuf),
    #[error("the home is of format {found}; this program reads format {known}")]
    OtherFormat { found: String, known: &'static str },
    #[error("{doing} {}: {source}", path.display())]
    Io { doing: &'static str, path: PathBuf, source: std::io::Error },
    #[error("the home cannot be read: {0}")]
    Unread(StoreError),
    #[error("not saved: {0}")]
    NotSaved(StoreError),
    #[error("not saved: {0}")]
    Commit(#[from] CommitError),
    #[error("not saved: entry {}: {refusal}", id.short())]
    Gate { id: EntryId, refusal: Refusal },
    #[error("record {} is not in this home", .0.short())]
    UnknownDocument(DocumentId),
    #[error("this home belongs to no workshop yet")]
    NoWorkshop,
    #[error("this home belongs to workshop {}, not to {}", own.short(), found.short())]
    OtherWorkshop { own: DocumentId, found: DocumentId },
    #[error("the founding entry of {} cannot be read", .0.short())]
    BadFounding(DocumentId),
    #[error("the workshop in this file, root {}, is not confirmed", fingerprint(.0))]
    Unconfirmed(KeyId),
    #[error("the workshop in this file has root {}, not {}", fingerprint(.found), fingerprint(.expected))]
    OtherRoot { expected: KeyId, found: KeyId },
    #[error("{}: {source}", path.display())]
    Bundle { path: PathBuf, source: BundleError },
    #[error("{} is not a bundle: {what}", path.display())]
    BadBundle { path: PathBuf, what: &'static str },
    #[error("record {} is damaged in this home: {what}", document.short())]
    Damaged { document: DocumentId, what: String },
    #[error("the setting `{0}` of this home is damaged")]
    DamagedSetting(&'static str),
    #[error(transparent)]
    Key(#[from] KeyError),
    #[error("key {} is not in this home", .0.short())]
    UnknownKey(KeyId),
    #[error("key {} is in this home already", .0.short())]
    KeyExists(KeyId),
    #[error(transparent)]
    NoRandomness(#[from] NoRandomness),
}

fn by(holder: Option<u32>) -> String {
    holder.map_or_else(String::new, |process| format!(" by process {process}"))
}

impl Kind {
    #[cfg(not(target_arch = "wasm32"))]
    pub(crate) fn io(doing: &'static str, path: &std::path::Path, source: std::io::Error) -> Self {
        Self::Io { doing, path: path.to_owned(), source }
    }

    /// Stable name, class and way out, one row each.
    fn row(&self) -> (&'static str, Class, String) {
        let (code, class, hint) = match self {
            Self::Busy { .. } => {
                ("busy", Class::Busy, "let the other program finish, or use another home with --home")
            }
            Self::NoHome(_) => {
                ("no-home", Class::Asked, "make one first, or name the right directory with --home")
            }
            Self::HomeExists(_) => {
                ("home-exists", Class::Asked, "use it, or name another directory with --home")
            }
            Self::OtherFormat { .. } => {
                ("other-format", Class::Asked, "use the program that wrote it, or a newer one")
            }
            Self::Io { source, .. } => return ("device", Class::Device, io_hint(source).to_owned()),
            Self::Unread(error) => return store_row("not-read", error),
            Self::NotSaved(error) => return store_row("not-saved", error),
            Self::Commit(_) => {
                ("not-committed", Class::Refused, "see the reason; everything entered before is safe")
            }
            Self::Gate { refusal, .. } => (refusal.rule(), Class::Refused, refusal.hint()),
            Self::UnknownDocument(_) => {
                ("unknown-record", Class::Asked, "carry it in from somebody who has it, or start it here")
            }
            Self::NoWorkshop => ("no-workshop", Class::Asked, "found a workshop, or carry one in"),
            Self::OtherWorkshop { .. } => (
                "other-workshop",
                Class::Refused,
                "keep a home for each workshop; name the right one with --home",
            ),
            Self::BadFounding(_) => {
                ("bad-founding", Class::Refused, "have the file made again by who gave it to you")
            }
            Self::Unconfirmed(_) => (
                "unconfirmed",
                Class::Asked,
                "compare these digits with the ones on the workshop's printed root sheet, then say so",
            ),
            Self::OtherRoot { .. } => {
                ("other-root", Class::Refused, "do not go on; ask the lead in person which workshop this is")
            }
            Self::Bundle { .. } | Self::BadBundle { .. } => {
                ("bad-bundle", Class::Refused, "have it made and copied again")
            }
            Self::Damaged { .. } => (
                "damaged",
                Class::Damaged,
                "keep this directory; make a new home and carry the record in from another phone or the office",
            ),
            Self::DamagedSetting(_) => (
                "damaged",
                Class::Damaged,
                "keep this directory; make a new home and carry the records in from another phone or the office",
            ),
            Self::Key(error) => return key_row(error),
            Self::UnknownKey(_) => {
                ("unknown-key", Class::Asked, "list the keys of this home and name one of them")
            }
            Self::KeyExists(_) => ("key-exists", Class::Asked, "use it with its own PIN, or change that PIN"),
            Self::NoRandomness(_) => ("no-randomness", Class::Device, "restart the device and try again"),
        };
        (code, class, hint.to_owned())
    }
}

fn io_hint(error: &std::io::Error) -> &'static str {
    match trouble_of(error) {
        Trouble::Full => "free some room on this device and try again",
        Trouble::Open | Trouble::Damaged | Trouble::Device => {
            "check that the path is right, the device is there and you may use it"
        }
    }
}

fn store_row(code: &'static str, error: &StoreError) -> (&'static str, Class, String) {
    let class = match error.trouble() {
        Trouble::Full | Trouble::Device => Class::Device,
        Trouble::Open => Class::Busy,
        Trouble::Damaged => Class::Damaged,
    };
    (code, class, error.hint().to_owned())
}

fn key_row(error: &KeyError) -> (&'static str, Class, String) {
    let (code, class) = match error {
        KeyError::PinTooShort { .. } => ("pin-too-short", Class::Pin),
        KeyError::PinTooLong { .. } => ("pin-too-long", Class::Pin),
        KeyError::WrongPin { .. } => ("wrong-pin", Class::Pin),
        KeyError::TooSoon { .. } => ("pin-too-soon", Class::Pin),
        KeyError::NewerShape { .. } => ("other-format", Class::Asked),
        KeyError::Damaged { .. } => ("damaged-key", Class::Damaged),
        KeyError::Derivation(_) => ("pin-not-worked", Class::Device),
        KeyError::NoRandomness(_) => ("no-randomness", Class::Device),
    };
    (code, class, error.hint())
}

impl HomeError {
    /// A short name that never changes.
    #[must_use]
    pub fn code(&self) -> &'static str {
        self.0.row().0
    }

    /// What sort of error it is.
    #[must_use]
    pub fn class(&self) -> Class {
        self.0.row().1
    }

    /// The way out.
    #[must_use]
    pub fn hint(&self) -> String {
        self.0.row().2
    }
}

impl<K: Into<Kind>> From<K> for HomeError {
    fn from(kind: K) -> Self {
        Self(Box::new(kind.into()))
    }
}
