//! The document as Automerge's own, for storage in one piece and as a second opinion.

use automerge::{
    Automerge, AutomergeError, LoadOptions, ObjType, OnPartialLoad, ROOT, ReadDoc, TextEncoding,
    VerificationMode,
};

use super::genesis::{ENTRIES, GENESIS};
use super::index::Document;
use super::receive::{Received, Refused};
use crate::entry::EntryId;

/// Passed at every `new` and `load`: the default hangs on feature flags.
const ENCODING: TextEncoding = TextEncoding::UnicodeCodePoint;

/// Why a saved document cannot be opened.
#[derive(Debug, thiserror::Error)]
pub enum SavedError {
    /// Automerge cannot load the bytes.
    #[error("the snapshot does not load: {0}; build it again from the stored changes")]
    Load(#[from] AutomergeError),
    /// The first change is not the genesis.
    #[error("the snapshot does not begin with the genesis change; it is not of this application")]
    Genesis,
    /// A change in it would not be taken.
    #[error("the snapshot holds a change that is not taken: {hint}")]
    Refused {
        /// Short name of the rule.
        rule: &'static str,
        /// What is expected.
        hint: String,
    },
    /// A change in it names one that is not there.
    #[error("the snapshot lacks a change that another names; build it again from the stored changes")]
    Incomplete,
}

/// Where Automerge sees something else than the document's own index.
#[derive(Debug, thiserror::Error)]
pub enum Disagreement {
    /// It does not take the changes, or does not load what it saved.
    #[error("Automerge does not take the changes: {0}")]
    Automerge(#[from] AutomergeError),
    /// Other heads.
    #[error("Automerge sees other heads")]
    Heads,
    /// Other bytes of a change.
    #[error("Automerge writes a change otherwise")]
    Bytes,
    /// Other entries.
    #[error("Automerge sees other values under {0}")]
    Entries(String),
}

impl Document {
    /// The same document as Automerge's own.
    ///
    /// # Errors
    /// Not expected: what was taken here is taken there.
    pub fn to_automerge(&self) -> Result<Automerge, AutomergeError> {
        let raws = std::iter::once(GENESIS).chain(self.changes.iter().map(|change| change.raw()));
        let changes = raws
            .map(|raw| automerge::Change::try_from(raw).map_err(AutomergeError::from))
            .collect::<Result<Vec<_>, _>>()?;
        let mut document = Automerge::new_with_encoding(ENCODING);
        document.apply_changes(changes)?;
        Ok(document)
    }

    /// The document in one compact piece, which other tools open. A snapshot is
    /// disposable: the raw changes are the truth.
    ///
    /// # Errors
    /// As [`Document::to_automerge`].
    pub fn save(&self) -> Result<Vec<u8>, AutomergeError> {
        Ok(self.to_automerge()?.save())
    }

    /// Opens a snapshot that this application saved on this device.
    ///
    /// **Only for one's own, trusted bytes**: Automerge's loader sees them unchecked, and
    /// hostile or damaged ones can make it panic or take all memory. Keep a checksum beside
    /// the file. The changes in it are parsed again; the gate is not asked again.
    ///
    /// # Errors
    /// [`SavedError`] if it does not load or holds anything but legal changes.
    pub fn from_saved(bytes: &[u8]) -> Result<Self, SavedError> {
        let saved = load(bytes)?;
        let changes = saved.get_changes(&[]);
        let mut raws = changes.iter().map(automerge::Change::raw_bytes);
        if raws.next() != Some(GENESIS) {
            return Err(SavedError::Genesis);
        }
        let rest: Vec<_> = raws.collect();
        let mut document = Self::new();
        let Received { refused, unknown_deps, .. } = document.receive(&rest, &mut |_, _| Ok(()));
        match refused.into_iter().next() {
            Some(Refused { rule, hint, .. }) => Err(SavedError::Refused { rule, hint }),
            None if unknown_deps.is_empty() => Ok(document),
            None => Err(SavedError::Incomplete),
        }
    }

    /// A second opinion: whether Automerge applies, saves and loads the changes, with the
    /// same heads, the same bytes of every change and the same values of every entry.
    ///
    /// # Errors
    /// [`Disagreement`] names the first difference.
    pub fn check(&self) -> Result<(), Disagreement> {
        let applied = self.to_automerge()?;
        self.compare(&applied)?;
        self.compare(&load(&applied.save())?)
    }

    fn compare(&self, other: &Automerge) -> Result<(), Disagreement> {
        let mut heads: Vec<_> = other.get_heads().iter().map(|head| head.0).collect();
        heads.sort_unstable();
        if !heads.iter().eq(self.heads().iter().map(|head| head.bytes())) {
            return Err(Disagreement::Heads);
        }
        for change in &self.changes {
            let theirs = other.get_change_by_hash(&automerge::ChangeHash(*change.hash().bytes()));
            if theirs.as_ref().map(automerge::Change::raw_bytes) != Some(change.raw()) {
                return Err(Disagreement::Bytes);
            }
        }
        self.compare_entries(other)
    }

    fn compare_entries(&self, other: &Automerge) -> Result<(), Disagreement> {
        let disagree = |key: &str| Disagreement::Entries(key.to_owned());
        let Some((automerge::Value::Object(ObjType::Map), map)) = other.get(ROOT, ENTRIES)? else {
            return Err(disagree(ENTRIES));
        };
        if other.length(ROOT) != 1 || other.length(&map) != self.entries().len() {
            return Err(disagree(ENTRIES));
        }
        for key in other.keys(&map) {
            let values = other.get_all(&map, key.as_str())?;
            let bytes = values.iter().map(|(value, _)| value.as_bytes());
            let smallest = bytes.min().flatten();
            let ours = EntryId::from_hex(&key).ok().and_then(|id| self.entry(&id));
            if smallest.is_none() || smallest != ours {
                return Err(disagree(&key));
            }
        }
        Ok(())
    }
}

fn load(bytes: &[u8]) -> Result<Automerge, AutomergeError> {
    let options = LoadOptions::new()
        .on_partial_load(OnPartialLoad::Error)
        .verification_mode(VerificationMode::Check)
        .text_encoding(ENCODING);
    Automerge::load_with_options(bytes, options)
}
