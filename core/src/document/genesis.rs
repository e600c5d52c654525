//! The first change of every document, the same bytes for ever.
//!
//! Two different first changes would make two maps, one of them hidden. With one for all,
//! the map has the same name in every document and a change can be checked alone.

use super::hash::{Actor, ChangeHash};

/// The actor of the genesis change and of nothing else.
pub const GENESIS_ACTOR: Actor = Actor(*b"gudgeon genesis1");

/// The one map of a document: entry id in hexadecimal to the bytes of the entry.
pub const ENTRIES: &str = "entries";

/// The counter of the operation that makes the map.
pub(super) const GENESIS_OP: u64 = 1;

/// The genesis change: makes the map `entries` at the root; number 1, time 0, no message.
#[rustfmt::skip]
pub const GENESIS: &[u8] = &[
    0x85, 0x6f, 0x4a, 0x83, // magic
    0x19, 0x14, 0xbb, 0x7e, // checksum
    0x01, 0x32, // type: change; length
    0x00, 0x10, // no deps; actor of 16 bytes
    b'g', b'u', b'd', b'g', b'e', b'o', b'n', b' ', b'g', b'e', b'n', b'e', b's', b'i', b's', b'1', // the actor
    0x01, 0x01, 0x00, 0x00, 0x00, // number 1, first operation 1, time 0, no message, no other actor
    0x05, 0x15, 0x09, 0x34, 0x01, 0x42, 0x02, 0x56, 0x02, 0x70, 0x02, // five columns: key, insert, action, kind of value, predecessors
    0x7f, 0x07, 0x65, 0x6e, 0x74, 0x72, 0x69, 0x65, 0x73, // one key: entries
    0x01, // not inserted
    0x7f, 0x00, // make a map
    0x7f, 0x00, // no value
    0x7f, 0x00, // no predecessor
];

/// Name of the genesis change.
#[must_use]
pub const fn genesis_hash() -> ChangeHash {
    ChangeHash([
        0x19, 0x14, 0xbb, 0x7e, 0x33, 0xfe, 0x50, 0x5b, 0x1e, 0x51, 0x62, 0x91, 0x46, 0x69, 0x2d, 0x50, 0x91,
        0x19, 0xf4, 0x38, 0x4b, 0xc8, 0x73, 0xb8, 0x18, 0x61, 0xc0, 0x84, 0x31, 0x69, 0xfd, 0x6d,
    ])
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use automerge::transaction::{CommitOptions, Transactable};
    use automerge::{ActorId, Automerge, ObjType, ROOT, TextEncoding};

    #[test]
    fn automerge_writes_the_same_genesis() {
        let mut document = Automerge::new_with_encoding(TextEncoding::UnicodeCodePoint);
        document.set_actor(ActorId::from(GENESIS_ACTOR.bytes()));
        let mut transaction = document.transaction();
        transaction.put_object(ROOT, ENTRIES, ObjType::Map).unwrap();
        transaction.commit_with(CommitOptions::default().with_time(0));
        let changes = document.get_changes(&[]);
        assert_eq!(changes[0].raw_bytes(), GENESIS);
        assert_eq!(changes[0].hash().0, *genesis_hash().bytes());
    }
}
