//! The shapes of Gudgeon's entries on the wire and on disk, generated from `proto/*.proto`.
//!
//! Nothing here has a meaning of its own: gudgeon-core converts these to its own types in
//! one place.
#![allow(missing_docs)]

/// Messages of package `gudgeon.v1`.
pub mod v1 {
    include!(concat!(env!("OUT_DIR"), "/gudgeon.v1.rs"));
}
