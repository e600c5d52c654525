//! How often somebody may ask in a minute: who opens sessions by where they come from, and who has one
//! by its key.
//!
//! Nothing of a minute is kept into the next, so what is remembered is bounded by what was asked in one.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};

use gudgeon_core::entry::KeyId;

const MINUTE: i64 = 60 * 1000;

/// Whose requests are counted together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum Who {
    /// A key with a session.
    Key(KeyId),
    /// Whoever comes from there and has none yet. Behind a proxy it is the proxy's.
    From(Option<IpAddr>),
}

/// Where a connection comes from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Peer(pub(crate) Option<IpAddr>);

/// Most requests in a minute.
#[derive(Clone, Copy, Debug)]
pub struct Most {
    /// With a session, of one key.
    pub requests: u32,
    /// To greet and to open sessions, from one address.
    pub openings: u32,
}

/// Somebody asks too often.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("at most {most} {what} a minute; try again in {seconds} s")]
pub(crate) struct TooOften {
    most: u32,
    what: &'static str,
    seconds: i64,
}

/// Counts.
#[derive(Debug)]
pub(crate) struct Pace {
    most: Most,
    counted: Mutex<Counted>,
}

#[derive(Debug, Default)]
struct Counted {
    minute: i64,
    by: HashMap<Who, u32>,
}

impl Pace {
    pub(crate) fn new(most: Most) -> Self {
        Self { most, counted: Mutex::default() }
    }

    /// Counts a request; `now` in milliseconds since 1970.
    ///
    /// # Errors
    /// [`TooOften`].
    pub(crate) fn take(&self, who: Who, now: i64) -> Result<(), TooOften> {
        let (most, what) = match who {
            Who::Key(_) => (self.most.requests, "requests of one key"),
            Who::From(_) => (self.most.openings, "openings of sessions from one address"),
        };
        let mut counted = self.counted.lock().unwrap_or_else(PoisonError::into_inner);
        let minute = now.div_euclid(MINUTE);
        if counted.minute != minute {
            *counted = Counted { minute, by: HashMap::new() };
        }
        let count = counted.by.entry(who).or_default();
        if *count < most {
            *count += 1;
            return Ok(());
        }
        Err(TooOften { most, what, seconds: (MINUTE - now.rem_euclid(MINUTE)).div_euclid(1000).max(1) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: i64 = 1_800_000_000_000;

    #[test]
    fn each_is_counted_for_itself_and_anew_every_minute() {
        let pace = Pace::new(Most { requests: 2, openings: 1 });
        let keys = [[1; 32], [2; 32]].map(|bytes| KeyId::from_slice(&bytes).map(Who::Key));
        for who in keys.into_iter().flatten() {
            assert_eq!([pace.take(who, NOW), pace.take(who, NOW + 1)], [Ok(()), Ok(())]);
            let told = pace.take(who, NOW + 45_000).map_err(|error| error.to_string());
            assert_eq!(told, Err("at most 2 requests of one key a minute; try again in 15 s".to_owned()));
        }
        for from in [None, Some(IpAddr::from([192, 168, 1, 20]))] {
            assert_eq!(pace.take(Who::From(from), NOW), Ok(()));
            assert!(pace.take(Who::From(from), NOW).is_err());
            assert_eq!(pace.take(Who::From(from), NOW + MINUTE), Ok(()), "another minute");
            assert_eq!(pace.take(Who::From(from), NOW), Ok(()), "a clock that was set back");
        }
    }
}
