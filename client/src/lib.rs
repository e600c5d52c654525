//! One person's home on one device: keys under PIN, a crash-safe store, carrying by hand.
//!
//! [`home::Home`] is the way in. It holds documents as the changes they came in, gives them
//! to `gudgeon-core` to be read, and says "saved" only when the store's flush has answered.
//!
//! Absences to keep: no clock and no randomness but through [`world::World`]; one file
//! names the embedded store; nothing here judges what an entry says.

mod error;
pub mod home;
pub mod keys;
mod shape;
pub mod store;
pub mod sync;
pub mod world;

pub use error::{Class, HomeError};
