//! Steps: what can be done now, what waits for what, and one step whole.

use clap::Args;
use gudgeon_core::assess::{Cause, Evidence, Progress, Signature, StepState};
use gudgeon_core::crew::{Crew, HEADINGS, cause, few, is_for, missing, under};
use gudgeon_core::engine::caution::FOREWORD;
use gudgeon_core::engine::{Definition, Signer};
use gudgeon_core::entry::{EntryId, Kind, Payload};
use gudgeon_core::log::Ix;
use serde_json::{Value as Json, json};

use super::everybody;
use crate::desk::{Desk, Sight};
use crate::failure::Failure;
use crate::out::{Answer, Outcome};
use crate::pick;
use crate::settings::Settings;
use crate::way;
use crate::when;
use crate::words;

/// Most waiting steps that are listed without `--all`.
const FEW: usize = 12;

#[derive(Args, Debug)]
pub(crate) struct Next {
    /// Only what the key of this home may sign and is given to nobody else; what is given to its owner first.
    #[arg(long)]
    mine: bool,
    /// Who is on what: each person's steps and last entry, and what is begun and given to nobody.
    #[arg(long, conflicts_with = "mine")]
    everybody: bool,
    /// Every step of a long list, not only the first ones.
    #[arg(long)]
    all: bool,
}

#[derive(Args, Debug)]
pub(crate) struct Step {
    /// The step, such as big-end-clearance/2.
    step: String,
}

pub(crate) fn next(args: &Next, settings: &Settings) -> Outcome {
    let desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    let definition = sight.definition()?;
    if args.everybody {
        let mut answer = Answer::new();
        everybody::add(&mut answer, &sight, if args.all { usize::MAX } else { FEW });
        return Ok(answer);
    }
    let crew = Crew::read(&sight.record, &sight.workshop, &sight.assessment);
    let mine = if args.mine { Some(desk.key_for(&[Kind::SignOff])?.key) } else { None };
    let mut answer = Answer::new();
    let mut json: Vec<Json> = Vec::new();
    way::stops(&sight).iter().for_each(|stop| answer.line(stop));
    for (progress, heading) in HEADINGS {
        let is_mine = |at: &usize| {
            mine.is_none_or(|key| is_for(&sight.record, &sight.workshop, &sight.assessment, *at, key))
        };
        let mut here: Vec<usize> = under(&sight.assessment, progress).filter(is_mine).collect();
        if here.is_empty() {
            continue;
        }
        if args.mine {
            here.sort_by_key(|at| sight.assessment.steps()[*at].assigned.is_none());
        }
        answer.line(format!("{heading}:"));
        let limit = if progress == Progress::Blocked && !args.all { FEW } else { usize::MAX };
        for at in here.iter().take(limit) {
            answer.line(format!("  {}", step_line(&sight, &crew, definition, *at)));
        }
        if here.len() > limit {
            answer.line(format!("  and {} more (--all)", here.len() - limit));
        }
        json.extend(here.iter().map(|at| step_json(&sight, definition, *at)));
    }
    if json.is_empty() {
        answer.line("nothing is left to do");
    }
    answer.put("steps", json);
    Ok(answer)
}

fn step_line(sight: &Sight, crew: &Crew, definition: &Definition, at: usize) -> String {
    let state = &sight.assessment.steps()[at];
    let title = &definition.step_of(&definition.steps()[at]).title;
    let given = given(sight, crew, at, ", ");
    let why = match state.progress {
        Progress::Blocked => format!("; after {}", waits(sight, state)),
        Progress::Open => format!("; missing: {}", missing(state)),
        Progress::Stale | Progress::WithoutEvidence => {
            cause(state).map_or_else(String::new, |cause| format!("; {cause}"))
        }
        Progress::WantsSecond => {
            let signer = state.signature.as_ref().map(|signature| sight.author(signature.by));
            let blind = definition.step_of(&definition.steps()[at]).blind;
            let blind = if blind { "; the second reads it blind" } else { "" };
            signer.map_or_else(String::new, |signer| format!("; signed by {signer}{blind}"))
        }
        Progress::ReadyToSign | Progress::Signed => String::new(),
    };
    let stopped = if sight.assessment.open_stops(&state.id).is_empty() { "" } else { "STOPPED " };
    let better =
        better_after(sight, state).map_or_else(String::new, |first| format!("; better after {first}"));
    format!("{stopped}{}: {title}{given}{why}{better}", state.id)
}

/// What is better signed first, where the step is done on one feature at a time.
fn better_after<'s>(sight: &'s Sight, state: &StepState) -> Option<&'s str> {
    state.better_after.map(|at| &*sight.assessment.steps()[at].id)
}

/// Whom a step is given to, and who else is on it; empty: it is given to nobody.
fn given(sight: &Sight, crew: &Crew, at: usize, before: &str) -> String {
    let to = sight.assessment.steps()[at].assigned;
    to.map_or_else(String::new, |person| {
        format!("{before}given to {}{}", sight.person(person), everybody::others(sight, crew, at))
    })
}

/// Most steps that one waits for and that are named where it is shown alone.
const NAMED: usize = 5;

fn waits_in_full(sight: &Sight, state: &StepState) -> String {
    if state.waits_for.len() > NAMED {
        return waits(sight, state);
    }
    let name = |before: &usize| sight.assessment.steps()[*before].id.to_string();
    state.waits_for.iter().map(name).collect::<Vec<_>>().join(", ")
}

fn waits(sight: &Sight, state: &StepState) -> String {
    let names: Vec<&str> =
        state.waits_for.iter().map(|before| &*sight.assessment.steps()[*before].id).collect();
    few(&names)
}

pub(crate) fn step_json(sight: &Sight, definition: &Definition, at: usize) -> Json {
    let state = &sight.assessment.steps()[at];
    let step = definition.step_of(&definition.steps()[at]);
    let waits: Vec<&str> =
        state.waits_for.iter().map(|before| &*sight.assessment.steps()[*before].id).collect();
    json!({
        "id": &*state.id, "title": step.title, "stage": step.stage, "progress": state.progress.word(),
        "waits_for": waits, "better_after": better_after(sight, state),
        "stops": words::ids(&sight.assessment.open_stops(&state.id)), "assigned": state.assigned.map(|person| sight.person(person)),
        "cautions": step.cautions.iter().map(|caution| caution.text).collect::<Vec<_>>(),
        "second_person": step.second_person, "lead": step.sign == Signer::Lead,
        "evidence": state.evidence.iter().map(|evidence| evidence_json(sight, evidence)).collect::<Json>(),
        "signature": state.signature.as_ref().map(|signature| signature_json(sight, signature)),
        "second": state.second.as_ref().map(|signature| signature_json(sight, signature)),
    })
}

/// `[x] clearance judged, rod/2/big-end: within`.
pub(crate) fn evidence_line(evidence: &Evidence) -> String {
    let mark = if evidence.met { "x" } else { " " };
    format!("[{mark}] {}: {}", evidence.asked, evidence.found)
}

pub(crate) fn evidence_json(sight: &Sight, evidence: &Evidence) -> Json {
    let mut ids: Vec<EntryId> = evidence.entries.iter().map(|ix| sight.log().at(*ix).id).collect();
    ids.sort_unstable();
    json!({ "asked": &*evidence.asked, "found": evidence.found, "met": evidence.met, "entries": words::ids(&ids) })
}

fn signature_json(sight: &Sight, signature: &Signature) -> Json {
    let statement = sight.log().at(signature.by);
    json!({
        "entry": statement.id.to_hex(), "by": sight.author(signature.by),
        "device_time": when::moment(statement.device_time), "stands": signature.stands(),
        "stale": signature.stale.iter().map(Cause::words).collect::<Vec<_>>(),
        "without_evidence": signature.lacks_evidence(),
        "read_again": signature.read_again.len(),
    })
}

pub(crate) fn step(args: &Step, settings: &Settings) -> Outcome {
    let desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    let at = pick::step(&sight, &args.step)?;
    let answer = whole(&sight, settings, at)?;
    Ok(answer)
}

fn whole(sight: &Sight, settings: &Settings, at: usize) -> Result<Answer, Failure> {
    let definition = sight.definition()?;
    let state = &sight.assessment.steps()[at];
    let step = definition.step_of(&definition.steps()[at]);
    let mut answer = Answer::new();
    answer.line(format!("{}: {}, {}", state.id, step.title, state.progress.word()));
    let signer = if step.sign == Signer::Lead { "a lead" } else { "a member" };
    let second = match (step.second_person, step.blind) {
        (true, true) => ", and a second person, who reads it blind: without having seen the first figures",
        (true, false) => ", and a second person",
        (false, _) => "",
    };
    answer.line(format!("signed by {signer}{second}"));
    let crew = Crew::read(&sight.record, &sight.workshop, &sight.assessment);
    let given = given(sight, &crew, at, "");
    if !given.is_empty() {
        answer.line(given);
    }
    way::stops(sight).iter().for_each(|stop| answer.line(stop));
    for caution in &step.cautions {
        answer.line(format!("CAUTION: {}", caution.text));
    }
    if !step.cautions.is_empty() {
        answer.line(FOREWORD);
    }
    if !state.waits_for.is_empty() {
        answer.line(format!("after {}", waits_in_full(sight, state)));
    }
    if let Some(first) = better_after(sight, state) {
        answer.line(format!("better after {first}: a tight one is found while it is the only new one"));
    }
    for (piece, evidence) in (0..).zip(&state.evidence) {
        answer.line(evidence_line(evidence));
        if let Some(way) = way::to_evidence(sight, settings, at, piece).filter(|_| !evidence.met) {
            answer.line(format!("    {way}"));
        }
    }
    if state.progress == Progress::ReadyToSign || state.progress == Progress::WantsSecond {
        answer.line(way::of_step(sight, settings, at));
    }
    if state.progress == Progress::WantsSecond {
        way::blind_readings(sight, settings, at).iter().for_each(|way| answer.line(format!("    {way}")));
    }
    for (word, signature) in [("signed", &state.signature), ("second person", &state.second)] {
        if let Some(signature) = signature {
            let statement = sight.log().at(signature.by);
            let (by, at) = (sight.author(signature.by), when::moment(statement.device_time));
            answer.line(format!("{word}: {by}, {at} ({})", statement.id.short()));
            let why = if signature.lacks_evidence() { "signed without" } else { "no longer stands" };
            signature.stale.iter().for_each(|cause| answer.line(format!("  {why}: {}", cause.words())));
        }
    }
    let others = beside(sight, state);
    for ix in &others {
        let statement = sight.log().at(*ix);
        let (by, moment) = (sight.author(*ix), when::moment(statement.device_time));
        answer.line(format!("signed too: {by}, {moment} ({})", statement.id.short()));
        answer.line(format!("  {}", why_beside(sight, settings, state, step.second_person, *ix)));
    }
    answer.put("step", step_json(sight, definition, at));
    answer.put("signed_too", words::ids(&others.iter().map(|ix| sight.log().at(*ix).id).collect::<Vec<_>>()));
    Ok(answer)
}

/// Signatures on a step that count and do not carry it, since another one does.
fn beside(sight: &Sight, state: &StepState) -> Vec<Ix> {
    let carries = [&state.signature, &state.second];
    let carries: Vec<Ix> = carries.into_iter().flatten().map(|signature| signature.by).collect();
    let of_step = |(ix, statement): (Ix, &gudgeon_core::log::Statement)| match &statement.payload {
        Ok(Payload::SignOff(sign_off)) if *sign_off.step == *state.id => Some(ix),
        _ => None,
    };
    let all = (0..).zip(sight.log().folded()).filter_map(of_step);
    all.filter(|ix| !carries.contains(ix) && sight.assessment.status(*ix).stands()).collect()
}

/// Why a signature does not carry its step, and what its signer does where a second one is wanted.
fn why_beside(sight: &Sight, settings: &Settings, state: &StepState, wants_second: bool, ix: Ix) -> String {
    let Some(signature) = &state.signature else {
        return "it does not count for this step: see `findings`".to_owned();
    };
    let (log, own) = (sight.log(), sight.assessment.person(ix) == sight.assessment.person(signature.by));
    let apart = !log.knows(ix, signature.by) && !log.knows(signature.by, ix);
    let why = match (own, apart) {
        (true, _) => "the same person signed it again",
        (false, true) => "neither knew of the other; one signature of the one who did it is enough",
        (false, false) => "another signature of the one who did it carries the step",
    };
    if own || !wants_second || state.second.as_ref().is_some_and(Signature::stands) {
        return why.to_owned();
    }
    let sign = settings.line(&["sign", &state.id, "--second"]);
    format!("{why}; {} saw it too: as second person {sign}", sight.author(ix))
}
