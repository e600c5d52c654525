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

    /// What the relay offers, for the standard reflection service: an encoded
    /// `google.protobuf.FileDescriptorSet`.
    pub const DESCRIPTION: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/relay.description"));
}
