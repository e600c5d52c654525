//! What a home does for its meetings with the relay.

use std::collections::BTreeSet;

use gudgeon_core::document::{ChangeHash, Document, Refused, parse, repack};
use gudgeon_core::entry::{DocumentId, EntryId, read_checked};
use gudgeon_core::log::Log;
use gudgeon_core::roster::Roster;

use super::load::{Gate, stage_anew};
use super::take::{Batchwise, Report, Staged};
use super::{Home, fresh_actor};
use crate::error::{HomeError, Kind};

impl Home {
    /// Raw changes that the relay lacks, each after those it names, up to `budget` bytes but
    /// at least one if there is any; by the relay's heads when last met.
    ///
    /// # Errors
    /// [`HomeError`] if the document is held and cannot be read.
    pub fn for_relay(&self, document: DocumentId, budget: usize) -> Result<Vec<Vec<u8>>, HomeError> {
        if !self.holds(&document) {
            return Ok(Vec::new());
        }
        let heads = self.relay_heads(document)?;
        let lacking = self.document(document)?.answer(&heads, budget);
        Ok(lacking.changes.iter().map(|change| change.raw().to_vec()).collect())
    }

    /// Entries that are only here, as far as the last meeting with the relay tells.
    ///
    /// # Errors
    /// [`HomeError`] if the document is not held or cannot be read.
    pub fn here_only(&self, document: DocumentId) -> Result<Vec<EntryId>, HomeError> {
        Ok(self.document(document)?.entries_beyond(&self.relay_heads(document)?))
    }

    /// Takes what the relay has given. Changes that only do not fit to one's own packing are not
    /// kept aside: packing anew settles them.
    ///
    /// # Errors
    /// As [`Home::receive`].
    pub fn receive_from_relay<B: AsRef<[u8]>>(
        &mut self,
        document: DocumentId,
        raws: &[B],
    ) -> Result<Report, HomeError> {
        self.take(document, raws, Batchwise::Relay)
    }

    /// Keeps what the relay refused of one's own, with its rule and the way out.
    ///
    /// # Errors
    /// [`HomeError`] if the document is not held or the device does not write.
    pub fn keep_refusals(
        &mut self,
        document: DocumentId,
        refused: &[Refused],
        sent: &[Vec<u8>],
    ) -> Result<(), HomeError> {
        let changes = sent.iter().filter_map(|raw| parse(raw).ok()).map(|change| (change.hash(), change));
        let mut staged = self.stage(document, None)?;
        let outcome = self.stage_aside(&mut staged, &changes.collect(), refused);
        let outcome = outcome.and_then(|()| self.write_staged(&mut staged));
        self.settle(staged, outcome)
    }

    /// Starts from the relay's whole document and packs there, under a fresh actor, every
    /// entry held here that it lacks, but for those in `left_out`: for when the relay does not
    /// take the changes they came in. Answers how many entries came by it.
    ///
    /// # Errors
    /// [`HomeError`] if the document is not held or the device does not write.
    pub fn repack_from<B: AsRef<[u8]>>(
        &mut self,
        document: DocumentId,
        relay: &[B],
        left_out: &BTreeSet<EntryId>,
    ) -> Result<usize, HomeError> {
        let mut staged = self.stage(document, None)?;
        let outcome = self.repack_staged(&mut staged, relay, left_out);
        let new = self.settle(staged, outcome)?;
        tracing::info!(document = %document.short(), new, "packed anew on the relay's document");
        Ok(new)
    }

    fn repack_staged<B: AsRef<[u8]>>(
        &mut self,
        staged: &mut Staged,
        relay: &[B],
        left_out: &BTreeSet<EntryId>,
    ) -> Result<usize, HomeError> {
        let mut gate = Gate::new(staged.document, BTreeSet::new());
        let mut theirs = Document::new();
        theirs.receive(relay, &mut |id, value| gate.pass(id, value));
        let mine = staged.held.document.entries().filter(|put| !left_out.contains(&put.id));
        let fresh = fresh_actor(self.world())?;
        let kept: Vec<(EntryId, Vec<u8>)> = mine.map(|put| (put.id, put.value.to_vec())).collect();
        let new: Vec<EntryId> = theirs
            .entries()
            .map(|put| put.id)
            .filter(|id| staged.held.document.entry(id).is_none())
            .collect();
        let (mut packed, _) = repack(&Document::new(), theirs, fresh).map_err(Kind::from)?;
        packed.commit(fresh, &kept).map_err(Kind::from)?;
        staged.held.document = packed;
        staged.actor = Some(fresh);
        staged.held.log = log_of(staged)?;
        stage_anew(&mut staged.batch, staged.number, &staged.held.document);
        self.write_staged(staged)?;
        Ok(new.len())
    }

    /// Records that the workshop lists, whether they are held or not.
    ///
    /// # Errors
    /// [`HomeError`] if the workshop is held and cannot be read.
    pub fn listed(&self) -> Result<BTreeSet<DocumentId>, HomeError> {
        let Some(workshop) = self.workshop() else { return Ok(BTreeSet::new()) };
        Ok(Roster::read(self.log(workshop)?).records().keys().copied().collect())
    }

    /// The relay's heads, as far as they are held here: those it is known to have.
    ///
    /// # Errors
    /// [`HomeError`] if the document is not held or the device does not write.
    pub fn met_relay(&mut self, document: DocumentId, heads: &[ChangeHash]) -> Result<(), HomeError> {
        if self.relay_heads(document)? == heads {
            return Ok(());
        }
        self.set_relay_heads(document, heads)
    }
}

/// The log of a document as it is packed now; everything in it has passed the gate.
fn log_of(staged: &Staged) -> Result<Log, HomeError> {
    let mut log = Log::new(staged.document);
    for put in staged.held.document.entries() {
        let entry = read_checked(put.id, put.value, staged.document)
            .map_err(|refusal| Kind::Gate { id: put.id, refusal })?;
        log.insert(&entry);
    }
    Ok(log)
}
