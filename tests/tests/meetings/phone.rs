//! One person's phone of the play, and the world that it lives in.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex};

use gudgeon_client::home::Home;
use gudgeon_client::store::{Batch, Memory, Row, Store, StoreError, Table};
use gudgeon_client::sync::{Effect, Engine, Identity, Input, Reply};
use gudgeon_client::world::{NoRandomness, World};
use gudgeon_core::document::Document;
use gudgeon_core::entry::{Author, DocumentId, EntryId};
use gudgeon_tests::model::rng::Rng;

use crate::NOW;

/// A store that outlives the home that has it open.
#[derive(Clone, Default)]
pub(crate) struct Kept(pub(crate) Arc<Mutex<Memory>>);

impl Store for Kept {
    fn get(&self, table: Table, key: &[u8]) -> Result<Option<Vec<u8>>, StoreError> {
        self.0.lock().unwrap().get(table, key)
    }

    fn scan(&self, table: Table, prefix: &[u8]) -> Result<Vec<Row>, StoreError> {
        self.0.lock().unwrap().scan(table, prefix)
    }

    fn write(&mut self, batch: &Batch) -> Result<(), StoreError> {
        self.0.lock().unwrap().write(batch)
    }
}

/// Time that stands and randomness that repeats.
pub(crate) struct Rehearsed(Mutex<Rng>);

impl World for Rehearsed {
    fn now(&self) -> i64 {
        NOW
    }

    fn fill(&self, bytes: &mut [u8]) -> Result<(), NoRandomness> {
        let mut rng = self.0.lock().unwrap();
        bytes.fill_with(|| rng.bits().to_le_bytes()[0]);
        Ok(())
    }
}

/// One person's phone.
pub(crate) struct Phone {
    secret: [u8; 32],
    pub(crate) kept: Kept,
    pub(crate) backup: Option<Memory>,
    pub(crate) home: Home,
    pub(crate) meeting: Option<(Engine, Effect)>,
    /// Answers that were given once, to be given again.
    pub(crate) heard: Vec<Reply>,
}

impl Phone {
    pub(crate) fn new(number: u8, rng: &mut Rng) -> Self {
        let kept = Kept::default();
        let home = Home::within(Box::new(kept.clone()), rehearsed(rng)).unwrap();
        Self { secret: [number + 1; 32], kept, backup: None, home, meeting: None, heard: Vec::new() }
    }

    pub(crate) fn author(&self) -> Author {
        Author::from_secret(&self.secret)
    }

    /// The program ends in the middle of whatever it does, and is started again.
    pub(crate) fn crash(&mut self, rng: &mut Rng) {
        self.meeting = None;
        self.home = Home::within(Box::new(self.kept.clone()), rehearsed(rng)).unwrap();
    }

    pub(crate) fn begin(&mut self, workshop: DocumentId) {
        let identity = Identity { author: self.author(), invite: false };
        let mut engine = Engine::new(workshop, vec![identity]);
        let effect = engine.handle(&mut self.home, Input::Begin).unwrap();
        self.meeting = Some((engine, effect));
    }

    pub(crate) fn hear(&mut self, input: Input) {
        let Some((mut engine, _)) = self.meeting.take() else { return };
        match engine.handle(&mut self.home, input).unwrap() {
            Effect::Done(_) | Effect::GaveUp(_) => {}
            effect @ (Effect::Ask(_) | Effect::Wait(_)) => self.meeting = Some((engine, effect)),
        }
    }

    pub(crate) fn entries(&self) -> BTreeMap<DocumentId, BTreeSet<EntryId>> {
        let mut all = BTreeMap::new();
        for document in self.home.workshop().into_iter().chain(self.home.records()) {
            all.insert(document, ids(self.home.document(document).unwrap()));
        }
        all
    }
}

pub(crate) fn rehearsed(rng: &mut Rng) -> Rehearsed {
    Rehearsed(Mutex::new(Rng::new(rng.bits())))
}

pub(crate) fn ids(document: &Document) -> BTreeSet<EntryId> {
    document.entries().map(|put| put.id).collect()
}
