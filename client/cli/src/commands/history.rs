//! Everything about one feature in the order in which it became known; one entry whole.

use clap::Args;
use gudgeon_core::engine::{Definition, Feature};
use gudgeon_core::entry::Payload;
use gudgeon_core::entry::payload::Operation;
use gudgeon_core::log::Ix;
use serde_json::Value as Json;

use super::office;
use crate::codes::Exit;
use crate::desk::{Desk, Sight};
use crate::failure::Failure;
use crate::out::{Answer, Outcome, columns};
use crate::pick;
use crate::settings::Settings;
use crate::when;
use crate::words;

#[derive(Args, Debug)]
pub(crate) struct History {
    /// The feature, such as bore/3.
    feature: String,
    /// Only readings of this characteristic.
    #[arg(long)]
    characteristic: Option<String>,
}

#[derive(Args, Debug)]
pub(crate) struct Entry {
    /// First digits of its id.
    entry: String,
}

pub(crate) fn history(args: &History, settings: &Settings) -> Outcome {
    let desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    let feature = pick::feature(&sight, &args.feature)?;
    let definition = sight.definition()?;
    let about = |ix: &Ix| concerns(&sight, definition, *ix, &feature, args.characteristic.as_deref());
    let all: Vec<Ix> = (0..).zip(sight.log().folded()).map(|(ix, _)| ix).filter(about).collect();
    let ordered = by_knowledge(&sight, &all);
    let mut answer = Answer::new();
    let row = |ix: &Ix| {
        let statement = sight.log().at(*ix);
        let time = when::moment(statement.device_time);
        let says = words::what(&sight, statement);
        [statement.id.short(), time, sight.author(*ix), format!("{says} -- {}", words::fate(&sight, *ix))]
    };
    columns(&ordered.iter().map(row).collect::<Vec<_>>()).iter().for_each(|line| answer.line(line));
    if ordered.is_empty() {
        answer.line(format!("nothing is entered on {}", feature.path()));
    }
    add_values(&mut answer, &sight, feature.path());
    answer.put("feature", feature.path());
    answer.put("entries", ordered.iter().map(|ix| words::entry_json(&sight, *ix)).collect::<Json>());
    Ok(answer)
}

fn add_values(answer: &mut Answer, sight: &Sight, path: &str) {
    let views: Vec<_> = sight.assessment.features().filter(|view| view.feature.path() == path).collect();
    let values = || views.iter().flat_map(|view| view.values);
    values().for_each(|value| answer.line(format!("now: {}", words::value(path, value))));
    answer.put("values", values().map(|value| words::value_json(path, value)).collect::<Json>());
}

/// Whether an entry is about a feature, or ends something there.
fn concerns(sight: &Sight, definition: &Definition, ix: Ix, feature: &Feature, only: Option<&str>) -> bool {
    let path = feature.path();
    let Ok(payload) = &sight.log().at(ix).payload else { return false };
    if let Payload::Reading(reading) = payload {
        return reading.feature == path && only.is_none_or(|only| reading.characteristic == only);
    }
    if let Payload::Operation(operation) = payload {
        return reaches(definition, operation, feature);
    }
    only.is_none()
        && (place_of(payload) == Some(path) || parts_of(payload).iter().any(|part| is_of(path, part)))
}

/// Whether an operation was on the feature or ends something of it.
fn reaches(definition: &Definition, operation: &Operation, feature: &Feature) -> bool {
    let on = || operation.features.iter().chain(&operation.parts);
    on().any(|path| path == feature.path())
        || on().filter_map(|path| definition.feature(path).ok()).any(|touched| {
            definition
                .ends(&operation.operation, &touched)
                .iter()
                .any(|ended| ended.features.matches(feature))
        })
}

/// The feature that an entry names.
#[allow(clippy::wildcard_enum_match_arm)] // kinds that name no feature, whatever they are
fn place_of(payload: &Payload) -> Option<&str> {
    Some(match payload {
        Payload::Fitting(fitting) => &fitting.place,
        Payload::Tightening(done) => &done.place,
        Payload::Check(check) => &check.feature,
        Payload::Concession(conceded) => &conceded.feature,
        Payload::LimitChange(change) => &change.feature,
        Payload::Stop(stop) => &stop.feature,
        Payload::Note(note) => &note.feature,
        Payload::Photo(photo) => &photo.feature,
        _ => return None,
    })
}

/// The parts that an entry names, as sort and mark.
#[allow(clippy::wildcard_enum_match_arm)] // kinds that name no part, whatever they are
fn parts_of(payload: &Payload) -> Vec<String> {
    match payload {
        Payload::Fitting(fitting) => vec![fitting.part.clone()],
        Payload::PartReceived(part) => vec![format!("{}/{}", part.sort, part.mark)],
        Payload::Custody(custody) => custody.parts.clone(),
        _ => Vec::new(),
    }
}

/// Whether a feature is a part, or of a part.
fn is_of(path: &str, part: &str) -> bool {
    path.strip_prefix(part).is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
}

/// In an order in which each follows all it knows; by device time, then id, where neither knows the other.
fn by_knowledge(sight: &Sight, all: &[Ix]) -> Vec<Ix> {
    let log = sight.log();
    let mut rest: Vec<Ix> = all.to_vec();
    rest.sort_by_key(|ix| (log.at(*ix).device_time, log.at(*ix).id));
    let mut ordered = Vec::with_capacity(rest.len());
    while !rest.is_empty() {
        let free = |ix: &Ix| !rest.iter().any(|other| log.knows(*ix, *other));
        let at = rest.iter().position(free).unwrap_or(0);
        ordered.push(rest.remove(at));
    }
    ordered
}

pub(crate) fn entry(args: &Entry, settings: &Settings) -> Outcome {
    let desk = Desk::open(settings)?;
    match desk.sight().and_then(|sight| in_record(&desk, &sight, &args.entry)) {
        Err(failure) if failure.exit == Exit::NotFound => {
            in_workshop(&desk, &args.entry).map_err(|_| failure)
        }
        other => other,
    }
}

fn in_record(desk: &Desk, sight: &Sight, digits: &str) -> Outcome {
    let id = pick::entry(sight.log(), digits)?;
    let mut answer = Answer::new();
    let Some(ix) = sight.log().place(&id) else {
        answer.line(format!("entry   {id}"));
        answer.line("status  missing its ground: carry in what it rests on");
        answer.put("entry", serde_json::json!({ "id": id.to_hex(), "status": "missing its ground" }));
        return Ok(answer);
    };
    let statement = sight.log().at(ix);
    let fields = [
        ("entry", id.to_hex()),
        (
            "kind",
            statement.kind().map_or_else(|| statement.kind_code.to_string(), |kind| kind.name().to_owned()),
        ),
        ("by", format!("{} (key {})", sight.author(ix), statement.key.short())),
        ("device time", when::moment(statement.device_time)),
        ("knew", words::short_ids(&statement.after)),
        ("says", words::what(sight, statement)),
        ("status", words::fate(sight, ix)),
    ];
    let rows = fields.map(|(name, text)| [name.to_owned(), text]);
    columns(&rows).iter().for_each(|line| answer.line(line));
    let mut json = words::entry_json(sight, ix);
    if let Some(place) = office::whereabouts(&desk.home, sight.log().document(), id)? {
        answer.line(format!("it is {place}"));
        json["place"] = place.into();
    }
    json["knew"] = words::ids(&statement.after).into();
    answer.put("entry", json);
    Ok(answer)
}

fn in_workshop(desk: &Desk, digits: &str) -> Result<Answer, Failure> {
    let workshop = desk.workshop()?;
    let (log, roster) = (workshop.log(), workshop.roster());
    let id = pick::entry(log, digits)?;
    let statement =
        log.get(&id).ok_or_else(|| Failure::not_found("missing-ground", "it misses its ground", ""))?;
    let person = |id| roster.name_of(id).unwrap_or("somebody").to_owned();
    let says =
        statement.payload.as_ref().map_or_else(ToString::to_string, |says| crate::says::says(says, &person));
    let by = roster.person_of(statement.key).map_or_else(|| "root".to_owned(), person);
    let status = match log.place(&id).map(|ix| roster.counts(log, ix)) {
        Some(Err(why)) => format!("not counted: {why}"),
        _ => "counts".to_owned(),
    };
    let time = when::moment(statement.device_time);
    let mut answer = Answer::new();
    let rows =
        [("entry", id.to_hex()), ("by", by), ("device time", time), ("says", says), ("status", status)];
    let json: serde_json::Map<String, Json> = rows
        .iter()
        .map(|(name, text)| (name.replace("entry", "id").replace(' ', "_"), text.clone().into()))
        .collect();
    let rows = rows.map(|(name, text)| [name.to_owned(), text]);
    columns(&rows).iter().for_each(|line| answer.line(line));
    answer.put("entry", Json::Object(json));
    Ok(answer)
}
