//! Who works here.

use clap::Args;
use gudgeon_client::sync::{Asker, turned_away};
use gudgeon_core::entry::{EntryId, KeyId};
use gudgeon_core::roster::Roster;
use serde_json::{Value as Json, json};

use crate::asking::Reader;
use crate::denial;
use crate::desk::Desk;
use crate::failure::Failure;
use crate::out::{Answer, Outcome, columns};
use crate::settings::Settings;
use crate::words;

#[derive(Args, Debug)]
pub(crate) struct People {}

pub(crate) fn people(_: &People, settings: &Settings) -> Outcome {
    let desk = Desk::open(settings)?;
    let workshop = desk.workshop()?;
    let roster = workshop.roster();
    let reader = Reader::new(&desk, &workshop)?;
    let told = denial::removed_keys(&desk.home)?;
    let mut answer = Answer::new();
    let mut rows = vec![["NAME", "PERSON", "KEY", "ROLES", "DEVICE", ""].map(str::to_owned)];
    let mut listed = Vec::new();
    for (person, name) in by_name(roster) {
        let keys: Vec<KeyId> = roster.keys().filter(|key| roster.person_of(*key) == Some(person)).collect();
        for key in &keys {
            let state = match (reader.has(*key), told.contains(key)) {
                (true, true) => "here; removed, as the office says",
                (true, false) => "here",
                (false, _) => "",
            };
            rows.push(row(roster, name, person, *key, state));
        }
        if keys.is_empty() {
            rows.push([
                name.to_owned(),
                person.short(),
                "none".into(),
                String::new(),
                String::new(),
                String::new(),
            ]);
        }
        let keys: Json = keys.iter().map(|key| key_json(roster, *key, told.contains(key))).collect();
        listed.push(json!({ "name": name, "person": person.to_hex(), "keys": keys }));
    }
    let away = turned_away(workshop.log());
    rows.extend(away.iter().map(|asker| asked(roster, asker)));
    answer.line(format!("{}, root {}", roster.workshop_name().unwrap_or("workshop"), root(&desk)?));
    columns(&rows).iter().for_each(|line| answer.line(line));
    answer.put("workshop", roster.workshop_name());
    answer.put("people", listed);
    answer.put("turned_away", away.iter().map(|asker| asked_json(roster, asker)).collect::<Json>());
    add_findings(&mut answer, &reader, roster);
    Ok(answer)
}

fn root(desk: &Desk) -> Result<String, Failure> {
    Ok(gudgeon_client::home::fingerprint(&desk.home.root()?))
}

fn by_name(roster: &Roster) -> Vec<(EntryId, &str)> {
    let mut people: Vec<(EntryId, &str)> = roster.people().collect();
    people.sort_by_key(|(id, name)| (name.to_lowercase(), *id));
    people
}

fn row(roster: &Roster, name: &str, person: EntryId, key: KeyId, state: &str) -> [String; 6] {
    let state = removed(roster, key).map_or_else(|| state.to_owned(), |why| format!("removed: {why}"));
    let label = roster.label_of(key).unwrap_or_default().to_owned();
    [name.to_owned(), person.short(), key.short(), words::roles(roster.roles_of(key)), label, state]
}

fn removed(roster: &Roster, key: KeyId) -> Option<&str> {
    roster.removals_of(key).first().map(|removal| removal.reason.as_str())
}

/// A key that asked and was removed instead of being let in.
fn asked(roster: &Roster, asker: &Asker) -> [String; 6] {
    let state = format!("removed: {}", removed(roster, asker.key).unwrap_or_default());
    let (name, label) = (asker.person.clone(), asker.label.clone());
    [name, "asked".to_owned(), asker.key.short(), String::new(), label, state]
}

fn asked_json(roster: &Roster, asker: &Asker) -> Json {
    json!({
        "key": asker.key.to_hex(), "label": asker.label, "asked_as": asker.person,
        "removed": removed(roster, asker.key),
    })
}

fn key_json(roster: &Roster, key: KeyId, told: bool) -> Json {
    json!({
        "key": key.to_hex(), "label": roster.label_of(key), "roles": words::roles(roster.roles_of(key)),
        "removed": removed(roster, key), "office_says_removed": told,
    })
}

/// What somebody has to look at in the workshop itself.
pub(crate) fn add_findings(answer: &mut Answer, reader: &Reader, roster: &Roster) {
    for finding in roster.findings() {
        answer.line(format!(
            "workshop: {} ({}): {}",
            finding.rule,
            words::short_ids(&finding.entries),
            reader.words(finding)
        ));
        answer.line(format!("     {}", reader.way_out(finding)));
    }
    let one = |finding: &gudgeon_core::roster::RosterFinding| {
        json!({
            "rule": finding.rule, "text": reader.words(finding), "hint": reader.way_out(finding),
            "entries": words::ids(&finding.entries),
        })
    };
    answer.put("workshop_findings", roster.findings().iter().map(one).collect::<Json>());
}
