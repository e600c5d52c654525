//! One person's, or one shared phone's, place: documents, keys and settings in a store.
//!
//! One program at a time has a home, by a lock; a second one waits a while. What a method
//! has answered `Ok` to is durable. After an error nothing of it is there, in the store or
//! in memory, and the same call may be tried again.

mod ahead;
mod aside;
mod carry;
mod file;
mod keyring;
mod load;
#[cfg(not(target_arch = "wasm32"))]
mod lock;
mod meet;
#[cfg(not(target_arch = "wasm32"))]
mod native;
mod take;
mod write;

use std::any::Any;
use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};

use gudgeon_core::document::{Actor, ChangeHash, Document};
use gudgeon_core::entry::{DocumentId, KeyId};
use gudgeon_core::log::Log;

use crate::error::{HomeError, Kind};
use crate::store::{Batch, Store, Table};
use crate::world::{World, random};

pub use ahead::Ahead;
pub use aside::{Aside, KEPT_ASIDE};
pub use carry::CarriedIn;
pub use file::fingerprint;
#[cfg(not(target_arch = "wasm32"))]
pub use file::read_bundle;
pub use keyring::KeyRow;
#[cfg(not(target_arch = "wasm32"))]
pub use lock::PATIENCE;
pub use take::{Report, Saved};

use load::{Checked, Held};

/// The stored format this program reads and writes.
const FORMAT: &str = "1";

const FORMAT_SETTING: &str = "format";
const ACTOR_SETTING: &str = "actor";
const WORKSHOP_SETTING: &str = "workshop";
/// Before the names of settings that belong to whoever uses the home.
const USER_SETTING: &str = "user/";

/// A place of one's own: see the [module](self).
pub struct Home {
    store: Box<dyn Store>,
    world: Box<dyn World>,
    /// Under which changes are written; fresh after a repack or a mismatch.
    actor: Actor,
    workshop: Option<DocumentId>,
    shelves: BTreeMap<DocumentId, Shelf>,
    /// Values of changes still to come whose signatures were checked: see `ahead`.
    checked_ahead: Checked,
    /// What keeps others out. Last, so that the store is closed before it goes.
    _lock: Option<Box<dyn Any + Send + Sync>>,
}

/// The place of one document; read from the store when first asked for.
struct Shelf {
    number: u32,
    held: OnceCell<Box<Held>>,
}

impl std::fmt::Debug for Home {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Home").field("workshop", &self.workshop).finish_non_exhaustive()
    }
}

impl Home {
    /// A home in a store of one's own; makes it there where the store is empty. Whoever
    /// gives the store sees to it that nobody else has it.
    ///
    /// # Errors
    /// As [`Home::create`] and [`Home::open`].
    pub fn within(mut store: Box<dyn Store>, world: impl World + 'static) -> Result<Self, HomeError> {
        let format = store.get(Table::Settings, FORMAT_SETTING.as_bytes()).map_err(Kind::Unread)?;
        if format.is_none() {
            store.write(&first_batch(&world)?).map_err(Kind::NotSaved)?;
        }
        Self::begin(store, Box::new(world), None)
    }

    fn begin(
        store: Box<dyn Store>,
        world: Box<dyn World>,
        lock: Option<Box<dyn Any + Send + Sync>>,
    ) -> Result<Self, HomeError> {
        let setting = |name: &str| store.get(Table::Settings, name.as_bytes()).map_err(Kind::Unread);
        let format = setting(FORMAT_SETTING)?.ok_or(Kind::DamagedSetting(FORMAT_SETTING))?;
        if format != FORMAT.as_bytes() {
            let found = String::from_utf8_lossy(&format).into_owned();
            return Err(Kind::OtherFormat { found, known: FORMAT }.into());
        }
        let actor = setting(ACTOR_SETTING)?.and_then(|bytes| Actor::from_slice(&bytes));
        let actor = actor.ok_or(Kind::DamagedSetting(ACTOR_SETTING))?;
        let workshop = setting(WORKSHOP_SETTING)?
            .map(|bytes| DocumentId::from_slice(&bytes).ok_or(Kind::DamagedSetting(WORKSHOP_SETTING)))
            .transpose()?;
        let shelves = load::shelves(store.as_ref())?;
        tracing::debug!(documents = shelves.len(), "home opened");
        Ok(Self { store, world, actor, workshop, shelves, checked_ahead: BTreeSet::new(), _lock: lock })
    }

    /// The workshop this home belongs to, once founded or carried in.
    #[must_use]
    pub const fn workshop(&self) -> Option<DocumentId> {
        self.workshop
    }

    /// The public key of the workshop's root; its fingerprint is what people compare.
    ///
    /// # Errors
    /// [`HomeError`] if there is no workshop or it cannot be read.
    pub fn root(&self) -> Result<KeyId, HomeError> {
        let workshop = self.workshop.ok_or(Kind::NoWorkshop)?;
        let founding = self.log(workshop)?.folded().first().map(|statement| statement.key);
        founding.ok_or_else(|| Kind::BadFounding(workshop).into())
    }

    /// The records held, by id; the workshop is not among them.
    pub fn records(&self) -> impl Iterator<Item = DocumentId> + '_ {
        self.shelves.keys().copied().filter(|id| Some(*id) != self.workshop)
    }

    /// Whether this record or workshop is held.
    #[must_use]
    pub fn holds(&self, document: &DocumentId) -> bool {
        self.shelves.contains_key(document)
    }

    /// The entries of a document and who knew what.
    ///
    /// # Errors
    /// [`HomeError`] if it is not held, or cannot be read.
    pub fn log(&self, document: DocumentId) -> Result<&Log, HomeError> {
        Ok(&self.held(document)?.log)
    }

    /// A document as it is packed: changes, heads, raw values.
    ///
    /// # Errors
    /// As [`Home::log`].
    pub fn document(&self, document: DocumentId) -> Result<&Document, HomeError> {
        Ok(&self.held(document)?.document)
    }

    /// The actor under which this home writes changes.
    #[must_use]
    pub const fn actor(&self) -> Actor {
        self.actor
    }

    /// The clock and randomness this home was given.
    #[must_use]
    pub fn world(&self) -> &dyn World {
        self.world.as_ref()
    }

    /// A setting by its name, such as the address of the relay.
    ///
    /// # Errors
    /// [`HomeError`] if the device does not read.
    pub fn setting(&self, name: &str) -> Result<Option<String>, HomeError> {
        let key = format!("{USER_SETTING}{name}");
        let value = self.store.get(Table::Settings, key.as_bytes()).map_err(Kind::Unread)?;
        Ok(value.map(|bytes| String::from_utf8_lossy(&bytes).into_owned()))
    }

    /// Keeps a setting; one that is kept already is not written again.
    ///
    /// # Errors
    /// [`HomeError`] if the device does not read or write.
    pub fn set_setting(&mut self, name: &str, value: &str) -> Result<(), HomeError> {
        if self.setting(name)?.as_deref() == Some(value) {
            return Ok(());
        }
        let mut batch = Batch::new();
        batch.put(Table::Settings, format!("{USER_SETTING}{name}").as_bytes(), value.as_bytes());
        self.write(&batch)
    }

    /// The relay's heads of a document when last met; empty if never.
    ///
    /// # Errors
    /// [`HomeError`] if the document is not held or the device does not read.
    pub fn relay_heads(&self, document: DocumentId) -> Result<Vec<ChangeHash>, HomeError> {
        let number = self.shelf(document)?.number.to_be_bytes();
        let heads = self.store.get(Table::RelayHeads, &number).map_err(Kind::Unread)?.unwrap_or_default();
        Ok(heads.chunks_exact(32).filter_map(ChangeHash::from_slice).collect())
    }

    /// Keeps the relay's heads of a document.
    ///
    /// # Errors
    /// [`HomeError`] if the document is not held or the device does not write.
    pub fn set_relay_heads(&mut self, document: DocumentId, heads: &[ChangeHash]) -> Result<(), HomeError> {
        let number = self.shelf(document)?.number.to_be_bytes();
        let heads: Vec<u8> = heads.iter().flat_map(|head| *head.bytes()).collect();
        let mut batch = Batch::new();
        batch.put(Table::RelayHeads, &number, &heads);
        self.write(&batch)
    }

    fn shelf(&self, document: DocumentId) -> Result<&Shelf, HomeError> {
        self.shelves.get(&document).ok_or_else(|| Kind::UnknownDocument(document).into())
    }

    fn write(&mut self, batch: &Batch) -> Result<(), HomeError> {
        self.store.write(batch).map_err(|error| {
            tracing::warn!(%error, "not saved");
            Kind::NotSaved(error).into()
        })
    }
}

/// What a new home begins with.
fn first_batch(world: &dyn World) -> Result<Batch, HomeError> {
    let mut batch = Batch::new();
    batch.put(Table::Settings, FORMAT_SETTING.as_bytes(), FORMAT.as_bytes());
    batch.put(Table::Settings, ACTOR_SETTING.as_bytes(), fresh_actor(world)?.bytes());
    Ok(batch)
}

fn fresh_actor(world: &dyn World) -> Result<Actor, HomeError> {
    Ok(Actor(random(world).map_err(Kind::from)?))
}

#[cfg(test)]
mod tests;
