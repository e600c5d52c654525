//! People with their keys, and the gauges they used.

use std::collections::{BTreeMap, BTreeSet};

use super::date::Moment;
use super::model::{GaugeRow, KeyRow, PersonRow};
use super::sight::Sight;
use super::words::{plain, range};
use crate::assess::{GaugeFacts, show};
use crate::entry::payload::Payload;
use crate::entry::{EntryId, KeyId};
use crate::roster::Roles;

/// Everybody with a key, by name; then keys of nobody that wrote here.
pub(super) fn people(sight: &Sight) -> Vec<PersonRow> {
    let roster = sight.roster();
    let mut keys: BTreeSet<KeyId> = roster.keys().collect();
    keys.extend(sight.told().map(|(_, statement)| statement.key));
    let mut by_person: BTreeMap<(bool, String, Option<EntryId>), Vec<KeyRow>> = BTreeMap::new();
    for key in keys {
        let person = roster.person_of(key);
        let name = person.map_or_else(|| "Nobody in this workshop".to_owned(), |person| sight.name(person));
        by_person.entry((person.is_none(), name, person)).or_default().push(key_row(sight, key));
    }
    by_person.into_iter().map(|((_, name, _), keys)| PersonRow { name, keys }).collect()
}

fn key_row(sight: &Sight, key: KeyId) -> KeyRow {
    let roster = sight.roster();
    let reason = |removal: &crate::roster::Removal| {
        if removal.reason.is_empty() { "no reason given".to_owned() } else { removal.reason.clone() }
    };
    KeyRow {
        key,
        roles: roles(roster.roles_of(key)),
        device: roster.label_of(key).unwrap_or_default().to_owned(),
        removed: roster.removals_of(key).first().map(reason),
        entries: sight.told().filter(|(_, statement)| statement.key == key).count(),
    }
}

fn roles(roles: Roles) -> String {
    let words = [(roles.lead, "lead"), (roles.member, "member"), (roles.viewer, "looks on")];
    let held: Vec<&str> = words.into_iter().filter(|(held, _)| *held).map(|(_, word)| word).collect();
    if held.is_empty() { "no role".to_owned() } else { held.join(", ") }
}

/// Gauges and wrenches named in the record, and what they were set with.
#[allow(clippy::wildcard_enum_match_arm)] // no other kind names a gauge
pub(super) fn gauges(sight: &Sight) -> Vec<GaugeRow> {
    let mut marks: BTreeSet<&str> = BTreeSet::new();
    for (_, payload) in sight.said() {
        match payload {
            Payload::Reading(reading) => marks.extend([reading.gauge.as_str(), &reading.master]),
            Payload::Tightening(done) => marks.extend([done.wrench.as_str()]),
            Payload::GaugeCheck(check) => marks.extend([check.gauge.as_str(), &check.master]),
            _ => {}
        }
    }
    let masters: Vec<&str> =
        marks.iter().flat_map(|mark| sight.workshop.calibrations(mark)).map(|facts| &*facts.master).collect();
    marks.extend(masters);
    marks.remove("");
    marks.into_iter().map(|mark| gauge(sight, mark)).collect()
}

fn gauge(sight: &Sight, mark: &str) -> GaugeRow {
    let Some(facts) = sight.workshop.gauge(mark) else {
        let doubts = vec!["not listed in the workshop: its readings prove nothing"];
        return GaugeRow {
            mark: mark.to_owned(),
            sort: String::new(),
            facts: Vec::new(),
            calibrated: Vec::new(),
            doubts,
        };
    };
    let pieces = || sight.workshop.calibrations(mark);
    let spans = pieces().flat_map(|facts| &facts.calibrated);
    let mut calibrated: Vec<(Moment, Moment)> =
        spans.map(|(from, to)| (Moment(*from), Moment(*to))).collect();
    calibrated.sort_unstable();
    calibrated.dedup();
    GaugeRow {
        mark: mark.to_owned(),
        sort: plain(&facts.sort),
        facts: abilities(sight, facts, pieces()),
        calibrated,
        doubts: doubts(facts, pieces().any(|facts| facts.disputed)),
    }
}

/// What it can do as its newest calibration found it, and what it was worth before.
fn abilities<'a>(
    sight: &Sight,
    facts: &GaugeFacts,
    pieces: impl Iterator<Item = &'a GaugeFacts>,
) -> Vec<String> {
    let mut said = vec![range(facts)];
    if let (Some(kind), Some(step)) = (facts.kind, facts.resolution) {
        said.push(format!("shows {}", show::uncertainty(kind, step)));
    }
    if let (Some(kind), Some(own)) = (facts.kind, facts.own) {
        said.push(format!("u {}", show::uncertainty(kind, own.base())));
    }
    if !facts.master.is_empty() {
        said.push(format!("set on {}", facts.master));
        let set = facts.set_with(sight.workshop.gauge(&facts.master));
        if let (Some(kind), Some(u)) = (facts.kind, set) {
            said.push(format!("with it u {}", show::uncertainty(kind, u.base())));
        }
    }
    for earlier in pieces.filter(|earlier| earlier.own != facts.own) {
        if let (Some(kind), Some(own), [(from, _), ..]) = (earlier.kind, earlier.own, &earlier.calibrated[..])
        {
            said.push(format!("from {} on u {}", Moment(*from).day(), show::uncertainty(kind, own.base())));
        }
    }
    said.retain(|text| !text.is_empty());
    said
}

fn doubts(facts: &GaugeFacts, disputed: bool) -> Vec<&'static str> {
    let said = [
        (!facts.by_lead, "not stated by a lead: its readings prove nothing"),
        (disputed, "stated differently: its readings prove nothing"),
        (facts.calibrated.is_empty(), "calibration not known"),
        (!facts.seen && !facts.calibrated.is_empty(), "certificate not seen"),
    ];
    said.into_iter().filter(|(holds, _)| *holds).map(|(_, text)| text).collect()
}
