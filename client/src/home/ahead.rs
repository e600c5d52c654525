//! Signatures checked before their changes are taken in, a few at a time.
//!
//! Three thousand checks in a row take a phone's screen away for seconds. Where there is one
//! thread, whoever has changes to take in checks them ahead in slices and lets the screen live
//! in between; the taking in then finds each checked value by its digest and does the rest of
//! the gate at once.

use std::collections::VecDeque;

use gudgeon_core::document::parse;
use gudgeon_core::entry::{self, DocumentId, EntryId};

use super::Home;
use super::load::digest;

/// Entries of changes from elsewhere that wait for their check.
#[derive(Debug)]
pub struct Ahead {
    document: DocumentId,
    waiting: VecDeque<(EntryId, Vec<u8>)>,
}

impl Ahead {
    /// Those of these changes that are not held yet.
    #[must_use]
    pub fn of<B: AsRef<[u8]>>(home: &Home, document: DocumentId, raws: &[B]) -> Self {
        let held = home.document(document).ok();
        let mut waiting = VecDeque::new();
        for change in raws.iter().filter_map(|raw| parse(raw.as_ref()).ok()) {
            let new = change.puts().filter(|put| held.is_none_or(|held| held.entry(&put.id).is_none()));
            waiting.extend(new.map(|put| (put.id, put.value.to_vec())));
        }
        Self { document, waiting }
    }

    /// How many there are still to check.
    #[must_use]
    pub fn left(&self) -> usize {
        self.waiting.len()
    }
}

impl Home {
    /// Checks up to `most` of them.
    ///
    /// Nothing is taken in, and nothing is said of what fails: the gate finds it again. What is
    /// remembered is forgotten once changes were taken in.
    pub fn check_ahead(&mut self, ahead: &mut Ahead, most: usize) {
        let slice = ahead.waiting.len().min(most);
        for (id, value) in ahead.waiting.drain(..slice) {
            if entry::check(id, &value, ahead.document).is_ok() {
                self.checked_ahead.insert(digest(&value));
            }
        }
    }
}
