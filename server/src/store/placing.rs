//! Whether changes are given the positions that are theirs.

use std::collections::BTreeMap;
use std::sync::Arc;

use gudgeon_core::entry::DocumentId;

use super::{Append, StoreError, Trouble};

/// The next free position of each document that was asked about.
pub(super) type Nexts = BTreeMap<DocumentId, u64>;

/// What the placing has to know of a store.
pub(super) trait Places {
    /// The next free position of a document.
    fn next(&self, document: DocumentId) -> Result<u64, StoreError>;

    /// The change at a position that is not free, unless it is missing.
    fn held(&self, document: DocumentId, at: u64) -> Result<Option<Arc<[u8]>>, StoreError>;
}

/// The rows that are new, with the next free positions after them. A row is new if it takes
/// the next free position; otherwise the very same bytes must be there already.
pub(super) fn fresh<'a>(
    store: &dyn Places,
    rows: &'a [Append],
) -> Result<(Vec<&'a Append>, Nexts), StoreError> {
    let mut nexts = Nexts::new();
    let mut coming: BTreeMap<(DocumentId, u64), &Append> = BTreeMap::new();
    let mut fresh = Vec::with_capacity(rows.len());
    for row in rows {
        let next = match nexts.get(&row.document) {
            Some(next) => *next,
            None => store.next(row.document)?,
        };
        if row.at == next {
            coming.insert((row.document, row.at), row);
            fresh.push(row);
            nexts.insert(row.document, next + 1);
        } else if row.at > next || !is_same(store, coming.get(&(row.document, row.at)).copied(), row)? {
            return Err(unfit(row, next));
        }
    }
    Ok((fresh, nexts))
}

fn is_same(store: &dyn Places, coming: Option<&Append>, row: &Append) -> Result<bool, StoreError> {
    match coming {
        Some(coming) => Ok(coming.raw == row.raw),
        None => Ok(store.held(row.document, row.at)?.as_ref() == Some(&row.raw)),
    }
}

fn unfit(row: &Append, next: u64) -> StoreError {
    let (document, at) = (row.document.short(), row.at);
    let said = if at < next {
        format!("position {at} of document {document} is taken by another change")
    } else {
        format!("position {at} of document {document} lies past the next free one, {next}")
    };
    StoreError::new(Trouble::Unfit, "appending a change", said)
}
