//! Who works here.

use clap::Args;
use gudgeon_core::entry::{EntryId, KeyId};
use gudgeon_core::roster::Roster;
use serde_json::{Value as Json, json};

use crate::desk::Desk;
use crate::out::{Answer, Outcome, columns};
use crate::settings::Settings;
use crate::words;

#[derive(Args, Debug)]
pub(crate) struct People {}

pub(crate) fn people(_: &People, settings: &Settings) -> Outcome {
    let desk = Desk::open(settings)?;
    let workshop = desk.workshop()?;
    let roster = workshop.roster();
    let own: Vec<KeyId> = desk.home.keys()?.iter().map(|row| row.key).collect();
    let mut answer = Answer::new();
    let mut rows = vec![["NAME", "PERSON", "KEY", "ROLES", "DEVICE", ""].map(str::to_owned)];
    let mut listed = Vec::new();
    for (person, name) in by_name(roster) {
        let keys: Vec<KeyId> = roster.keys().filter(|key| roster.person_of(*key) == Some(person)).collect();
        for key in &keys {
            rows.push(row(roster, name, person, *key, own.contains(key)));
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
        let keys: Json = keys.iter().map(|key| key_json(roster, *key)).collect();
        listed.push(json!({ "name": name, "person": person.to_hex(), "keys": keys }));
    }
    answer.line(format!("{}, root {}", roster.workshop_name().unwrap_or("workshop"), root(&desk)?));
    columns(&rows).iter().for_each(|line| answer.line(line));
    answer.put("workshop", roster.workshop_name());
    answer.put("people", listed);
    add_findings(&mut answer, roster);
    Ok(answer)
}

fn root(desk: &Desk) -> Result<String, crate::failure::Failure> {
    Ok(gudgeon_client::home::fingerprint(&desk.home.root()?))
}

fn by_name(roster: &Roster) -> Vec<(EntryId, &str)> {
    let mut people: Vec<(EntryId, &str)> = roster.people().collect();
    people.sort_by_key(|(id, name)| (name.to_lowercase(), *id));
    people
}

fn row(roster: &Roster, name: &str, person: EntryId, key: KeyId, own: bool) -> [String; 6] {
    let state = match roster.removals_of(key).first() {
        Some(removal) => format!("removed: {}", removal.reason),
        None if own => "here".to_owned(),
        None => String::new(),
    };
    let label = roster.label_of(key).unwrap_or_default().to_owned();
    [name.to_owned(), person.short(), key.short(), words::roles(roster.roles_of(key)), label, state]
}

fn key_json(roster: &Roster, key: KeyId) -> Json {
    json!({
        "key": key.to_hex(), "label": roster.label_of(key), "roles": words::roles(roster.roles_of(key)),
        "removed": roster.removals_of(key).first().map(|removal| removal.reason.clone()),
    })
}

/// What somebody has to look at in the workshop itself.
pub(crate) fn add_findings(answer: &mut Answer, roster: &Roster) {
    for finding in roster.findings() {
        answer.line(format!(
            "workshop: {} ({}): {}",
            finding.rule,
            words::short_ids(&finding.entries),
            finding.words
        ));
        answer.line(format!("     {}", finding.way_out));
    }
    let one = |finding: &gudgeon_core::roster::RosterFinding| {
        json!({
            "rule": finding.rule, "text": finding.words, "hint": finding.way_out,
            "entries": words::ids(&finding.entries),
        })
    };
    answer.put("workshop_findings", roster.findings().iter().map(one).collect::<Json>());
}
