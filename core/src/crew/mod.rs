//! Who is on what: the steps that each person is given, the steps they have in hand, what they last did.
//!
//! Read from the entries alone, and nothing follows from it: a step that one is given and another works on
//! is told, not found fault with. Device times decide nothing here but which of two entries that one person
//! made on two phones, each apart from the other, is shown as the last.

mod cautions;
mod next;
mod serves;
mod way;

use std::collections::{BTreeMap, BTreeSet};

use crate::assess::{Assessment, PersonId, Progress, Record, Status, Workshop};
use crate::entry::payload::{FittingState, Meaning, Payload};
use crate::log::{Ix, Log};
pub use cautions::{cautions, cautions_ahead};
pub use next::{HEADINGS, cause, few, is_for, missing, next, under};
use serves::Serves;
pub use way::{Way, decision_on};

/// Everybody, and what they are on.
#[derive(Clone, Debug, Default)]
pub struct Crew {
    /// By step: who worked on it.
    hands: Vec<BTreeSet<PersonId>>,
    /// By step: who it is given to.
    given: Vec<Option<PersonId>>,
    /// By step: whether it is signed.
    signed: Vec<bool>,
    /// By person: the last they entered, and the step it was for.
    last: BTreeMap<PersonId, (Ix, Option<usize>)>,
}

impl Crew {
    /// Reads who is on what; nobody is on anything while the record holds no usable definition.
    #[must_use]
    pub fn read(record: &Record, workshop: &Workshop, assessment: &Assessment) -> Self {
        let steps = assessment.steps();
        let mut crew = Self {
            hands: vec![BTreeSet::new(); steps.len()],
            given: steps.iter().map(|step| step.assigned).collect(),
            signed: steps.iter().map(|step| step.progress == Progress::Signed).collect(),
            last: BTreeMap::new(),
        };
        let log = record.log();
        let serves = Serves::of(log, assessment);
        let mut newest: BTreeMap<PersonId, Vec<Ix>> = BTreeMap::new();
        for (ix, statement) in (0..).zip(log.folded()) {
            let (Ok(payload), Some(author)) = (&statement.payload, assessment.person(ix)) else { continue };
            if matches!(assessment.status(ix), Status::NotCounted | Status::Voided(_)) {
                continue;
            }
            keep_newest(log, newest.entry(author).or_default(), ix);
            if let Some(step) = serves.step(log, ix, payload).filter(|_| is_own_work(payload)) {
                crew.hands[step].insert(doer(payload).unwrap_or(author));
            }
        }
        for (person, entries) in newest {
            let late = |ix: &Ix| (log.at(*ix).device_time, log.at(*ix).id);
            let Some(ix) = entries.into_iter().max_by_key(late) else { continue };
            let step = log.at(ix).payload.as_ref().ok().and_then(|payload| serves.step(log, ix, payload));
            crew.last.insert(person, (ix, step));
        }
        crew.people_known(workshop);
        crew
    }

    /// A hand that the workshop does not know is nobody's.
    fn people_known(&mut self, workshop: &Workshop) {
        let known = |person: &PersonId| workshop.roster().name_of(*person).is_some();
        self.hands.iter_mut().for_each(|hands| hands.retain(known));
    }

    /// Who worked on a step, by their id: read, checked, fitted, tightened, did or signed what it asks for.
    /// Who only signed as second person is not among them.
    pub fn hands_on(&self, step: usize) -> impl Iterator<Item = PersonId> + '_ {
        self.hands.get(step).into_iter().flatten().copied()
    }

    /// Who works on a step that is given to somebody else, by their id; nobody where it is given to nobody.
    #[must_use]
    pub fn others_on(&self, step: usize) -> Vec<PersonId> {
        match self.given.get(step) {
            Some(Some(given)) => self.hands_on(step).filter(|person| person != given).collect(),
            Some(None) | None => Vec::new(),
        }
    }

    /// Whether the one who is given a step has begun it.
    #[must_use]
    pub fn is_begun_by_its_own(&self, step: usize) -> bool {
        let given = self.given.get(step).copied().flatten();
        given.is_some_and(|person| self.hands[step].contains(&person))
    }

    /// Steps that a person is given, in the procedure's order, signed or not.
    pub fn given_to(&self, person: PersonId) -> impl Iterator<Item = usize> + '_ {
        (0..).zip(&self.given).filter(move |(_, given)| **given == Some(person)).map(|(step, _)| step)
    }

    /// Steps begun and not signed that nobody is given, in the procedure's order.
    pub fn begun_and_free(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.hands.len()).filter(|step| self.is_free(*step) && !self.hands[*step].is_empty())
    }

    /// How many steps nobody has begun and nobody is given.
    #[must_use]
    pub fn waiting_for_hands(&self) -> usize {
        (0..self.hands.len()).filter(|step| self.is_free(*step) && self.hands[*step].is_empty()).count()
    }

    fn is_free(&self, step: usize) -> bool {
        self.given[step].is_none() && !self.signed[step]
    }

    /// The last that a person entered in the record, and the step it was for.
    #[must_use]
    pub fn last_of(&self, person: PersonId) -> Option<(Ix, Option<usize>)> {
        self.last.get(&person).copied()
    }
}

/// Keeps of one person's entries those that none of the others knew.
fn keep_newest(log: &Log, newest: &mut Vec<Ix>, ix: Ix) {
    if !newest.iter().any(|other| log.knows(*other, ix)) {
        newest.retain(|other| !log.knows(ix, *other));
        newest.push(ix);
    }
}

/// Whether it is work on a step, not only a look at it, or a part chosen for it.
fn is_own_work(payload: &Payload) -> bool {
    let second = matches!(payload, Payload::SignOff(sign_off) if sign_off.meaning == Meaning::SecondPerson);
    let chosen = matches!(payload, Payload::Fitting(fitting) if fitting.state == FittingState::Allotted);
    !second && !chosen
}

/// Who did it, where somebody else entered it.
#[allow(clippy::wildcard_enum_match_arm)] // no other kind says who did it
fn doer(payload: &Payload) -> Option<PersonId> {
    match payload {
        Payload::Reading(reading) => reading.read_by,
        Payload::Operation(operation) => operation.done_by,
        _ => None,
    }
}
