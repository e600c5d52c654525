//! The relay of the play: the real committer over a store that forgets what was not flushed,
//! fails when it is told to, and goes back to what it was.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use gudgeon_client::sync::{Ask, Denial, Exchanged, Input, Reply, Standing, Trouble, Why};
use gudgeon_core::document::{Document, parse};
use gudgeon_core::entry::{DocumentId, EntryId, KeyId};
use gudgeon_relay::committer::{Clock, Committer, Handle, NoAnswer, Serves};
use gudgeon_relay::session::Caller;
use gudgeon_relay::store::{Failure, Forgetful, Store as _};
use gudgeon_relay::{Answer, Ask as RelayAsk, Checked};
use tokio::runtime::Runtime;

use crate::NOW;
use crate::relay_kit::host::Shared;

pub(crate) struct Office {
    runtime: Runtime,
    store: Shared<Forgetful>,
    running: Option<(Committer, Handle)>,
    workshop: DocumentId,
    /// Who carries everybody's changes: a key that nobody removes, since whose entries count
    /// is nobody's business here.
    courier: KeyId,
    /// Entries of each change that is durable, by its place.
    seen: BTreeMap<DocumentId, Vec<Vec<EntryId>>>,
}

impl Office {
    pub(crate) fn new(workshop: DocumentId, courier: KeyId) -> Self {
        let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
        let store = Shared::new(Forgetful::new());
        let mut office = Self { runtime, store, running: None, workshop, courier, seen: BTreeMap::new() };
        office.restart();
        office
    }

    /// The power goes, and it is started again.
    pub(crate) fn restart(&mut self) {
        self.stop();
        self.store.with(|store| store.power_cut(|_| false));
        let clock: Clock = Arc::new(|| NOW);
        self.running = Some(Committer::start(self.store.opener(), Serves::First, clock).unwrap());
    }

    fn stop(&mut self) {
        if let Some((committer, thread)) = self.running.take() {
            drop(committer);
            thread.join().unwrap();
        }
    }

    /// What a backup of it would be.
    pub(crate) fn kept(&self) -> Forgetful {
        self.store.with(|store| store.clone())
    }

    /// It goes back to what it was.
    pub(crate) fn set_back(&mut self, kept: Forgetful) {
        self.stop();
        self.store.with(|store| *store = kept);
        self.seen.clear();
        self.restart();
    }

    /// Answers, or fails while it writes what came: then some of it is kept nonetheless, and
    /// nobody knows. Says whether it failed.
    pub(crate) fn answers_or_fails(&mut self, ask: Ask, failure: Failure) -> (Input, bool) {
        self.store.with(|store| store.fail(failure));
        let input = self.answers(ask);
        self.store.with(Forgetful::forgive);
        let failed = matches!(&input, Input::Failed(Trouble::Busy(_)));
        (input, failed)
    }

    pub(crate) fn answers(&mut self, ask: Ask) -> Input {
        match ask {
            Ask::Greet { .. } => Input::Reply(Reply::Greeted { relay: [9; 32], challenge: vec![1; 72] }),
            Ask::Open { .. } => {
                let standing = self.runtime.block_on(self.committer().standing(self.caller(false))).unwrap();
                let standing = match standing {
                    gudgeon_relay::Standing::Member => Standing::Member,
                    gudgeon_relay::Standing::Brings => Standing::Brings,
                    gudgeon_relay::Standing::Invited => panic!("the courier came by no invite"),
                };
                let session = vec![u8::from(standing == Standing::Brings)];
                Input::Reply(Reply::Opened { session, standing })
            }
            Ask::Exchange { session, document, heads, changes } => {
                let ask = RelayAsk { workshop: self.workshop, document, heads, changes };
                heard(self.exchange(session == [1], ask))
            }
        }
    }

    pub(crate) fn exchange(&self, brings: bool, ask: RelayAsk) -> Result<Answer, NoAnswer> {
        let caller = self.caller(brings);
        self.runtime.block_on(self.committer().exchange(caller, ask, Checked::default()))
    }

    fn committer(&self) -> &Committer {
        &self.running.as_ref().unwrap().0
    }

    const fn caller(&self, brings: bool) -> Caller {
        Caller { workshop: self.workshop, key: self.courier, brings }
    }

    /// A document as it is durable.
    pub(crate) fn document(&self, id: DocumentId) -> Document {
        let raws = self.store.with(|store| store.load(id)).unwrap();
        let mut document = Document::new();
        let received = document.receive(&raws, &mut |_, _| Ok(()));
        assert_eq!(received.accepted.len(), raws.len(), "what is kept fits together");
        document
    }

    /// The entries of a document that are durable.
    pub(crate) fn entries(&mut self, id: DocumentId) -> BTreeSet<EntryId> {
        let seen = self.seen.entry(id).or_default();
        self.store.with(|store| {
            let raws = store.load(id).unwrap();
            assert!(raws.len() >= seen.len(), "the relay has lost what was durable");
            for raw in &raws[seen.len()..] {
                seen.push(parse(raw).unwrap().puts().map(|put| put.id).collect());
            }
        });
        seen.iter().flatten().copied().collect()
    }
}

impl Drop for Office {
    fn drop(&mut self) {
        self.stop();
    }
}

fn heard(answered: Result<Answer, NoAnswer>) -> Input {
    match answered {
        Ok(Answer { heads, changes, refused, unknown, more }) => {
            Input::Reply(Reply::Exchanged(Exchanged { heads, changes, refused, unknown, more }))
        }
        Err(NoAnswer::Denied(denied)) => {
            Input::Failed(Trouble::Denied(Denial::new(Why::named(denied.name()), denied.to_string())))
        }
        Err(error @ (NoAnswer::Store { .. } | NoAnswer::Busy)) => {
            Input::Failed(Trouble::Busy(error.to_string()))
        }
    }
}
