//! The shapes of Gudgeon's entries on the wire and on disk, generated from `proto/*.proto`.
//!
//! Nothing here has a meaning of its own: gudgeon-core converts the entries' shapes to its
//! own types in one place; client and relay do so with the relay's, behind the feature
//! `relay`, which core must not have.
#![allow(missing_docs)]

/// Messages of package `gudgeon.v1`.
pub mod v1 {
    include!(concat!(env!("OUT_DIR"), "/gudgeon.v1.rs"));
}

/// Messages and service of package `gudgeon.relay.v1`.
#[cfg(feature = "relay")]
#[allow(unreachable_pub, clippy::all, clippy::pedantic)]
pub mod relay {
    include!(concat!(env!("OUT_DIR"), "/gudgeon.relay.v1.rs"));

    /// Metadata of a status "permission denied": for what reason, as the service's description names them.
    pub const DENIED: &str = "gudgeon-denied";

    /// The reasons that a status "permission denied" names.
    pub mod denied {
        /// A key or an invite that the relay has not heard of.
        pub const UNKNOWN: &str = "unknown";
        /// The key was removed.
        pub const REMOVED: &str = "removed";
        /// The invite has run out or was taken up.
        pub const SPENT: &str = "spent";
        /// The session is good for the workshop's own document only.
        pub const WORKSHOP_ONLY: &str = "workshop-only";
        /// The relay serves another workshop.
        pub const NOT_SERVED: &str = "not-served";
        /// The record belongs to another workshop.
        pub const OTHER_WORKSHOP: &str = "other-workshop";
    }

    /// What the relay offers, for the standard reflection service: an encoded
    /// `google.protobuf.FileDescriptorSet`.
    pub const DESCRIPTION: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/relay.description"));
}
