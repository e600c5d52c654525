//! Finding what a name, a path or the first digits of an id mean.

use std::collections::BTreeSet;

use gudgeon_client::home::KeyRow;
use gudgeon_core::engine::{Feature, suggest};
use gudgeon_core::entry::payload::Role;
use gudgeon_core::entry::{DocumentId, EntryId, KeyId, Kind};
use gudgeon_core::log::Log;
use gudgeon_core::roster::Roster;

use crate::codes::Exit;
use crate::desk::{Desk, Sight};
use crate::failure::Failure;
use crate::words;

/// Fewest digits of an id that are looked up.
const FEWEST_DIGITS: usize = 4;

/// The one that is meant; else what to say where there is none, or where there are several.
pub(crate) fn only<T>(
    meant: Vec<T>,
    none: impl FnOnce() -> Failure,
    several: impl FnOnce(usize) -> Failure,
) -> Result<T, Failure> {
    let count = meant.len();
    let mut meant = meant.into_iter();
    match (meant.next(), count) {
        (Some(one), 1) => Ok(one),
        (None, _) => Err(none()),
        (Some(_), count) => Err(several(count)),
    }
}

/// The record that is meant: by name, by the first digits of its id, or the only one.
pub(crate) fn record(desk: &Desk, given: Option<&str>) -> Result<DocumentId, Failure> {
    desk.workshop_id()?;
    let held = desk.records()?;
    let listed =
        held.iter().map(|(id, name)| format!("{name} ({})", id.short())).collect::<Vec<_>>().join(", ");
    let Some(text) = given else {
        let all = held.iter().map(|(id, _)| *id).collect();
        return only(all, no_record, |count| {
            let cause = format!("this home holds {count} records");
            Failure::usage(cause, format!("name one with --record: {listed}"))
        });
    };
    let by = |fits: &dyn Fn(&DocumentId, &str) -> bool| -> Vec<DocumentId> {
        held.iter().filter(|(id, name)| fits(id, name)).map(|(id, _)| *id).collect()
    };
    let named = by(&|_, name| same(name, text));
    let meant = if named.is_empty() { by(&|id, _| begins(&id.to_hex(), text)) } else { named };
    let none = || {
        let cause = format!("no record is called `{text}`");
        Failure::not_found("unknown-record", cause, format!("held: {listed}"))
    };
    only(meant, none, |count| {
        let cause = format!("`{text}` could mean {count} records");
        Failure::usage(cause, format!("give more digits of its id: {listed}"))
    })
}

fn no_record() -> Failure {
    let hint = "start one with `start NAME --engine FILE`, or carry one in";
    Failure::not_found("no-record", "this home holds no record", hint)
}

/// The keys of this home, and what is known of them.
pub(crate) struct Own<'a> {
    pub(crate) keys: &'a [KeyRow],
    /// Those that the office calls removed.
    pub(crate) ended: &'a BTreeSet<KeyId>,
    /// None where there is no workshop.
    pub(crate) roster: Option<&'a Roster>,
}

impl Own<'_> {
    fn is_ended(&self, key: KeyId) -> bool {
        self.ended.contains(&key) || self.roster.is_some_and(|roster| !roster.removals_of(key).is_empty())
    }

    fn may_connect(&self, key: KeyId) -> bool {
        self.roster.is_some_and(|roster| roster.may_connect(key))
    }
}

/// The key of this home that signs, for entries of these kinds.
///
/// Where several could: those that are not ended; of these the ones of the workshop before those that wait to be
/// let in; and of one person's several the one that may make what is to be made.
pub(crate) fn own_key(own: &Own, given: Option<&str>, kinds: &[Kind]) -> Result<KeyRow, Failure> {
    let fits = |row: &&KeyRow, text: &str| {
        begins(&row.key.to_hex(), text)
            || same(&row.label, text)
            || name_of(own.roster, row.key).is_some_and(|name| same(name, text))
    };
    let named = own.keys.iter().filter(|row| given.is_none_or(|text| fits(row, text))).cloned().collect();
    let meant = narrowed(own, named, kinds);
    let mut listed: Vec<String> = own.keys.iter().map(|row| in_words(own.roster, row)).collect();
    listed.sort();
    let listed = listed.join(", ");
    let none = || match given {
        None => {
            let hint = "`join` by the code of an invite, or make one with `ask --label \"phone of NAME\"`";
            Failure::not_found("no-key", "this home holds no key", hint)
        }
        Some(text) => {
            let cause = format!("no key of this home is `{text}`");
            Failure::not_found("unknown-key", cause, format!("held: {listed}"))
        }
    };
    only(meant, none, |count| {
        let cause = format!("{count} keys of this home could be meant");
        Failure::usage(cause, format!("name one with --as, by its first digits: {listed}"))
    })
}

/// Whether the key for these kinds was chosen among several that may make them.
pub(crate) fn is_chosen(own: &Own, kinds: &[Kind]) -> bool {
    let Some(roster) = own.roster else { return false };
    let may = |row: &&KeyRow| {
        own.may_connect(row.key)
            && !own.is_ended(row.key)
            && kinds.iter().all(|kind| roster.may_make(row.key, *kind).is_ok())
    };
    !kinds.is_empty() && own.keys.iter().filter(may).count() > 1
}

/// The key of this home that meets the relay: of several one that leads, since it lets others in; where none is
/// of the workshop, the newest that waits to be let in.
pub(crate) fn meeting_key(own: &Own, given: Option<&str>) -> Result<KeyRow, Failure> {
    let several = own_key(own, given, &[]);
    let (Err(failure), Some(roster), None) = (&several, own.roster, given) else { return several };
    if failure.exit != Exit::Usage {
        return several;
    }
    let live = narrowed(own, own.keys.to_vec(), &[]);
    let meets = live.iter().filter(|row| own.may_connect(row.key));
    let meets = meets.min_by_key(|row| (!roster.leads_now(row.key), row.made, row.key));
    let waits = live.iter().filter(|row| roster.is_unknown(row.key)).max_by_key(|row| (row.made, row.key));
    meets.or(waits).cloned().map_or(several, Ok)
}

fn narrowed(own: &Own, keys: Vec<KeyRow>, kinds: &[Kind]) -> Vec<KeyRow> {
    let kept = |keys: Vec<KeyRow>, good: &dyn Fn(&KeyRow) -> bool| {
        let some: Vec<KeyRow> = keys.iter().filter(|row| good(row)).cloned().collect();
        if some.is_empty() { keys } else { some }
    };
    let Some(roster) = own.roster else { return keys };
    let live = kept(keys, &|row| !own.is_ended(row.key));
    let live = kept(live, &|row| own.may_connect(row.key));
    // Never between two people: on a shared device each says who they are.
    let one_person = live.windows(2).all(|pair| roster.same_person(pair[0].key, pair[1].key));
    if !one_person || kinds.is_empty() {
        return live;
    }
    let able = kept(live, &|row| kinds.iter().all(|kind| roster.may_make(row.key, *kind).is_ok()));
    match usual(kinds) {
        Some(role) => kept(able, &|row| roster.roles_of(row.key).lead == (role == Role::Lead)),
        None => able,
    }
}

/// Whose key makes these where a member's and a lead's could. A member's withdraws only what its person
/// entered. None for a signature: as what somebody signs is theirs to say.
fn usual(kinds: &[Kind]) -> Option<Role> {
    if kinds.contains(&Kind::SignOff) {
        return None;
    }
    Some(if kinds.contains(&Kind::Void) { Role::Lead } else { Role::Member })
}

fn name_of(roster: Option<&Roster>, key: KeyId) -> Option<&str> {
    let roster = roster?;
    roster.person_of(key).and_then(|person| roster.name_of(person))
}

/// A key with what tells it from the others: whose, its first digits, what it may do, which device.
pub(crate) fn in_words(roster: Option<&Roster>, row: &KeyRow) -> String {
    let digits = row.key.short();
    let Some(name) = name_of(roster, row.key) else { return format!("{} ({digits}, not let in)", row.label) };
    let roles = roster.map_or_else(String::new, |roster| words::roles(roster.roles_of(row.key)));
    let removed = roster.is_some_and(|roster| !roster.removals_of(row.key).is_empty());
    let removed = if removed { ", removed" } else { "" };
    format!("{name} ({digits}, {roles}, {}{removed})", row.label)
}

/// A person of the roster: by name, or by the first digits of their entry.
pub(crate) fn person(roster: &Roster, text: &str) -> Result<EntryId, Failure> {
    let by = |fits: &dyn Fn(&EntryId, &str) -> bool| -> Vec<EntryId> {
        roster.people().filter(|(id, name)| fits(id, name)).map(|(id, _)| id).collect()
    };
    let named = by(&|_, name| same(name, text));
    let meant = if named.is_empty() { by(&|id, _| begins(&id.to_hex(), text)) } else { named };
    let none = || {
        let mut names: Vec<&str> = roster.people().map(|(_, name)| name).collect();
        names.sort_unstable();
        Failure::not_found("unknown-person", format!("nobody here is called `{text}`"), suggest(text, &names))
    };
    only(meant, none, |count| {
        let hint = "give the first digits of their entry, as `people` lists them";
        Failure::usage(format!("`{text}` could mean {count} people"), hint)
    })
}

/// A key of the roster, or one that asks to be let in: by its first digits, or by the name of a person with one key that is not removed.
pub(crate) fn roster_key(roster: &Roster, text: &str) -> Result<KeyId, Failure> {
    let asking = roster.findings().iter().flat_map(|finding| finding.keys.iter().copied());
    let asking = asking.filter(|key| roster.is_unknown(*key));
    let by_digits: BTreeSet<KeyId> =
        roster.keys().chain(asking).filter(|key| begins(&key.to_hex(), text)).collect();
    if let (Some(one), 1) = (by_digits.first(), by_digits.len()) {
        return Ok(*one);
    }
    let person = person(roster, text)?;
    let live = |key: &KeyId| roster.person_of(*key) == Some(person) && roster.removals_of(*key).is_empty();
    let keys: Vec<KeyId> = roster.keys().filter(live).collect();
    let listed = keys.iter().map(KeyId::short).collect::<Vec<_>>().join(", ");
    let none =
        || Failure::not_found("no-key", format!("`{text}` has no key that is not removed"), "see `people`");
    only(keys, none, |count| {
        Failure::usage(format!("`{text}` has {count} keys"), format!("give the digits of one: {listed}"))
    })
}

/// The entry of a log that begins with these digits.
pub(crate) fn entry(log: &Log, text: &str) -> Result<EntryId, Failure> {
    if text.len() < FEWEST_DIGITS {
        let cause = format!("`{text}` has too few digits to name an entry");
        return Err(Failure::usage(cause, format!("give at least {FEWEST_DIGITS}")));
    }
    let all = log.folded().iter().chain(log.waiting());
    let meant = all.map(|statement| statement.id).filter(|id| begins(&id.to_hex(), text)).collect();
    let none = || {
        let hint = "`history FEATURE` and `findings` give the digits of entries";
        Failure::not_found("unknown-entry", format!("no entry held here begins with `{text}`"), hint)
    };
    only(meant, none, |count| {
        Failure::usage(format!("{count} entries begin with `{text}`"), "give more digits")
    })
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

/// The known name that was perhaps meant; empty where it is known, or none is near.
pub(crate) fn perhaps_a_slip(given: &str, known: &[&str]) -> String {
    let near = if known.contains(&given) { String::new() } else { suggest(given, known) };
    if near.starts_with("did you mean") { near } else { String::new() }
}

fn same(a: &str, b: &str) -> bool {
    a.to_lowercase() == b.trim().to_lowercase()
}

pub(crate) fn begins(hex: &str, digits: &str) -> bool {
    digits.len() >= FEWEST_DIGITS && hex.starts_with(&digits.to_ascii_lowercase())
}
