//! Steps and signatures: who signed what, by which key, and what took its ground away.

use super::model::{SignatureRow, StageSheet, StepRow};
use super::sight::Sight;
use super::state::State;
use super::words::{meaning, place};
use crate::assess::{Cause, Progress, Signature, StepState};
use crate::engine::{Definition, StepInstance};
use crate::entry::payload::Payload;

/// Stages that have a step, with their steps.
pub(super) fn stages(sight: &Sight) -> Vec<StageSheet> {
    let Some(definition) = sight.assessment.definition() else { return Vec::new() };
    let steps = || definition.steps().iter().zip(sight.assessment.steps());
    let of_stage = |number: u8| -> Vec<StepRow> {
        let here = steps().filter(|(instance, _)| definition.step_of(instance).stage == number);
        here.map(|(instance, state)| step(sight, definition, instance, state)).collect()
    };
    let stages = definition.stages().iter().map(|stage| StageSheet {
        number: stage.number,
        title: stage.title.clone(),
        steps: of_stage(stage.number),
    });
    stages.filter(|stage| !stage.steps.is_empty()).collect()
}

fn step(sight: &Sight, definition: &Definition, instance: &StepInstance, state: &StepState) -> StepRow {
    let signatures = [&state.signature, &state.second];
    StepRow {
        id: state.id.to_string(),
        title: definition.step_of(instance).title.clone(),
        place: instance.feature.map_or_else(String::new, |at| place(definition.feature_at(at).path())),
        progress: state.progress.word(),
        state: drawn(state.progress),
        assigned: state.assigned.map(|person| sight.name(person)),
        signatures: signatures.into_iter().flatten().map(|one| signature(sight, one)).collect(),
        missing: state
            .evidence
            .iter()
            .filter(|e| !e.met)
            .map(|e| format!("{}: {}", e.asked, e.found))
            .collect(),
    }
}

const fn drawn(progress: Progress) -> State {
    match progress {
        Progress::Blocked | Progress::Open => State::NotRead,
        Progress::ReadyToSign | Progress::WantsSecond => State::InHand,
        Progress::Signed => State::Proven,
        Progress::Stale => State::Stale,
        Progress::WithoutEvidence => State::NotProven,
    }
}

fn signature(sight: &Sight, signature: &Signature) -> SignatureRow {
    let statement = sight.log().at(signature.by);
    let (printed_name, means, evidence) = match &statement.payload {
        Ok(Payload::SignOff(s)) => (s.printed_name.clone(), meaning(s.meaning), s.evidence.len()),
        _ => (String::new(), "", 0),
    };
    SignatureRow {
        printed_name,
        by: sight.mention(signature.by),
        meaning: means,
        key: statement.key,
        evidence,
        without_evidence: signature.lacks_evidence(),
        stale: signature.stale.iter().map(Cause::words).collect(),
        read_again: !signature.read_again.is_empty(),
    }
}
