//! A change as rows of a few kilobytes, and whole again.
//!
//! What is cut up is the length of the change (4 bytes, big-endian) followed by its bytes, so
//! that a tail that was torn off is seen.

use gudgeon_core::entry::DocumentId;

use super::{StoreError, damaged};

/// Bytes of a piece. The database keeps up to 17 rows in a node and writes a node that comes
/// past 128 KiB to a file of its own, which it never syncs; this stays well below.
pub(super) const PIECE: usize = 4 * 1024;

/// Bytes before the change itself.
const HEADER: usize = 4;

/// The pieces of a change in order; there is at least one.
pub(super) fn pieces(raw: &[u8]) -> Result<Vec<(u16, Vec<u8>)>, StoreError> {
    let length = u32::try_from(raw.len()).map_err(|_| too_large(raw))?;
    let whole = [&length.to_be_bytes()[..], raw].concat();
    let numbered = whole.chunks(PIECE).enumerate();
    numbered
        .map(|(number, piece)| Ok((u16::try_from(number).map_err(|_| too_large(raw))?, piece.to_vec())))
        .collect()
}

fn too_large(raw: &[u8]) -> StoreError {
    let most = usize::from(u16::MAX) * PIECE;
    let said = format!("a change of {} bytes; at most {most} fit", raw.len());
    StoreError::new(super::Trouble::Unfit, "appending a change", said)
}

/// Changes of one document becoming whole, piece by piece.
pub(super) struct Assembly {
    document: DocumentId,
    at: u64,
    pieces: u16,
    bytes: Vec<u8>,
}

impl Assembly {
    /// Before the change at a position.
    pub(super) const fn from(document: DocumentId, at: u64) -> Self {
        Self { document, at, pieces: 0, bytes: Vec::new() }
    }

    /// The position of the change that is not whole yet.
    pub(super) const fn at(&self) -> u64 {
        self.at
    }

    /// Takes the next piece; answers whether a change is whole now, to be had from
    /// [`Assembly::whole`].
    pub(super) fn take(&mut self, at: u64, piece: u16, bytes: &[u8]) -> Result<bool, StoreError> {
        if (at, piece) != (self.at, self.pieces) {
            return Err(self.incomplete());
        }
        self.bytes.extend_from_slice(bytes);
        self.pieces = self.pieces.checked_add(1).ok_or_else(|| self.incomplete())?;
        let length = self.bytes.first_chunk().map(|length| u32::from_be_bytes(*length));
        let wanted = length.and_then(|length| usize::try_from(length).ok()?.checked_add(HEADER));
        match wanted {
            Some(wanted) if self.bytes.len() == wanted => Ok(true),
            Some(wanted) if self.bytes.len() < wanted && bytes.len() == PIECE => Ok(false),
            Some(_) | None => Err(self.incomplete()),
        }
    }

    /// The change that is whole now.
    pub(super) fn whole(&self) -> &[u8] {
        self.bytes.get(HEADER..).unwrap_or_default()
    }

    /// Goes on to the next change.
    pub(super) fn next(&mut self) {
        self.at += 1;
        self.pieces = 0;
        self.bytes.clear();
    }

    /// Nothing more comes: there must be no half a change.
    pub(super) fn end(&self) -> Result<(), StoreError> {
        if self.pieces == 0 { Ok(()) } else { Err(self.incomplete()) }
    }

    fn incomplete(&self) -> StoreError {
        damaged(self.document, self.at, "it or a part of it is missing")
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const DOCUMENT: DocumentId = DocumentId::new([1; 32]);

    fn change(length: usize) -> Vec<u8> {
        (0..251_u8).cycle().take(length).collect()
    }

    #[test]
    fn a_change_of_any_size_becomes_whole_again() {
        for length in [0, 1, PIECE - HEADER - 1, PIECE - HEADER, PIECE - HEADER + 1, 2 * PIECE, 1 << 20] {
            let mut assembly = Assembly::from(DOCUMENT, 5);
            let pieces = pieces(&change(length)).unwrap();
            let (last, before) = pieces.split_last().unwrap();
            for (number, piece) in before {
                assert!(!assembly.take(5, *number, piece).unwrap(), "{length}");
                assembly.end().unwrap_err();
            }
            assert!(assembly.take(5, last.0, &last.1).unwrap(), "{length}");
            assert_eq!(assembly.whole(), change(length));
            assembly.next();
            assembly.end().unwrap();
        }
    }

    #[test]
    fn a_missing_altered_or_foreign_piece_is_damage() {
        let pieces = pieces(&change(10_000)).unwrap();
        let mut assembly = Assembly::from(DOCUMENT, 0);
        assembly.take(0, 1, &pieces[1].1).unwrap_err();
        assembly.take(1, 0, &pieces[0].1).unwrap_err();
        assert!(!assembly.take(0, 0, &pieces[0].1).unwrap());
        assembly.take(0, 2, &pieces[2].1).unwrap_err();
        assert!(!assembly.take(0, 1, &pieces[1].1).unwrap());
        let longer = [pieces[2].1.clone(), vec![0]].concat();
        assembly.take(0, 2, &longer).unwrap_err();
        Assembly::from(DOCUMENT, 0).take(0, 0, &[0, 0]).unwrap_err();
        Assembly::from(DOCUMENT, 0).take(0, 0, &pieces[0].1[..100]).unwrap_err();
    }
}
