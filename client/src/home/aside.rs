//! What was refused, kept for whoever holds the home to look at.

use std::collections::{BTreeMap, BTreeSet};

use gudgeon_core::document::{Change, ChangeHash, Refused};
use gudgeon_core::entry::{DocumentId, EntryId};
use prost::Message as _;
use sha2::{Digest as _, Sha256};

use super::Home;
use crate::error::{HomeError, Kind};
use crate::shape;
use crate::store::{Batch, Row, Table};

/// Most that is kept aside of one document, so that nobody can fill the device with it;
/// the first to come stay.
pub const KEPT_ASIDE: usize = 256;

/// Something that was refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Aside {
    /// The change it came in.
    pub change: ChangeHash,
    /// The entry at fault; none where it was the change.
    pub entry: Option<EntryId>,
    /// The value of the entry at fault, where it was one.
    pub value: Vec<u8>,
    /// The rule it broke.
    pub rule: String,
    /// What was expected, and the way out.
    pub hint: String,
    /// When it came: milliseconds since 1970 by this device.
    pub when: i64,
}

impl Home {
    /// What was refused of a document and is kept aside.
    ///
    /// # Errors
    /// [`HomeError`] if the document is not held or the device does not read.
    pub fn aside(&self, document: DocumentId) -> Result<Vec<Aside>, HomeError> {
        let number = self.shelf(document)?.number.to_be_bytes();
        let rows = self.store.scan(Table::Aside, &number).map_err(Kind::Unread)?;
        let read = rows.iter().map(|(_, value)| read(value));
        Ok(read.collect::<Option<_>>().ok_or(Kind::DamagedSetting("aside"))?)
    }

    /// Forgets what was kept aside of a document, once somebody has looked at it.
    ///
    /// # Errors
    /// [`HomeError`] if the document is not held or the device does not write.
    pub fn forget_aside(&mut self, document: DocumentId) -> Result<(), HomeError> {
        let number = self.shelf(document)?.number.to_be_bytes();
        let mut batch = Batch::new();
        batch.remove_all(Table::Aside, &number);
        self.write(&batch)
    }
}

/// Rows for what was refused now and is not among `rows` yet.
pub(super) fn stage(
    batch: &mut Batch,
    number: u32,
    rows: &[Row],
    refused: &[Refused],
    changes: &BTreeMap<ChangeHash, Change>,
    now: i64,
) {
    let mut kept: BTreeSet<Vec<u8>> = rows.iter().map(|(key, _)| key.clone()).collect();
    for refused in refused {
        let key = key(number, refused);
        if kept.len() < KEPT_ASIDE && !kept.contains(&key) {
            let shape = to_shape(refused, changes.get(&refused.change), now);
            batch.put(Table::Aside, &key, &shape.encode_to_vec());
            kept.insert(key);
        }
    }
}

fn key(number: u32, refused: &Refused) -> Vec<u8> {
    let entry = refused.entry.as_ref().map_or(&[][..], |id| id.bytes());
    let digest = Sha256::new().chain_update(refused.change.bytes()).chain_update(entry).finalize();
    [number.to_be_bytes().as_slice(), &digest].concat()
}

fn to_shape(refused: &Refused, change: Option<&Change>, when: i64) -> shape::Aside {
    let value = refused.entry.zip(change).and_then(|(id, change)| {
        let put = change.puts().find(|put| put.id == id)?;
        Some(put.value.to_vec())
    });
    shape::Aside {
        change: refused.change.bytes().to_vec(),
        entry: refused.entry.map_or_else(Vec::new, |id| id.bytes().to_vec()),
        value: value.unwrap_or_default(),
        rule: refused.rule.to_owned(),
        hint: refused.hint.clone(),
        when,
    }
}

fn read(value: &[u8]) -> Option<Aside> {
    let shape::Aside { change, entry, value, rule, hint, when } = shape::Aside::decode(value).ok()?;
    let entry = match entry.as_slice() {
        [] => None,
        bytes => Some(EntryId::from_slice(bytes)?),
    };
    Some(Aside { change: ChangeHash::from_slice(&change)?, entry, value, rule, hint, when })
}
