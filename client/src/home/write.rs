//! Making entries: what somebody says, signed, knowing all that this home holds.

use gudgeon_core::entry::payload::Founding;
use gudgeon_core::entry::{Author, DocumentId, Entry, EntryId, Envelope, Payload};

use super::Home;
use super::take::Saved;
use crate::error::HomeError;

/// The oldest reader that may judge what this version writes.
const MIN_READER: u32 = 1;

impl Home {
    /// Signs and saves statements, each knowing the one before: all of them or none.
    ///
    /// # Errors
    /// As [`Home::commit`].
    pub fn state(
        &mut self,
        document: DocumentId,
        author: &Author,
        says: &[Payload],
    ) -> Result<Saved, HomeError> {
        let after = self.log(document)?.after(author.key());
        let entries = self.sign(document, author, after, says);
        self.commit(document, &entries)
    }

    /// Founds a workshop or a record, with first statements: all of it or nothing.
    ///
    /// # Errors
    /// As [`Home::commit`].
    pub fn found(
        &mut self,
        author: &Author,
        founding: Founding,
        says: &[Payload],
    ) -> Result<Saved, HomeError> {
        let payload = Payload::Founding(founding);
        let first = author.sign(self.envelope(None, Vec::new(), &payload));
        let document = DocumentId::from(first.id());
        let mut entries = self.sign(document, author, vec![first.id()], says);
        entries.insert(0, first);
        self.commit(document, &entries)
    }

    fn sign(
        &self,
        document: DocumentId,
        author: &Author,
        mut after: Vec<EntryId>,
        says: &[Payload],
    ) -> Vec<Entry> {
        let mut entries = Vec::with_capacity(says.len());
        for payload in says {
            let entry = author.sign(self.envelope(Some(document), after, payload));
            after = vec![entry.id()];
            entries.push(entry);
        }
        entries
    }

    fn envelope(&self, document: Option<DocumentId>, after: Vec<EntryId>, payload: &Payload) -> Envelope {
        Envelope {
            document,
            kind_code: payload.kind().code(),
            device_time: self.world().now(),
            min_reader: MIN_READER,
            after,
            payload: payload.encode(),
        }
    }
}
