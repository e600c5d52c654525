//! A record with its workshop and all that follows from them, kept up to date entry by entry.

use std::collections::{BTreeMap, BTreeSet};

use gudgeon_client::HomeError;
use gudgeon_client::home::Home;
use gudgeon_core::assess::{Assessment, Record, Workshop, assess, founding_id};
use gudgeon_core::entry::{DocumentId, EntryId, KeyId, Payload, read_checked};
use gudgeon_core::log::Log;

use super::blind::Firsts;
use super::desk::Where;

/// See the [module](self).
pub struct Sight {
    document: DocumentId,
    /// The record's entries.
    pub record: Record,
    /// The workshop's.
    pub workshop: Workshop,
    /// What follows from them.
    pub assessment: Assessment,
    firsts: Firsts,
    here: BTreeSet<EntryId>,
    refused: BTreeMap<EntryId, String>,
    revision: u64,
}

impl Sight {
    pub(super) fn of(home: &Home, document: DocumentId) -> Result<Self, HomeError> {
        let workshop = workshop(home)?;
        let record = Record::read(home.log(document)?.clone());
        let assessment = assess(&record, &workshop);
        let (firsts, here, refused) = (Firsts::of(&assessment), BTreeSet::new(), BTreeMap::new());
        let mut sight = Self { document, record, workshop, assessment, firsts, here, refused, revision: 0 };
        sight.look_where(home)?;
        Ok(sight)
    }

    /// Takes in what the home has got since.
    pub(super) fn catch_up(&mut self, home: &Home) -> Result<(), HomeError> {
        let held = home.document(self.document)?;
        let new = held.entries().filter(|put| !self.record.log().holds(&put.id));
        // They have passed the gate on their way into the home.
        let new: Vec<_> = new.filter_map(|put| read_checked(put.id, put.value, self.document).ok()).collect();
        new.iter().for_each(|entry| self.record.insert(entry));
        let now = home.workshop().map(|id| home.log(id)).transpose()?.map_or(0, |log| log.folded().len());
        if now != self.workshop.log().folded().len() {
            self.workshop = workshop(home)?;
        }
        self.assessment.update(&self.record, &self.workshop);
        self.firsts = Firsts::of(&self.assessment);
        self.revision += 1;
        self.look_where(home)
    }

    fn look_where(&mut self, home: &Home) -> Result<(), HomeError> {
        self.here = home.here_only(self.document)?.into_iter().collect();
        let aside = home.aside(self.document)?.into_iter();
        self.refused = aside
            .filter_map(|aside| Some((aside.entry?, format!("{}: {}", aside.rule, aside.hint))))
            .collect();
        Ok(())
    }

    /// Goes up whenever there may be something new: what was made from an older one is made anew.
    #[must_use]
    pub const fn revision(&self) -> u64 {
        self.revision
    }

    /// What one person has read alone, of what two are to read.
    pub(super) const fn firsts(&self) -> &Firsts {
        &self.firsts
    }

    /// The entries.
    #[must_use]
    pub const fn log(&self) -> &Log {
        self.record.log()
    }

    /// Whether an entry is by the person whose key this is.
    #[must_use]
    pub fn is_by(&self, entry: &EntryId, key: KeyId) -> bool {
        let by = self.log().get(entry).map(|statement| statement.key);
        by.is_some_and(|by| self.workshop.roster().same_person(by, key))
    }

    /// How many are only on this phone.
    #[must_use]
    pub fn here_only(&self) -> usize {
        self.here.len()
    }

    pub(super) fn whereabouts(&self, entry: EntryId) -> Where {
        match (self.here.contains(&entry), self.refused.get(&entry)) {
            (true, Some(why)) => Where::Refused(why.clone()),
            (true, None) => Where::Here,
            (false, _) => Where::Office,
        }
    }
}

fn workshop(home: &Home) -> Result<Workshop, HomeError> {
    let log = home.workshop().map(|id| home.log(id)).transpose()?;
    Ok(Workshop::read(log.cloned().unwrap_or_else(|| Log::new(DocumentId::new([0; 32])))))
}

/// The name that a document was founded under.
pub(super) fn name_of(log: &Log) -> String {
    match log.get(&founding_id(log)).map(|statement| &statement.payload) {
        Some(Ok(Payload::Founding(founding))) => founding.name.clone(),
        Some(Ok(_) | Err(_)) | None => log.document().short(),
    }
}
