//! Meeting the relay: what to ask next, from what was answered.
//!
//! [`Engine`] does no input or output but to its home: it is given an answer or a failure
//! and says what to ask. A driver carries that to a relay and back, over gRPC (`native`, or `web` in a browser) or
//! in a test's imagination. Everything asked is idempotent: an answer that got lost costs
//! another round and nothing else.
//!
//! Offline is the normal case. What is saved is saved; [`Home::here_only`] says what has not
//! reached the office, and a meeting that fails changes nothing.

mod address;
mod askers;
mod code;
mod engine;
mod meeting;
#[cfg(not(target_arch = "wasm32"))]
pub mod native;
#[cfg(not(target_arch = "wasm32"))]
mod tls;
#[cfg(target_arch = "wasm32")]
pub mod web;
mod wire;

use gudgeon_core::document::{ChangeHash, Refused};
use gudgeon_core::entry::{Author, DocumentId};
use gudgeon_proto::relay::denied;

#[allow(unused_imports)] // for the documentation
use crate::home::Home;

pub use address::{Address, BadAddress};
pub use askers::{Asker, askers, take_in, turned_away};
pub use code::{BadCode, Code};
pub use engine::Engine;

/// With what a session is opened, in the order in which it is tried.
#[derive(Debug)]
pub struct Identity {
    /// The key that signs.
    pub author: Author,
    /// The key is an invite's, good for the workshop's own document only.
    pub invite: bool,
}

/// What to ask the relay.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ask {
    /// What to sign.
    Greet {
        /// The workshop.
        workshop: DocumentId,
    },
    /// A session.
    Open {
        /// The workshop.
        workshop: DocumentId,
        /// The key.
        key: [u8; 32],
        /// As it was given.
        challenge: Vec<u8>,
        /// Our own part.
        nonce: [u8; 32],
        /// Over relay, challenge and nonce.
        signature: [u8; 64],
    },
    /// An exchange.
    Exchange {
        /// The session.
        session: Vec<u8>,
        /// The document.
        document: DocumentId,
        /// Heads that we know of.
        heads: Vec<ChangeHash>,
        /// Changes that the relay may lack.
        changes: Vec<Vec<u8>>,
    },
}

/// What the relay answered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reply {
    /// To [`Ask::Greet`].
    Greeted {
        /// Who it is.
        relay: [u8; 32],
        /// What to sign.
        challenge: Vec<u8>,
    },
    /// To [`Ask::Open`].
    Opened {
        /// The session.
        session: Vec<u8>,
        /// What it may do.
        standing: Standing,
    },
    /// To [`Ask::Exchange`].
    Exchanged(Exchanged),
}

/// The answer to an exchange.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Exchanged {
    /// The relay's heads.
    pub heads: Vec<ChangeHash>,
    /// Changes that we lack.
    pub changes: Vec<Vec<u8>>,
    /// What it did not take.
    pub refused: Vec<Refused>,
    /// What it does not know.
    pub unknown: Vec<ChangeHash>,
    /// Whether there is more.
    pub more: bool,
}

/// What a session may do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Everything.
    Member,
    /// The workshop's own document.
    Invited,
    /// To bring the workshop's own document to a relay that has nothing of it.
    Brings,
}

/// Why there was no answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// Nobody answers.
    Offline(String),
    /// The session is not taken any more.
    NoSession,
    /// The key may not.
    Denied(Denial),
    /// The relay cannot now; it may later.
    Busy(String),
    /// The relay does not do as it should.
    Broken(String),
}

/// Why a relay does not let a key in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Denial {
    /// In one word.
    pub why: Why,
    /// In the relay's words.
    pub said: String,
}

impl Denial {
    /// A denial by the relay's name for its reason.
    #[must_use]
    pub const fn new(why: Why, said: String) -> Self {
        Self { why, said }
    }
}

/// A relay's reason for not letting a key in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// It has not heard of the key, or of the invite.
    Unknown,
    /// The key was removed.
    Removed,
    /// The invite has run out or was taken up.
    Spent,
    /// Any other.
    Other,
}

impl Why {
    /// The relay's name for it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Unknown => denied::UNKNOWN,
            Self::Removed => denied::REMOVED,
            Self::Spent => denied::SPENT,
            Self::Other => "other",
        }
    }

    /// By the relay's name for it.
    #[must_use]
    pub fn named(name: &str) -> Self {
        match name {
            denied::UNKNOWN => Self::Unknown,
            denied::REMOVED => Self::Removed,
            denied::SPENT => Self::Spent,
            _ => Self::Other,
        }
    }
}

/// Given to the engine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Input {
    /// Begin, or go on after a wait.
    Begin,
    /// The relay answered.
    Reply(Reply),
    /// It did not.
    Failed(Trouble),
}

/// Said by the engine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Effect {
    /// Ask the relay this.
    Ask(Ask),
    /// Wait so many milliseconds, then [`Input::Begin`].
    Wait(u64),
    /// The meeting is over.
    Done(Summary),
    /// The meeting came to nothing more; what was taken and given before stays.
    GaveUp(Trouble),
}

/// What a meeting came to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Summary {
    /// Document by document, the workshop first.
    pub met: Vec<Met>,
    /// Keys that were let in by this meeting.
    pub admitted: Vec<Asker>,
    /// The relay held nothing of the workshop and was given it.
    pub brought: bool,
    /// Met with an invite only: the key is not let in yet.
    pub invited: bool,
}

/// What became of one document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Met {
    /// The document.
    pub document: DocumentId,
    /// Entries that came.
    pub came: usize,
    /// Entries that are at the office only since now.
    pub went: usize,
    /// What the relay, or this home, did not take; kept aside.
    pub refused: Vec<Refused>,
    /// Times that this home packed its entries anew.
    pub repacked: u32,
    /// Entries that are still only here.
    pub here_only: usize,
}
