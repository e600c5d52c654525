//! The cautions of what was just done: those of the step that it is work on.
//!
//! General reminders at the hand that does it. What moves or is pulled is said each time; the rest once a
//! step, at the first thing that is done for it, so that nobody learns to look past them.

use super::serves::Serves;
use crate::assess::{Assessment, Record, Status};
use crate::engine::Definition;
use crate::engine::caution::{Caution, When};
use crate::entry::payload::{FittingState, Payload};
use crate::log::Ix;

/// What to mind with these entries, which stand together as one act; each caution once, in the order of the
/// procedure.
#[must_use]
pub fn cautions(record: &Record, assessment: &Assessment, act: &[Ix]) -> Vec<&'static Caution> {
    let Some(definition) = assessment.definition() else { return Vec::new() };
    let log = record.log();
    let serves = Serves::of(log, assessment);
    let mut said: Vec<&'static Caution> = Vec::new();
    for ix in act {
        let Ok(payload) = &log.at(*ix).payload else { continue };
        // Whoever stops is to hear what to mind while it is looked into.
        let stop = matches!(payload, Payload::Stop(_));
        let Some(step) = (stop || by_hand(payload)).then(|| serves.at_hand(log, *ix, payload)).flatten()
        else {
            continue;
        };
        let asked = cautions_of(definition, step);
        let once = asked.iter().any(|caution| caution.when != When::EachTime);
        // Work on what was signed begins it anew.
        let anew = stop || matches!(payload, Payload::Operation(_)) && serves.is_signed(log, step, *ix);
        let first = once && (anew || !is_begun(record, assessment, &serves, step, act));
        let reading = matches!(payload, Payload::Reading(_));
        let now = |caution: &&&'static Caution| match caution.when {
            When::EachTime => true,
            When::Once => first,
            When::OnceAtWork => first && !reading,
        };
        for caution in asked.iter().filter(now) {
            if !said.contains(caution) {
                said.push(caution);
            }
        }
    }
    said
}

/// What to mind before the next thing that is done for a step: what moves or is pulled, each time; the rest
/// as long as nothing was done for it.
#[must_use]
pub fn cautions_ahead(record: &Record, assessment: &Assessment, step: usize) -> Vec<&'static Caution> {
    let Some(definition) = assessment.definition() else { return Vec::new() };
    let asked = cautions_of(definition, step);
    if asked.iter().all(|caution| caution.when == When::EachTime) {
        return asked.to_vec();
    }
    let begun = is_begun(record, assessment, &Serves::of(record.log(), assessment), step, &[]);
    asked.iter().copied().filter(|caution| !begun || caution.when == When::EachTime).collect()
}

fn cautions_of(definition: &Definition, step: usize) -> &[&'static Caution] {
    &definition.step_of(&definition.steps()[step]).cautions
}

/// Whether it is done at the engine: what is only said, chosen or signed needs no caution.
#[allow(clippy::wildcard_enum_match_arm)] // no other kind is work of hands
fn by_hand(payload: &Payload) -> bool {
    match payload {
        Payload::Reading(_)
        | Payload::Operation(_)
        | Payload::Tightening(_)
        | Payload::Check(_)
        | Payload::Resume(_) => true,
        Payload::Fitting(fitting) => fitting.state != FittingState::Allotted,
        _ => false,
    }
}

/// Whether anything else was done for a step, and no work since has sent it back to its beginning.
fn is_begun(record: &Record, assessment: &Assessment, serves: &Serves, step: usize, act: &[Ix]) -> bool {
    let log = record.log();
    let mut others = (0..).zip(log.folded()).filter(|(ix, _)| !act.contains(ix));
    others.any(|(ix, statement)| match &statement.payload {
        Ok(payload) => {
            by_hand(payload)
                && !matches!(assessment.status(ix), Status::NotCounted | Status::Voided(_) | Status::Ended(_))
                && serves.step(log, ix, payload) == Some(step)
        }
        Err(_) => false,
    })
}
