//! Documents at the relay, and one exchange with a client.

use std::collections::BTreeMap;

use gudgeon_core::document::{ChangeHash, Document, Refused};
use gudgeon_core::entry::{DocumentId, check};

/// Most bytes of changes in one answer; a client asks again while there is more.
const ANSWER_BYTES: usize = 2 * 1024 * 1024;

/// What a client brings for one document.
#[derive(Clone, Debug)]
pub struct Ask {
    /// The document.
    pub document: DocumentId,
    /// The relay heads it knows of, and its own.
    pub heads: Vec<ChangeHash>,
    /// Raw changes that the relay may lack.
    pub changes: Vec<Vec<u8>>,
}

/// What the relay answers.
#[derive(Clone, Debug)]
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

/// Every document the relay holds. Authority is nobody's business here: whatever passes the
/// gate is kept, whoever carried it.
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

    /// A document, if anybody brought one.
    #[must_use]
    pub fn document(&self, id: DocumentId) -> Option<&Document> {
        self.documents.get(&id)
    }

    /// One exchange; the same one again changes nothing.
    pub fn exchange(&mut self, ask: &Ask) -> Answer {
        let document = self.documents.entry(ask.document).or_default();
        let received = document.receive(&ask.changes, &mut |entry, value| {
            check(entry, value, ask.document).map(drop).map_err(Into::into)
        });
        tracing::debug!(
            document = %ask.document.short(),
            accepted = received.accepted.len(),
            refused = received.refused.len(),
            "exchange"
        );
        let lacking = document.answer(&ask.heads, ANSWER_BYTES);
        let mut unknown = received.unknown_deps;
        unknown.extend(lacking.unknown_heads);
        unknown.sort_unstable();
        unknown.dedup();
        Answer {
            heads: document.heads(),
            changes: lacking.changes.iter().map(|change| change.raw().to_vec()).collect(),
            refused: received.refused,
            unknown,
            more: lacking.more,
        }
    }
}
