//! Every bound of the document in one place; the hints in [`super::Rule`] quote them.

/// Entries in one change. Keeps the work for one change small whatever its bytes claim.
pub const MAX_PUTS: usize = 256;

/// Earlier changes one change may name.
pub const MAX_DEPS: usize = 64;

/// Bytes of one entry, as at the gate.
pub const MAX_ENTRY: usize = crate::entry::MAX_ENTRY;

/// Bytes of one change, header included.
pub const MAX_CHANGE: usize = 1024 * 1024;

/// Room in a change for everything that is not a key or a value: header, 64 names of
/// earlier changes, column table.
pub(super) const CHANGE_OVERHEAD: usize = 4 * 1024;

/// Bytes in a change for one entry beside its value: its name, two lengths.
pub(super) const PUT_OVERHEAD: usize = 80;

/// Changes of one actor. Automerge counts them in 32 bits.
pub const MAX_SEQ: u64 = (1 << 31) - 1;

/// Operations of one document. Automerge counts them in 32 bits and cannot commit past
/// them; half the range is left to whoever opens the file with another tool.
pub const MAX_OP: u64 = (1 << 31) - 1;

/// Bytes of changes in one answer of the exchange.
pub const ANSWER_BYTES: usize = 2 * 1024 * 1024;

/// Bytes of a bundle file.
pub const BUNDLE_BYTES: usize = 256 * 1024 * 1024;

/// Documents in a bundle: the workshop and its records.
pub const BUNDLE_DOCUMENTS: usize = 4096;

/// Changes in a bundle, over all its documents. An empty one takes two bytes of the file
/// and many more in memory, so the size of the file is no bound for them.
pub const BUNDLE_CHANGES: usize = 1 << 20;
