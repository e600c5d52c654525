//! The standing value of one station: what the readings of it come to.
//!
//! Per person the latest known reading stands; a person's own concurrent readings must be
//! compatible. Across people the largest group of mutually compatible values speaks,
//! counted in persons; a tie stays disputed; one person alone stands.

use std::collections::BTreeMap;

use super::order::latest;
use super::sized::{Common, Sized};
use super::status::{PersonId, Status};
use crate::entry::EntryId;
use crate::log::{Ix, Log};
use crate::measure::{Agreement, Reason, Uncertainty, compatible, largest_group, mean, of_group};

/// More concurrent readings than this are disputed without search.
const MOST: usize = 12;

/// A reading that neither work nor a void has touched.
#[derive(Clone, Debug)]
pub(super) struct Candidate<'a> {
    pub(super) ix: Ix,
    pub(super) id: EntryId,
    pub(super) person: PersonId,
    pub(super) sized: &'a Sized,
    /// Work of which it is not known whether it came before or after.
    pub(super) undecided: Vec<Ix>,
}

/// What the readings of one station come to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    /// A value stands.
    Value(Value),
    /// Readings differ by more than their gauges explain; these.
    Disputed(Vec<Ix>),
    /// Nothing stands for certain: these readings may be from before or after these operations.
    Undecided(Vec<Ix>, Vec<Ix>),
    /// Nothing is left.
    Empty,
}

/// A standing value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Value {
    /// At 20 degC where that matters, in base units.
    pub value: i64,
    /// As read, where one reading alone stands.
    pub as_read: Option<i64>,
    /// Standard uncertainty, where known.
    pub u: Option<Uncertainty>,
    /// Shared error, where all readings go back to one standard.
    pub common: Option<Common>,
    /// Why it is not corrected for a temperature that matters; none: it is.
    pub uncorrected: Option<Reason>,
    /// The readings it rests on, by id.
    pub readings: Vec<Ix>,
    /// How many persons.
    pub persons: usize,
}

/// One person's say.
struct Say<'a> {
    readings: Vec<&'a Candidate<'a>>,
    value: i64,
    u: Option<Uncertainty>,
}

/// Finds the standing value, and what became of each candidate.
pub(super) fn stand(log: &Log, candidates: &[Candidate]) -> (Standing, Vec<(Ix, Status)>) {
    let mut statuses = Vec::with_capacity(candidates.len());
    let newest = newest_by_person(log, candidates, &mut statuses);
    let decided: Vec<&Candidate> = newest.iter().filter(|c| c.undecided.is_empty()).copied().collect();
    let open: Vec<&Candidate> = newest.iter().filter(|c| !c.undecided.is_empty()).copied().collect();
    statuses.extend(open.iter().map(|c| (c.ix, Status::Undecided(c.undecided.clone()))));
    if decided.is_empty() {
        return (undecided(log, &open), statuses);
    }
    let (standing, losers) = among(&decided);
    statuses.extend(decided.iter().map(|c| (c.ix, fate(c, &standing, &losers))));
    (standing, statuses)
}

fn fate(candidate: &Candidate, standing: &Standing, outvoted: &[Ix]) -> Status {
    match standing {
        Standing::Disputed(_) => Status::Disputed,
        Standing::Value(_) if outvoted.contains(&candidate.ix) => Status::Outvoted,
        Standing::Value(_) | Standing::Undecided(..) | Standing::Empty => Status::Stands,
    }
}

fn undecided(log: &Log, open: &[&Candidate]) -> Standing {
    if open.is_empty() {
        return Standing::Empty;
    }
    let mut work: Vec<Ix> = open.iter().flat_map(|c| c.undecided.iter().copied()).collect();
    work.sort_unstable_by_key(|ix| log.at(*ix).id);
    work.dedup();
    Standing::Undecided(open.iter().map(|c| c.ix).collect(), work)
}

/// Leaves each person's latest known readings; the others are superseded. By id.
fn newest_by_person<'a>(
    log: &Log,
    candidates: &'a [Candidate<'a>],
    statuses: &mut Vec<(Ix, Status)>,
) -> Vec<&'a Candidate<'a>> {
    let mut left = Vec::with_capacity(candidates.len());
    for candidate in candidates {
        let later = candidates
            .iter()
            .filter(|other| other.person == candidate.person && log.knows(other.ix, candidate.ix))
            .map(|other| other.ix);
        match latest(log, later).first() {
            Some(by) => statuses.push((candidate.ix, Status::Superseded(*by))),
            None => left.push(candidate),
        }
    }
    left.sort_unstable_by_key(|c| c.id);
    left
}

/// The standing value among decided readings, and those that are outvoted.
fn among(decided: &[&Candidate]) -> (Standing, Vec<Ix>) {
    let disputed = || Standing::Disputed(decided.iter().map(|c| c.ix).collect());
    if decided.len() > MOST {
        return (disputed(), Vec::new());
    }
    let mut by_person: BTreeMap<PersonId, Vec<&Candidate>> = BTreeMap::new();
    for candidate in decided {
        by_person.entry(candidate.person).or_default().push(candidate);
    }
    let Some(says) = by_person.into_values().map(say).collect::<Option<Vec<Say>>>() else {
        return (disputed(), Vec::new());
    };
    if let [alone] = &says[..] {
        return (value(&[alone]).map_or_else(disputed, Standing::Value), Vec::new());
    }
    match group(&says) {
        Some(members) => {
            let inside: Vec<&Say> = members.iter().map(|at| &says[*at]).collect();
            let outside = says.iter().enumerate().filter(|(at, _)| !members.contains(at));
            let losers = outside.flat_map(|(_, say)| say.readings.iter().map(|c| c.ix)).collect();
            (value(&inside).map_or_else(disputed, Standing::Value), losers)
        }
        None => (disputed(), Vec::new()),
    }
}

/// What one person says; none where their own readings cannot all be right.
fn say<'a>(readings: Vec<&'a Candidate<'a>>) -> Option<Say<'a>> {
    if let [one] = &readings[..] {
        let (value, u) = (one.sized.value, one.sized.u);
        return Some(Say { readings, value, u });
    }
    let sizes: Vec<(i64, Uncertainty)> =
        readings.iter().map(|c| Some((c.sized.value, c.sized.u?))).collect::<Option<_>>()?;
    let fits = |a: &(i64, Uncertainty), b: &(i64, Uncertainty)| {
        compatible((a.0, a.1.expanded()), (b.0, b.1.expanded()))
    };
    if !sizes.iter().all(|a| sizes.iter().all(|b| fits(a, b))) {
        return None;
    }
    let values: Vec<i64> = sizes.iter().map(|(value, _)| *value).collect();
    let us: Vec<Uncertainty> = sizes.iter().map(|(_, u)| *u).collect();
    Some(Say { readings, value: mean(&values)?, u: of_group(&us).ok() })
}

/// The group that speaks: places among `says`. A say without uncertainty is in no group.
fn group(says: &[Say]) -> Option<Vec<usize>> {
    let (places, values): (Vec<usize>, Vec<_>) =
        says.iter().enumerate().filter_map(|(at, say)| Some((at, (say.value, say.u?.expanded())))).unzip();
    match largest_group(&values).ok()? {
        Agreement::Group(members) => Some(members.into_iter().map(|at| places[at]).collect()),
        Agreement::Tie | Agreement::Apart => None,
    }
}

fn value(says: &[&Say]) -> Option<Value> {
    let mut readings: Vec<&Candidate> = says.iter().flat_map(|say| say.readings.iter().copied()).collect();
    readings.sort_unstable_by_key(|c| c.id);
    // Summed in the order of the persons' first readings, so that the mean is everywhere the same.
    let mut in_order: Vec<&&Say> = says.iter().collect();
    in_order.sort_unstable_by_key(|say| say.readings.iter().map(|c| c.id).min());
    let values: Vec<i64> = in_order.iter().map(|say| say.value).collect();
    let us: Option<Vec<Uncertainty>> = in_order.iter().map(|say| say.u).collect();
    Some(Value {
        value: mean(&values)?,
        as_read: if let [one] = &readings[..] { Some(one.sized.as_read) } else { None },
        u: us.and_then(|us| if let [u] = us[..] { Some(u) } else { of_group(&us).ok() }),
        common: common(&readings),
        uncorrected: readings.iter().filter_map(|c| c.sized.correction.hinders()).max(),
        persons: says.len(),
        readings: readings.iter().map(|c| c.ix).collect(),
    })
}

/// The error that all the readings share: one standard, its smallest part.
fn common(readings: &[&Candidate]) -> Option<Common> {
    let first = readings.first()?.sized.common.as_ref()?;
    let same = |c: &&Candidate| c.sized.common.as_ref().is_some_and(|c| c.mark == first.mark);
    readings.iter().all(same).then(|| first.clone())
}
