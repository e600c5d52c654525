//! From a PIN to a key: Argon2id, its cost in one table, its settings stored as text.

use argon2::{Algorithm, Argon2, Params, Version};
use data_encoding::BASE64_NOPAD;
use zeroize::Zeroizing;

/// What one derivation costs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cost {
    /// Memory in KiB.
    pub memory_kib: u32,
    /// Passes over it.
    pub passes: u32,
    /// Lanes; 1, because a browser has one thread.
    pub lanes: u32,
}

/// The cost of keys sealed from now on; stored with each, so that it may rise.
///
/// Above the least that OWASP's Password Storage Cheat Sheet allows, 19 MiB and two passes
/// (from memory). Measured at 60 to 95 ms on one busy core of a two-core box, release.
pub const COST: Cost = Cost { memory_kib: 32 * 1024, passes: 3, lanes: 1 };

/// The least and the most that a stored key may ask for: below is no protection, above
/// would hang a phone on a damaged or planted value.
const FLOOR: Cost = Cost { memory_kib: 19 * 1024, passes: 2, lanes: 1 };
const CEILING: Cost = Cost { memory_kib: 256 * 1024, passes: 16, lanes: 4 };

impl Cost {
    const fn within_bounds(self) -> bool {
        let memory = FLOOR.memory_kib <= self.memory_kib && self.memory_kib <= CEILING.memory_kib;
        let passes = FLOOR.passes <= self.passes && self.passes <= CEILING.passes;
        memory && passes && FLOOR.lanes <= self.lanes && self.lanes <= CEILING.lanes
    }
}

/// How a PIN becomes the key of one seal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Derivation {
    cost: Cost,
    salt: [u8; 16],
}

impl Derivation {
    pub(super) const fn new(cost: Cost, salt: [u8; 16]) -> Self {
        Self { cost, salt }
    }

    /// The 32 key bytes, or what went wrong.
    pub(super) fn key(&self, pin: &[u8]) -> Result<Zeroizing<[u8; 32]>, String> {
        let Cost { memory_kib, passes, lanes } = self.cost;
        let params = Params::new(memory_kib, passes, lanes, Some(32)).map_err(|e| e.to_string())?;
        let argon = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
        let mut key = Zeroizing::new([0; 32]);
        argon.hash_password_into(pin, &self.salt, &mut *key).map_err(|e| e.to_string())?;
        Ok(key)
    }

    /// `$argon2id$v=19$m=..,t=..,p=..$salt`, as PHC strings are written, without a hash.
    pub(super) fn to_text(&self) -> String {
        let Cost { memory_kib, passes, lanes } = self.cost;
        let salt = BASE64_NOPAD.encode(&self.salt);
        format!("$argon2id$v=19$m={memory_kib},t={passes},p={lanes}${salt}")
    }

    /// Reads exactly what [`Self::to_text`] writes, within the bounds of cost.
    pub(super) fn from_text(text: &str) -> Option<Self> {
        let (cost, salt) = text.strip_prefix("$argon2id$v=19$")?.split_once('$')?;
        let mut fields = cost.split(',');
        let mut field = |name: &str| fields.next()?.strip_prefix(name)?.parse().ok();
        let cost = Cost { memory_kib: field("m=")?, passes: field("t=")?, lanes: field("p=")? };
        let salt = BASE64_NOPAD.decode(salt.as_bytes()).ok()?.try_into().ok()?;
        let read = Self { cost, salt };
        (cost.within_bounds() && read.to_text() == text).then_some(read)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_text_is_read_back_and_nothing_else_is() {
        let derivation = Derivation::new(COST, *b"sixteen of salt!");
        let text = derivation.to_text();
        assert_eq!(text, "$argon2id$v=19$m=32768,t=3,p=1$c2l4dGVlbiBvZiBzYWx0IQ");
        assert_eq!(Derivation::from_text(&text), Some(derivation));
        let others = [
            text.replace("t=3", "t=1"),
            text.replace("m=32768", "m=8"),
            text.replace("m=32768", "m=99999999"),
            text.replace("p=1", "p=01"),
            text.replace("p=1", "p=1,x=2"),
            text.replace("argon2id", "argon2i"),
            text.replace("IQ", "I"),
            String::new(),
        ];
        for other in others {
            assert_eq!(Derivation::from_text(&other), None, "{other}");
        }
    }

    #[test]
    fn pin_salt_and_cost_all_matter() {
        let least = Derivation::new(FLOOR, [1; 16]);
        let key = least.key(b"1234");
        assert_eq!(key, least.key(b"1234"));
        assert_ne!(key, least.key(b"1235"));
        assert_ne!(key, Derivation::new(FLOOR, [2; 16]).key(b"1234"));
        let dearer = Cost { passes: FLOOR.passes + 1, ..FLOOR };
        assert_ne!(key, Derivation::new(dearer, [1; 16]).key(b"1234"));
    }
}
