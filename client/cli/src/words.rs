//! Findings, entries and verdicts in words and as JSON.

use gudgeon_core::assess::{Finding, Judged, Status, Weight, show};
use gudgeon_core::entry::EntryId;
use gudgeon_core::log::{Ix, Statement};
use gudgeon_core::roster::Roles;
use serde_json::{Value as Json, json};

use crate::desk::Sight;
use crate::says;
use crate::when;

/// `Outside the limits, pin/2: diameter 47.700 mm, ...`.
pub(crate) fn finding(finding: &Finding) -> String {
    // Most texts begin with the subject, so that it is not said twice.
    let subject = if finding.text.starts_with(&finding.subject) { "" } else { &finding.subject };
    let place = [finding.feature.as_str(), subject];
    let place = place.into_iter().filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ");
    let at = if place.is_empty() { String::new() } else { format!(", {place}") };
    format!("{}{at}: {}", finding.rule.title(), finding.text)
}

/// `1 entry`, `3 entries`.
pub(crate) fn count(number: usize, one: &str, several: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {several}") }
}

/// A finding as JSON.
pub(crate) fn finding_json(finding: &Finding) -> Json {
    json!({
        "rule": finding.rule.name(), "title": finding.rule.title(), "weight": weight(finding.rule.weight()),
        "feature": finding.feature, "subject": finding.subject, "text": finding.text,
        "hint": finding.hint(), "entries": ids(&finding.ids),
        "conceded": finding.conceded.map(|id| id.to_hex()), "open": finding.is_open(),
    })
}

/// How a finding weighs, in a word.
pub(crate) const fn weight(weight: Weight) -> &'static str {
    match weight {
        Weight::Stops => "stops",
        Weight::Settle => "settle",
        Weight::Note => "note",
    }
}

/// Ids in full.
pub(crate) fn ids(list: &[EntryId]) -> Vec<String> {
    list.iter().map(EntryId::to_hex).collect()
}

/// Ids in brief.
pub(crate) fn short_ids(list: &[EntryId]) -> String {
    list.iter().map(EntryId::short).collect::<Vec<_>>().join(" ")
}

/// A judged value, with its place.
pub(crate) fn value(path: &str, judged: &Judged) -> String {
    if let Some(hindrance) = judged.hindrance() {
        return format!("{path} {}: {hindrance}", judged.name);
    }
    let mut text = format!("{path} {}", show::value_against_limit(judged));
    let span = |(low, high)| show::span(judged.kind, low, high);
    let corrected = judged.low.zip(judged.high).map(span);
    if let Some(as_read) = judged.as_read.map(span).filter(|read| corrected.as_ref() != Some(read)) {
        text.push_str(&format!(" (as read {as_read})"));
    }
    let (read, needed) = judged.stations;
    if read < needed {
        text.push_str(&format!("; {read} of {needed} stations read so far"));
    }
    text
}

/// A judged value as JSON.
pub(crate) fn value_json(path: &str, judged: &Judged) -> Json {
    let ends = judged.low.zip(judged.high);
    json!({
        "feature": path, "name": judged.name,
        "text": ends.map(|(low, high)| show::span(judged.kind, low, high)),
        "as_read": judged.as_read.map(|(low, high)| show::span(judged.kind, low, high)),
        "u": judged.u.map(|u| show::uncertainty(judged.kind, u.base())),
        "guard": judged.u.and(judged.guard()).map(|guard| show::uncertainty(judged.kind, guard)),
        "limits": judged.limit.as_ref().map(|limit| show::limits(judged.kind, limit.lower, limit.upper)),
        "rule": judged.limit.as_ref().map(|limit| limit.rule.to_string()),
        "verdict": judged.verdict().to_string(), "verdict_code": judged.verdict().code(),
        "hindrance": judged.hindrance(),
        "stations_read": judged.stations.0, "stations_needed": judged.stations.1,
    })
}

/// What became of an entry, with who or what did it.
pub(crate) fn fate(sight: &Sight, ix: Ix) -> String {
    let status = sight.assessment.status(ix);
    if matches!(status, Status::NotCounted) {
        let why = sight.roster().counts(sight.log(), ix).err();
        return why.map_or_else(|| status.word().to_owned(), |why| format!("{}: {why}", status.word()));
    }
    let mut causes = status.causes().to_vec();
    if causes.is_empty() {
        return status.word().to_owned();
    }
    causes.sort_by_key(|ix| (sight.log().at(*ix).device_time, sight.log().at(*ix).id));
    let by = |cause: &Ix| {
        let statement = sight.log().at(*cause);
        format!("{} ({} {})", what(sight, statement), sight.author(*cause), statement.id.short())
    };
    format!("{}: {}", status.word(), causes.iter().map(by).collect::<Vec<_>>().join("; "))
}

/// What an entry says, in a sentence.
pub(crate) fn what(sight: &Sight, statement: &Statement) -> String {
    match &statement.payload {
        Ok(payload) => says::says(payload, &|person| sight.person(person)),
        Err(why) => format!("cannot be read: {why}"),
    }
}

/// An entry as JSON.
pub(crate) fn entry_json(sight: &Sight, ix: Ix) -> Json {
    let statement = sight.log().at(ix);
    let status = sight.assessment.status(ix);
    let causes: Vec<String> = status.causes().iter().map(|by| sight.log().at(*by).id.to_hex()).collect();
    json!({
        "id": statement.id.to_hex(), "kind": statement.kind().map(|kind| kind.name()),
        "by": sight.author(ix), "key": statement.key.to_hex(),
        "device_time": when::moment(statement.device_time), "says": what(sight, statement),
        "status": status.word(), "status_by": causes, "fate": fate(sight, ix),
    })
}

/// Roles of a key in words.
pub(crate) fn roles(roles: Roles) -> String {
    let words = [("member", roles.member), ("lead", roles.lead), ("viewer", roles.viewer)];
    words.iter().filter(|(_, has)| *has).map(|(word, _)| *word).collect::<Vec<_>>().join(" and ")
}
