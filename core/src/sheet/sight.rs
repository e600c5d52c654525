//! What the sheet is gathered from, with the few questions that every part of it asks.

use std::collections::BTreeSet;

use super::chronology::chronology;
use super::date::Moment;
use super::model::Mention;
use crate::assess::{Assessment, Record, Workshop, may_see};
use crate::entry::payload::{Fitting, FittingState};
use crate::entry::{EntryId, Payload};
use crate::log::{Ix, Log, Statement};
use crate::roster::Roster;

/// Nothing is kept from the reader.
static NOTHING: BTreeSet<Ix> = BTreeSet::new();

/// Record, workshop and assessment, the order in which to tell, and what is kept from the reader.
pub(super) struct Sight<'a> {
    pub(super) record: &'a Record,
    pub(super) workshop: &'a Workshop,
    pub(super) assessment: &'a Assessment,
    told: Vec<Ix>,
    rank: Vec<usize>,
    hidden: &'a BTreeSet<Ix>,
}

impl<'a> Sight<'a> {
    pub(super) fn new(record: &'a Record, workshop: &'a Workshop, assessment: &'a Assessment) -> Self {
        let told = chronology(record.log());
        let mut rank = vec![0; told.len()];
        for (at, ix) in told.iter().enumerate() {
            rank[*ix as usize] = at;
        }
        Self { record, workshop, assessment, told, rank, hidden: &NOTHING }
    }

    /// The same without the values of these readings, and without what follows from them.
    pub(super) fn without(self, hidden: &'a BTreeSet<Ix>) -> Self {
        Self { hidden, ..self }
    }

    pub(super) const fn hidden(&self) -> &'a BTreeSet<Ix> {
        self.hidden
    }

    /// Whether the reader may see what all of these say.
    pub(super) fn may_see(&self, entries: &[Ix]) -> bool {
        may_see(self.hidden, entries)
    }

    pub(super) const fn log(&self) -> &'a Log {
        self.record.log()
    }

    pub(super) const fn roster(&self) -> &'a Roster {
        self.workshop.roster()
    }

    /// The folded entries in the order of telling.
    pub(super) fn told(&self) -> impl DoubleEndedIterator<Item = (Ix, &'a Statement)> + '_ {
        self.told.iter().map(|ix| (*ix, self.log().at(*ix)))
    }

    /// Those whose content can be read.
    pub(super) fn said(&self) -> impl DoubleEndedIterator<Item = (Ix, &'a Payload)> + '_ {
        self.told().filter_map(|(ix, statement)| Some((ix, statement.payload.as_ref().ok()?)))
    }

    /// Those of them that stand.
    pub(super) fn standing(&self) -> impl DoubleEndedIterator<Item = (Ix, &'a Payload)> + '_ {
        self.said().filter(|(ix, _)| self.assessment.status(*ix).stands())
    }

    /// Place in the order of telling.
    pub(super) fn rank(&self, ix: Ix) -> usize {
        self.rank[ix as usize]
    }

    /// Who made an entry, when by their device, and its name.
    pub(super) fn mention(&self, ix: Ix) -> Mention {
        let statement = self.log().at(ix);
        Mention { who: self.author(ix), when: Moment(statement.device_time), entry: statement.id }
    }

    /// As [`Sight::mention`], by id; none where the entry is not folded.
    pub(super) fn mention_of(&self, id: EntryId) -> Option<Mention> {
        self.log().place(&id).map(|ix| self.mention(ix))
    }

    /// Whether an entry says that a part is fitted, not merely allotted.
    pub(super) fn is_fitted(&self, ix: Ix) -> bool {
        let fitted = |f: &Fitting| f.state == FittingState::Fitted;
        matches!(&self.log().at(ix).payload, Ok(Payload::Fitting(fitting)) if fitted(fitting))
    }

    pub(super) fn author(&self, ix: Ix) -> String {
        let person = self.assessment.person(ix);
        person.map_or_else(|| "somebody unknown".to_owned(), |person| self.name(person))
    }

    /// Name of a person; their id where the workshop does not say.
    pub(super) fn name(&self, person: EntryId) -> String {
        self.roster().name_of(person).map_or_else(|| format!("person {}", person.short()), str::to_owned)
    }
}
