//! Every bound of the relay in one place.

use std::time::Duration;

use crate::pace::Most;

/// Most bytes of one message, either way. A page of changes has at most 2 MiB, and one
/// change alone at most 1 MiB.
pub const MESSAGE: usize = 4 * 1024 * 1024;

/// Most bytes of changes in one answer; a client asks again while there is more.
pub const ANSWER: usize = gudgeon_core::document::ANSWER_BYTES;

/// Most heads in one request.
pub const HEADS: usize = 1024;

/// Most changes in one request.
pub const CHANGES: usize = 16 * 1024;

/// How long a challenge may be answered.
pub const CHALLENGE: Duration = Duration::from_secs(60);

/// How long a session of a member or an invite lasts.
pub const SESSION: Duration = Duration::from_secs(60 * 60);

/// How long a session lasts that brings a workshop to an empty relay.
pub const BRINGING: Duration = Duration::from_secs(10 * 60);

/// Exchanges that wait for the store; past it a client is asked to come again.
pub const WAITING: usize = 1024;

/// Exchanges that share one flush.
pub const GROUP: usize = 256;

/// Bytes of changes that share one flush.
pub const GROUP_BYTES: usize = 16 * 1024 * 1024;

/// News that a watcher may lag behind before it is told to ask for itself.
pub const NEWS: usize = 256;

/// Streams that watch at one time.
pub const WATCHERS: usize = 1024;

/// How long requests in progress may take to end when the relay is told to stop.
pub const DRAIN: Duration = Duration::from_secs(10);

/// Connections that are open at one time: as many as may watch, and as many again.
pub const CONNECTIONS: usize = 2 * WATCHERS;

/// Connections of which it is not known yet what they want.
pub const OPENING: usize = 128;

/// How long a connection may take to be opened, and then again to begin its first request.
pub const HELLO: Duration = Duration::from_secs(10);

/// How long a request may take that is answered once, the coming in of its message with it.
pub const REQUEST: Duration = Duration::from_secs(120);

/// Calls under way on one connection.
pub const CALLS: u32 = 128;

/// Requests in a minute: a hundred a second of one key, where a phone in a hurry has a few; and openings of sessions
/// from one address, where a meeting has two and a proxy brings a whole shop.
pub const PACE: Most = Most { requests: 6000, openings: 1200 };
