//! Signing a step on what it rests on now.

use clap::Args;
use gudgeon_core::assess::StepState;
use gudgeon_core::engine::Signer;
use gudgeon_core::entry::payload::{Meaning, SignOff, SignedVerdict};
use gudgeon_core::entry::{Kind, Payload};
use gudgeon_core::log::Ix;
use serde_json::json;

use super::next::{evidence_json, evidence_line};
use crate::codes::Exit;
use crate::desk::{Desk, Sight};
use crate::failure::{Failure, Problem};
use crate::out::{Answer, Outcome};
use crate::pick;
use crate::settings::{Settings, line_with};
use crate::way;
use crate::when;
use crate::words;

#[derive(Args, Debug)]
pub(crate) struct Sign {
    /// The step, such as big-end-clearance/2; several are signed together or not at all.
    #[arg(required = true, value_name = "STEP")]
    steps: Vec<String>,
    /// Sign as the second person, who checked it.
    #[arg(long)]
    second: bool,
    /// Sign though evidence is missing or an earlier step is not signed: both stay findings.
    #[arg(long)]
    anyway: bool,
    /// Sign once more though your signature stands, such as on readings that were taken again.
    #[arg(long)]
    again: bool,
}

pub(crate) fn sign(args: &Sign, settings: &Settings) -> Outcome {
    let mut desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    let steps = args.steps.iter().map(|id| pick::step(&sight, id)).collect::<Result<Vec<_>, _>>()?;
    let key = desk.key_for(&[Kind::SignOff])?;
    for step in &steps {
        may_sign(&sight, &desk, *step, args.second, key.key)?;
        if !args.again {
            must_be_new(&sight, *step, args.second, key.key)?;
        }
    }
    if !args.anyway {
        must_be_ready(&sight, settings, &steps, args.second)?;
    }
    let name = sight.person_of_key(key.key);
    let meaning = if args.second { Meaning::SecondPerson } else { Meaning::Done };
    let signed: Vec<Signed> = steps.iter().map(|step| Signed::new(&sight, *step, meaning, &name)).collect();
    let says: Vec<Payload> = signed.iter().map(|one| Payload::SignOff(one.sign_off.clone())).collect();
    let mut answer = Answer::new();
    for (step, one) in steps.iter().zip(&signed) {
        one.say(&mut answer, &sight.assessment.steps()[*step]);
    }
    let entered = desk.enter(sight, &says)?;
    let progress = |step: &usize| entered.after.assessment.steps()[*step].progress.word();
    let json = steps.iter().zip(&signed).map(|(step, one)| one.json(progress(step)));
    answer.put("steps", json.collect::<Vec<_>>());
    entered.say_saved(&mut answer);
    let lines =
        steps.iter().filter(|_| args.second).flat_map(|step| unread_blind(&entered.after, settings, *step));
    lines.for_each(|line| answer.say(line));
    entered.add_changes(&mut answer);
    Ok(answer)
}

/// What a step that wants a blind second reading is told, where nothing under it was read blind.
fn unread_blind(sight: &Sight, settings: &Settings, step: usize) -> Option<String> {
    let way = way::blind_readings(sight, settings, step).into_iter().next()?;
    let state = &sight.assessment.steps()[step];
    let blind = |ix: &Ix| matches!(&sight.log().at(*ix).payload, Ok(Payload::Reading(read)) if read.blind);
    let read = state.evidence.iter().any(|evidence| evidence.entries.iter().any(blind));
    (!read).then(|| format!("note: {} asks for a second reading that is blind, and none is: {way}", state.id))
}

/// A signature before it is given, and what it rests on.
struct Signed {
    sign_off: SignOff,
    rests_on: Vec<serde_json::Value>,
}

impl Signed {
    fn new(sight: &Sight, step: usize, meaning: Meaning, name: &str) -> Self {
        let state = &sight.assessment.steps()[step];
        let rests_on = state.evidence.iter().map(|evidence| evidence_json(sight, evidence)).collect();
        let sign_off = sight.assessment.sign_off_now(&sight.record, step, meaning, name);
        Self { sign_off, rests_on }
    }

    fn say(&self, answer: &mut Answer, state: &StepState) {
        let count = words::count(self.sign_off.evidence.len(), "entry", "entries");
        answer.line(format!("{}, on {count}:", state.id));
        for evidence in &state.evidence {
            answer.line(format!("  {}", evidence_line(evidence)));
        }
    }

    fn json(&self, progress: &str) -> serde_json::Value {
        let verdicts: Vec<_> = self.sign_off.verdicts.iter().map(verdict_json).collect();
        json!({
            "step": self.sign_off.step, "rests_on": self.rests_on, "verdicts": verdicts,
            "evidence": words::ids(&self.sign_off.evidence), "progress": progress,
        })
    }
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

/// Refuses a signature that the same person has standing already.
fn must_be_new(
    sight: &Sight,
    step: usize,
    second: bool,
    key: gudgeon_core::entry::KeyId,
) -> Result<(), Failure> {
    let state = &sight.assessment.steps()[step];
    let signature = if second { &state.second } else { &state.signature };
    let own = |by: Ix| {
        let other = sight.log().at(by).key;
        other == key || sight.roster().same_person(other, key)
    };
    let Some(signature) = signature.as_ref().filter(|one| one.stands() && own(one.by)) else { return Ok(()) };
    let statement = sight.log().at(signature.by);
    let cause = format!(
        "{} signed {} already, at {} ({}), and it stands; nothing is saved",
        sight.author(signature.by),
        state.id,
        when::moment(statement.device_time),
        statement.id.short()
    );
    let hint = format!("nothing to do; to sign once more all the same: {}", line_with("--again"));
    Err(Failure::refused("signed-already", cause, hint))
}

/// Refuses while evidence is missing or an earlier step is not signed, of any of the steps.
fn must_be_ready(sight: &Sight, settings: &Settings, steps: &[usize], second: bool) -> Result<(), Failure> {
    let state = |step: &usize| &sight.assessment.steps()[*step];
    let ready: Vec<Vec<Problem>> = steps.iter().map(|step| missing(sight, settings, *step, second)).collect();
    let not_ready: Vec<&str> = steps
        .iter()
        .zip(&ready)
        .filter(|(_, problems)| !problems.is_empty())
        .map(|(step, _)| &*state(step).id)
        .collect();
    let cause = match not_ready[..] {
        [] => return Ok(()),
        [one] => format!("{one} is not ready to be signed"),
        ref several => format!("{} are not ready to be signed", several.join(", ")),
    };
    let hint = "do what is missing; with --anyway it is signed all the same, and stays a finding";
    Err(Failure::new(Exit::NotReady, "not-ready", cause, hint).with(ready.into_iter().flatten().collect()))
}

fn missing(sight: &Sight, settings: &Settings, step: usize, second: bool) -> Vec<Problem> {
    let state = &sight.assessment.steps()[step];
    let lacking = (0..).zip(&state.evidence).filter(|(_, evidence)| !evidence.met);
    let evidence = lacking.map(|(piece, evidence)| Problem {
        place: evidence.asked.to_string(),
        cause: evidence.found.clone(),
        hint: way::to_evidence(sight, settings, step, piece).unwrap_or_default(),
    });
    let before = |before: &usize| &sight.assessment.steps()[*before];
    let waits = state.waits_for.iter().filter(|_| !second).map(|ix| Problem {
        place: before(ix).id.to_string(),
        cause: format!("comes first: {}", before(ix).progress.word()),
        hint: way::to_step(sight, settings, *ix),
    });
    let stops = sight.assessment.open_stops(&state.id);
    let stopped = stops.iter().filter(|_| !second).map(|stop| Problem {
        place: state.id.to_string(),
        cause: "work on it is stopped".to_owned(),
        hint: settings.line(&["resume", &stop.short(), "--note", "WHAT IT WAS"]),
    });
    evidence.chain(waits).chain(stopped).collect()
}

fn verdict_json(verdict: &SignedVerdict) -> serde_json::Value {
    json!({ "feature": verdict.feature, "characteristic": verdict.characteristic, "verdict_code": verdict.verdict })
}
