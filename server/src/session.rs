//! Sessions without memory: what a client must bring back is sealed, not remembered.
//!
//! A challenge and a session are a few fields under a MAC whose secret lies in the store, so
//! that any relay on the same store can read them, and a restart ends nobody's session. What
//! a session may do is asked of the roster each time it is used; the seal only says whose it is.

use std::time::Duration;

use gudgeon_core::entry::{DocumentId, KeyId, SESSION_TAG, tagged_signature_stands};
use hmac::{Hmac, KeyInit as _, Mac as _};
use sha2::Sha256;

use crate::limits::{BRINGING, CHALLENGE, SESSION};

/// Bytes of the caller's nonce, and of the relay's part of a challenge.
pub const NONCE: usize = 32;

const CHALLENGE_TAG: &[u8] = b"gudgeon challenge";
const TOKEN_TAG: &[u8] = b"gudgeon token";
const MAC: usize = 32;

/// Whose a session is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Caller {
    /// The workshop it is about.
    pub workshop: DocumentId,
    /// The key that opened it.
    pub key: KeyId,
    /// It brings a workshop to a relay that held nothing of it.
    pub brings: bool,
}

/// Why a session is not opened or not taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SessionError {
    /// Not made by this relay, or altered.
    #[error("this was not given out by this relay; greet it and open a session")]
    Foreign,
    /// Too old.
    #[error("this has run out; greet the relay and open a session")]
    RunOut,
    /// The signature does not stand.
    #[error(
        "the signature over the challenge does not stand; sign relay, challenge and nonce with the key named"
    )]
    BadSignature,
}

/// Seals challenges and sessions.
#[derive(Clone)]
pub struct Seal {
    relay: [u8; 32],
    secret: [u8; 32],
    /// How long a session lasts, of one who brings nothing.
    lasts: Duration,
}

impl std::fmt::Debug for Seal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Seal").finish_non_exhaustive()
    }
}

impl Seal {
    /// With who the relay is and its secret, both random.
    #[must_use]
    pub const fn new(relay: [u8; 32], secret: [u8; 32]) -> Self {
        Self { relay, secret, lasts: SESSION }
    }

    /// The same, with sessions that last so long instead of [`SESSION`].
    #[must_use]
    pub const fn lasting(self, lasts: Duration) -> Self {
        Self { lasts, ..self }
    }

    /// Who the relay is.
    #[must_use]
    pub const fn relay(&self) -> &[u8; 32] {
        &self.relay
    }

    /// A challenge for a workshop, good until [`CHALLENGE`] from `now` (ms since 1970).
    #[must_use]
    pub fn challenge(&self, workshop: DocumentId, nonce: [u8; NONCE], now: i64) -> Vec<u8> {
        let until = after(now, CHALLENGE).to_be_bytes();
        let mac = self.mac(CHALLENGE_TAG, &[workshop.bytes(), &nonce, &until]);
        [&nonce[..], &until, &mac].concat()
    }

    /// Takes an answered challenge.
    ///
    /// # Errors
    /// [`SessionError`]: a challenge of another relay or workshop, too old, or not signed
    /// by this key.
    pub fn answered(
        &self,
        caller: &Caller,
        challenge: &[u8],
        nonce: &[u8; NONCE],
        signature: &[u8; 64],
        now: i64,
    ) -> Result<(), SessionError> {
        let (fields, mac) = split(challenge, NONCE + 8)?;
        self.stands(CHALLENGE_TAG, &[caller.workshop.bytes(), fields], mac)?;
        if time(&fields[NONCE..]) < now {
            return Err(SessionError::RunOut);
        }
        let parts: [&[u8]; 3] = [&self.relay, challenge, nonce];
        if tagged_signature_stands(&caller.key, SESSION_TAG, &parts, signature) {
            Ok(())
        } else {
            Err(SessionError::BadSignature)
        }
    }

    /// A session, and until when it is good (ms since 1970).
    #[must_use]
    pub fn session(&self, caller: &Caller, now: i64) -> (Vec<u8>, i64) {
        let until = after(now, if caller.brings { BRINGING } else { self.lasts });
        let brings = [u8::from(caller.brings)];
        let fields =
            [&caller.workshop.bytes()[..], caller.key.bytes(), &brings, &until.to_be_bytes()].concat();
        let mac = self.mac(TOKEN_TAG, &[&fields]);
        ([&fields[..], &mac].concat(), until)
    }

    /// Whose a session is, and until when it is good (ms since 1970).
    ///
    /// # Errors
    /// [`SessionError`]: of another relay, altered, or run out.
    pub fn caller(&self, session: &[u8], now: i64) -> Result<(Caller, i64), SessionError> {
        let (fields, mac) = split(session, 32 + 32 + 1 + 8)?;
        self.stands(TOKEN_TAG, &[fields], mac)?;
        let until = time(&fields[65..]);
        if until < now {
            return Err(SessionError::RunOut);
        }
        let workshop = DocumentId::from_slice(&fields[..32]).ok_or(SessionError::Foreign)?;
        let key = KeyId::from_slice(&fields[32..64]).ok_or(SessionError::Foreign)?;
        Ok((Caller { workshop, key, brings: fields[64] == 1 }, until))
    }

    fn mac(&self, tag: &[u8], parts: &[&[u8]]) -> [u8; MAC] {
        self.hashed(tag, parts).finalize().into_bytes().into()
    }

    fn stands(&self, tag: &[u8], parts: &[&[u8]], mac: &[u8]) -> Result<(), SessionError> {
        self.hashed(tag, parts).verify_slice(mac).map_err(|_| SessionError::Foreign)
    }

    fn hashed(&self, tag: &[u8], parts: &[&[u8]]) -> Hmac<Sha256> {
        // The secret is shorter than a block: the rest of the block is nought, as the standard
        // (RFC 2104, section 2) pads it.
        let mut block = [0; 64];
        block[..32].copy_from_slice(&self.secret);
        let mut mac = Hmac::<Sha256>::new(&block.into());
        mac.update(tag);
        parts.iter().for_each(|part| mac.update(part));
        mac
    }
}

fn after(now: i64, span: Duration) -> i64 {
    now.saturating_add(i64::try_from(span.as_millis()).unwrap_or(i64::MAX))
}

fn split(sealed: &[u8], fields: usize) -> Result<(&[u8], &[u8]), SessionError> {
    if sealed.len() == fields + MAC { Ok(sealed.split_at(fields)) } else { Err(SessionError::Foreign) }
}

fn time(bytes: &[u8]) -> i64 {
    bytes.try_into().map_or(0, i64::from_be_bytes)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use gudgeon_core::entry::Author;

    use super::*;

    const NOW: i64 = 1_800_000_000_000;

    fn seal() -> Seal {
        Seal::new([1; 32], [2; 32])
    }

    fn caller(author: &Author) -> Caller {
        Caller { workshop: DocumentId::new([7; 32]), key: author.key(), brings: false }
    }

    fn sign(author: &Author, seal: &Seal, challenge: &[u8]) -> [u8; 64] {
        author.sign_tagged(SESSION_TAG, &[seal.relay(), challenge, &[9; 32]])
    }

    #[test]
    fn an_answered_challenge_opens_and_its_session_says_whose_it_is() {
        let (seal, author) = (seal(), Author::from_secret(&[3; 32]));
        let caller = caller(&author);
        let challenge = seal.challenge(caller.workshop, [5; 32], NOW);
        let signature = sign(&author, &seal, &challenge);
        seal.answered(&caller, &challenge, &[9; 32], &signature, NOW + 1).unwrap();
        let (session, until) = seal.session(&caller, NOW);
        assert_eq!(seal.caller(&session, until), Ok((caller, until)));
        assert_eq!(seal.caller(&session, until + 1), Err(SessionError::RunOut));
    }

    #[test]
    fn another_key_another_relay_and_an_old_challenge_do_not() {
        let (seal, author) = (seal(), Author::from_secret(&[3; 32]));
        let caller = caller(&author);
        let challenge = seal.challenge(caller.workshop, [5; 32], NOW);
        let signature = sign(&author, &seal, &challenge);
        let stranger = Caller { key: Author::from_secret(&[4; 32]).key(), ..caller };
        let bad = Err(SessionError::BadSignature);
        assert_eq!(seal.answered(&stranger, &challenge, &[9; 32], &signature, NOW), bad);
        assert_eq!(seal.answered(&caller, &challenge, &[8; 32], &signature, NOW), bad);
        let late = NOW + 60_001;
        assert_eq!(seal.answered(&caller, &challenge, &[9; 32], &signature, late), Err(SessionError::RunOut));
        let other = Seal::new([1; 32], [3; 32]);
        let foreign = Err(SessionError::Foreign);
        assert_eq!(other.answered(&caller, &challenge, &[9; 32], &signature, NOW), foreign);
        let elsewhere = Caller { workshop: DocumentId::new([8; 32]), ..caller };
        assert_eq!(seal.answered(&elsewhere, &challenge, &[9; 32], &signature, NOW), foreign);
    }

    #[test]
    fn a_session_altered_in_any_bit_is_nobodys() {
        let seal = seal();
        let (session, _) = seal.session(&caller(&Author::from_secret(&[3; 32])), NOW);
        for bit in 0..session.len() * 8 {
            let mut altered = session.clone();
            altered[bit / 8] ^= 1 << (bit % 8);
            assert_eq!(seal.caller(&altered, NOW), Err(SessionError::Foreign), "bit {bit}");
        }
        assert_eq!(seal.caller(&session[1..], NOW), Err(SessionError::Foreign));
        assert_eq!(seal.caller(&[], NOW), Err(SessionError::Foreign));
    }

    #[test]
    fn a_challenge_that_is_an_entrys_body_gives_no_signature_of_an_entry() {
        // Whatever a hostile relay asks to be signed begins with the tag of sessions.
        let author = Author::from_secret(&[3; 32]);
        let body = b"any body of an entry".to_vec();
        let signature = author.sign_tagged(SESSION_TAG, &[&[1; 32], &body, &[9; 32]]);
        let tag = gudgeon_core::entry::ENTRY_TAG;
        assert!(!tagged_signature_stands(&author.key(), tag, &[author.key().bytes(), &body], &signature));
    }
}
