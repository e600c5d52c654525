//! Names of changes and of the actors that wrote them.

use std::fmt;

use data_encoding::HEXLOWER;

/// Name of a change: SHA-256 over the type, length and content of its chunk.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ChangeHash(pub [u8; 32]);

/// Who wrote a change, as Automerge sees it: one run of numbered changes.
///
/// Bound to nobody: authority lies in the entries. One actor per home, under a lock; a
/// fresh one after a repack, a restored backup or a mismatch.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Actor(pub [u8; 16]);

impl ChangeHash {
    /// From a slice, if it is 32 bytes long.
    #[must_use]
    pub fn from_slice(bytes: &[u8]) -> Option<Self> {
        bytes.try_into().ok().map(Self)
    }

    /// The 32 bytes.
    #[must_use]
    pub const fn bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

impl Actor {
    /// From a slice, if it is 16 bytes long.
    #[must_use]
    pub fn from_slice(bytes: &[u8]) -> Option<Self> {
        bytes.try_into().ok().map(Self)
    }

    /// The 16 bytes.
    #[must_use]
    pub const fn bytes(&self) -> &[u8; 16] {
        &self.0
    }
}

impl fmt::Display for ChangeHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&HEXLOWER.encode(&self.0))
    }
}

impl fmt::Debug for ChangeHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "ChangeHash({})", HEXLOWER.encode(&self.0[..5]))
    }
}

impl fmt::Display for Actor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&HEXLOWER.encode(&self.0))
    }
}

impl fmt::Debug for Actor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Actor({})", HEXLOWER.encode(&self.0[..5]))
    }
}
