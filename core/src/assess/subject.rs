//! One feature of one part: all readings of it, and what each station comes to.

use std::cmp::Ordering;
use std::sync::Arc;

use super::judged::Judged;
use super::order::Orders;
use super::sized::Sized;
use super::standing::{Candidate, Standing, Value, stand};
use super::status::{PersonId, Status};
use crate::engine::{Characteristic, Feature, What};
use crate::log::{Ix, Log};

/// Place of a subject in the fold.
pub(super) type SubjectIx = usize;

/// A reading that could be sized.
#[derive(Clone, Debug)]
pub struct Taken {
    /// Its entry.
    pub ix: Ix,
    /// Who read it.
    pub person: PersonId,
    /// What is read.
    pub row: &'static Characteristic,
    /// As a size.
    pub sized: Sized,
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
    pub conditions: Vec<Arc<str>>,
    /// Whether those are the conditions the characteristic needs.
    pub fit: bool,
    /// Every reading of it that counts, in order of arrival, whether it stands or not.
    pub readings: Vec<Taken>,
    /// What the readings come to.
    pub standing: Standing,
}

impl Slot {
    fn is_at(&self, (name, station, conditions): (&str, &str, &[&str])) -> Ordering {
        let here = self.row.name.cmp(name).then_with(|| (*self.station).cmp(station));
        here.then_with(|| self.conditions.iter().map(|c| &**c).cmp(conditions.iter().copied()))
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

    /// Files a reading with its station; `conditions` are sorted.
    pub(super) fn file(&mut self, taken: Taken, station: &str, conditions: &[&str], fit: bool) {
        let key = (taken.row.name, station, conditions);
        match self.slots.binary_search_by(|slot| slot.is_at(key)) {
            Ok(at) => self.slots[at].readings.push(taken),
            Err(at) => {
                let slot = Slot {
                    row: taken.row,
                    station: Arc::from(station),
                    conditions: conditions.iter().map(|c| Arc::from(*c)).collect(),
                    fit,
                    readings: vec![taken],
                    standing: Standing::Empty,
                };
                self.slots.insert(at, slot);
            }
        }
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
                    Ok(undecided) => candidates.push(candidate(taken, undecided, around.log)),
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

fn candidate<'a>(taken: &'a Taken, undecided: Vec<Ix>, log: &Log) -> Candidate<'a> {
    Candidate { ix: taken.ix, id: log.at(taken.ix).id, person: taken.person, sized: &taken.sized, undecided }
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
