//! Which step an entry is work on.

use std::collections::{BTreeMap, BTreeSet};

use crate::assess::{Assessment, Status, TURN_CHECK};
use crate::engine::{Asked, Definition, Target};
use crate::entry::payload::{FittingState, Meaning, Payload};
use crate::log::{Ix, Log};

/// What is asked for or done, without its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Sort {
    Value,
    Check,
    Operation,
    Tightening,
    Part,
}

/// What, its name, and where; an empty place is the engine as a whole.
type Key<'a> = (Sort, &'a str, &'a str);

/// The steps, by what they ask for.
pub(super) struct Serves<'a> {
    definition: Option<&'a Definition>,
    asked: BTreeMap<Key<'a>, Vec<usize>>,
    /// What steps rest on now: inputs of derived values, and what is on parts, are found here alone.
    rests_on: BTreeMap<Ix, Vec<usize>>,
    /// First signatures, by step.
    signed: Vec<Vec<Ix>>,
}

impl<'a> Serves<'a> {
    pub(super) fn of(log: &Log, assessment: &'a Assessment) -> Self {
        let definition = assessment.definition();
        let mut rests_on: BTreeMap<Ix, Vec<usize>> = BTreeMap::new();
        for (at, step) in assessment.steps().iter().enumerate() {
            for ix in step.evidence.iter().flat_map(|evidence| &evidence.entries) {
                rests_on.entry(*ix).or_default().push(at);
            }
        }
        let signed = definition.map_or_else(Vec::new, |definition| signatures(log, assessment, definition));
        Self { definition, asked: definition.map(asked_for).unwrap_or_default(), rests_on, signed }
    }

    /// The step that an entry is work on; none: it is work on no step.
    ///
    /// Several steps may ask for the same. Then it was the first that its author could work on and that
    /// was not signed as far as they knew.
    pub(super) fn step(&self, log: &Log, ix: Ix, payload: &Payload) -> Option<usize> {
        let definition = self.definition?;
        if let Some(name) = named(log, payload) {
            return definition.step_index(name);
        }
        let mut all: BTreeSet<usize> = self.rests_on.get(&ix).into_iter().flatten().copied().collect();
        for key in keys(payload) {
            all.extend(self.asked.get(&key).into_iter().flatten());
        }
        let signed = |step: &usize| self.signed[*step].iter().any(|by| log.knows(ix, *by));
        let unsigned = || all.iter().copied().filter(|step| !signed(step));
        let ready = |step: &usize| definition.steps()[*step].prerequisites.iter().all(signed);
        let early = || unsigned().next().filter(|_| !is_in_passing(payload));
        let again = || all.iter().copied().rfind(signed);
        unsigned().find(ready).or_else(early).or_else(again)
    }
}

impl Serves<'_> {
    /// Whether a step was signed as far as the author of an entry knew.
    pub(super) fn is_signed(&self, log: &Log, step: usize, ix: Ix) -> bool {
        self.signed[step].iter().any(|by| log.knows(ix, *by))
    }

    /// As [`Serves::step`]; of a check in passing, which begins no step, the first that asks for it.
    pub(super) fn at_hand(&self, log: &Log, ix: Ix, payload: &Payload) -> Option<usize> {
        let first = || {
            let keys = keys(payload).into_iter().filter(|_| is_in_passing(payload));
            keys.filter_map(|key| self.asked.get(&key)?.first().copied()).next()
        };
        self.step(log, ix, payload).or_else(first)
    }
}

/// That it turns is checked after every stage of a tightening: such a check begins no step before its turn.
fn is_in_passing(payload: &Payload) -> bool {
    matches!(payload, Payload::Check(check) if check.check == TURN_CHECK)
}

/// First signatures that count, by step.
fn signatures(log: &Log, assessment: &Assessment, definition: &Definition) -> Vec<Vec<Ix>> {
    let mut signed = vec![Vec::new(); definition.steps().len()];
    for (ix, statement) in (0..).zip(log.folded()) {
        let Ok(Payload::SignOff(sign_off)) = &statement.payload else { continue };
        let gone = matches!(assessment.status(ix), Status::NotCounted | Status::Voided(_));
        if let Some(step) = definition.step_index(&sign_off.step)
            && sign_off.meaning == Meaning::Done
            && !gone
        {
            signed[step].push(ix);
        }
    }
    signed
}

/// The steps by what they ask for at a place that does not move.
fn asked_for(definition: &Definition) -> BTreeMap<Key<'_>, Vec<usize>> {
    let mut asked: BTreeMap<Key, Vec<usize>> = BTreeMap::new();
    for (at, instance) in definition.steps().iter().enumerate() {
        for ask in &instance.asks {
            let place = match ask.target {
                Target::Engine => "",
                Target::Feature(at) => definition.feature_at(at).path(),
                Target::PartAt { .. } => continue,
            };
            if let Some(sort) = sort_of(&ask.asked) {
                asked.entry((sort, ask.asked.name(), place)).or_default().push(at);
            }
        }
    }
    asked
}

#[allow(clippy::wildcard_enum_match_arm)] // what else is asked for is found by what it rests on
const fn sort_of(asked: &Asked) -> Option<Sort> {
    match asked {
        Asked::Judged(_) | Asked::Read(_) => Some(Sort::Value),
        Asked::Check(_) => Some(Sort::Check),
        Asked::Operation(_) => Some(Sort::Operation),
        Asked::Tightening(_) => Some(Sort::Tightening),
        Asked::Part(_) => Some(Sort::Part),
        _ => None,
    }
}

/// The step that an entry names itself.
#[allow(clippy::wildcard_enum_match_arm)] // no other kind names a step
fn named<'l>(log: &'l Log, payload: &'l Payload) -> Option<&'l str> {
    let name = match payload {
        Payload::SignOff(sign_off) => &sign_off.step,
        Payload::Stop(stop) => &stop.step,
        Payload::Check(check) => &check.step,
        Payload::Resume(resume) => match &log.get(&resume.stop)?.payload {
            Ok(Payload::Stop(stop)) => &stop.step,
            _ => return None,
        },
        _ => return None,
    };
    (!name.is_empty()).then_some(name)
}

/// What an entry could be asked for as.
#[allow(clippy::wildcard_enum_match_arm)] // what else is asked for is found by what it rests on
fn keys(payload: &Payload) -> Vec<Key<'_>> {
    match payload {
        Payload::Reading(reading) => vec![(Sort::Value, &reading.characteristic, &reading.feature)],
        Payload::Check(check) => vec![(Sort::Check, &check.check, &check.feature)],
        Payload::Operation(done) => {
            let name = done.operation.as_str();
            done.features
                .iter()
                .map(String::as_str)
                .chain([""])
                .map(|on| (Sort::Operation, name, on))
                .collect()
        }
        Payload::Tightening(done) => vec![(Sort::Tightening, &done.group, &done.place)],
        Payload::Fitting(fitting) if fitting.state != FittingState::TakenOut => {
            let sort = fitting.part.split('/').next().unwrap_or_default();
            vec![(Sort::Part, sort, &fitting.place)]
        }
        Payload::PartReceived(part) => vec![(Sort::Part, &part.sort, "")],
        _ => Vec::new(),
    }
}
