//! One record or one workshop as a document: a set of entries carried in Automerge changes.
//!
//! Automerge is packaging here. It gives compact storage and a file other tools can open;
//! it decides nothing. A change is legal only if [`encode`] writes its very bytes, the
//! document keeps its own small index of changes, and Automerge meets the bytes only after
//! both, for [`Document::save`] and [`Document::check`].
//!
//! Absences to keep: no panic on any bytes, no orphan held, no byte of a stranger given to
//! Automerge before [`parse`] and [`Document::receive`] have passed it.
//!
//! ```
//! use gudgeon_core::document::{Actor, Document};
//! use gudgeon_core::entry::EntryId;
//!
//! // invented bytes; in earnest they come from an entry and the gate is `entry::check`
//! let entry = (EntryId::new([7; 32]), b"signed statement".to_vec());
//! let mut phone = Document::new();
//! let changes = phone.commit(Actor([1; 16]), &[entry])?;
//!
//! let mut other = Document::new();
//! let raws: Vec<_> = changes.iter().map(|change| change.raw()).collect();
//! let received = other.receive(&raws, &mut |_id, _value| Ok(()));
//! assert!(received.refused.is_empty() && received.unknown_deps.is_empty());
//! assert_eq!(other.heads(), phone.heads());
//! # Ok::<(), gudgeon_core::document::CommitError>(())
//! ```
//!
//! The stored form is Automerge's uncompressed change chunk, format version of 0.12; see
//! <https://automerge.org/automerge-binary-format-spec/>.

mod answer;
mod bundle;
mod change;
mod column;
mod commit;
mod encode;
mod export;
mod genesis;
mod hash;
mod index;
mod limits;
mod number;
mod order;
mod parse;
mod receive;
mod rule;

pub use answer::Answer;
pub use bundle::{Bundle, BundleError, Carried};
pub use change::{Change, Put};
pub use commit::{CommitError, repack};
pub use encode::encode;
pub use export::{Disagreement, SavedError};
pub use genesis::{ENTRIES, GENESIS, GENESIS_ACTOR, genesis_hash};
pub use hash::{Actor, ChangeHash};
pub use index::Document;
pub use limits::{
    ANSWER_BYTES, BUNDLE_BYTES, BUNDLE_CHANGES, BUNDLE_DOCUMENTS, MAX_CHANGE, MAX_DEPS, MAX_ENTRY, MAX_OP,
    MAX_PUTS, MAX_SEQ,
};
pub use parse::parse;
pub use receive::{Gate, Received, Refusal, Refused};
pub use rule::{Illegal, Rule};
