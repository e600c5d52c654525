//! The exchange of one document, round by round.

use std::collections::BTreeSet;

use gudgeon_core::document::{ChangeHash, Document, Refused, parse};
use gudgeon_core::entry::{DocumentId, EntryId};

use super::{Exchanged, Met};
use crate::error::HomeError;
use crate::home::Home;

/// Bytes of changes in one request.
const PAGE: usize = 2 * 1024 * 1024;

/// Heads named in one request.
const HEADS: usize = 512;

/// Times that a home packs its entries anew in one meeting. Once settles a squatted or
/// mismatched actor; a second time what arrived in between.
const REPACKS: u32 = 3;

/// Rounds without anything new, after which a relay is taken to be no use.
const IDLE: u32 = 3;

/// One document on its way through the exchange.
#[derive(Debug)]
pub(super) struct Meeting {
    pub(super) document: DocumentId,
    /// Entries that were only here when it began; not known before the relay has named its heads.
    here_before: Option<usize>,
    /// Entries sent on top of what the relay turned out not to have any more.
    sent_on_sand: BTreeSet<EntryId>,
    came: usize,
    refused: Vec<Refused>,
    repacked: u32,
    idle: u32,
    /// Entries that the relay refuses: not packed again.
    left_out: BTreeSet<EntryId>,
    sent: Vec<Vec<u8>>,
    /// The relay's document, while it is fetched from its beginning.
    whole: Option<Document>,
}

/// What to do next.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Next {
    /// Ask once more.
    Again,
    /// All is exchanged, or cannot be.
    Over,
}

impl Meeting {
    pub(super) fn new(home: &Home, document: DocumentId) -> Result<Self, HomeError> {
        // A home that never met this relay, or had the document by hand, asks before it sends everything.
        let known = !home.holds(&document) || !home.relay_heads(document)?.is_empty();
        let here_before = if known { Some(here_only(home, document)?) } else { None };
        Ok(Self {
            document,
            here_before,
            sent_on_sand: BTreeSet::new(),
            came: 0,
            refused: Vec::new(),
            repacked: 0,
            idle: 0,
            left_out: BTreeSet::new(),
            sent: Vec::new(),
            whole: None,
        })
    }

    /// Heads and changes of the next request.
    pub(super) fn request(&mut self, home: &Home) -> Result<(Vec<ChangeHash>, Vec<Vec<u8>>), HomeError> {
        if let Some(whole) = &self.whole {
            return Ok((bounded(whole.heads()), Vec::new()));
        }
        if !home.holds(&self.document) {
            return Ok((Vec::new(), Vec::new()));
        }
        self.sent = match self.here_before {
            Some(_) => home.for_relay(self.document, PAGE)?,
            None => Vec::new(),
        };
        let mut heads = home.relay_heads(self.document)?;
        heads.extend(home.document(self.document)?.heads());
        Ok((bounded(heads), self.sent.clone()))
    }

    /// Takes an answer in.
    pub(super) fn answered(&mut self, home: &mut Home, answer: &Exchanged) -> Result<Next, HomeError> {
        if self.whole.is_some() {
            return self.more_of_the_whole(home, answer);
        }
        let before = self.standing(home)?;
        let fits = self.take(home, answer)?;
        if !home.holds(&self.document) {
            return Ok(Next::Over);
        }
        if self.has_lost_some(home, answer)? {
            self.here_before = None;
            self.sent_on_sand.extend(self.sent.iter().flat_map(|raw| entries_of(raw)));
        }
        self.note(home, answer)?;
        // While there is more to come it may name what is here.
        if self.here_before.is_none() && !answer.more {
            self.here_before = Some(self.were_only_here(home)?);
        }
        let refused = !answer.refused.is_empty();
        if (refused || !fits) && self.repacked < REPACKS {
            self.repacked += 1;
            self.whole = Some(Document::new());
            return Ok(Next::Again);
        }
        let moved = self.standing(home)? != before;
        self.idle = if moved { 0 } else { self.idle + 1 };
        let pending = !home.for_relay(self.document, 1)?.is_empty();
        let again = (answer.more || pending) && self.idle < IDLE;
        Ok(if again { Next::Again } else { Next::Over })
    }

    /// Whether the relay has forgotten what it had: it was wiped, or put back as it once was.
    fn has_lost_some(&self, home: &Home, answer: &Exchanged) -> Result<bool, HomeError> {
        let known = home.relay_heads(self.document)?;
        Ok(known.iter().any(|head| answer.unknown.contains(head)))
    }

    /// How many entries the relay did not have before, now that it is known what it has.
    fn were_only_here(&self, home: &Home) -> Result<usize, HomeError> {
        let here: BTreeSet<EntryId> = home.here_only(self.document)?.into_iter().collect();
        Ok(here.len() + self.sent_on_sand.difference(&here).count())
    }

    /// How far it has come: another answer must change something.
    fn standing(&self, home: &Home) -> Result<(usize, Vec<ChangeHash>), HomeError> {
        if !home.holds(&self.document) {
            return Ok((0, Vec::new()));
        }
        Ok((home.document(self.document)?.len(), home.relay_heads(self.document)?))
    }

    /// Takes the changes of an answer; whether they all fit to what is here.
    fn take(&mut self, home: &mut Home, answer: &Exchanged) -> Result<bool, HomeError> {
        if answer.changes.is_empty() {
            return Ok(true);
        }
        let report = home.receive_from_relay(self.document, &answer.changes)?;
        self.came += report.new.len();
        let entries = report.refused.iter().filter(|refused| refused.entry.is_some());
        self.refused.extend(entries.cloned());
        Ok(report.refused.is_empty() && report.unknown_deps.is_empty())
    }

    /// Keeps what the relay is now known to have, and what it refused.
    fn note(&mut self, home: &mut Home, answer: &Exchanged) -> Result<(), HomeError> {
        if !answer.refused.is_empty() {
            home.keep_refusals(self.document, &answer.refused, &self.sent)?;
            self.left_out.extend(answer.refused.iter().filter_map(|refused| refused.entry));
            self.refused.extend(answer.refused.iter().cloned());
        }
        let heads = self.known_at_relay(home, answer)?;
        home.met_relay(self.document, &heads)
    }

    /// Changes held here that the relay is known to have, without those that others of them name.
    fn known_at_relay(&self, home: &Home, answer: &Exchanged) -> Result<Vec<ChangeHash>, HomeError> {
        let document = home.document(self.document)?;
        let held = |hash: &ChangeHash| document.contains(hash);
        if answer.heads.iter().all(held) {
            return Ok(answer.heads.clone());
        }
        // There is more to come: what is known until then is what came, and what was known.
        let lost: BTreeSet<&ChangeHash> = answer.unknown.iter().collect();
        let before = home.relay_heads(self.document)?.into_iter().filter(|head| !lost.contains(head));
        let came = answer.changes.iter().filter_map(|raw| Some(parse(raw).ok()?.hash()));
        let all: BTreeSet<ChangeHash> =
            before.chain(came).chain(answer.heads.iter().copied()).filter(held).collect();
        let named: BTreeSet<ChangeHash> = all
            .iter()
            .filter_map(|hash| document.change(hash))
            .flat_map(|change| change.deps().iter().copied())
            .collect();
        Ok(all.difference(&named).copied().collect())
    }

    /// Another page of the relay's whole document; after the last one packs anew.
    fn more_of_the_whole(&mut self, home: &mut Home, answer: &Exchanged) -> Result<Next, HomeError> {
        let Some(mut whole) = self.whole.take() else { return Ok(Next::Again) };
        let before = whole.len();
        whole.receive(&answer.changes, &mut |_, _| Ok(()));
        if answer.more && whole.len() > before {
            self.whole = Some(whole);
            return Ok(Next::Again);
        }
        let raws: Vec<&[u8]> = whole.changes_from(0).iter().map(|change| change.raw()).collect();
        self.came += home.repack_from(self.document, &raws, &self.left_out)?;
        home.met_relay(self.document, &whole.heads())?;
        Ok(Next::Again)
    }

    /// What it came to.
    pub(super) fn end(self, home: &Home) -> Result<Met, HomeError> {
        let here_only = here_only(home, self.document)?;
        Ok(Met {
            document: self.document,
            came: self.came,
            went: self.here_before.unwrap_or(here_only).saturating_sub(here_only),
            refused: self.refused,
            repacked: self.repacked,
            here_only,
        })
    }
}

/// How many entries of a document the relay is not known to have.
fn here_only(home: &Home, document: DocumentId) -> Result<usize, HomeError> {
    if home.holds(&document) { Ok(home.here_only(document)?.len()) } else { Ok(0) }
}

fn entries_of(raw: &[u8]) -> Vec<EntryId> {
    parse(raw).map(|change| change.puts().map(|put| put.id).collect()).unwrap_or_default()
}

fn bounded(mut heads: Vec<ChangeHash>) -> Vec<ChangeHash> {
    heads.sort_unstable();
    heads.dedup();
    heads.truncate(HEADS);
    heads
}
