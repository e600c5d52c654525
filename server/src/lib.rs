//! The meeting place in the office: it keeps changes and gives them out again.
//!
//! Admission runs the same gate as every phone, from the relay's own index; no Automerge is
//! near. Whose entries count is not asked: whatever passes the gate is kept, whoever carried
//! it. The roster says only who may open a session. **An answer means durable, and nothing is
//! shown to others before that.**
//!
//! ```text
//! port (connections, TLS) -> service -> committer -> desk (documents in memory), store (on disk)
//!                         -> web (the phone app's files)
//! ```
//!
//! Absences to keep: one file names sled; nothing but the committer touches documents or
//! store; no judgement of what an entry says.

pub mod authority;
pub mod committer;
mod desk;
mod ending;
pub mod limits;
pub mod pace;
mod port;
pub mod serve;
mod service;
pub mod session;
pub mod settings;
mod standing;
pub mod store;
pub mod tls;
pub mod trust;
pub mod verify;
pub mod web;

pub use desk::{Answer, Ask, Checked, Desk, Taken};
pub use service::Service;
pub use standing::{Denied, Standing};
