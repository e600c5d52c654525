//! The keys of a home: a shared phone has several, each under its own PIN.

use gudgeon_core::entry::{Author, KeyId};
use prost::Message as _;
use zeroize::Zeroizing;

use super::Home;
use crate::error::{HomeError, Kind};
use crate::keys::{Pin, Sealed, shut_for};
use crate::shape;
use crate::store::{Batch, Table};
use crate::world::random;

/// A key of this home, without its secret.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyRow {
    /// The public key.
    pub key: KeyId,
    /// Whose it is, in words.
    pub label: String,
    /// When it was made: milliseconds since 1970 by this device.
    pub made: i64,
    /// Wrong PINs since the last right one.
    pub wrong_tries: u32,
    /// When the last of them was: milliseconds since 1970 by this device.
    pub last_wrong: i64,
}

impl KeyRow {
    /// For how many milliseconds it is still shut after wrong PINs.
    #[must_use]
    pub fn shut_for(&self, now: i64) -> i64 {
        shut_for(self.wrong_tries, self.last_wrong.min(now), now)
    }
}

impl Home {
    /// Makes a key and keeps it under a PIN.
    ///
    /// # Errors
    /// [`HomeError`] if the device gives no randomness or does not write.
    pub fn new_key(&mut self, label: &str, pin: &Pin) -> Result<Author, HomeError> {
        let secret = Zeroizing::new(random::<32>(self.world()).map_err(Kind::from)?);
        let author = Author::from_secret(&secret);
        self.add_key(&author, label, pin)?;
        Ok(author)
    }

    /// Keeps a key that was made elsewhere under a PIN.
    ///
    /// # Errors
    /// [`HomeError`] if it is here already or the device does not write.
    pub fn add_key(&mut self, author: &Author, label: &str, pin: &Pin) -> Result<(), HomeError> {
        let key = author.key();
        if self.store.get(Table::Keys, key.bytes()).map_err(Kind::Unread)?.is_some() {
            return Err(Kind::KeyExists(key).into());
        }
        let sealed = Sealed::seal(self.world(), author, label, pin).map_err(Kind::from)?;
        self.keep(&sealed)?;
        tracing::info!(key = %key.short(), "key kept");
        Ok(())
    }

    /// The keys of this home, by key.
    ///
    /// # Errors
    /// [`HomeError`] if one is damaged or the device does not read.
    pub fn keys(&self) -> Result<Vec<KeyRow>, HomeError> {
        let rows = self.store.scan(Table::Keys, &[]).map_err(Kind::Unread)?;
        rows.iter().map(|(_, value)| read(value).map(|sealed| row(&sealed))).collect()
    }

    /// Opens a key with its PIN, for as long as the caller keeps it; nothing is cached.
    ///
    /// Wrong PINs are counted durably before the error is answered, and each makes the
    /// next try wait longer: [`crate::keys::WAITS`].
    ///
    /// # Errors
    /// [`HomeError`]: no such key, wrong PIN, too soon, damaged, or not writable.
    pub fn unlock(&mut self, key: KeyId, pin: &Pin) -> Result<Author, HomeError> {
        let before = self.sealed(key)?;
        let mut sealed = before.clone();
        let opened = sealed.open(pin, self.world().now());
        if sealed != before {
            self.keep(&sealed)?;
        }
        tracing::debug!(key = %key.short(), opened = opened.is_ok(), "key tried");
        Ok(opened.map_err(Kind::from)?)
    }

    /// Puts a key under a new PIN.
    ///
    /// # Errors
    /// As [`Home::unlock`] with the old one.
    pub fn change_pin(&mut self, key: KeyId, old: &Pin, new: &Pin) -> Result<(), HomeError> {
        let author = self.unlock(key, old)?;
        let label = self.sealed(key)?.label().to_owned();
        let sealed = Sealed::seal(self.world(), &author, &label, new).map_err(Kind::from)?;
        self.keep(&sealed)
    }

    fn sealed(&self, key: KeyId) -> Result<Sealed, HomeError> {
        let value = self.store.get(Table::Keys, key.bytes()).map_err(Kind::Unread)?;
        read(&value.ok_or(Kind::UnknownKey(key))?)
    }

    fn keep(&mut self, sealed: &Sealed) -> Result<(), HomeError> {
        let mut batch = Batch::new();
        batch.put(Table::Keys, sealed.key().bytes(), &sealed.to_shape().encode_to_vec());
        self.write(&batch)
    }
}

fn read(value: &[u8]) -> Result<Sealed, HomeError> {
    let shape = shape::SealedKey::decode(value).map_err(|_| Kind::DamagedSetting("keys"))?;
    Ok(Sealed::from_shape(shape).map_err(Kind::from)?)
}

fn row(sealed: &Sealed) -> KeyRow {
    KeyRow {
        key: sealed.key(),
        label: sealed.label().to_owned(),
        made: sealed.made(),
        wrong_tries: sealed.wrong_tries(),
        last_wrong: sealed.last_wrong(),
    }
}
