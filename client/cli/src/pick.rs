//! Finding what a name, a path or the first digits of an id mean.

use gudgeon_client::home::KeyRow;
use gudgeon_core::engine::{Feature, suggest};
use gudgeon_core::entry::{DocumentId, EntryId, KeyId};
use gudgeon_core::log::Log;
use gudgeon_core::roster::Roster;

use crate::desk::{Desk, Sight, name_of};
use crate::failure::Failure;

/// Fewest digits of an id that are looked up.
const FEWEST_DIGITS: usize = 4;

/// The record that is meant: by name, by the first digits of its id, or the only one.
pub(crate) fn record(desk: &Desk, given: Option<&str>) -> Result<DocumentId, Failure> {
    desk.workshop_id()?;
    let mut held = Vec::new();
    for id in desk.home.records() {
        held.push((id, name_of(desk.home.log(id)?)));
    }
    let meant: Vec<&(DocumentId, String)> = match given {
        None => held.iter().collect(),
        Some(text) => {
            let by_name: Vec<_> = held.iter().filter(|(_, name)| same(name, text)).collect();
            if by_name.is_empty() {
                held.iter().filter(|(id, _)| begins(&id.to_hex(), text)).collect()
            } else {
                by_name
            }
        }
    };
    let listed =
        || held.iter().map(|(id, name)| format!("{name} ({})", id.short())).collect::<Vec<_>>().join(", ");
    match (&meant[..], given) {
        ([(id, _)], _) => Ok(*id),
        ([], None) => Err(Failure::not_found(
            "no-record",
            "this home holds no record",
            "start one with `start NAME --engine FILE`, or carry one in",
        )),
        ([], Some(text)) => Err(Failure::not_found(
            "unknown-record",
            format!("no record is called `{text}`"),
            format!("held: {}", listed()),
        )),
        (_, None) => Err(Failure::usage(
            format!("this home holds {} records", held.len()),
            format!("name one with --record: {}", listed()),
        )),
        (_, Some(text)) => Err(Failure::usage(
            format!("`{text}` could mean {} records", meant.len()),
            format!("give more digits of its id: {}", listed()),
        )),
    }
}

/// The key of this home that signs.
pub(crate) fn own_key(
    keys: &[KeyRow],
    given: Option<&str>,
    roster: Option<&Roster>,
) -> Result<KeyRow, Failure> {
    let name = |row: &KeyRow| {
        let roster = roster?;
        roster.person_of(row.key).and_then(|person| roster.name_of(person)).map(str::to_owned)
    };
    let meant: Vec<&KeyRow> = match given {
        None => keys.iter().collect(),
        Some(text) => keys
            .iter()
            .filter(|row| {
                begins(&row.key.to_hex(), text)
                    || same(&row.label, text)
                    || name(row).is_some_and(|name| same(&name, text))
            })
            .collect(),
    };
    let listed = || {
        let one = |row: &KeyRow| {
            format!("{} ({})", name(row).unwrap_or_else(|| row.label.clone()), row.key.short())
        };
        keys.iter().map(one).collect::<Vec<_>>().join(", ")
    };
    match (&meant[..], given) {
        ([one], _) => Ok((*one).clone()),
        ([], None) => Err(Failure::not_found(
            "no-key",
            "this home holds no key",
            "make one with `ask --label \"phone of NAME\"`",
        )),
        ([], Some(text)) => Err(Failure::not_found(
            "unknown-key",
            format!("no key of this home is `{text}`"),
            format!("held: {}", listed()),
        )),
        (_, _) => {
            Err(Failure::usage("this home holds several keys", format!("name one with --as: {}", listed())))
        }
    }
}

/// A person of the roster: by name, or by the first digits of their entry.
pub(crate) fn person(roster: &Roster, text: &str) -> Result<EntryId, Failure> {
    let by_name: Vec<EntryId> =
        roster.people().filter(|(_, name)| same(name, text)).map(|(id, _)| id).collect();
    let by_id = || roster.people().filter(|(id, _)| begins(&id.to_hex(), text)).map(|(id, _)| id).collect();
    let meant: Vec<EntryId> = if by_name.is_empty() { by_id() } else { by_name };
    match meant[..] {
        [one] => Ok(one),
        [] => {
            let names: Vec<&str> = roster.people().map(|(_, name)| name).collect();
            Err(Failure::not_found(
                "unknown-person",
                format!("nobody here is called `{text}`"),
                suggest(text, &names),
            ))
        }
        _ => Err(Failure::usage(
            format!("`{text}` could mean {} people", meant.len()),
            "give the first digits of their entry, as `people` lists them",
        )),
    }
}

/// A key of the roster: by its first digits, or by the name of a person with one key that is not removed.
pub(crate) fn roster_key(roster: &Roster, text: &str) -> Result<KeyId, Failure> {
    let by_digits: Vec<KeyId> = roster.keys().filter(|key| begins(&key.to_hex(), text)).collect();
    if let [one] = by_digits[..] {
        return Ok(one);
    }
    let person = person(roster, text)?;
    let live = |key: &KeyId| roster.person_of(*key) == Some(person) && roster.removals_of(*key).is_empty();
    let keys: Vec<KeyId> = roster.keys().filter(live).collect();
    let listed = || keys.iter().map(|key| key.short()).collect::<Vec<_>>().join(", ");
    match keys[..] {
        [one] => Ok(one),
        [] => Err(Failure::not_found(
            "no-key",
            format!("`{text}` has no key that is not removed"),
            "see `people`",
        )),
        _ => Err(Failure::usage(
            format!("`{text}` has several keys"),
            format!("give the digits of one: {}", listed()),
        )),
    }
}

/// The entry of a log that begins with these digits.
pub(crate) fn entry(log: &Log, text: &str) -> Result<EntryId, Failure> {
    if text.len() < FEWEST_DIGITS {
        let cause = format!("`{text}` has too few digits to name an entry");
        return Err(Failure::usage(cause, format!("give at least {FEWEST_DIGITS}")));
    }
    let all = log.folded().iter().chain(log.waiting());
    let meant: Vec<EntryId> =
        all.map(|statement| statement.id).filter(|id| begins(&id.to_hex(), text)).collect();
    match meant[..] {
        [one] => Ok(one),
        [] => Err(Failure::not_found(
            "unknown-entry",
            format!("no entry held here begins with `{text}`"),
            "`history FEATURE` and `findings` give the digits of entries",
        )),
        _ => Err(Failure::usage(format!("{} entries begin with `{text}`", meant.len()), "give more digits")),
    }
}

/// A feature of the engine or of a part.
pub(crate) fn feature(sight: &Sight, path: &str) -> Result<Feature, Failure> {
    Ok(sight.definition()?.feature(path)?)
}

/// A step by name.
pub(crate) fn step(sight: &Sight, id: &str) -> Result<usize, Failure> {
    let definition = sight.definition()?;
    definition.step_index(id).ok_or_else(|| {
        let known: Vec<&str> = definition.steps().iter().map(|step| &*step.id).collect();
        let near = suggest(id, &known);
        let hint = if near.starts_with("known:") { "`next` lists the steps".to_owned() } else { near };
        Failure::not_found("unknown-step", format!("`{id}` is no step of this procedure"), hint)
    })
}

fn same(a: &str, b: &str) -> bool {
    a.to_lowercase() == b.trim().to_lowercase()
}

fn begins(hex: &str, digits: &str) -> bool {
    digits.len() >= FEWEST_DIGITS && hex.starts_with(&digits.to_ascii_lowercase())
}
