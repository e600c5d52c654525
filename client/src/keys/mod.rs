//! An author's secret, sealed under a PIN.
//!
//! The PIN becomes a key by Argon2id (RFC 9106), and that key seals the 32 secret bytes
//! with XChaCha20-Poly1305; the public key and the way of derivation are bound in.
//!
//! Honest about what it stops: **a PIN stops a colleague who picks up the phone, not
//! somebody who copies the storage.** A copy can be tried without end and without the
//! waits below; four digits fall in minutes. A long PIN of letters and digits resists.
//! Secrets are wiped from memory after use as far as the compiler and the operating
//! system allow; that is best effort.

mod derive;
mod wait;

use chacha20poly1305::aead::{Aead as _, KeyInit as _, Payload};
use chacha20poly1305::{Key, XChaCha20Poly1305, XNonce};
use gudgeon_core::entry::{Author, KeyId};
use zeroize::Zeroizing;

use crate::shape;
use crate::world::{NoRandomness, World, random};

use derive::Derivation;
pub use derive::{COST, Cost};
pub use wait::{WAITS, left as shut_for};

/// Tag bound into every sealed key; no other sealing uses it.
const SEAL_TAG: &[u8] = b"gudgeon sealed key v1";

/// Version of the stored shape.
const VERSION: u32 = 1;

/// Fewest characters of a PIN.
pub const PIN_MIN: usize = 4;

/// Most characters of a PIN.
pub const PIN_MAX: usize = 128;

/// Why a PIN or a sealed key is not taken.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[allow(missing_docs)] // each says itself
pub enum KeyError {
    #[error("the PIN has {found} character{}; it needs at least {PIN_MIN}", if *.found == 1 { "" } else { "s" })]
    PinTooShort { found: usize },
    #[error("the PIN has {found} characters; at most {PIN_MAX} are taken")]
    PinTooLong { found: usize },
    #[error("this is not the PIN of key {label} ({tries} wrong so far)")]
    WrongPin { label: String, tries: u32, wait_ms: i64 },
    #[error("key {label} is not tried again yet: {tries} wrong PINs, {} s to wait", wait_seconds(*.wait_ms))]
    TooSoon { label: String, tries: u32, wait_ms: i64 },
    #[error("the sealed key {label} is of version {found}; this program reads {VERSION}")]
    NewerShape { label: String, found: u32 },
    #[error("the sealed key {label} is damaged: {what}")]
    Damaged { label: String, what: &'static str },
    #[error("the PIN could not be worked on: {0}")]
    Derivation(String),
    #[error(transparent)]
    NoRandomness(#[from] NoRandomness),
}

impl KeyError {
    /// The way out.
    #[must_use]
    pub fn hint(&self) -> String {
        match self {
            Self::PinTooShort { .. } => {
                "choose a longer one; letters and digits mixed resist longest".to_owned()
            }
            Self::PinTooLong { .. } => "choose a shorter one".to_owned(),
            Self::WrongPin { wait_ms: 0, .. } => "try again".to_owned(),
            Self::WrongPin { wait_ms, .. } | Self::TooSoon { wait_ms, .. } => {
                format!("try again in {} s; each wrong PIN makes the wait longer", wait_seconds(*wait_ms))
            }
            Self::NewerShape { .. } => "use the newer program that made it".to_owned(),
            Self::Damaged { .. } => {
                "make a new key and have a lead admit it; what the old one signed still counts".to_owned()
            }
            Self::Derivation(_) => "close other programs to free memory and try again".to_owned(),
            Self::NoRandomness(_) => "restart the device and try again".to_owned(),
        }
    }
}

/// Whole seconds, never 0 while there is something to wait.
const fn wait_seconds(ms: i64) -> i64 {
    ms.saturating_add(999) / 1000
}

/// A PIN that keeps the rule; wiped when dropped.
#[derive(Clone)]
pub struct Pin(Zeroizing<String>);

impl Pin {
    /// Takes a PIN as typed.
    ///
    /// # Errors
    /// [`KeyError::PinTooShort`] or [`KeyError::PinTooLong`].
    pub fn new(typed: &str) -> Result<Self, KeyError> {
        match typed.chars().count() {
            found if found < PIN_MIN => Err(KeyError::PinTooShort { found }),
            found if found > PIN_MAX => Err(KeyError::PinTooLong { found }),
            _ => Ok(Self(Zeroizing::new(typed.to_owned()))),
        }
    }
}

impl std::fmt::Debug for Pin {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Pin(..)")
    }
}

/// An author's secret under a PIN, with the count of wrong tries.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sealed {
    key: KeyId,
    label: String,
    made: i64,
    derivation: Derivation,
    nonce: [u8; 24],
    sealed: Vec<u8>,
    wrong_tries: u32,
    last_wrong: i64,
}

impl Sealed {
    /// Seals an author's secret; the label tells the keys of a shared phone apart.
    ///
    /// # Errors
    /// [`KeyError`] if the device gives no randomness or too little memory.
    pub fn seal(world: &dyn World, author: &Author, label: &str, pin: &Pin) -> Result<Self, KeyError> {
        let derivation = Derivation::new(COST, random(world)?);
        let nonce = random(world)?;
        let secret = Zeroizing::new(author.secret());
        let key = author.key();
        let aad = bound(&key, &derivation);
        let cipher = cipher(&derivation, pin)?;
        let payload = Payload { msg: secret.as_slice(), aad: &aad };
        let sealed = cipher
            .encrypt(&XNonce::from(nonce), payload)
            .map_err(|_| KeyError::Derivation("sealing failed".to_owned()))?;
        let label = label.to_owned();
        Ok(Self { key, label, made: world.now(), derivation, nonce, sealed, wrong_tries: 0, last_wrong: 0 })
    }

    /// Opens it, if it may be tried now. Counts in `self`, which is to be stored again
    /// before the outcome is shown, right or wrong.
    ///
    /// # Errors
    /// [`KeyError::TooSoon`] without trying; [`KeyError::WrongPin`]; [`KeyError::Damaged`].
    pub fn open(&mut self, pin: &Pin, now: i64) -> Result<Author, KeyError> {
        self.wait_over(now)?;
        let aad = bound(&self.key, &self.derivation);
        let cipher = cipher(&self.derivation, pin)?;
        let payload = Payload { msg: self.sealed.as_slice(), aad: &aad };
        let Ok(secret) = cipher.decrypt(&XNonce::from(self.nonce), payload) else {
            return Err(self.count_wrong(now));
        };
        let secret = Zeroizing::new(secret);
        let bytes: &[u8; 32] =
            secret.as_slice().try_into().map_err(|_| self.damaged("the secret is not 32 bytes long"))?;
        let author = Author::from_secret(bytes);
        if author.key() != self.key {
            return Err(self.damaged("the secret does not belong to the public key"));
        }
        self.wrong_tries = 0;
        Ok(author)
    }

    /// The public key.
    #[must_use]
    pub const fn key(&self) -> KeyId {
        self.key
    }

    /// Whose it is, in words.
    #[must_use]
    pub fn label(&self) -> &str {
        &self.label
    }

    /// When it was sealed: milliseconds since 1970 by this device.
    #[must_use]
    pub const fn made(&self) -> i64 {
        self.made
    }

    /// Wrong PINs since the last right one.
    #[must_use]
    pub const fn wrong_tries(&self) -> u32 {
        self.wrong_tries
    }

    /// When the last of them was: milliseconds since 1970 by this device.
    #[must_use]
    pub const fn last_wrong(&self) -> i64 {
        self.last_wrong
    }

    /// A clock put back starts the wait anew, so it neither ends it nor makes it endless.
    fn wait_over(&mut self, now: i64) -> Result<(), KeyError> {
        self.last_wrong = self.last_wrong.min(now);
        match wait::left(self.wrong_tries, self.last_wrong, now) {
            0 => Ok(()),
            wait_ms => Err(KeyError::TooSoon { label: self.label.clone(), tries: self.wrong_tries, wait_ms }),
        }
    }

    fn count_wrong(&mut self, now: i64) -> KeyError {
        self.wrong_tries = self.wrong_tries.saturating_add(1);
        self.last_wrong = now;
        let wait_ms = wait::left(self.wrong_tries, now, now);
        KeyError::WrongPin { label: self.label.clone(), tries: self.wrong_tries, wait_ms }
    }

    fn damaged(&self, what: &'static str) -> KeyError {
        KeyError::Damaged { label: self.label.clone(), what }
    }

    pub(crate) fn to_shape(&self) -> shape::SealedKey {
        shape::SealedKey {
            version: VERSION,
            key: self.key.bytes().to_vec(),
            label: self.label.clone(),
            derivation: self.derivation.to_text(),
            nonce: self.nonce.to_vec(),
            sealed: self.sealed.clone(),
            made: self.made,
            wrong_tries: self.wrong_tries,
            last_wrong: self.last_wrong,
        }
    }

    pub(crate) fn from_shape(shape: shape::SealedKey) -> Result<Self, KeyError> {
        let label = shape.label;
        if shape.version != VERSION {
            return Err(KeyError::NewerShape { label, found: shape.version });
        }
        let damaged = |what| KeyError::Damaged { label: label.clone(), what };
        let key =
            KeyId::from_slice(&shape.key).ok_or_else(|| damaged("its public key is not 32 bytes long"))?;
        let derivation = Derivation::from_text(&shape.derivation)
            .ok_or_else(|| damaged("its derivation is unknown or out of bounds"))?;
        let nonce = shape.nonce.try_into().map_err(|_| damaged("its nonce is not 24 bytes long"))?;
        Ok(Self {
            key,
            derivation,
            nonce,
            sealed: shape.sealed,
            made: shape.made,
            wrong_tries: shape.wrong_tries,
            last_wrong: shape.last_wrong,
            label,
        })
    }
}

fn cipher(derivation: &Derivation, pin: &Pin) -> Result<XChaCha20Poly1305, KeyError> {
    let key = derivation.key(pin.0.as_bytes()).map_err(KeyError::Derivation)?;
    Ok(XChaCha20Poly1305::new(<&Key>::from(&*key)))
}

/// What cannot be changed without the seal breaking.
fn bound(key: &KeyId, derivation: &Derivation) -> Vec<u8> {
    [SEAL_TAG, key.bytes(), derivation.to_text().as_bytes()].concat()
}

#[cfg(test)]
mod tests;
