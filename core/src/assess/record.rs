//! The record as the fold reads it: its log, and the definition it was founded on.

use std::sync::Arc;

use sha2::{Digest as _, Sha256};

use super::spot::{Noted, Spot, Spots};
use crate::engine::{Definition, Problem};
use crate::entry::{DocumentId, Entry, EntryId, Payload};
use crate::log::{Ix, Log};

/// All that is known of one engine's build.
#[derive(Clone, Debug)]
pub struct Record {
    log: Log,
    scanned: usize,
    digest: Option<[u8; 32]>,
    definition: Option<Arc<Definition>>,
    unusable: Option<(EntryId, Vec<Problem>)>,
    spots: Spots,
    /// Goes up whenever the definition changes.
    generation: u32,
}

impl Record {
    /// An empty record.
    #[must_use]
    pub fn new(document: DocumentId) -> Self {
        Self::over(Log::new(document))
    }

    /// A record over the entries of a log.
    #[must_use]
    pub fn read(log: Log) -> Self {
        let mut record = Self::over(log);
        record.take_in();
        record
    }

    fn over(log: Log) -> Self {
        Self {
            log,
            scanned: 0,
            digest: None,
            definition: None,
            unusable: None,
            spots: Spots::default(),
            generation: 0,
        }
    }

    /// Adds an entry; again is a no-op.
    pub fn insert(&mut self, entry: &Entry) {
        self.log.insert(entry);
        self.take_in();
    }

    /// Its entries.
    #[must_use]
    pub const fn log(&self) -> &Log {
        &self.log
    }

    /// The definition it was founded on, once that is held.
    #[must_use]
    pub const fn definition(&self) -> Option<&Arc<Definition>> {
        self.definition.as_ref()
    }

    /// The definition entry that cannot be used by this version, and why.
    #[must_use]
    pub const fn unusable_definition(&self) -> Option<&(EntryId, Vec<Problem>)> {
        self.unusable.as_ref()
    }

    pub(super) const fn generation(&self) -> u32 {
        self.generation
    }

    /// Where an entry's reading belongs; none: it is no reading, or of nothing this engine has.
    pub(super) fn spot(&self, ix: Ix) -> Option<(&Noted, &Spot)> {
        self.spots.of(ix)
    }

    /// Marks of the gauges that were read with, by number.
    pub(super) fn marks(&self) -> &[String] {
        self.spots.marks()
    }

    fn take_in(&mut self) {
        self.scan();
        if let Some(definition) = &self.definition {
            self.spots.take_in(&self.log, definition);
        }
    }

    /// Looks for the founding and the definition whose digest it names. The digest decides,
    /// so it does not matter who carried the text.
    fn scan(&mut self) {
        let from = self.scanned;
        self.scanned = self.log.folded().len();
        if self.digest.is_none() {
            self.digest = self.founding_digest();
        }
        let Some(digest) = self.digest else {
            self.scanned = from;
            return;
        };
        let found = self.log.folded()[from..].iter().find_map(|statement| match &statement.payload {
            Ok(Payload::Definition(definition)) if digest_of(&definition.text) == digest => {
                Some((statement.id, definition.text.clone()))
            }
            _ => None,
        });
        if let Some((id, text)) = found {
            self.adopt(id, &text);
        }
    }

    fn founding_digest(&self) -> Option<[u8; 32]> {
        match &self.log.get(&founding_id(&self.log))?.payload {
            Ok(Payload::Founding(founding)) => founding.definition_digest,
            _ => None,
        }
    }

    fn adopt(&mut self, id: EntryId, text: &str) {
        self.generation += 1;
        match Definition::parse(text) {
            Ok(definition) => {
                self.definition = Some(Arc::new(definition));
                self.spots = Spots::default();
            }
            // Whichever of several copies arrived first, the one with the smallest id is named.
            Err(problems) if self.unusable.as_ref().is_none_or(|(other, _)| id < *other) => {
                self.unusable = Some((id, problems));
            }
            Err(_) => {}
        }
    }
}

/// Digest by which a founding names its definition text: SHA-256.
#[must_use]
pub fn digest_of(text: &str) -> [u8; 32] {
    Sha256::digest(text.as_bytes()).into()
}

/// Id of the entry that founded a document.
#[must_use]
pub fn founding_id(log: &Log) -> EntryId {
    EntryId::new(*log.document().bytes())
}
