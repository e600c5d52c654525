//! The relay's side of an exchange: admission by the same gate as on every phone.
//!
//! This much needs no network and no store: [`Desk`] keeps documents in memory, admits
//! changes from its own index, and answers with what a client lacks. The gRPC service and
//! the durable store are built around it.

mod desk;
pub mod store;

pub use desk::{Answer, Ask, Desk};
