//! Title block, findings, parts, decisions, history, and how to check it all.

use std::collections::{BTreeMap, BTreeSet};

use data_encoding::HEXLOWER;
use sha2::{Digest as _, Sha256};

use super::date::Moment;
use super::model::{Event, FindingRow, Mention, PartRow, PastRow, Title, Verify};
use super::sight::Sight;
use super::state::State;
use super::value::concession;
use super::words::{capital, count, place, plain, says};
use crate::assess::{CALCULATION, Finding, Status, Weight, founding_id};
use crate::engine::{Definition, Form, Liners};
use crate::entry::payload::{Custody, Payload};
use crate::entry::{EntryId, Kind};
use crate::log::{Ix, Log};

pub(super) fn title(sight: &Sight) -> Title {
    let definition = sight.assessment.definition();
    let founding = sight.log().get(&founding_id(sight.log())).map(|statement| &statement.payload);
    let record = match founding {
        Some(Ok(Payload::Founding(founding))) => founding.name.clone(),
        _ => String::new(),
    };
    Title {
        record,
        workshop: sight.roster().workshop_name().unwrap_or_default().to_owned(),
        engine: definition.map(|d| d.name().to_owned()).unwrap_or_default(),
        note: definition.map(|d| d.note().to_owned()).unwrap_or_default(),
        facts: definition.map(facts).unwrap_or_default(),
        not_judged: (!sight.assessment.is_judged()).then(|| not_judged(sight).to_owned()),
        handed_over: handed_over(sight),
        latest: sight.told().map(|(_, statement)| Moment(statement.device_time)).max(),
    }
}

fn not_judged(sight: &Sight) -> &'static str {
    if sight.assessment.definition().is_none() {
        "No usable definition of the engine is held: nothing here is judged."
    } else {
        "The record holds an entry from a newer version of this program: nothing here is judged."
    }
}

fn facts(definition: &Definition) -> Vec<(String, String)> {
    let layout = definition.layout();
    let form = match layout.form() {
        Form::Inline => "inline".to_owned(),
        Form::Vee { bank_angle } => format!("vee, {bank_angle}"),
        Form::Flat => "flat".to_owned(),
    };
    let liners = match layout.liners() {
        Liners::None => "none",
        Liners::Dry => "dry",
        Liners::Wet => "wet",
    };
    let order: Vec<String> = layout.firing_order().iter().map(u8::to_string).collect();
    let size = |name: &str| definition.dimension(name).map(ToString::to_string).unwrap_or_default();
    let fact = |name: &str, value: String| (name.to_owned(), value);
    let mut facts = vec![
        fact("Form", format!("{form}, {}", count(layout.cylinders().into(), "cylinder"))),
        fact("Bore × stroke", format!("{} × {}", size("bore"), size("stroke"))),
        fact("Oversize", size("oversize")),
        fact("Undersize", size("undersize")),
        fact("Mains", format!("{}, thrust at {}", layout.mains(), layout.thrust_main())),
        fact("Firing order", order.join("-")),
        fact("Liners", liners.to_owned()),
    ];
    facts.retain(|(_, value)| !value.is_empty());
    facts
}

/// The last hand-over that stands and was not followed by a reopening.
fn handed_over(sight: &Sight) -> Option<(String, Mention)> {
    let log = sight.log();
    let reopened = |ix: Ix| {
        sight.standing().any(|(other, payload)| matches!(payload, Payload::Reopen(_)) && log.knows(other, ix))
    };
    sight.standing().rev().find_map(|(ix, payload)| {
        let Payload::HandOver(over) = payload else { return None };
        (!reopened(ix)).then(|| (over.to.clone(), sight.mention(ix)))
    })
}

/// Findings that are open or worth knowing, and those that were accepted.
pub(super) fn findings(sight: &Sight) -> (Vec<FindingRow>, Vec<FindingRow>) {
    let all = sight.assessment.findings();
    let (conceded, mut open): (Vec<&Finding>, Vec<&Finding>) =
        all.into_iter().partition(|finding| finding.conceded.is_some());
    open.sort_by_key(|finding| finding.rule.weight() == Weight::Note);
    let rows = |list: Vec<&Finding>| -> Vec<FindingRow> {
        let mut rows: Vec<FindingRow> = Vec::new();
        for row in list.into_iter().map(|one| finding(sight, one)) {
            let same = |other: &&mut FindingRow| {
                (other.title, &other.place, &other.subject, &other.text, &other.conceded)
                    == (row.title, &row.place, &row.subject, &row.text, &row.conceded)
            };
            // One sentence about several readings is said once, over all of them.
            match rows.iter_mut().find(same) {
                Some(said) => said.entries.extend(&row.entries),
                None => rows.push(row),
            }
        }
        rows
    };
    (rows(open), rows(conceded))
}

fn finding(sight: &Sight, finding: &Finding) -> FindingRow {
    FindingRow {
        title: finding.rule.title(),
        place: place(&finding.feature),
        subject: if finding.subject.contains('/') {
            finding.subject.clone()
        } else {
            plain(&finding.subject)
        },
        text: finding.text.clone(),
        way_out: finding.hint().to_owned(),
        state: State::of_finding(finding.rule),
        note_only: finding.rule.weight() == Weight::Note,
        conceded: finding.conceded.and_then(|id| concession(sight, id)),
        entries: finding.ids.clone(),
    }
}

/// Parts received or fitted, by mark.
pub(super) fn parts(sight: &Sight) -> Vec<PartRow> {
    let mut rows: BTreeMap<String, PartRow> = BTreeMap::new();
    let empty = |mark: &str, sort: &str| PartRow {
        mark: mark.to_owned(),
        sort: plain(sort),
        about: Vec::new(),
        place: String::new(),
        received: None,
    };
    for (ix, payload) in sight.standing() {
        if let Payload::PartReceived(part) = payload {
            let mark = if part.mark.contains('/') {
                part.mark.clone()
            } else {
                format!("{}/{}", part.sort, part.mark)
            };
            let row = rows.entry(mark).or_insert_with(|| empty(&part.mark, &part.sort));
            row.received = Some(sight.mention(ix));
            row.about = about(part);
        }
    }
    for (mark, at) in places(sight) {
        let sort = mark.split_once('/').map_or("", |(sort, _)| sort);
        rows.entry(mark.clone()).or_insert_with(|| empty(&mark, sort)).place = at;
    }
    for (ix, custody) in custodies(sight) {
        for mark in &custody.parts {
            if let Some(row) = rows.values_mut().find(|row| row.mark == *mark) {
                let out = format!("out with {} since {}", custody.with_whom, sight.mention(ix).when.day());
                row.place = if custody.out { out } else { row.place.replace(&out, "") };
            }
        }
    }
    rows.into_values().collect()
}

fn about(part: &crate::entry::payload::PartReceived) -> Vec<String> {
    let mut about = Vec::new();
    about.extend((!part.batch.is_empty()).then(|| format!("batch {}", part.batch)));
    about.extend(part.weight.as_ref().map(|weight| format!("weighs {weight}")));
    about.extend(part.wall.as_ref().map(|wall| format!("wall {wall}")));
    about.extend((part.count > 1).then(|| format!("{} pieces", part.count)));
    about.extend((!part.note.is_empty()).then(|| part.note.clone()));
    about
}

/// Where each fitted or allotted part is.
fn places(sight: &Sight) -> BTreeMap<String, String> {
    let named: BTreeSet<&str> = sight
        .standing()
        .filter_map(|(_, payload)| {
            let Payload::Fitting(fitting) = payload else { return None };
            Some(fitting.place.as_str())
        })
        .collect();
    let mut places: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for at in named {
        for (mark, by) in sight.assessment.parts_in(at) {
            let how = if sight.is_fitted(by) { "fitted" } else { "allotted" };
            let turned = match &sight.log().at(by).payload {
                Ok(Payload::Fitting(fitting)) if !fitting.orientation.is_empty() => {
                    format!(", {}", fitting.orientation)
                }
                _ => String::new(),
            };
            places.entry(mark.to_owned()).or_default().push(format!("{how} at {}{turned}", place(at)));
        }
    }
    places.into_iter().map(|(mark, at)| (mark, at.join(" and "))).collect()
}

/// For each mark, the last word on its custody, where that is "out".
fn custodies<'a>(sight: &'a Sight) -> Vec<(Ix, &'a Custody)> {
    let all: Vec<(Ix, &Custody)> = sight
        .standing()
        .filter_map(|(ix, payload)| {
            let Payload::Custody(custody) = payload else { return None };
            Some((ix, custody))
        })
        .collect();
    let back = |at: usize, custody: &Custody| {
        all[at + 1..]
            .iter()
            .any(|(_, later)| !later.out && custody.parts.iter().all(|mark| later.parts.contains(mark)))
    };
    all.iter().enumerate().filter(|(at, (_, c))| c.out && !back(*at, c)).map(|(_, one)| *one).collect()
}

/// Sorts of entry that are told under a heading of their own.
const DECIDED: [Kind; 11] = [
    Kind::LimitChange,
    Kind::Decision,
    Kind::Approval,
    Kind::Concession,
    Kind::Custody,
    Kind::Order,
    Kind::Stop,
    Kind::Resume,
    Kind::HandOver,
    Kind::Reopen,
    Kind::GaugeCheck,
];

pub(super) fn decisions(sight: &Sight) -> Vec<Event> {
    events(sight, &DECIDED)
}

pub(super) fn notes(sight: &Sight) -> Vec<Event> {
    events(sight, &[Kind::Operation, Kind::Fitting, Kind::Check, Kind::Note, Kind::Photo])
}

fn events(sight: &Sight, kinds: &[Kind]) -> Vec<Event> {
    let wanted = |ix: &Ix| sight.log().at(*ix).kind().is_some_and(|kind| kinds.contains(&kind));
    sight.standing().map(|(ix, _)| ix).filter(wanted).map(|ix| event(sight, ix)).collect()
}

/// An entry in words.
pub(super) fn event(sight: &Sight, ix: Ix) -> Event {
    Event { kind: kind(sight, ix), text: says(sight, ix), by: sight.mention(ix) }
}

/// What was done on a feature, decided on it or noted, readings apart.
pub(super) fn done_on(sight: &Sight, path: &str) -> Vec<Event> {
    let here = sight.standing().filter(|(_, payload)| is_done_on(payload, path));
    here.map(|(ix, _)| event(sight, ix)).collect()
}

#[allow(clippy::wildcard_enum_match_arm)] // no other kind is of one feature
fn is_done_on(payload: &Payload, path: &str) -> bool {
    match payload {
        Payload::Operation(operation) => operation.features.iter().any(|on| on == path),
        Payload::Fitting(fitting) => fitting.place == path,
        Payload::Tightening(done) => done.place == path,
        Payload::Check(check) => check.feature == path,
        Payload::Concession(conceded) => conceded.feature == path,
        Payload::LimitChange(change) => change.feature == path,
        Payload::Stop(stop) => stop.feature == path,
        Payload::Note(note) => note.feature == path,
        Payload::Photo(photo) => photo.feature == path,
        _ => false,
    }
}

fn kind(sight: &Sight, ix: Ix) -> String {
    let statement = sight.log().at(ix);
    statement
        .kind()
        .map_or_else(|| format!("kind {}", statement.kind_code), |kind| capital(&plain(kind.name())))
}

/// Entries that no longer stand or never counted, in the order of telling; then those that
/// miss their ground.
pub(super) fn history(sight: &Sight) -> Vec<PastRow> {
    let past = sight.told().filter(|(ix, _)| !sight.assessment.status(*ix).stands());
    let folded = past.map(|(ix, _)| past_row(sight, ix));
    let waiting = sight.log().waiting().map(|statement| PastRow {
        kind: statement.kind().map_or_else(String::new, |kind| capital(&plain(kind.name()))),
        text: "not judged".to_owned(),
        by: Mention { who: String::new(), when: Moment(statement.device_time), entry: statement.id },
        status: "missing its ground",
        why: "it rests on entries that are not here".to_owned(),
        causes: Vec::new(),
    });
    folded.chain(waiting).collect()
}

/// Readings of a feature that no longer stand or never counted.
pub(super) fn past_on(sight: &Sight, path: &str) -> Vec<PastRow> {
    let here = |payload: &Payload| matches!(payload, Payload::Reading(reading) if reading.feature == path);
    let past = sight.said().filter(|(ix, payload)| here(payload) && !sight.assessment.status(*ix).stands());
    past.map(|(ix, _)| past_row(sight, ix)).collect()
}

fn past_row(sight: &Sight, ix: Ix) -> PastRow {
    PastRow {
        kind: kind(sight, ix),
        text: says(sight, ix),
        by: sight.mention(ix),
        status: sight.assessment.status(ix).word(),
        why: why(sight, ix),
        causes: causes(sight, ix),
    }
}

fn why(sight: &Sight, ix: Ix) -> String {
    let status = sight.assessment.status(ix);
    if matches!(status, Status::NotCounted) {
        let reason = sight.roster().counts(sight.log(), ix).err();
        return reason.map(|reason| format!("{reason}; {}", reason.way_out())).unwrap_or_default();
    }
    let causes = causes(sight, ix).into_iter();
    let told: Vec<String> =
        causes.map(|by| format!("{}, {}: {}", by.by.who, by.by.when.spaced(), by.text)).collect();
    told.join("; ")
}

/// What made an entry stand no longer, in the order of telling.
fn causes(sight: &Sight, ix: Ix) -> Vec<Event> {
    let mut causes: Vec<Ix> = sight.assessment.status(ix).causes().to_vec();
    causes.sort_by_key(|ix| sight.rank(*ix));
    causes.into_iter().map(|by| event(sight, by)).collect()
}

pub(super) fn verify(sight: &Sight) -> Verify {
    let roster = sight.roster();
    Verify {
        record: sight.log().document(),
        workshop: roster.workshop(),
        root: roster.root(),
        entries: ids(sight.log()).len(),
        entries_digest: digest_of_ids(sight.log()),
        workshop_entries: ids(sight.workshop.log()).len(),
        workshop_digest: digest_of_ids(sight.workshop.log()),
        definition_digest: sight
            .assessment
            .definition()
            .map(|definition| HEXLOWER.encode(definition.digest())),
        calculation: CALCULATION,
    }
}

/// Every entry held, folded or waiting.
fn ids(log: &Log) -> BTreeSet<EntryId> {
    let folded = log.folded().iter().map(|statement| statement.id);
    folded.chain(log.waiting().map(|statement| statement.id)).collect()
}

/// SHA-256 over the ids of all entries held, 32 bytes each, ascending; 64 hexadecimal digits.
#[must_use]
pub fn digest_of_ids(log: &Log) -> String {
    let mut digest = Sha256::new();
    for id in ids(log) {
        digest.update(id.bytes());
    }
    HEXLOWER.encode(&digest.finalize())
}
