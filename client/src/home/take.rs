//! Taking entries into a document: one's own, and those in changes of others.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};

use gudgeon_core::document::{Change, ChangeHash, Document, Received, Refusal, Refused, Rule, parse, repack};
use gudgeon_core::entry::{self, DocumentId, Entry, EntryId, Payload};

use super::load::{Gate, Held, stage_anew, stage_changes};
use super::{ACTOR_SETTING, Home, Shelf, WORKSHOP_SETTING, aside, fresh_actor};
use crate::error::{HomeError, Kind};
use crate::store::{Batch, Table};

/// Entries that are durable now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Saved {
    /// The record or workshop.
    pub document: DocumentId,
    /// The entries, as they were given; some may have been held before.
    pub entries: Vec<EntryId>,
}

/// What became of changes from elsewhere; all of it durable now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Report {
    /// The record or workshop.
    pub document: DocumentId,
    /// Entries that were not held before.
    pub new: Vec<EntryId>,
    /// What was not taken, each with its rule and the way out; kept aside.
    pub refused: Vec<Refused>,
    /// Changes that are named and not here; what names them was not taken from this batch.
    pub unknown_deps: Vec<ChangeHash>,
    /// Entries held whose ground is not: they count once that has arrived.
    pub missing_ground: Vec<EntryId>,
    /// This home went over to the other's packing and packed the rest anew.
    pub repacked: bool,
}

/// Whether a batch is a whole document, from which one may start anew.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Batchwise {
    Part,
    /// A part, from a relay: what does not fit to one's own packing will be packed anew.
    Relay,
    Whole,
}

/// All that a write will change, made ready before it.
pub(super) struct Staged {
    pub(super) document: DocumentId,
    pub(super) number: u32,
    pub(super) held: Held,
    pub(super) batch: Batch,
    pub(super) actor: Option<gudgeon_core::document::Actor>,
    workshop: bool,
}

impl Home {
    /// Takes entries of one's own: when this answers `Ok` they are durable.
    ///
    /// A founding entry begins its document; a workshop's, in a home that has none, makes
    /// it the home's.
    ///
    /// # Errors
    /// [`HomeError`] if the gate refuses one, the document is not held, or the device does
    /// not write; none of them is then saved.
    pub fn commit(&mut self, document: DocumentId, entries: &[Entry]) -> Result<Saved, HomeError> {
        for entry in entries {
            let id = entry.id();
            entry::check(id, entry.value(), document).map_err(|refusal| Kind::Gate { id, refusal })?;
        }
        let founding = entries.iter().find(|entry| DocumentId::from(entry.id()) == document);
        let mut staged = self.stage(document, founding)?;
        let outcome = self.commit_staged(&mut staged, entries);
        self.settle(staged, outcome)?;
        tracing::info!(document = %document.short(), entries = entries.len(), "saved");
        Ok(Saved { document, entries: entries.iter().map(Entry::id).collect() })
    }

    fn commit_staged(&mut self, staged: &mut Staged, entries: &[Entry]) -> Result<(), HomeError> {
        let from = staged.held.document.len();
        let puts: Vec<(EntryId, &[u8])> = entries.iter().map(|entry| (entry.id(), entry.value())).collect();
        staged.held.document.commit(self.actor, &puts).map_err(Kind::from)?;
        stage_changes(&mut staged.batch, staged.number, &staged.held.document, from);
        self.write(&staged.batch)?;
        entries.iter().for_each(|entry| {
            staged.held.log.insert(entry);
        });
        Ok(())
    }

    /// Takes what is sound of raw changes from elsewhere, in any order, once or again.
    ///
    /// # Errors
    /// [`HomeError`] if the document is neither held nor founded by them, belongs to
    /// another workshop, or the device does not write. Unsound changes are no error: they
    /// are in the report and kept aside.
    pub fn receive<B: AsRef<[u8]>>(&mut self, document: DocumentId, raws: &[B]) -> Result<Report, HomeError> {
        self.take(document, raws, Batchwise::Part)
    }

    pub(super) fn take<B: AsRef<[u8]>>(
        &mut self,
        document: DocumentId,
        raws: &[B],
        batchwise: Batchwise,
    ) -> Result<Report, HomeError> {
        let founding = if self.holds(&document) { None } else { founding_in(document, raws) };
        let mut staged = self.stage(document, founding.as_ref())?;
        let outcome = self.take_staged(&mut staged, raws, batchwise);
        let report = self.settle(staged, outcome)?;
        tracing::info!(
            document = %document.short(),
            new = report.new.len(),
            refused = report.refused.len(),
            repacked = report.repacked,
            "taken in"
        );
        Ok(report)
    }

    fn take_staged<B: AsRef<[u8]>>(
        &mut self,
        staged: &mut Staged,
        raws: &[B],
        batchwise: Batchwise,
    ) -> Result<Report, HomeError> {
        let from = staged.held.document.len();
        let mut gate = Gate::new(staged.document, std::mem::take(&mut self.checked_ahead));
        let mut received = staged.held.document.receive(raws, &mut |id, value| gate.pass(id, value));
        let changes = legal(raws);
        let mut repacked = false;
        if batchwise == Batchwise::Whole && !(received.refused.is_empty() && received.unknown_deps.is_empty())
        {
            repacked = self.take_the_rest(staged, raws, &changes, &mut gate, &mut received)?;
        }
        if repacked {
            stage_anew(&mut staged.batch, staged.number, &staged.held.document);
        } else {
            stage_changes(&mut staged.batch, staged.number, &staged.held.document, from);
        }
        if staged.actor.is_none() && self.is_mismatched(&changes, &received) {
            staged.actor = Some(fresh_actor(self.world.as_ref())?);
        }
        let noted = |refused: &&Refused| batchwise != Batchwise::Relay || !is_packing(refused);
        let aside: Vec<Refused> = received.refused.iter().filter(noted).cloned().collect();
        self.stage_aside(staged, &changes, &aside)?;
        self.write_staged(staged)?;
        gate.fill(&mut staged.held.log, &received.new_entries);
        Ok(report(staged, received, repacked))
    }

    /// After a whole document some of whose changes were not taken: takes their sound
    /// entries all the same. Where the other's packing stands by itself and only does not
    /// fit to ours, goes over to it and packs what it lacks under a fresh actor; otherwise
    /// packs the sound entries under one's own. Answers whether it went over.
    fn take_the_rest<B: AsRef<[u8]>>(
        &self,
        staged: &mut Staged,
        raws: &[B],
        changes: &BTreeMap<ChangeHash, Change>,
        gate: &mut Gate,
        received: &mut Received,
    ) -> Result<bool, HomeError> {
        let mine = &mut staged.held.document;
        let (lacking, faults) = lacking(mine, changes, gate);
        let refused = &mut received.refused;
        refused.retain(|refused| refused.entry.is_some() || !changes.contains_key(&refused.change));
        let named: BTreeSet<_> = refused.iter().map(|refused| (refused.change, refused.entry)).collect();
        refused.extend(faults.into_iter().filter(|fault| !named.contains(&(fault.change, fault.entry))));
        if lacking.is_empty() {
            return Ok(false);
        }
        received.new_entries.extend(lacking.iter().map(|(id, _)| *id));
        let mut theirs = Document::new();
        theirs.receive(raws, &mut |id, value| gate.pass(id, value));
        if theirs.changes_from(0).iter().all(|change| mine.contains(&change.hash())) {
            mine.commit(self.actor, &lacking).map_err(Kind::from)?;
            return Ok(false);
        }
        let fresh = fresh_actor(self.world.as_ref())?;
        let (mut packed, _) = repack(mine, theirs, fresh).map_err(Kind::from)?;
        packed.commit(fresh, &lacking).map_err(Kind::from)?;
        *mine = packed;
        staged.actor = Some(fresh);
        Ok(true)
    }

    /// Whether somebody else's copy of this home has written: a change under our actor
    /// that we have not written came in.
    fn is_mismatched(&self, changes: &BTreeMap<ChangeHash, Change>, received: &Received) -> bool {
        let ours = |hash: &ChangeHash| changes.get(hash).is_some_and(|change| change.actor() == self.actor);
        received.accepted.iter().any(ours)
    }

    pub(super) fn stage_aside(
        &self,
        staged: &mut Staged,
        changes: &BTreeMap<ChangeHash, Change>,
        refused: &[Refused],
    ) -> Result<(), HomeError> {
        if refused.is_empty() {
            return Ok(());
        }
        let rows = self.store.scan(Table::Aside, &staged.number.to_be_bytes()).map_err(Kind::Unread)?;
        let now = self.world.now();
        aside::stage(&mut staged.batch, staged.number, &rows, refused, changes, now);
        Ok(())
    }

    pub(super) fn write_staged(&mut self, staged: &mut Staged) -> Result<(), HomeError> {
        if let Some(actor) = staged.actor {
            staged.batch.put(Table::Settings, ACTOR_SETTING.as_bytes(), actor.bytes());
        }
        if staged.batch.steps().is_empty() { Ok(()) } else { self.write(&staged.batch) }
    }

    /// Takes a document off its shelf to be worked on, or makes ready a new one.
    pub(super) fn stage(
        &mut self,
        document: DocumentId,
        founding: Option<&Entry>,
    ) -> Result<Staged, HomeError> {
        let mut batch = Batch::new();
        if self.holds(&document) {
            self.held(document)?;
            let shelf = self.shelves.get_mut(&document).ok_or(Kind::UnknownDocument(document))?;
            let held = *shelf.held.take().ok_or(Kind::UnknownDocument(document))?;
            return Ok(Staged { document, number: shelf.number, held, batch, actor: None, workshop: false });
        }
        let workshop = self.founds_workshop(document, founding)?;
        let number = self.shelves.values().map(|shelf| shelf.number + 1).max().unwrap_or(0);
        batch.put(Table::Documents, document.bytes(), &number.to_be_bytes());
        if workshop {
            batch.put(Table::Settings, WORKSHOP_SETTING.as_bytes(), document.bytes());
        }
        let held = Held::empty(document);
        Ok(Staged { document, number, held, batch, actor: None, workshop })
    }

    /// Whether a new document is this home's workshop; an error if it has no place here.
    fn founds_workshop(&self, document: DocumentId, founding: Option<&Entry>) -> Result<bool, HomeError> {
        let founding = founding.ok_or(Kind::UnknownDocument(document))?;
        let envelope = founding.envelope();
        let Ok(Payload::Founding(says)) = Payload::read(envelope.kind_code, &envelope.payload) else {
            return Err(Kind::BadFounding(document).into());
        };
        match (self.workshop, says.workshop) {
            (None, None) => Ok(true),
            (None, Some(_)) => Err(Kind::NoWorkshop.into()),
            (Some(own), Some(named)) if own == named => Ok(false),
            (Some(own), named) => Err(Kind::OtherWorkshop { own, found: named.unwrap_or(document) }.into()),
        }
    }

    /// Puts the document back as it is now, or, after an error, as it is in the store: it
    /// is read again when next asked for.
    pub(super) fn settle<T>(
        &mut self,
        staged: Staged,
        outcome: Result<T, HomeError>,
    ) -> Result<T, HomeError> {
        let Staged { document, number, held, actor, workshop, .. } = staged;
        let value = outcome?;
        self.actor = actor.unwrap_or(self.actor);
        if workshop {
            self.workshop = Some(document);
        }
        self.shelves.insert(document, Shelf { number, held: OnceCell::from(Box::new(held)) });
        Ok(value)
    }
}

/// Whether only the packing is at fault, not what it holds.
pub(super) fn is_packing(refused: &Refused) -> bool {
    let rules = [Rule::ActorTaken, Rule::FollowsRefused, Rule::OwnLast, Rule::StartOpFollows];
    refused.entry.is_none() && rules.iter().any(|rule| rule.name() == refused.rule)
}

fn report(staged: &Staged, received: Received, repacked: bool) -> Report {
    Report {
        document: staged.document,
        new: received.new_entries,
        refused: received.refused,
        unknown_deps: received.unknown_deps,
        missing_ground: staged.held.log.waiting().map(|statement| statement.id).collect(),
        repacked,
    }
}

/// The changes of a batch that are legal by themselves.
fn legal<B: AsRef<[u8]>>(raws: &[B]) -> BTreeMap<ChangeHash, Change> {
    let parsed = raws.iter().filter_map(|raw| parse(raw.as_ref()).ok());
    parsed.map(|change| (change.hash(), change)).collect()
}

/// Entries in these changes that the document has not: the sound ones, and the others.
fn lacking(
    document: &Document,
    changes: &BTreeMap<ChangeHash, Change>,
    gate: &mut Gate,
) -> (Vec<(EntryId, Vec<u8>)>, Vec<Refused>) {
    let mut lacking = BTreeMap::new();
    let mut faults = Vec::new();
    for (hash, put) in changes.values().flat_map(|change| change.puts().map(|put| (change.hash(), put))) {
        if document.entry(&put.id).is_some() {
            continue;
        }
        match gate.pass(put.id, put.value) {
            Ok(()) => {
                lacking.entry(put.id).or_insert_with(|| put.value.to_vec());
            }
            Err(Refusal { rule, hint }) => {
                faults.push(Refused { change: hash, entry: Some(put.id), rule, hint });
            }
        }
    }
    (lacking.into_iter().collect(), faults)
}

/// The founding entry of a document, if these changes hold it and it is sound.
pub(super) fn founding_in<B: AsRef<[u8]>>(document: DocumentId, raws: &[B]) -> Option<Entry> {
    let changes = legal(raws);
    let mut puts = changes.values().flat_map(Change::puts);
    let put = puts.find(|put| DocumentId::from(put.id) == document)?;
    entry::check(put.id, put.value, document).ok()
}
