//! What comes from outside: the time and randomness, as one argument.

/// The clock and the source of randomness of a home.
pub trait World: Send + Sync {
    /// Milliseconds since 1970-01-01 UTC by this device: a hint, never an order.
    fn now(&self) -> i64;

    /// How many minutes the clocks where this device is are ahead of UTC at a moment, in milliseconds since 1970:
    /// only for showing it. Nothing where the device does not say.
    fn minutes_ahead(&self, _moment: i64) -> i32 {
        0
    }

    /// Fills the bytes from a source fit for keys.
    ///
    /// # Errors
    /// [`NoRandomness`] if the source does not answer; the bytes are then not to be used.
    fn fill(&self, bytes: &mut [u8]) -> Result<(), NoRandomness>;
}

/// The device has no randomness to give.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("this device gives no randomness")]
pub struct NoRandomness;

/// The clock and randomness of the operating system.
#[cfg(not(target_arch = "wasm32"))]
#[derive(Clone, Copy, Debug, Default)]
pub struct Native;

#[cfg(not(target_arch = "wasm32"))]
impl World for Native {
    fn now(&self) -> i64 {
        let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
        since.ok().and_then(|d| i64::try_from(d.as_millis()).ok()).unwrap_or_default()
    }

    fn fill(&self, bytes: &mut [u8]) -> Result<(), NoRandomness> {
        getrandom::fill(bytes).map_err(|_| NoRandomness)
    }
}

/// The clock and randomness of a browser: `Date.now` and `crypto.getRandomValues`.
#[cfg(target_arch = "wasm32")]
#[derive(Clone, Copy, Debug, Default)]
pub struct Browser;

#[cfg(target_arch = "wasm32")]
impl World for Browser {
    fn now(&self) -> i64 {
        #[allow(clippy::cast_possible_truncation, reason = "whole milliseconds, far below 2^53")]
        let now = js_sys::Date::now() as i64;
        now
    }

    fn minutes_ahead(&self, moment: i64) -> i32 {
        #[allow(clippy::cast_precision_loss, reason = "milliseconds, far below 2^53")]
        let date = js_sys::Date::new(&(moment as f64).into());
        // Behind UTC, not ahead; not a number where the moment is none that a date can be.
        let behind = date.get_timezone_offset();
        #[allow(clippy::cast_possible_truncation, reason = "whole minutes, less than a day; of no number: 0")]
        let ahead = -behind as i32;
        ahead
    }

    fn fill(&self, bytes: &mut [u8]) -> Result<(), NoRandomness> {
        getrandom::fill(bytes).map_err(|_| NoRandomness)
    }
}

/// `N` bytes of randomness.
pub(crate) fn random<const N: usize>(world: &dyn World) -> Result<[u8; N], NoRandomness> {
    let mut bytes = [0; N];
    world.fill(&mut bytes)?;
    Ok(bytes)
}

#[cfg(test)]
pub(crate) mod test {
    use super::{NoRandomness, World};
    use std::sync::Mutex;

    /// A clock that is set by hand and randomness from a counter.
    #[derive(Debug)]
    pub(crate) struct Rehearsed {
        pub(crate) now: Mutex<i64>,
        drawn: Mutex<u64>,
    }

    impl Rehearsed {
        pub(crate) fn new(seed: u64) -> Self {
            Self { now: Mutex::new(1_800_000_000_000), drawn: Mutex::new(seed << 32) }
        }
    }

    impl World for Rehearsed {
        fn now(&self) -> i64 {
            self.now.lock().map_or(0, |now| *now)
        }

        fn fill(&self, bytes: &mut [u8]) -> Result<(), NoRandomness> {
            use sha2::Digest as _;
            let mut drawn = self.drawn.lock().map_err(|_| NoRandomness)?;
            for chunk in bytes.chunks_mut(32) {
                *drawn += 1;
                let block = sha2::Sha256::digest(drawn.to_be_bytes());
                chunk.copy_from_slice(&block[..chunk.len()]);
            }
            Ok(())
        }
    }

    impl World for std::sync::Arc<Rehearsed> {
        fn now(&self) -> i64 {
            self.as_ref().now()
        }

        fn fill(&self, bytes: &mut [u8]) -> Result<(), NoRandomness> {
            self.as_ref().fill(bytes)
        }
    }
}
