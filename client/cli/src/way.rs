//! The way out as a command that can be typed: what supplies a piece of evidence, what comes next.
//!
//! Words in capitals are for the person to fill in.

use std::collections::BTreeSet;

use gudgeon_core::assess::{Evidence, Finding, NextAct, Progress, Rule, StepState};
use gudgeon_core::crew::Way;
use gudgeon_core::engine::{Characteristic, Definition, Fastener, Feature, Signer, characteristic};
use gudgeon_core::entry::{KeyId, Payload};

use crate::desk::Sight;
use crate::settings::Settings;
use crate::words;

/// A command that supplies a piece of evidence that is missing; none where no single one does.
pub(crate) fn to_evidence(sight: &Sight, settings: &Settings, step: usize, piece: usize) -> Option<String> {
    let on = |words: &[&str], place: &str| {
        let place = (!place.is_empty()).then_some(place);
        settings.line(&words.iter().copied().chain(place).collect::<Vec<_>>())
    };
    Some(match Way::to(&sight.record, &sight.assessment, step, piece)? {
        Way::Read { feature, row, station } => {
            to_reading(sight.definition().ok()?, settings, &feature, row, &station, "")
        }
        Way::Check { name, feature } => on(&["checked", &name], &feature),
        Way::Operation { name, feature } => on(&["operation", &name], &feature),
        Way::Tighten { group, place } => return to_tightening(sight, settings, &group, &place),
        Way::Allot { sort, place } => on(&["part", "allot", &format!("{sort}/MARK")], &place),
        Way::Receive { sort } => settings.line(&["part", "receive", &format!("{sort}/MARK")]),
        Way::Approve { subject, .. } => {
            settings.line(&["approve", &subject, "--who", "THE CUSTOMER", "--how", "HOW IT WAS GIVEN"])
        }
        Way::Decide { subject } => settings.line(&["decide", &subject, "WHAT IS DECIDED"]),
        Way::CheckGauge { .. } => settings.line(&["gauge", "check", "MARK", "--on", "MASTER", "--passed"]),
        Way::Settle { feature, subject } => return to_finding(sight, settings, &feature, &subject),
    })
}

/// `gudgeon read pin/2 diameter VALUE --at front/0 --gauge MARK --both-at TEMPERATURE`.
pub(crate) fn to_reading(
    definition: &Definition,
    settings: &Settings,
    feature: &Feature,
    row: &Characteristic,
    station: &str,
    gauge: &str,
) -> String {
    let mut words = vec!["read", feature.path(), row.name, "VALUE"];
    if !station.is_empty() {
        words.extend(["--at", station]);
    }
    words.extend(["--gauge", if gauge.is_empty() { "MARK" } else { gauge }]);
    if row.temperature_matters {
        words.extend(["--both-at", "TEMPERATURE"]);
    }
    let conditions: Vec<&str> =
        definition.missing_conditions(row, &[]).filter_map(|one_of| one_of.first().copied()).collect();
    let conditions = conditions.join(",");
    if !conditions.is_empty() {
        words.extend(["--cond", &conditions]);
    }
    settings.line(&words)
}

/// The way out of a finding; where one command is it, as it can be typed.
pub(crate) fn out_of(sight: &Sight, settings: &Settings, finding: &Finding) -> String {
    match (finding.rule, finding.ids.first()) {
        (Rule::Stopped, Some(stop)) => {
            let (alone, digits) = (sight.assessment.open_stops(&finding.subject).len() == 1, stop.short());
            let which = if alone { &finding.subject } else { &digits };
            format!("{}: {}", finding.hint(), settings.line(&["resume", which, "--note", "WHAT IT WAS"]))
        }
        (Rule::GaugeUnknown, _) if names_gauge(sight, finding) => {
            format!("{}; {PAPERS}", finding.hint())
        }
        _ => finding.hint().to_owned(),
    }
}

/// What is listed elsewhere is not known here before the workshop's own papers come.
const PAPERS: &str = "if it is listed, the workshop's papers here are old: `sync`, or `carry in` a newer file, \
    and look again";

/// Whether a mark was given where a gauge is not listed: one that was not named is listed nowhere.
fn names_gauge(sight: &Sight, finding: &Finding) -> bool {
    let mut held = finding.ids.iter().filter_map(|id| sight.log().held(id));
    held.any(|statement| match &statement.payload {
        Ok(Payload::Reading(reading)) => !reading.gauge.is_empty(),
        Ok(Payload::Tightening(tightening)) => !tightening.wrench.is_empty(),
        _ => false,
    })
}

/// Every stop that nothing has resumed, as a line: everybody who works on the engine is to see its tag.
pub(crate) fn stops(sight: &Sight) -> Vec<String> {
    let findings = sight.findings().into_iter();
    let open = findings.filter(|finding| finding.rule == Rule::Stopped);
    let place = |finding: &Finding| {
        let words = [finding.subject.as_str(), &finding.feature];
        words.into_iter().filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
    };
    open.map(|finding| format!("STOPPED {}: {}", place(finding), finding.text)).collect()
}

/// Every group that stands tightened in part, those of one stage as one line: everybody is to leave it alone.
pub(crate) fn part_tightened(sight: &Sight) -> Vec<String> {
    let Ok(definition) = sight.definition() else { return Vec::new() };
    let mut lines: Vec<(String, Vec<&str>)> = Vec::new();
    for (group, place, done, complete) in sight.assessment.tightenings() {
        let all = definition.fastener(group).map_or(0, |fastener| fastener.stages.len());
        let part = done > 0 && usize::try_from(done).is_ok_and(|done| done < all);
        if !part || complete {
            continue;
        }
        let at = format!("{group}, part-tightened, at stage {done} of {all}: do not turn");
        match lines.iter_mut().find(|(line, _)| *line == at) {
            Some((_, places)) => places.push(place),
            None => lines.push((at, vec![place])),
        }
    }
    lines.into_iter().map(|(line, places)| format!("{}: {line}", places.join(", "))).collect()
}

fn to_finding(sight: &Sight, settings: &Settings, path: &str, name: &str) -> Option<String> {
    let findings = sight.findings();
    let at = findings.iter().position(|f| f.is_open() && f.feature == path && f.subject == name)?;
    let list = settings.line(&["findings"]);
    Some(format!("{}; it is finding {} of {list}", findings[at].hint(), at + 1))
}

/// What comes next on a group of fasteners.
pub(crate) fn to_tightening(sight: &Sight, settings: &Settings, group: &str, place: &str) -> Option<String> {
    let fastener = sight.definition().ok()?.fastener(group)?;
    let next = next_pull(sight, settings, fastener, place);
    let mut groups = sight.assessment.tightenings();
    let begun = groups.any(|(of, at, done, _)| of == group && at == place && done > 0);
    match (sight.assessment.comes_first(group, place), next) {
        (Some(first), _) if begun => {
            Some(format!("{first}: {}", settings.line(&["tighten", group, place, "--slacken"])))
        }
        (Some(first), Some(next)) => Some(format!("{first}; then {next}")),
        (Some(first), None) => Some(first),
        (None, next) => next,
    }
}

fn next_pull(sight: &Sight, settings: &Settings, fastener: &Fastener, place: &str) -> Option<String> {
    let group = fastener.group.as_str();
    let first = if fastener.nip { NextAct::Nip } else { NextAct::Stage(1) };
    let act = |more: &[&str]| settings.line(&[&["tighten", group, place], more].concat());
    let lubricant = ["--lubricant", &fastener.lubricant];
    match sight.assessment.next_act(group, place).unwrap_or(first) {
        NextAct::Nip => Some(act(&[&["--nip"][..], &lubricant].concat())),
        NextAct::Slacken => Some(format!("{}; evenly, then begin again", act(&["--slacken"]))),
        NextAct::Turn => Some(settings.line(&["checked", "turns-free", "crank"])),
        NextAct::Stage(number) => {
            let (stage, set) = (number.to_string(), fastener.stage(number)?.to_string());
            let pull = ["--stage", &stage, "--set", &set, "--wrench", "MARK"];
            Some(act(&[&pull[..], &lubricant].concat()))
        }
        NextAct::Nothing => None,
    }
}

/// The commands that read blind, as the second person to a step, what the first has read; none where the step
/// does not ask for it.
pub(crate) fn blind_readings(sight: &Sight, settings: &Settings, at: usize) -> Vec<String> {
    let Ok(definition) = sight.definition() else { return Vec::new() };
    if !definition.step_of(&definition.steps()[at]).blind {
        return Vec::new();
    }
    let line = |evidence: &Evidence| {
        let read = evidence.entries.iter().find_map(|ix| match &sight.log().at(*ix).payload {
            Ok(Payload::Reading(reading)) => Some(reading),
            _ => None,
        })?;
        let feature = definition.feature(&read.feature).ok()?;
        let row = characteristic::find(feature.kind(), &read.characteristic)?;
        Some(to_reading(definition, settings, &feature, row, &read.station, "") + " --blind")
    };
    let mut lines: Vec<String> = sight.assessment.steps()[at].evidence.iter().filter_map(line).collect();
    lines.dedup();
    lines
}

/// The command that goes on with a step: its signature where it is ready, else what it asks for.
pub(crate) fn to_step(sight: &Sight, settings: &Settings, at: usize) -> String {
    let state = &sight.assessment.steps()[at];
    let ready = state.progress == Progress::ReadyToSign;
    settings.line(&[if ready { "sign" } else { "step" }, &state.id])
}

/// What a step asks for next, as a sentence with its command.
pub(crate) fn of_step(sight: &Sight, settings: &Settings, at: usize) -> String {
    let state = &sight.assessment.steps()[at];
    let sign = |more: &[&str]| settings.line(&[&["sign", &state.id], more].concat());
    match state.progress {
        Progress::ReadyToSign => {
            let who = if by_lead(sight, at) { "for a lead " } else { "" };
            format!("{} is ready {who}to sign: {}", state.id, sign(&[]))
        }
        Progress::WantsSecond => {
            let blind =
                if blind_readings(sight, settings, at).is_empty() { "" } else { ", who reads it blind" };
            let who = other_than(sight, state) + blind;
            format!("{} wants a second person{who}: {}", state.id, sign(&["--second"]))
        }
        Progress::Signed => format!("{} is signed", state.id),
        Progress::Stale => {
            format!("the signature on {} no longer stands: {}", state.id, settings.line(&["step", &state.id]))
        }
        Progress::WithoutEvidence => {
            format!("{} was signed without its evidence: {}", state.id, settings.line(&["step", &state.id]))
        }
        Progress::Blocked => format!("{} waits for {}", state.id, first(&names(sight, &state.waits_for))),
        Progress::Open => format!("{} still misses {}", state.id, first(&missing(state))),
    }
}

fn by_lead(sight: &Sight, at: usize) -> bool {
    let definition = sight.definition().ok();
    definition.is_some_and(|all| all.step_of(&all.steps()[at]).sign == Signer::Lead)
}

/// Most people that are named.
const FEW: usize = 4;

/// `, not Ann but one of Ben, Cleo`: whoever signed cannot be the second person to it.
fn other_than(sight: &Sight, state: &StepState) -> String {
    let Some(signature) = &state.signature else { return String::new() };
    let (roster, signer) = (sight.roster(), sight.assessment.person(signature.by));
    let may = |key: &KeyId| {
        let roles = roster.roles_of(*key);
        roster.may_connect(*key) && (roles.member || roles.lead)
    };
    let others = roster.keys().filter(may).filter_map(|key| roster.person_of(key));
    let others: BTreeSet<String> =
        others.filter(|one| Some(*one) != signer).map(|one| sight.person(one)).collect();
    let more = others.len().saturating_sub(FEW);
    let few = others.into_iter().take(FEW).collect::<Vec<_>>().join(", ");
    let by = sight.author(signature.by);
    match (few.is_empty(), more) {
        (true, _) => format!(", not {by}, and nobody else here may sign yet"),
        (false, 0) => format!(", not {by} but one of {few}"),
        (false, more) => format!(", not {by} but one of {few} and {more} more"),
    }
}

fn names(sight: &Sight, steps: &[usize]) -> Vec<String> {
    steps.iter().map(|step| sight.assessment.steps()[*step].id.to_string()).collect()
}

fn missing(state: &StepState) -> Vec<String> {
    state
        .evidence
        .iter()
        .filter(|evidence| !evidence.met)
        .map(|evidence| evidence.asked.to_string())
        .collect()
}

fn first(list: &[String]) -> String {
    match list {
        [] => "nothing".to_owned(),
        [one] => one.clone(),
        [one, rest @ ..] => format!("{one} and {}", words::count(rest.len(), "other", "others")),
    }
}
