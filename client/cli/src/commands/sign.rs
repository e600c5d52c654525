//! Signing a step on what it rests on now.

use clap::Args;
use gudgeon_core::assess::{CALCULATION, StepState};
use gudgeon_core::engine::Signer;
use gudgeon_core::entry::Payload;
use gudgeon_core::entry::payload::{Meaning, SignOff, SignedVerdict};
use gudgeon_core::log::Ix;
use serde_json::json;

use super::next::{evidence_json, evidence_line};
use crate::codes::Exit;
use crate::desk::{Desk, Sight};
use crate::failure::{Failure, Problem};
use crate::out::{Answer, Outcome};
use crate::pick;
use crate::settings::Settings;
use crate::words;

#[derive(Args, Debug)]
pub(crate) struct Sign {
    /// The step, such as big-end-clearance/2.
    step: String,
    /// Sign as the second person, who checked it.
    #[arg(long)]
    second: bool,
    /// Sign though evidence is missing or an earlier step is not signed: both stay findings.
    #[arg(long)]
    anyway: bool,
}

pub(crate) fn sign(args: &Sign, settings: &Settings) -> Outcome {
    let mut desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    let step = pick::step(&sight, &args.step)?;
    let key = desk.key()?;
    may_sign(&sight, &desk, step, args.second, key.key)?;
    if !args.anyway {
        must_be_ready(&sight, step, args.second)?;
    }
    let state = &sight.assessment.steps()[step];
    let (entries, verdicts) = sight.assessment.ground_of(step);
    let mut answer = ground(&sight, state, &entries);
    let sign_off = SignOff {
        step: state.id.to_string(),
        meaning: if args.second { Meaning::SecondPerson } else { Meaning::Done },
        evidence: ids(&sight, &entries),
        verdicts: verdicts.clone(),
        calculation: CALCULATION,
        printed_name: sight.person_of_key(key.key),
    };
    answer.put("verdicts", verdicts.iter().map(verdict_json).collect::<Vec<_>>());
    answer.put("evidence", words::ids(&sign_off.evidence));
    let entered = desk.enter(sight, &[Payload::SignOff(sign_off)])?;
    entered.say_saved(&mut answer);
    answer.put("progress", entered.after.assessment.steps()[step].progress.word());
    entered.add_changes(&mut answer);
    Ok(answer)
}

/// Refuses signatures that can never stand: by the wrong role, or twice by one person.
fn may_sign(
    sight: &Sight,
    desk: &Desk,
    step: usize,
    second: bool,
    key: gudgeon_core::entry::KeyId,
) -> Result<(), Failure> {
    let definition = sight.definition()?;
    let state = &sight.assessment.steps()[step];
    let wanted = definition.step_of(&definition.steps()[step]);
    if !second && wanted.sign == Signer::Lead && !sight.roster().roles_of(key).lead {
        let cause = format!("{} is signed by a lead", state.id);
        return Err(Failure::new(
            Exit::NotAllowed,
            "needs-lead",
            cause,
            "a lead signs it; the evidence stays",
        ));
    }
    if !second {
        return Ok(());
    }
    let Some(signature) = &state.signature else {
        let cause = format!("nobody has signed {} yet, so no second person can", state.id);
        return Err(Failure::new(Exit::NotReady, "not-signed", cause, "the one who did it signs first"));
    };
    if sight.roster().same_person(sight.log().at(signature.by).key, key) {
        let cause = format!("{} signed {} already", sight.person_of_key(key), state.id);
        let hint = "somebody else signs as second person";
        return Err(Failure::new(Exit::NotAllowed, "same-person", cause, hint));
    }
    tracing::debug!(step = %state.id, at = desk.now(), "second signature asked for");
    Ok(())
}

/// Refuses while evidence is missing or an earlier step is not signed.
fn must_be_ready(sight: &Sight, step: usize, second: bool) -> Result<(), Failure> {
    let steps = sight.assessment.steps();
    let state = &steps[step];
    let missing = state.evidence.iter().filter(|evidence| !evidence.met).map(|evidence| Problem {
        place: evidence.asked.clone(),
        cause: evidence.found.clone(),
        hint: String::new(),
    });
    let waits = state.waits_for.iter().filter(|_| !second).map(|before| Problem {
        place: steps[*before].id.to_string(),
        cause: format!("comes first: {}", steps[*before].progress.word()),
        hint: String::new(),
    });
    let problems: Vec<Problem> = missing.chain(waits).collect();
    if problems.is_empty() {
        return Ok(());
    }
    let cause = format!("{} is not ready to be signed", state.id);
    let hint = "do what is missing; with --anyway it is signed all the same, and stays a finding";
    Err(Failure::new(Exit::NotReady, "not-ready", cause, hint).with(problems))
}

/// What the signature rests on, shown before it is given.
fn ground(sight: &Sight, state: &StepState, entries: &[Ix]) -> Answer {
    let mut answer = Answer::new();
    answer.line(format!("{}, on {}:", state.id, words::count(entries.len(), "entry", "entries")));
    for evidence in &state.evidence {
        answer.line(format!("  {}", evidence_line(evidence)));
    }
    answer.put("step", state.id.as_ref());
    let rests: Vec<_> = state.evidence.iter().map(|evidence| evidence_json(sight, evidence)).collect();
    answer.put("rests_on", rests);
    answer
}

fn ids(sight: &Sight, entries: &[Ix]) -> Vec<gudgeon_core::entry::EntryId> {
    let mut ids: Vec<_> = entries.iter().map(|ix| sight.log().at(*ix).id).collect();
    ids.sort_unstable();
    ids
}

fn verdict_json(verdict: &SignedVerdict) -> serde_json::Value {
    json!({ "feature": verdict.feature, "characteristic": verdict.characteristic, "verdict_code": verdict.verdict })
}
