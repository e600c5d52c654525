//! Documents at the relay, and what one exchange does to them.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use gudgeon_core::document::{ChangeHash, Document, Received, Refusal, Refused, parse};
use gudgeon_core::entry::{DocumentId, Entry, EntryId, Payload, check, read_checked};
use sha2::{Digest as _, Sha256};

use crate::limits::ANSWER;

/// What a client brings for one document.
#[derive(Clone, Debug)]
pub struct Ask {
    /// The workshop that the client speaks for.
    pub workshop: DocumentId,
    /// The document: that workshop, or one of its records.
    pub document: DocumentId,
    /// The relay heads it knows of, and its own.
    pub heads: Vec<ChangeHash>,
    /// Raw changes that the relay may lack.
    pub changes: Vec<Vec<u8>>,
}

/// What the relay answers.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Answer {
    /// The relay's heads after it took what it could.
    pub heads: Vec<ChangeHash>,
    /// Raw changes that the client lacks, each after its dependencies.
    pub changes: Vec<Vec<u8>>,
    /// What was refused, and why; all of a batch at once.
    pub refused: Vec<Refused>,
    /// Heads and dependencies that the relay does not know: the client sends from those.
    pub unknown: Vec<ChangeHash>,
    /// Whether there is more to fetch.
    pub more: bool,
}

/// Values that have passed the gate with their signature, by SHA-256: checked by whoever
/// received them, so that the one who keeps the documents need not.
#[derive(Clone, Debug, Default)]
pub struct Checked(BTreeSet<[u8; 32]>);

impl Checked {
    /// Checks every entry of these changes that can be read at all. What does not pass is left
    /// out: it is looked at again, and refused with its reason, in [`Desk::take`].
    #[must_use]
    pub fn of(document: DocumentId, changes: &[Vec<u8>]) -> Self {
        let mut checked = BTreeSet::new();
        for change in changes.iter().filter_map(|raw| parse(raw).ok()) {
            for put in change.puts().filter(|put| check(put.id, put.value, document).is_ok()) {
                checked.insert(Sha256::digest(put.value).into());
            }
        }
        Self(checked)
    }

    fn gate(&self, id: EntryId, value: &[u8], document: DocumentId) -> Result<Entry, Refusal> {
        let known: [u8; 32] = Sha256::digest(value).into();
        let gate = if self.0.contains(&known) { read_checked } else { check };
        Ok(gate(id, value, document)?)
    }
}

/// What a batch did to a document; in memory only, so far.
#[derive(Debug, Default)]
pub struct Taken {
    /// Changes to be made durable, in order, the first at position `at`.
    pub raws: Vec<Arc<[u8]>>,
    /// Position of the first of them.
    pub at: u64,
    /// What was refused.
    pub refused: Vec<Refused>,
    /// Named and not held.
    unknown: Vec<ChangeHash>,
}

/// The documents that are in memory. Authority over entries is nobody's business here:
/// whatever passes the gate is kept, whoever carried it. A record belongs to the workshop
/// that its founding entry names.
#[derive(Clone, Debug, Default)]
pub struct Desk {
    documents: BTreeMap<DocumentId, Document>,
}

impl Desk {
    /// An empty desk.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// A document, if it is in memory.
    #[must_use]
    pub fn document(&self, id: DocumentId) -> Option<&Document> {
        self.documents.get(&id)
    }

    /// Puts a document on the desk from what was kept of it; what was once taken is taken
    /// again, or it is damaged.
    ///
    /// # Errors
    /// The position of the first change that is no longer taken.
    pub fn put<B: AsRef<[u8]>>(&mut self, id: DocumentId, raws: &[B]) -> Result<(), usize> {
        let mut document = Document::new();
        // Signatures were checked when they came. `gudgeon-relay check` checks them again.
        let received = document.receive(raws, &mut |_, _| Ok(()));
        if received.accepted.len() != raws.len() || !received.refused.is_empty() {
            return Err(received.accepted.len());
        }
        if !document.is_empty() {
            self.documents.insert(id, document);
        }
        Ok(())
    }

    /// Takes a document off the desk: it is read from the store when next asked for.
    pub fn drop_document(&mut self, id: DocumentId) {
        self.documents.remove(&id);
    }

    /// Whether an ask brings any change that is not held.
    #[must_use]
    pub fn brings_anything(&self, ask: &Ask) -> bool {
        let held = |hash: &ChangeHash| self.document(ask.document).is_some_and(|held| held.contains(hash));
        ask.changes.iter().filter_map(|raw| parse(raw).ok()).any(|change| !held(&change.hash()))
    }

    /// Takes what is sound of an ask.
    pub fn take(&mut self, ask: &Ask, checked: &Checked) -> Taken {
        let fresh = !self.documents.contains_key(&ask.document);
        let document = self.documents.entry(ask.document).or_default();
        let from = document.len();
        let received = document.receive(&ask.changes, &mut |id, value| {
            let entry = checked.gate(id, value, ask.document)?;
            ours(&entry, ask)
        });
        tracing::debug!(
            document = %ask.document.short(),
            accepted = received.accepted.len(),
            refused = received.refused.len(),
            "exchange"
        );
        let founded = document.entry(&EntryId::new(*ask.document.bytes())).is_some();
        if fresh && !founded {
            self.documents.remove(&ask.document);
            return unfounded(received, ask.document);
        }
        let raws = document.changes_from(from).iter().map(|change| Arc::from(change.raw())).collect();
        Taken {
            raws,
            at: u64::try_from(from).unwrap_or(u64::MAX),
            refused: received.refused,
            unknown: received.unknown_deps,
        }
    }

    /// Takes and answers at once: where nothing has to be durable.
    pub fn exchange(&mut self, ask: &Ask) -> Answer {
        let taken = self.take(ask, &Checked::default());
        self.answer(ask, taken)
    }

    /// What to answer: asked once what was taken is durable.
    #[must_use]
    pub fn answer(&self, ask: &Ask, taken: Taken) -> Answer {
        let Some(document) = self.documents.get(&ask.document) else {
            let unknown = joined(taken.unknown, ask.heads.clone());
            return Answer { refused: taken.refused, unknown, ..Answer::default() };
        };
        let lacking = document.answer(&ask.heads, ANSWER);
        Answer {
            heads: document.heads(),
            changes: lacking.changes.iter().map(|change| change.raw().to_vec()).collect(),
            refused: taken.refused,
            unknown: joined(taken.unknown, lacking.unknown_heads),
            more: lacking.more,
        }
    }
}

/// The workshop that a founding entry belongs to: the one it names, or for a workshop itself.
/// None where the entry is no founding that can be read.
pub(crate) fn workshop_of(founding: &Entry) -> Option<DocumentId> {
    match Payload::read(founding.envelope().kind_code, &founding.envelope().payload) {
        Ok(Payload::Founding(says)) => Some(says.workshop.unwrap_or(founding.id().into())),
        _ => None,
    }
}

/// A founding must be this workshop's: its own, or that of a record that names it.
fn ours(entry: &Entry, ask: &Ask) -> Result<(), Refusal> {
    if DocumentId::from(entry.id()) != ask.document || ask.document == ask.workshop {
        return Ok(());
    }
    if workshop_of(entry) == Some(ask.workshop) {
        return Ok(());
    }
    Err(Refusal {
        rule: "other-workshop",
        hint: "this record was founded for another workshop; open a session for that one".to_owned(),
    })
}

/// Nothing of a document is kept before its founding.
fn unfounded(received: Received, document: DocumentId) -> Taken {
    let founding = |change: &ChangeHash| Refused {
        change: *change,
        entry: Some(EntryId::new(*document.bytes())),
        rule: "founding-first",
        hint: "the relay does not hold the founding of this document; send all its changes, from the first"
            .to_owned(),
    };
    let mut refused = received.refused;
    refused.extend(received.accepted.iter().map(founding));
    Taken { refused, unknown: received.unknown_deps, ..Taken::default() }
}

fn joined(mut unknown: Vec<ChangeHash>, more: Vec<ChangeHash>) -> Vec<ChangeHash> {
    unknown.extend(more);
    unknown.sort_unstable();
    unknown.dedup();
    unknown
}
