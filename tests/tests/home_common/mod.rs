//! What the tests of homes on a real disk share: a repeatable world, authors, statements.
#![allow(dead_code, unreachable_pub, clippy::unwrap_used)]

use std::sync::Mutex;

use gudgeon_client::home::Home;
use gudgeon_client::world::{NoRandomness, World};
use gudgeon_core::entry::payload::{Founding, Note};
use gudgeon_core::entry::{Author, DocumentId, EntryId, Payload};
use sha2::{Digest as _, Sha256};

/// A clock that ticks with every look, and randomness from a seed.
pub struct Rehearsed(Mutex<(u64, i64)>);

impl Rehearsed {
    pub fn new(seed: u64) -> Self {
        Self(Mutex::new((seed << 32, 1_800_000_000_000)))
    }
}

impl World for Rehearsed {
    fn now(&self) -> i64 {
        let mut state = self.0.lock().unwrap();
        state.1 += 1;
        state.1
    }

    fn fill(&self, bytes: &mut [u8]) -> Result<(), NoRandomness> {
        let mut state = self.0.lock().map_err(|_| NoRandomness)?;
        for chunk in bytes.chunks_mut(32) {
            state.0 += 1;
            chunk.copy_from_slice(&Sha256::digest(state.0.to_be_bytes())[..chunk.len()]);
        }
        Ok(())
    }
}

/// The workshop's root, in tests only.
pub fn root() -> Author {
    Author::from_secret(&[1; 32])
}

/// Somebody of the workshop.
pub fn author(number: u8) -> Author {
    Author::from_secret(&[number.max(2); 32])
}

/// Words of somebody.
pub fn note(text: &str) -> Payload {
    Payload::Note(Note { feature: String::new(), text: text.to_owned() })
}

/// Founds a workshop and a record in it; answers the record.
pub fn found(home: &mut Home) -> DocumentId {
    let founding = |name: &str, workshop: Option<DocumentId>| Founding {
        name: name.to_owned(),
        workshop,
        definition_digest: workshop.map(|_| [0; 32]),
        nonce: name.as_bytes().to_vec(),
    };
    let workshop = home.found(&root(), founding("Bench Row", None), &[]).unwrap().document;
    home.found(&author(2), founding("Test engine", Some(workshop)), &[]).unwrap().document
}

/// The names of all entries of a record.
pub fn ids(home: &Home, record: DocumentId) -> Vec<EntryId> {
    home.document(record).unwrap().entries().map(|put| put.id).collect()
}

/// A small generator of numbers for moments and orders; the seed is printed by the test.
pub struct Dice(pub u64);

impl Dice {
    /// A number below `limit`.
    pub fn below(&mut self, limit: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % limit
    }
}
