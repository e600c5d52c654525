//! The code of an invite, as it is typed, pasted or photographed.

use data_encoding::BASE32_NOPAD;
use gudgeon_core::entry::{Author, DocumentId};
use sha2::{Digest as _, Sha256};

use crate::world::{NoRandomness, World, random};

/// Before a code, so that it is known for what it is. All in capitals: a square of them is smaller.
const MARK: &str = "GUDGEON1";

/// Under which an invite's secret becomes its key.
const KEY_TAG: &[u8] = b"gudgeon invite key v1";

/// What an invite's code carries. The workshop's id is a digest over its root key and founding:
/// whoever joins by it cannot be led to another workshop.
#[derive(Clone, PartialEq, Eq)]
pub struct Code {
    workshop: DocumentId,
    secret: [u8; 16],
    relay: String,
}

impl std::fmt::Debug for Code {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Code")
            .field("workshop", &self.workshop)
            .field("relay", &self.relay)
            .finish_non_exhaustive()
    }
}

/// What was typed is no code; the way out is [`BadCode::HINT`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BadCode {
    /// It does not begin as codes do.
    #[error("this is no code of an invite")]
    NoCode,
    /// Letters are missing or others.
    #[error("the code is cut short or mistyped")]
    Mistyped,
    /// It is whole, and says what cannot be.
    #[error("the code names no relay")]
    NoRelay,
}

impl BadCode {
    /// The way out of each.
    pub const HINT: &'static str = "copy the whole code as it was printed, from GUDGEON1 to its end";
}

impl Code {
    /// A new one, for a relay as the other device reaches it.
    ///
    /// # Errors
    /// [`NoRandomness`].
    pub fn new(world: &dyn World, workshop: DocumentId, relay: &str) -> Result<Self, NoRandomness> {
        Ok(Self { workshop, secret: random(world)?, relay: relay.to_owned() })
    }

    /// The code as one word.
    #[must_use]
    pub fn text(&self) -> String {
        let body = [self.workshop.bytes().as_slice(), &self.secret, self.relay.as_bytes()].concat();
        let check = &Sha256::digest(&body)[..4];
        format!("{MARK}{}", BASE32_NOPAD.encode(&[&body[..], check].concat()))
    }

    /// Reads a code however it is spaced and cased.
    ///
    /// # Errors
    /// [`BadCode`].
    pub fn read(text: &str) -> Result<Self, BadCode> {
        let word: String =
            text.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_uppercase()).collect();
        let body = word.strip_prefix(MARK).ok_or(BadCode::NoCode)?;
        let bytes = BASE32_NOPAD.decode(body.as_bytes()).map_err(|_| BadCode::Mistyped)?;
        let (rest, check) = bytes.split_last_chunk::<4>().ok_or(BadCode::Mistyped)?;
        if Sha256::digest(rest)[..4] != *check {
            return Err(BadCode::Mistyped);
        }
        let (workshop, rest) = rest.split_at_checked(32).ok_or(BadCode::Mistyped)?;
        let (secret, relay) = rest.split_first_chunk::<16>().ok_or(BadCode::Mistyped)?;
        let workshop = DocumentId::from_slice(workshop).ok_or(BadCode::Mistyped)?;
        let relay = String::from_utf8(relay.to_vec()).map_err(|_| BadCode::NoRelay)?;
        Ok(Self { workshop, secret: *secret, relay })
    }

    /// The workshop that it invites to.
    #[must_use]
    pub const fn workshop(&self) -> DocumentId {
        self.workshop
    }

    /// Address of the relay, as whoever invited wrote it.
    #[must_use]
    pub fn relay(&self) -> &str {
        &self.relay
    }

    /// The invite's key.
    #[must_use]
    pub fn author(&self) -> Author {
        let digest = Sha256::new().chain_update(KEY_TAG).chain_update(self.secret).finalize();
        Author::from_secret(&digest.into())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::world::test::Rehearsed;

    fn code() -> Code {
        Code::new(&Rehearsed::new(1), DocumentId::new([7; 32]), "http://127.0.0.1:7474").unwrap()
    }

    #[test]
    fn a_code_comes_back_from_however_it_is_typed() {
        let spaced: String = code().text().to_lowercase().chars().flat_map(|c| [c, ' ']).collect();
        assert_eq!(Code::read(&spaced), Ok(code()));
        assert_eq!(code().author().key(), Code::read(&spaced).unwrap().author().key());
    }

    #[test]
    fn a_code_with_a_slip_in_any_place_is_none() {
        let text = code().text();
        for at in 0..text.len() {
            let mut bytes = text.clone().into_bytes();
            bytes[at] = if bytes[at] == b'B' { b'C' } else { b'B' };
            assert!(Code::read(&String::from_utf8_lossy(&bytes)).is_err(), "place {at}");
        }
        assert_eq!(Code::read(&text[..text.len() - 1]), Err(BadCode::Mistyped));
        assert_eq!(Code::read("GUDGEON1"), Err(BadCode::Mistyped));
        assert_eq!(Code::read("hello"), Err(BadCode::NoCode));
    }
}
