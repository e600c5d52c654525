//! One feature of one part: all readings of it, and what each station comes to.

use std::sync::Arc;

use super::judged::Judged;
use super::order::Orders;
use super::remark::Remark;
use super::sized::Sized;
use super::spot::{Spot, SpotNumber};
use super::standing::{Candidate, Standing, Value, stand};
use super::status::{PersonId, Status};
use crate::engine::{Characteristic, Feature, What};
use crate::entry::EntryId;
use crate::log::{Ix, Log};

/// Place of a subject in the fold.
pub(super) type SubjectIx = usize;

/// A reading that could be sized.
#[derive(Clone, Debug)]
pub struct Taken {
    /// Its entry.
    pub ix: Ix,
    /// The entry's name.
    pub id: EntryId,
    /// Who read it.
    pub person: PersonId,
    /// What is read.
    pub row: &'static Characteristic,
    /// As a size.
    pub sized: Sized,
    /// What there is to say of it and its gauge.
    pub remarks: Vec<Remark>,
}

/// Work that ends readings of a subject.
#[derive(Clone, Debug)]
pub(super) struct Ending {
    pub(super) by: Ix,
    /// What of the feature it ends.
    pub(super) what: What,
}

impl Ending {
    fn reaches(&self, row: &Characteristic) -> bool {
        self.what.ends_reading(row.name)
    }
}

/// One station under one set of conditions.
#[derive(Clone, Debug)]
pub struct Slot {
    /// What is read.
    pub row: &'static Characteristic,
    /// Where.
    pub station: Arc<str>,
    /// Under which conditions, sorted.
    pub conditions: Arc<[Arc<str>]>,
    /// Whether those are the conditions the characteristic needs, and the gauge shows a size.
    pub fit: bool,
    /// Whether the gauges it was read with show a size at all: such readings are kept apart.
    pub shows: bool,
    /// Every reading of it that counts, in order of arrival, whether it stands or not.
    pub readings: Vec<Taken>,
    /// What the readings come to.
    pub standing: Standing,
    /// Number of the spot its readings are of.
    pub(super) spot: SpotNumber,
}

impl Slot {
    fn key(&self) -> (&str, &str, &[Arc<str>], bool) {
        (self.row.name, &self.station, &self.conditions, !self.shows)
    }

    /// The standing value, if one stands.
    #[must_use]
    pub const fn value(&self) -> Option<&Value> {
        match &self.standing {
            Standing::Value(value) => Some(value),
            Standing::Disputed(_) | Standing::Undecided(..) | Standing::Empty => None,
        }
    }
}

/// One feature of one part.
#[derive(Clone, Debug)]
pub(super) struct Subject {
    pub(super) feature: Feature,
    pub(super) part: Arc<str>,
    pub(super) endings: Vec<Ending>,
    /// Everything that was read, by characteristic, station and conditions.
    pub(super) slots: Vec<Slot>,
    pub(super) judged: Vec<Judged>,
}

/// What a subject needs to know of the rest of the record.
pub(super) struct Around<'a> {
    pub(super) log: &'a Log,
    pub(super) orders: &'a Orders,
    /// Which void, failed gauge check or other end outside of this subject reaches an entry.
    pub(super) outer: &'a dyn Fn(Ix) -> Option<Status>,
}

impl Subject {
    pub(super) fn new(feature: Feature, part: &str) -> Self {
        Self { feature, part: Arc::from(part), endings: Vec::new(), slots: Vec::new(), judged: Vec::new() }
    }

    /// Files a reading at its spot.
    pub(super) fn file(&mut self, taken: Taken, number: SpotNumber, spot: &Spot) {
        let shows = !taken.remarks.contains(&Remark::ShowsNothing);
        if let Some(slot) = self.slots.iter_mut().find(|slot| slot.spot == number && slot.shows == shows) {
            return slot.readings.push(taken);
        }
        // Most stations are read more than once: by two people, before and after work.
        let mut readings = Vec::with_capacity(4);
        readings.push(taken);
        let slot = Slot {
            row: spot.row,
            station: Arc::clone(&spot.station),
            conditions: Arc::clone(&spot.conditions),
            fit: spot.fit && shows,
            shows,
            readings,
            standing: Standing::Empty,
            spot: number,
        };
        let at = self.slots.partition_point(|other| other.key() < slot.key());
        self.slots.insert(at, slot);
    }

    /// A filed reading.
    pub(super) fn reading(&self, ix: Ix) -> Option<&Taken> {
        self.slots.iter().flat_map(|slot| &slot.readings).find(|taken| taken.ix == ix)
    }

    /// Computes what each station comes to anew; returns what became of each reading.
    pub(super) fn settle(&mut self, around: &Around) -> Vec<(Ix, Status)> {
        let mut statuses = Vec::new();
        let stands = |ending: &&Ending| (around.outer)(ending.by).is_none();
        let endings: Vec<&Ending> = self.endings.iter().filter(stands).collect();
        for slot in &mut self.slots {
            let work: Vec<Ix> = endings.iter().filter(|e| e.reaches(slot.row)).map(|e| e.by).collect();
            let mut candidates = Vec::with_capacity(slot.readings.len());
            for taken in &slot.readings {
                match fate(taken.ix, &work, around) {
                    Ok(undecided) => candidates.push(candidate(taken, undecided)),
                    Err(status) => statuses.push((taken.ix, status)),
                }
            }
            let (standing, fates) = stand(around.log, &candidates);
            statuses.extend(fates);
            slot.standing = standing;
        }
        statuses
    }
}

const fn candidate(taken: &Taken, undecided: Vec<Ix>) -> Candidate<'_> {
    Candidate { ix: taken.ix, id: taken.id, person: taken.person, sized: &taken.sized, undecided }
}

/// What ended a reading, or else the work of which it is not known; `work` is what reaches it.
fn fate(reading: Ix, work: &[Ix], around: &Around) -> Result<Vec<Ix>, Status> {
    let doubt = match (around.outer)(reading) {
        Some(doubt @ Status::Doubtful(_)) => Some(doubt),
        Some(status) => return Err(status),
        None => None,
    };
    match (around.orders.after_work(around.log, reading, work.iter().copied()), doubt) {
        // What work has ended is past: only what would still speak is in doubt.
        (Err(by), _) => Err(Status::Ended(by)),
        (Ok(_), Some(doubt)) => Err(doubt),
        (Ok(unsettled), None) => Ok(unsettled),
    }
}
